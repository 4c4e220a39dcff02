//! The seam to what makes and reads documents: the app knows no typesetting engine.

use lastmicron_job::fold::Standing;
use lastmicron_plan::Car;
use lastmicron_plan::taken::Taken;
use lastmicron_record::{Citation, Entry, Keys, Note};
use lastmicron_units::Unit;

/// What a handover is made from.
#[derive(Clone, Copy, Debug)]
pub struct HandedOver<'a> {
    /// The job as it stands.
    pub standing: &'a Standing,
    /// The vehicle, and what was taken of it; none where nothing can be estimated.
    pub taken: Option<(&'a Car, &'a Taken)>,
    /// What is to be said of the accepted plan, each with a panel's name: what it works that nobody began, once the work has begun; and that it is lost.
    pub unbegun: &'a [(String, String)],
    /// Its record.
    pub entries: &'a [Entry],
    /// What was signed of it, with the keys.
    pub signed: Option<(&'a Note, &'a Keys)>,
    /// The unit of its figures.
    pub unit: Unit,
}

/// What a handover carries, where it is as it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadBack {
    /// The record that its pages cite.
    pub citation: Citation,
    /// Its entries.
    pub entries: Vec<Entry>,
    /// What of it is signed, and by which key, in sentences.
    pub signed: String,
}

/// What makes documents and reads them back.
pub trait Papers: Send + Sync {
    /// The handover as a PDF, with its record attached.
    ///
    /// # Errors
    /// Why there is none, in a sentence.
    fn handover(&self, of: HandedOver<'_>) -> Result<Vec<u8>, String>;

    /// The record that a handover carries, where it is whole, is the one that was signed, and ends as its pages say.
    ///
    /// # Errors
    /// Why it isn't, in a sentence.
    fn read(&self, pdf: &[u8]) -> Result<ReadBack, String>;
}
