//! The documents of the app, made and read by the room of paper.

use lastmicron_paper::{Estimated, Page, Recorded, Signed, handover_document, handover_pdf, read_handover, unsigned_from};
use lastmicron_record::{Citation, Entry, Keys};
use lastmicron_web::{HandedOver, Papers, ReadBack};

/// Makes documents by the typesetting engine, on A4.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Typeset;

impl Papers for Typeset {
    fn handover(&self, of: HandedOver<'_>) -> Result<Vec<u8>, String> {
        let recorded = Recorded::of(of.entries, of.standing, of.signed).map_err(|error| error.to_string())?;
        let estimated = of.taken.map(|(car, taken)| Estimated { car, taken });
        let document =
            handover_document(of.standing, estimated, &recorded, of.unbegun, Page::A4, of.unit).map_err(|error| error.to_string())?;
        handover_pdf(&document).map_err(|error| error.to_string())
    }

    fn read(&self, pdf: &[u8]) -> Result<ReadBack, String> {
        let handed = read_handover(pdf).map_err(|error| error.to_string())?;
        let head = handed.verify().map_err(|error| error.to_string())?;
        let job = handed.entries.first().map(Entry::job).ok_or("there are no entries in it")?;
        let signed = handed.signed().map_err(|error| error.to_string())?;
        let signed = signed_words(signed.as_ref(), head.seq);
        Ok(ReadBack { citation: Citation { job, head }, entries: handed.entries, signed })
    }
}

/// What of a handover is signed, and by which key, in sentences.
fn signed_words(signed: Option<&Signed>, entries: u64) -> String {
    let covered = signed.map(|signed| {
        format!(
            "Entries 1 to {} are signed by {}. That key stands in the file itself: compare it with the one that the workshop gives.",
            signed.checkpoint.size, signed.key
        )
    });
    [covered, unsigned_from(signed, entries)].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// What a handover, which [`Typeset`] has read back, is signed by is what whoever has these keys believes.
///
/// # Errors
/// Why not, in a sentence.
pub(crate) fn is_by(pdf: &[u8], known: &Keys) -> Result<(), String> {
    let handed = read_handover(pdf).map_err(|error| error.to_string())?;
    match handed.signed().map_err(|error| error.to_string())? {
        None => Err("nothing of it is signed".to_owned()),
        Some(signed) if signed.is_by(known) => Ok(()),
        Some(signed) => {
            Err(format!("it is signed by {}, which does not follow from the key that you have: another has made it", signed.key))
        }
    }
}
