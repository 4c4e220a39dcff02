//! The documents of the app, made and read by the room of paper.

use lastmicron_paper::{Estimated, Page, Recorded, handover_document, handover_pdf, read_handover};
use lastmicron_record::{Citation, Entry};
use lastmicron_web::{HandedOver, Papers};

/// Makes documents by the typesetting engine, on A4.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Typeset;

impl Papers for Typeset {
    fn handover(&self, of: HandedOver<'_>) -> Result<Vec<u8>, String> {
        let recorded = Recorded::of(of.entries, of.standing).map_err(|error| error.to_string())?;
        let estimated = of.taken.map(|(car, taken)| Estimated { car, taken });
        let document =
            handover_document(of.standing, estimated, &recorded, of.unbegun, Page::A4, of.unit).map_err(|error| error.to_string())?;
        handover_pdf(&document).map_err(|error| error.to_string())
    }

    fn read(&self, pdf: &[u8]) -> Result<(Citation, Vec<Entry>), String> {
        let handed = read_handover(pdf).map_err(|error| error.to_string())?;
        let head = handed.verify().map_err(|error| error.to_string())?;
        let job = handed.entries.first().map(Entry::job).ok_or("there are no entries in it")?;
        Ok((Citation { job, head }, handed.entries))
    }
}
