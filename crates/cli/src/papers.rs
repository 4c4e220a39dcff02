//! The documents of the app, made and read by the room of paper.

use lastmicron_paper::{
    Changed, Estimated, NotAHandover, Page, Recorded, Signed, handover_document, handover_pdf, read_handover, unsigned_from,
};
use lastmicron_record::{Citation, Entry, Keys};
use lastmicron_web::{HandedOver, Papers, ReadBack};

/// How a PDF begins.
pub(crate) const PDF: &[u8] = b"%PDF";

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
        checked(pdf, None).map_err(|error| error.to_string())
    }
}

/// Why a document is not what it should be.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Unsound {
    /// It is no handover.
    #[error("{0}")]
    NotOne(String),
    /// It is one, and not as it was made or signed.
    #[error("{0}")]
    Changed(String),
    /// It is as it was made, and nothing shows that those whose keys are known have made it.
    #[error("{0}")]
    NotTheirs(String),
}

/// Reads a handover back, where it is as it was made; and, where keys are known, is signed by what follows from them.
pub(crate) fn checked(pdf: &[u8], known: Option<&Keys>) -> Result<ReadBack, Unsound> {
    let changed = |why: Changed| Unsound::Changed(why.to_string());
    let handed = read_handover(pdf).map_err(|error| match error {
        NotAHandover::TooLarge { .. } | NotAHandover::NoRecord { .. } | NotAHandover::Apart { .. } => Unsound::NotOne(error.to_string()),
        NotAHandover::NotAPdf if !pdf.starts_with(PDF) => Unsound::NotOne(error.to_string()),
        NotAHandover::NotAPdf
        | NotAHandover::CutShort
        | NotAHandover::Added { .. }
        | NotAHandover::Damaged { .. }
        | NotAHandover::Line { .. } => Unsound::Changed(error.to_string()),
    })?;
    let head = handed.verify().map_err(changed)?;
    let job = handed.entries.first().map(Entry::job).ok_or_else(|| Unsound::NotOne("there are no entries in it".to_owned()))?;
    let signed = handed.signed().map_err(changed)?;
    if let Some(known) = known {
        match &signed {
            None => return Err(Unsound::NotTheirs("nothing of it is signed, so that nothing shows who made it".to_owned())),
            Some(signed) if signed.is_by(known) => {}
            Some(signed) => {
                return Err(Unsound::NotTheirs(format!(
                    "it is signed by {}, which does not follow from the key that you have: another has made it",
                    signed.key
                )));
            }
        }
    }
    let signed = signed_words(signed.as_ref(), head.seq, known.is_some());
    Ok(ReadBack { citation: Citation { job, head }, entries: handed.entries, signed })
}

/// What of a handover is signed, and by which key, in sentences. A key that was not compared with one that is known is still to be.
fn signed_words(signed: Option<&Signed>, entries: u64, is_compared: bool) -> String {
    let compare = if is_compared { "" } else { " That key stands in the file itself: compare it with the one that the workshop gives." };
    let covered = signed.map(|signed| format!("Entries 1 to {} are signed by {}.{compare}", signed.checkpoint.size, signed.key));
    [covered, unsigned_from(signed, entries)].into_iter().flatten().collect::<Vec<_>>().join(" ")
}
