//! What a handover carries of the record: where it ended, and its entries and readings as files.

use lastmicron_job::event::When;
use lastmicron_job::fold::Standing;
use lastmicron_job::words::{LAYERS, word_for};
use lastmicron_polish::{Process, Step};
use lastmicron_record::{Citation, Entry, Keys, Note, canonical, verify};

use crate::PaperError;
use crate::handed::MOST_ATTACHED_BYTES;
use crate::signed::Signed;

/// Name under which a document carries the entries.
pub const RECORD_FILE: &str = "record.jsonl";
/// Name under which a document carries the readings.
pub const READINGS_FILE: &str = "readings.csv";

/// The keyword of a document that carries no record, since that was too large for it.
pub(crate) const APART: &str = "LASTMICRON:RECORD-APART";

/// A record, as a handover carries it.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    /// Which record, and where it ended.
    pub citation: Citation,
    /// When its last entry was taken down.
    pub received: When,
    /// Its entries, one a line, each in its canonical form.
    pub lines: Vec<u8>,
    /// The readings that count, in the columns of a job folder's readings.csv.
    pub readings: Vec<u8>,
    /// What was signed of it.
    pub signed: Option<Signed>,
}

impl Recorded {
    /// Whether the record is too large to be read back out of a document, with what would be attached beside it: then it is not attached.
    pub(crate) fn is_apart(&self) -> bool {
        let signed = self.signed.as_ref().map_or(0, |signed| signed.note.to_string().len() + signed.keys.to_string().len());
        self.lines.len() + self.readings.len() + signed > MOST_ATTACHED_BYTES
    }

    /// Of the entries of a record, the job that they fold into, and what was signed of them, with the keys.
    ///
    /// # Errors
    /// [`PaperError::NoRecord`] without entries, [`PaperError::Broken`] for a record that is not as it was written, [`PaperError::NotSigned`] for one that is not
    /// what was signed: no document is made of it.
    pub fn of(entries: &[Entry], standing: &Standing, signed: Option<(&Note, &Keys)>) -> Result<Self, PaperError> {
        let last = entries.last().ok_or(PaperError::NoRecord)?;
        let head = verify(entries).map_err(PaperError::Broken)?;
        let mut lines = Vec::new();
        for entry in entries {
            lines.extend(canonical(entry).map_err(|e| PaperError::Data(e.to_string()))?);
            lines.push(b'\n');
        }
        let citation = Citation { job: last.job(), head };
        let signed = signed.map(|(note, keys)| Signed::of(note, keys, entries)).transpose().map_err(PaperError::NotSigned)?;
        Ok(Self { citation, received: last.received.clone(), lines, readings: readings(standing)?, signed })
    }
}

fn readings(standing: &Standing) -> Result<Vec<u8>, PaperError> {
    let failed = |e: String| PaperError::Data(e);
    let mut sheet = csv::Writer::from_writer(Vec::new());
    let columns = ["panel", "x_mm", "y_mm", "reading", "unit", "after", "layer", "gauge", "session", "taken", "note"];
    sheet.write_record(columns).map_err(|e| failed(e.to_string()))?;
    for taken in &standing.readings {
        let reading = &taken.reading;
        let entered = taken.entered.to_string();
        let (number, unit) = entered.split_once(' ').unwrap_or((&entered, ""));
        let panel = standing.panels.get(reading.panel).map(|p| p.panel.name.as_str()).unwrap_or_default();
        let gauge = standing.gauges.get(reading.gauge).map(|g| g.name.as_str()).unwrap_or_default();
        let [x_mm, y_mm] = [reading.x_mm, reading.y_mm].map(|mm| mm.to_string());
        let after = after(&reading.after, &standing.processes);
        let taken_at = taken.when.to_string();
        let row =
            [panel, &x_mm, &y_mm, number, unit, &after, word_for(&reading.layer, &LAYERS), gauge, &reading.session, &taken_at, &taken.note];
        sheet.write_record(row).map_err(|e| failed(e.to_string()))?;
    }
    sheet.into_inner().map_err(|e| failed(e.to_string()))
}

/// Sets as a job folder writes them: `cut:1+finish:2`.
fn after(steps: &[Step], processes: &[Process]) -> String {
    let step = |s: &Step| format!("{}:{}", processes.get(s.process).map(|p| p.name.as_str()).unwrap_or_default(), s.sets);
    steps.iter().map(step).collect::<Vec<_>>().join("+")
}
