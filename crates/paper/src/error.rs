//! Why there is no document.

/// What kept a document from being made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PaperError {
    /// The plan could not be written as data for the form.
    #[error("the plan can't be written as data for the form: {0}")]
    Data(String),
    /// A typeface that is built in can't be read.
    #[error("a built-in typeface can't be read")]
    Typeface,
    /// The form can't be laid out.
    #[error("the form can't be laid out: {0}")]
    Layout(String),
    /// The pages are no lawful archive document.
    #[error("the pages can't be written as PDF/A-2a and PDF/UA-1: {0}")]
    Archive(String),
}
