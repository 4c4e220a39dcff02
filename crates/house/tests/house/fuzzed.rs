//! Whatever is in a file, it is read or refused: nothing panics, and nothing takes more than 2 s of one core or 256 MiB more than before.
//!
//! Good files are changed by chance in a process of their own, which tells of each what it takes; what makes it panic, hang or end is kept for a look.

mod bombs;
mod changed;
mod handovers;
mod made_pdf;
mod seeds;

#[path = "../../../photo/src/tests/made_jpeg.rs"]
mod made_jpeg;
#[expect(dead_code, reason = "made for the tests of the room that reads them, which use all of it")]
#[path = "../../../photo/src/tests/made_png.rs"]
mod made_png;
#[path = "../../../photo/src/tests/made_tiff.rs"]
mod made_tiff;
#[expect(dead_code, reason = "made for the tests of the room that reads them, which use all of it")]
#[path = "../../../photo/src/tests/made_webp.rs"]
mod made_webp;

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::Command;

use lastmicron_folder::{Files, parse};
use lastmicron_job::fold::fold;
use lastmicron_paper::read_handover;
use lastmicron_record::{Bundle, Keys, Note, Sealed, read_waited};

use changed::Chance;

/// For how long each kind of file is tried, seconds of one core: 3 unless the environment says otherwise.
const SECONDS: &str = "LASTMICRON_FUZZ_SECONDS";
/// What the chance begins with: 1 unless the environment says otherwise.
const SEED: &str = "LASTMICRON_FUZZ_SEED";

/// In the environment of the process that reads: which kind, or which bomb, and the file in which it notes what it reads before it does.
const KIND: &str = "LASTMICRON_FUZZ_KIND";
const NOTED: &str = "LASTMICRON_FUZZ_NOTED";

const MOST_S: f64 = 2.0;
const MOST_MIB: u64 = 256;

/// The kinds of file that come from outside, and what reads them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// A job folder: job.toml and the four tables.
    Folder,
    /// Events as devices send them, and the job that they make.
    Events,
    /// Records in one file, and what signs them.
    Record,
    /// Photographs: JPEG, PNG and WebP with what cameras write beside the pixels.
    Photograph,
    /// Handovers: PDFs with a record and what signs it attached.
    Handover,
}

impl Kind {
    const ALL: [Self; 5] = [Self::Folder, Self::Events, Self::Record, Self::Photograph, Self::Handover];

    fn named(name: &str) -> Self {
        Self::ALL.into_iter().find(|kind| format!("{kind:?}") == name).unwrap()
    }

    /// Reads; whether it was refused or not says nothing here, but whether anything of it was read.
    fn read(self, bytes: &[u8]) -> bool {
        match self {
            Self::Folder => seeds::unpacked(bytes).is_some_and(|files: Files| match parse(&files, &[]) {
                Ok(checked) => checked.findings.iter().map(ToString::to_string).count() < usize::MAX,
                Err(problems) => problems.to_string().is_empty(),
            }),
            Self::Events => {
                let events = read_waited(bytes).or_else(|_| Sealed::read(bytes).map(|one| vec![one])).unwrap_or_default();
                let standing = fold(events.iter().map(Sealed::event));
                let _ = standing.job();
                !events.is_empty()
            }
            Self::Record => {
                let text = String::from_utf8_lossy(bytes);
                let note = text.parse::<Note>().is_ok();
                let keys = text.parse::<Keys>().is_ok();
                Bundle::read(bytes).is_ok() || note || keys
            }
            Self::Photograph => lastmicron_photo::read(bytes).is_ok(),
            Self::Handover => read_handover(&made_pdf::whole(bytes)).is_ok_and(|handed| {
                let _ = handed.verify();
                let _ = handed.signed();
                true
            }),
        }
    }
}

/// What the process that reads says of one file: why it is wrong.
fn wrong(kind: Kind, bytes: &[u8]) -> Result<bool, String> {
    let (began, held) = (cpu_s(), held_most_kib(true));
    let read = catch_unwind(AssertUnwindSafe(|| kind.read(bytes)));
    let (took, more) = (cpu_s() - began, held_most_kib(false).saturating_sub(held) / 1024);
    match read {
        Err(_) => Err("it panics".to_owned()),
        Ok(_) if took > MOST_S => Err(format!("it takes {took:.1} s of one core")),
        Ok(_) if more > MOST_MIB => Err(format!("it takes {more} MiB")),
        Ok(read) => Ok(read),
    }
}

/// What this process has used of a core, seconds, as Linux tells it: whatever else the machine does is not in it.
fn cpu_s() -> f64 {
    let told = fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    let main = told.split(' ').next().and_then(|ns| ns.parse::<f64>().ok()).unwrap_or_default();
    // Of all threads: the main one waits while the test runs.
    let threads = fs::read_dir("/proc/self/task").into_iter().flatten().filter_map(Result::ok);
    let all: f64 = threads
        .filter_map(|task| fs::read_to_string(task.path().join("schedstat")).ok())
        .filter_map(|told| told.split(' ').next().and_then(|ns| ns.parse::<f64>().ok()))
        .sum();
    all.max(main) / 1e9
}

/// The most memory held since it was last reset, KiB.
fn held_most_kib(is_reset: bool) -> u64 {
    if is_reset {
        let _ = fs::write("/proc/self/clear_refs", "5");
    }
    let told = fs::read_to_string("/proc/self/status").unwrap_or_default();
    told.lines().find_map(|line| line.strip_prefix("VmHWM:")?.trim().strip_suffix("kB")?.trim().parse().ok()).unwrap_or_default()
}

fn try_kind(kind: Kind, noted: &Path) {
    let number = |name: &str, otherwise: u64| std::env::var(name).map_or(otherwise, |text| text.parse().unwrap());
    let (seconds, mut chance) = (number(SECONDS, 3), Chance(number(SEED, 1)));
    let seeds = seeds::of(kind);
    for seed in &seeds {
        assert_eq!(wrong(kind, seed), Ok(true), "a file that is to be changed is not read before");
    }
    let (began, mut tried, mut read) = (cpu_s(), 0_u64, 0_u64);
    while cpu_s() - began < seconds as f64 {
        let bytes = changed::changed(&seeds, &mut chance);
        fs::write(noted, &bytes).unwrap();
        match wrong(kind, &bytes) {
            Ok(is_read) => read += u64::from(is_read),
            Err(why) => {
                println!("found {kind:?}: {why}");
                std::process::exit(1);
            }
        }
        tried += 1;
    }
    println!("told {kind:?}: {tried} files, {read} of them read, the others refused");
}

/// Where the file lies that is being read. Beyond all that is built: what makes a process end in no orderly way lies there afterwards.
fn noted(kind: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("fuzzed-{kind}"))
}

/// A process that reads, with no more memory and time than it should need many times over; what it tells.
fn apart(kind: &str, test: &str) -> Result<String, String> {
    let noted = noted(kind);
    let seconds: u64 = std::env::var(SECONDS).map_or(3, |text| text.parse().unwrap());
    let limits = format!("ulimit -t {} && ulimit -v 4000000 && exec \"$0\" \"$@\"", seconds * 2 + 60);
    let ended = Command::new("sh")
        .args(["-c", &limits])
        .arg(std::env::current_exe().unwrap())
        .args([test, "--exact", "--nocapture"])
        .env(KIND, kind)
        .env(NOTED, &noted)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ended.stdout).into_owned();
    let told = said.lines().find_map(|line| line.split_once("told ").map(|(_, told)| told.to_owned()));
    match told {
        Some(told) if ended.status.success() => {
            let _ = fs::remove_file(&noted);
            Ok(told)
        }
        _ => Err(format!("{}: {said}{}", noted.display(), String::from_utf8_lossy(&ended.stderr))),
    }
}

#[test]
fn whatever_is_changed_in_a_file_it_is_read_or_refused() {
    if let (Ok(kind), Ok(noted)) = (std::env::var(KIND), std::env::var(NOTED)) {
        return try_kind(Kind::named(&kind), Path::new(&noted));
    }
    for kind in Kind::ALL {
        println!("{}", apart(&format!("{kind:?}"), "fuzzed::whatever_is_changed_in_a_file_it_is_read_or_refused").unwrap());
    }
}

#[test]
fn a_file_made_to_harm_is_read_or_refused() {
    if let (Ok(name), Ok(noted)) = (std::env::var(KIND), std::env::var(NOTED)) {
        return try_bomb(&name, Path::new(&noted));
    }
    for (name, _, make) in bombs::all() {
        // Made here: memory that the other process had once would not count when it is taken again.
        fs::write(noted(name), make()).unwrap();
        println!("{}", apart(name, "fuzzed::a_file_made_to_harm_is_read_or_refused").unwrap());
    }
}

fn try_bomb(name: &str, noted: &Path) {
    let (_, kind, _) = bombs::all().into_iter().find(|(bomb, ..)| *bomb == name).unwrap();
    let bytes = fs::read(noted).unwrap();
    match wrong(kind, &bytes) {
        Ok(is_read) => println!("told {name}: {} bytes, {}", bytes.len(), if is_read { "read" } else { "refused" }),
        Err(why) => panic!("{name}: {why}"),
    }
}
