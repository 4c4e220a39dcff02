//! The seam between what is printed and what prints it.

use lastmicron_job::Job;
use lastmicron_plan::Outcome;
use lastmicron_units::Unit;

use crate::{
    HandoverDocument, KeySheet, KeySheetDocument, Page, PaperError, PassDocument, PlanDocument, Typst, document, key_sheet_document,
};

/// Makes pages of a document. Tests of other crates use one of their own, so that they need no typesetting engine.
pub trait Press {
    /// The document as the bytes of a PDF: the same bytes for the same document.
    ///
    /// # Errors
    /// [`PaperError`] when no pages can be made of it.
    fn plan(&self, document: &PlanDocument) -> Result<Vec<u8>, PaperError>;

    /// The same of a set's document.
    ///
    /// # Errors
    /// [`PaperError`] when no pages can be made of it.
    fn pass(&self, document: &PassDocument) -> Result<Vec<u8>, PaperError>;

    /// The same of a handover, with the record and the readings attached.
    ///
    /// # Errors
    /// [`PaperError`] when no pages can be made of it.
    fn handover(&self, document: &HandoverDocument) -> Result<Vec<u8>, PaperError>;

    /// The same of the sheet of a key.
    ///
    /// # Errors
    /// [`PaperError`] when no pages can be made of it.
    fn key_sheet(&self, document: &KeySheetDocument) -> Result<Vec<u8>, PaperError>;
}

/// The sheet of a key as PDF/A-2a and PDF/UA-1: the same bytes for the same key.
///
/// # Errors
/// [`PaperError`] when no pages can be made of it.
pub fn key_sheet_pdf(sheet: &KeySheet<'_>, page: Page) -> Result<Vec<u8>, PaperError> {
    Typst::new()?.key_sheet(&key_sheet_document(sheet, page)?)
}

/// A handover as PDF/A-3a and PDF/UA-1, record and readings attached: the same bytes for the same document.
///
/// # Errors
/// [`PaperError`] when no pages can be made of it.
pub fn handover_pdf(document: &HandoverDocument) -> Result<Vec<u8>, PaperError> {
    Typst::new()?.handover(document)
}

/// What one set does as PDF/A-2a and PDF/UA-1: the same bytes for the same document.
///
/// # Errors
/// [`PaperError`] when no pages can be made of it.
pub fn pass_pdf(document: &PassDocument) -> Result<Vec<u8>, PaperError> {
    Typst::new()?.pass(document)
}

/// The plan as PDF/A-2a and PDF/UA-1, film figures in `unit`: the same bytes for the same job and outcome.
///
/// # Errors
/// [`PaperError`] when no pages can be made of it.
pub fn plan_pdf(job: &Job, outcome: &Outcome, page: Page, unit: Unit) -> Result<Vec<u8>, PaperError> {
    plan_pdf_by(&Typst::new()?, job, outcome, page, unit)
}

/// The plan as PDF from any press.
///
/// # Errors
/// [`PaperError`] when the press makes no pages of it.
pub fn plan_pdf_by(press: &dyn Press, job: &Job, outcome: &Outcome, page: Page, unit: Unit) -> Result<Vec<u8>, PaperError> {
    press.plan(&document(job, outcome, page, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Echo;

    impl Press for Echo {
        fn plan(&self, document: &PlanDocument) -> Result<Vec<u8>, PaperError> {
            Ok(document.paper.clone().into_bytes())
        }

        fn pass(&self, document: &PassDocument) -> Result<Vec<u8>, PaperError> {
            Ok(document.paper.clone().into_bytes())
        }

        fn handover(&self, document: &HandoverDocument) -> Result<Vec<u8>, PaperError> {
            Ok(document.paper.clone().into_bytes())
        }

        fn key_sheet(&self, document: &KeySheetDocument) -> Result<Vec<u8>, PaperError> {
            Ok(document.paper.clone().into_bytes())
        }
    }

    #[test]
    fn a_document_can_be_printed_by_another_press() {
        let press: &dyn Press = &Echo;
        let document = PlanDocument {
            paper: "a4".to_owned(),
            title: String::new(),
            head: String::new(),
            unit: String::new(),
            vehicle: Vec::new(),
            totals: Vec::new(),
            panels: Vec::new(),
            tape: String::new(),
            pad_work: Vec::new(),
            heat: String::new(),
            curve: crate::Drawing { svg: String::new(), alt: String::new(), width_pt: 1.0, height_pt: 1.0 },
            bend: String::new(),
            rates: Vec::new(),
            findings: Vec::new(),
            assumptions: Vec::new(),
            unknown: Vec::new(),
            cautions: Vec::new(),
            prevail: String::new(),
            signatures: Vec::new(),
        };
        assert_eq!(press.plan(&document).unwrap(), b"a4");
    }
}
