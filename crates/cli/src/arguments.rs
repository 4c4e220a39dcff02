//! What can be asked of the command.

use std::path::PathBuf;

use clap::{Args, ColorChoice, Parser, Subcommand};
use clap_complete::Shell;
use lastmicron_certificate::{HostName, LanAddress};
use lastmicron_units::Unit;

use crate::demo::DemoArguments;
use crate::photo::arguments::PhotoArguments;
use crate::serve::USUAL_PORT;

const EXAMPLES: &str = "\
Examples:
  lastmicron demo                          see the main job done on an invented car
  lastmicron check examples/sage-roadster  is this job folder in order?
  lastmicron plan examples/sage-roadster   what to do on every section of every panel
  lastmicron plan JOB --pdf plan.pdf       the same on paper, with maps
  lastmicron next JOB --count 5            where to measure next
  lastmicron pass JOB --process NAME       what one set takes from a section, and across its edges
  lastmicron serve                         the app, in a browser on this machine
  lastmicron setup && lastmicron serve --lan   the app on phones of the local network, too
  lastmicron verify handover.pdf           is the record in a handover whole?
  lastmicron photo pair BEFORE AFTER       what polishing has taken of the scratches in photographs";

const STATUSES: &str = "\
Exit status:
  0  done
  1  failed: the disk, or a mistake in the program
  2  bad input or usage: what is wrong is said on stderr, and nothing is written
  3  doctor has found problems, or verify, restore or backup-key check something that is not as it was written";

/// From readings of a film gauge to a plan for correcting the paint, whose stated risk is honest.
///
/// A job is a folder with job.toml (the vehicle, its paint, the gauge, the limits, the processes, the panels), readings.csv,
/// and if there are any worked.csv (what has been worked already), defects.csv (defects counted on test spots) and gloss.csv (readings of gloss).
#[derive(Debug, Parser)]
#[command(name = "lastmicron", version, color = ColorChoice::Never, arg_required_else_help = true, after_help = EXAMPLES, after_long_help = format!("{EXAMPLES}\n\n{STATUSES}"))]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) question: Question,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Question {
    /// Say what to do on every section of every panel, and how sure that is
    Plan(PlanArguments),
    /// Say where to measure next: the readings that would help the plan most
    Next(NextArguments),
    /// Show what a machine, pad, load and arm speed take: a section, its edges and lines, the heat, the pad
    Pass(PassArguments),
    /// Say what polishing has taken of the scratches in a photograph, or between two
    Photo(PhotoArguments),
    /// Say whether a job folder is in order, and everything that is wrong with it
    Check(CheckArguments),
    /// Compute one thing from a JSON object on stdin
    Compute(ComputeArguments),
    /// Start the app: jobs, survey, test spot, plan, work and hand over, in a browser
    Serve(ServeArguments),
    /// Make what phones on the local network are to trust, and say how they come to
    Setup(SetupArguments),
    /// List who may use the app, or make a code for a device of somebody
    People(PeopleArguments),
    /// List the jobs of the app's records
    Jobs(JobsArguments),
    /// Take a job out of the app's records: as one file, or as a job folder
    Export(ExportArguments),
    /// Bring a record, a job folder, or what a device saved, into the app's records
    Import(ImportArguments),
    /// Say whether records, a backup, a record's file or a handover are as they were written
    Verify(VerifyArguments),
    /// Make a backup of the app's records, while the app runs or not
    Backup(BackupArguments),
    /// List the backups of the app's records
    Backups(BackupsArguments),
    /// Make the key that backups are encrypted for, or give it back to be checked
    BackupKey(BackupKeyArguments),
    /// Make records of a backup in an empty folder
    Restore(RestoreArguments),
    /// Erase the sheets of a job that name people; the record stays whole
    Erase(EraseArguments),
    /// Say whether all is well with the app's records: disk, clock, backup, damage
    Doctor(DoctorArguments),
    /// Do the main job on an invented car, then open its sealed truth
    Demo(DemoArguments),
    /// Print a script that completes the command in a shell
    #[command(after_help = "Example:\n  lastmicron completions bash > ~/.local/share/bash-completion/completions/lastmicron")]
    Completions {
        /// The shell
        shell: Shell,
    },
}

/// What a plan's estimates are computed with.
#[derive(Args, Clone, Copy, Debug)]
pub(crate) struct EffortArguments {
    /// Films of the whole vehicle, drawn jointly, to choose on; as many again state the risk (from 100 to 20000)
    #[arg(long, default_value_t = 2000, value_name = "N", value_parser = clap::value_parser!(u32).range(100..=20_000))]
    pub(crate) draws: u32,
    /// Seed of the draws: the same seed gives the same plan
    #[arg(long, default_value_t = 1, value_name = "N")]
    pub(crate) seed: u64,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron plan JOB
  lastmicron plan JOB --json > plan.json
  lastmicron plan JOB --pdf plan.pdf --maps maps --letter", after_long_help = format!("\
Examples:
  lastmicron plan JOB
  lastmicron plan JOB --json > plan.json
  lastmicron plan JOB --pdf plan.pdf --maps maps --letter

{STATUSES}"))]
pub(crate) struct PlanArguments {
    /// The job folder
    #[arg(value_name = "JOB")]
    pub(crate) folder: PathBuf,
    /// Print the plan as JSON and nothing else
    #[arg(long)]
    pub(crate) json: bool,
    /// Write the plan as a PDF too, with maps, assumptions and cautions
    #[arg(long, value_name = "FILE")]
    pub(crate) pdf: Option<PathBuf>,
    /// Write one SVG map for each panel into a folder too
    #[arg(long, value_name = "DIR")]
    pub(crate) maps: Option<PathBuf>,
    /// Lay the PDF out for US letter instead of A4
    #[arg(long, requires = "pdf")]
    pub(crate) letter: bool,
    /// Unit to print film in: um, mil or mm (left out: that of most readings; JSON is always in um)
    #[arg(long, value_name = "UNIT")]
    pub(crate) unit: Option<Unit>,
    #[command(flatten)]
    pub(crate) effort: EffortArguments,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron next JOB --count 5
  lastmicron next JOB --count 20 --csv > places.csv")]
pub(crate) struct NextArguments {
    /// The job folder
    #[arg(value_name = "JOB")]
    pub(crate) folder: PathBuf,
    /// How many readings to take (from 1 to 200)
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=200))]
    pub(crate) count: u32,
    /// Print panel,x_mm,y_mm,layer,why as CSV and nothing else
    #[arg(long, conflicts_with = "json")]
    pub(crate) csv: bool,
    /// Print the same as JSON, with the expected gain of each, and nothing else
    #[arg(long)]
    pub(crate) json: bool,
    #[command(flatten)]
    pub(crate) effort: EffortArguments,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron pass JOB --process finish
  lastmicron pass JOB --process finish --load 60 --arm-speed 30 --svg heavier.svg
  lastmicron pass JOB --process finish --machine 'very small orbital' --pad 'soft foam 50' --pdf small.pdf
  lastmicron pass --kinds")]
pub(crate) struct PassArguments {
    /// The job folder
    #[arg(value_name = "JOB", required_unless_present = "kinds")]
    pub(crate) folder: Option<PathBuf>,
    /// The process: what one set of it takes is what the plan believes after the test spot and all readings
    #[arg(long, value_name = "NAME", required_unless_present = "kinds")]
    pub(crate) process: Option<String>,
    /// A machine of the job, or a kind of machine (see --kinds); left out: the process's own
    #[arg(long, value_name = "NAME")]
    pub(crate) machine: Option<String>,
    /// A pad of the job, or a kind of pad and its diameter in mm, like 'soft foam 125'; left out: the process's own
    #[arg(long, value_name = "NAME")]
    pub(crate) pad: Option<String>,
    /// Load on the pad, N
    #[arg(long, value_name = "N", allow_negative_numbers = true)]
    pub(crate) load: Option<f64>,
    /// Speed of the arm, mm/s
    #[arg(long, value_name = "MM_S", allow_negative_numbers = true)]
    pub(crate) arm_speed: Option<f64>,
    /// Share of the pad's width by which neighbouring strokes overlap
    #[arg(long, value_name = "SHARE", allow_negative_numbers = true)]
    pub(crate) overlap: Option<f64>,
    /// Passes of one set
    #[arg(long, value_name = "N")]
    pub(crate) passes: Option<u32>,
    /// Write the drawing as SVG too
    #[arg(long, value_name = "FILE")]
    pub(crate) svg: Option<PathBuf>,
    /// Write drawing, figures and cautions as a PDF too
    #[arg(long, value_name = "FILE")]
    pub(crate) pdf: Option<PathBuf>,
    /// Print the same as JSON and nothing else
    #[arg(long)]
    pub(crate) json: bool,
    /// List kinds of machines and pads in general terms, with their figures
    #[arg(long, exclusive = true)]
    pub(crate) kinds: bool,
}

#[derive(Args, Debug)]
#[command(after_help = "Example:\n  lastmicron check JOB && lastmicron plan JOB")]
pub(crate) struct CheckArguments {
    /// The job folder
    #[arg(value_name = "JOB")]
    pub(crate) folder: PathBuf,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron people
  lastmicron people --code M.")]
pub(crate) struct PeopleArguments {
    /// Make a code with which a device becomes theirs and they choose a new PIN: for whoever has lost both. It holds for half an hour
    #[arg(long, value_name = "NAME")]
    pub(crate) code: Option<String>,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "Example:\n  lastmicron jobs")]
pub(crate) struct JobsArguments {
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron export 01a20e0c-4a08-7a99-b4b1-f79e3779b97f --record coupe.record
  lastmicron export 01a20e0c-4a08-7a99-b4b1-f79e3779b97f --folder coupe")]
pub(crate) struct ExportArguments {
    /// The job, by the id that `lastmicron jobs` prints
    #[arg(value_name = "JOB")]
    pub(crate) job: String,
    /// Write the whole record, with photographs and plans, to a file where none is. It holds the sheets that name people, too; signed checkpoints stay behind
    #[arg(long, value_name = "FILE", required_unless_present = "folder")]
    pub(crate) record: Option<PathBuf>,
    /// Write a job folder: what a plan is made from. Sessions, photographs and what was struck out stay in the record
    #[arg(long, value_name = "DIR")]
    pub(crate) folder: Option<PathBuf>,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron import coupe.record
  lastmicron import waiting-2024-05-01-12.json
  lastmicron import examples/sage-roadster --who 'M. A.'")]
pub(crate) struct ImportArguments {
    /// A record's file, a job folder, or a file of events that waited on a device
    #[arg(value_name = "PATH")]
    pub(crate) path: PathBuf,
    /// Who brings a job folder in
    #[arg(long, value_name = "NAME", default_value = "import")]
    pub(crate) who: String,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron verify                 all of the app's records, and everything kept beside them
  lastmicron verify coupe.record
  lastmicron verify handover.pdf
  lastmicron verify handover.pdf --keys workshop-keys.txt
  lastmicron verify BACKUP
  lastmicron verify BACKUP.tar.age --key key.txt")]
pub(crate) struct VerifyArguments {
    /// A record's file, a handover with the record in it, or a backup (left out: the app's records)
    #[arg(value_name = "FILE")]
    pub(crate) file: Option<PathBuf>,
    /// File that holds the key of an encrypted backup; - reads it from stdin
    #[arg(long, value_name = "FILE", requires = "file")]
    pub(crate) key: Option<PathBuf>,
    /// The workshop's public keys as you have them from elsewhere: a file whose first line is a key. A handover has to be signed by one that follows from it
    #[arg(long, value_name = "FILE", requires = "file")]
    pub(crate) keys: Option<PathBuf>,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron backup
  lastmicron backup /media/stick/lastmicron-may")]
pub(crate) struct BackupArguments {
    /// The folder to be made, where nothing is, in a folder that is there (left out: one in backups beside the records). With a backup key that was checked it is a file instead, encrypted, and its name ends with .tar.age
    #[arg(value_name = "TARGET")]
    pub(crate) target: Option<PathBuf>,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "Example:\n  lastmicron backups")]
pub(crate) struct BackupsArguments {
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
    /// Folder that the backups are in, whether the records are still there or not (left out: backups beside the records)
    #[arg(long, value_name = "DIR")]
    pub(crate) backups: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron backup-key new --sheet key.pdf     print it, put it away, take the file away
  lastmicron backup-key check -                 type it from the sheet: from then on backups are encrypted")]
pub(crate) struct BackupKeyArguments {
    #[command(subcommand)]
    pub(crate) wanted: BackupKeyWanted,
}

#[derive(Debug, Subcommand)]
pub(crate) enum BackupKeyWanted {
    /// Make a key. Its secret half goes onto a sheet or into a file, once, and is kept nowhere else
    New(NewKeyArguments),
    /// Give the secret half back: does it open what is encrypted? Only then are backups encrypted
    Check(CheckKeyArguments),
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron backup-key new --sheet key.pdf
  lastmicron backup-key new --file /media/stick/key.txt")]
pub(crate) struct NewKeyArguments {
    /// Write the key as a PDF to print, in letters and as a code; only you may read the file
    #[arg(long, value_name = "FILE", required_unless_present = "file")]
    pub(crate) sheet: Option<PathBuf>,
    /// Write the key to a file, as age and this command read it; only you may read it
    #[arg(long, value_name = "FILE")]
    pub(crate) file: Option<PathBuf>,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron backup-key check -
  lastmicron backup-key check /media/stick/key.txt")]
pub(crate) struct CheckKeyArguments {
    /// File that holds the key; - reads it from stdin
    #[arg(value_name = "FILE")]
    pub(crate) key: PathBuf,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron restore BACKUP --data restored && lastmicron serve --data restored
  lastmicron restore BACKUP.tar.age --key key.txt --data restored")]
pub(crate) struct RestoreArguments {
    /// The folder of the backup, or the file of an encrypted one
    #[arg(value_name = "BACKUP")]
    pub(crate) backup: PathBuf,
    /// File that holds the key of an encrypted backup; - reads it from stdin. Backups of what is restored are encrypted for it, too
    #[arg(long, value_name = "FILE")]
    pub(crate) key: Option<PathBuf>,
    /// Folder to put the records into: one that is empty, or not there yet
    #[arg(long, value_name = "DIR")]
    pub(crate) data: PathBuf,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron erase 01a20e0c-4a08-7a99-b4b1-f79e3779b97f
  lastmicron erase 01a20e0c-4a08-7a99-b4b1-f79e3779b97f --yes

Backups made before have the sheets still. A record that is restored from one has them again: erase them there anew.")]
pub(crate) struct EraseArguments {
    /// The job, by the id that `lastmicron jobs` prints
    #[arg(value_name = "JOB")]
    pub(crate) job: String,
    /// Erase without asking for the job's name to be typed
    #[arg(long)]
    pub(crate) yes: bool,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron doctor
  lastmicron doctor --json || echo 'see to it'")]
pub(crate) struct DoctorArguments {
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
    /// Print the same as JSON and nothing else: later versions may add members
    #[arg(long)]
    pub(crate) json: bool,
    /// Port that phones find the app at
    #[arg(long, default_value_t = USUAL_PORT, value_name = "N")]
    pub(crate) port: u16,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron serve
  lastmicron serve --lan                       phones on the local network, too; after lastmicron setup
  lastmicron serve --data /srv/lastmicron --port 9000")]
pub(crate) struct ServeArguments {
    /// Folder that the records and photographs are kept in (left out: lastmicron in the system's place for the data of programs)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
    /// Folder that a backup a day is made into, of its own for each folder of records; it has to be there (left out: backups beside the records)
    #[arg(long, value_name = "DIR")]
    pub(crate) backups: Option<PathBuf>,
    /// Port of this machine; 0 takes a free one
    #[arg(long, default_value_t = USUAL_PORT, value_name = "N")]
    pub(crate) port: u16,
    /// Answer phones on the local network, too: by TLS on the same port, with what `lastmicron setup` made; the port after it tells phones how to trust that
    #[arg(long)]
    pub(crate) lan: bool,
    /// Answer them in the open, without TLS: others on the network can read along, and the app neither installs on a phone nor opens offline
    #[arg(long, requires = "lan")]
    pub(crate) plain_http: bool,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  lastmicron setup
  lastmicron setup --name bay --address 192.168.1.20

What was made before is kept: phones that trust it go on trusting it. Run it again when this machine has another address.")]
pub(crate) struct SetupArguments {
    /// This machine's name on the local network; one word is a name in .local (left out: that of the authority here, or lastmicron)
    #[arg(long, value_name = "NAME")]
    pub(crate) name: Option<HostName>,
    /// An address of this machine on the local network; may be given again (left out: those that it has now)
    #[arg(long, value_name = "ADDRESS")]
    pub(crate) address: Vec<LanAddress>,
    /// Port that the app is to be started with (from 1 to 65534: the page for phones is at the port after it)
    #[arg(long, default_value_t = USUAL_PORT, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=65534))]
    pub(crate) port: u16,
    /// Folder that the records are kept in (left out: as with serve)
    #[arg(long, value_name = "DIR")]
    pub(crate) data: Option<PathBuf>,
}

#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  echo '{\"air_c\": 25, \"humidity_percent\": 60, \"surface_c\": 21}' | lastmicron compute dew-point
  lastmicron compute field --schema")]
pub(crate) struct ComputeArguments {
    /// What to compute: field, minimum, survival, motion, contact, gauge-study, gloss, dew-point, vibration, noise, ...
    pub(crate) name: String,
    /// Print what the name takes and gives, as a JSON schema
    #[arg(long)]
    pub(crate) schema: bool,
}
