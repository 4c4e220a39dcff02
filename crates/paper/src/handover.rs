//! The handover in words: what was taken and what is left, what was done and what not, and what the next person begins with.

mod agreed;
mod done;
mod left;
mod measured;
mod next;
mod signed;

use lastmicron_draw::TakenScales;
use lastmicron_job::fold::Standing;
use lastmicron_job::plan::Car;
use lastmicron_plan::taken::Taken;
use lastmicron_units::Unit;
use serde::Serialize;

use crate::care::CARE;
use crate::cautions::{CAUTIONS, PREVAIL, THE_PAINT};
use crate::document::Fact;
use crate::handed::MOST_ATTACHED_BYTES;
use crate::panel_sheet::{Drawing, NAME_CHARS, SENTENCE_CHARS};
use crate::printable::cut;
use crate::qr::qr;
use crate::ranges::grouped;
use crate::recorded::{APART, READINGS_FILE, RECORD_FILE, Recorded};
use crate::seal::open_seal;
use crate::signed::{CHECKPOINT_FILE, KEYS_FILE, unsigned_from};
use crate::{Page, PaperError};
pub use done::SpotLine;
pub use left::PanelHandover;
pub use next::NextLine;
pub use signed::SignedLines;

/// The film behind a handover, and the vehicle that it is of.
#[derive(Clone, Copy, Debug)]
pub struct Estimated<'a> {
    /// The vehicle.
    pub car: &'a Car,
    /// What was taken and what is left.
    pub taken: &'a Taken,
}

/// All that is printed of a handover, in the order of the pages, and what is attached to it. It names nobody: the owner stands on a sheet of their own.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HandoverDocument {
    /// The paper's name.
    pub paper: String,
    /// The document's title, as its properties have it.
    pub title: String,
    /// The same as printed, broken where a line ends.
    pub heading: String,
    /// As much of the job's title as a page's head holds.
    pub head: String,
    /// The whole vehicle.
    pub in_short: Vec<Fact>,
    /// Vehicle and paint.
    pub vehicle: Vec<Fact>,
    /// What was agreed, as it holds.
    pub agreed: Vec<Fact>,
    /// When it was agreed and what was changed later.
    pub changes: Vec<Fact>,
    /// The panels, in the order of the job.
    pub panels: Vec<PanelHandover>,
    /// Whether anything was worked.
    pub is_begun: bool,
    /// What was not done, and why.
    pub not_done: Vec<Fact>,
    /// Where the topcoat was gone through.
    pub gone_through: Vec<Fact>,
    /// Test spots.
    pub spots: Vec<SpotLine>,
    /// Readings, gauges and their checks.
    pub measured: Vec<Fact>,
    /// Photographs, by hash.
    pub photographs: Vec<Fact>,
    /// Notes taken on the job.
    pub notes: Vec<Fact>,
    /// What the next person begins with.
    pub next: Vec<NextLine>,
    /// What is not known.
    pub unknown: Vec<String>,
    /// Care after correction.
    pub care: Vec<Fact>,
    /// The usual care for who works it next.
    pub cautions: Vec<Fact>,
    /// Who prevails over it.
    pub prevail: String,
    /// The record.
    pub record: Vec<Fact>,
    /// Its last hash, in groups of four.
    pub hash: String,
    /// The line in the code.
    pub citation: String,
    /// The code.
    pub code: Drawing,
    /// What was signed of it.
    pub signed: Option<SignedLines>,
    /// From where on it is not signed, in a sentence; empty where all of it is.
    pub unsigned: String,
    /// The place among the keywords for the hash of the file.
    pub seal: String,
    /// The keyword that says that the record is not attached, being too large; empty where it is.
    pub apart: String,
    /// How to check it.
    pub check: Vec<String>,
    /// The entries, one a line: attached, unless they are apart.
    #[serde(skip)]
    pub record_file: Vec<u8>,
    /// The readings: attached.
    #[serde(skip)]
    pub readings_file: Vec<u8>,
}

/// Puts a job as it stands, its film and its record into words, film figures in `unit`. Without an estimate it says that there is none.
/// `unbegun` says what is to be told of the accepted plan, as what it works that nobody began: a panel's name and a sentence, in the order to be printed.
///
/// # Errors
/// [`PaperError::Data`] when the record's line fits no code, which no line does.
pub fn handover_document(
    standing: &Standing,
    estimated: Option<Estimated<'_>>,
    recorded: &Recorded,
    unbegun: &[(String, String)],
    page: Page,
    unit: Unit,
) -> Result<HandoverDocument, PaperError> {
    let title = standing.vehicle.as_ref().map(|v| v.title.trim()).unwrap_or_default();
    let citation = recorded.citation.to_string();
    let is_apart = recorded.is_apart();
    let heading = format!("Handover: {}", if title.is_empty() { "untitled job".to_owned() } else { cut(title, 2 * NAME_CHARS) });
    let scales = estimated.map(|e| TakenScales::of(e.taken, unit));
    let sheet = |index: usize| left::panel(standing, estimated.zip(scales.as_ref()), index, page, unit);
    let fact = |(name, value): &(&str, &str)| Fact { name: (*name).to_owned(), value: (*value).to_owned() };
    Ok(HandoverDocument {
        paper: page.paper().to_owned(),
        title: heading.clone(),
        heading,
        head: if title.is_empty() { "Untitled job".to_owned() } else { cut(title, NAME_CHARS) },
        in_short: left::in_short(standing, estimated, unit),
        vehicle: agreed::vehicle(standing),
        agreed: agreed::holds(standing, unit),
        changes: agreed::changes(standing, unit),
        panels: (0..standing.panels.len()).map(sheet).collect(),
        is_begun: standing.is_begun(),
        not_done: done::not_done(standing, unbegun),
        gone_through: done::gone_through(standing),
        spots: done::spots(standing),
        measured: measured::measured(standing),
        photographs: measured::photographs(standing),
        notes: measured::notes(standing),
        next: next::next(standing, estimated, unit),
        unknown: next::unknown(standing, estimated),
        care: CARE.iter().map(fact).collect(),
        // What a plan warns of has been done by now; care says what follows from it.
        cautions: CAUTIONS.iter().filter(|(name, _)| *name != THE_PAINT).map(fact).collect(),
        prevail: PREVAIL.to_owned(),
        record: record(standing, recorded),
        hash: grouped(recorded.citation.head.hash),
        code: qr(&citation, "QR code of the line below: the job, the number of entries, the hash of the last.")?,
        citation,
        signed: recorded.signed.as_ref().map(SignedLines::of).transpose()?,
        unsigned: unsigned_from(recorded.signed.as_ref(), recorded.citation.head.seq).unwrap_or_default(),
        seal: open_seal(),
        apart: if is_apart { APART.to_owned() } else { String::new() },
        check: check(recorded, is_apart),
        record_file: if is_apart { Vec::new() } else { recorded.lines.clone() },
        readings_file: recorded.readings.clone(),
    })
}

fn record(standing: &Standing, recorded: &Recorded) -> Vec<Fact> {
    let fact = |name: &str, value: String| Fact { name: name.to_owned(), value };
    let mut facts = vec![
        fact("Job", recorded.citation.job.to_string()),
        fact("Entries", recorded.citation.head.seq.to_string()),
        fact("Last taken down", measured::minute(&recorded.received)),
        fact("Struck out as mistakes", standing.struck.len().to_string()),
    ];
    if !standing.unusable.is_empty() {
        let first = standing.unusable.iter().take(3).map(|u| cut(&u.why.to_string(), SENTENCE_CHARS / 4)).collect::<Vec<_>>().join("; ");
        facts.push(fact("Entries that could not be used", format!("{}: {first}", standing.unusable.len())));
    }
    facts
}

fn check(recorded: &Recorded, is_apart: bool) -> Vec<String> {
    let mut all = if is_apart { check_apart(recorded) } else { check_attached() };
    all.push("Without that program: each entry's hash is the SHA-256 of its canonical JSON (RFC 8785) without the member hash, and each entry names the hash of the one before, the first 64 zeros.".to_owned());
    if recorded.signed.is_some() {
        let record = if is_apart { "FILE" } else { RECORD_FILE };
        all.push(format!("Attached too are {CHECKPOINT_FILE}, the signed checkpoint, and {KEYS_FILE}, the public keys. Save what is attached, and check it with: python3 verify/verify.py {record} {CHECKPOINT_FILE} {KEYS_FILE}. The code beside the root holds {CHECKPOINT_FILE} too."));
        all.push("Nobody without the workshop's key can sign another record. But a file can be written anew as a whole, with another key: compare the public key above with the one that the workshop gives, and the hash with the one on the copy that was printed.".to_owned());
    } else {
        all.push("A file can be written anew as a whole. So compare the hash above with the one on the copy that was printed, or with the one that the workshop keeps: only the same hash is the same record.".to_owned());
    }
    all
}

fn check_attached() -> Vec<String> {
    vec![
        format!(
            "Attached to this PDF are {RECORD_FILE}, every entry of the record, and {READINGS_FILE}, the readings that count. Entries name the people of the workshop as they were written down, by initials as a rule."
        ),
        "lastmicron verify FILE takes the record out of this PDF, checks every entry against the one before it, and the last against the hash above.".to_owned(),
    ]
}

fn check_apart(Recorded { citation, lines, .. }: &Recorded) -> Vec<String> {
    vec![
        format!(
            "The record is not in this PDF: it has {} bytes, and with what stands beside it at most {MOST_ATTACHED_BYTES} are read back out of one. Attached is {READINGS_FILE}, the readings that count.",
            lines.len()
        ),
        format!(
            "On the machine that keeps the record, lastmicron export {} --record FILE writes it to a file, and lastmicron verify FILE checks every entry of that against the one before it and tells the last hash. The hash above is that of entry {}.",
            citation.job, citation.head.seq
        ),
    ]
}
