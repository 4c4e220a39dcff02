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
    /// A handover was wanted of a job without a record.
    #[error("the record has no entries: there is nothing to hand over")]
    NoRecord,
    /// A handover was wanted of a record that is not as it was written.
    #[error("the record is not as it was written, and no document is made of it: {0}")]
    Broken(lastmicron_record::Broken),
    /// A handover was wanted of a record that is not the one that was signed.
    #[error("the record is not the one that was signed, and no document is made of it: {0}")]
    NotSigned(String),
    /// The pages are no lawful archive document.
    #[error("the pages can't be written as PDF/A and PDF/UA-1: {0}")]
    Archive(String),
}
