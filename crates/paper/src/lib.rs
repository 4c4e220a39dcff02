//! The plan, and what one set does, as PDF documents.
//!
//! [`document`] puts a job and its plan into words: plain data, no layout. A [`Press`] makes pages of it; [`Typst`] is the one press
//! there is, and the only thing here that knows the typesetting engine. It reads no clock, no file and no network, and what a person
//! typed reaches it as data, never as markup.

mod cautions;
mod document;
mod engine;
mod error;
mod facts;
mod page;
mod panel_sheet;
mod pass_document;
mod pass_words;
mod press;
mod printable;
mod ranges;

pub use document::{Fact, PadSheet, PlanDocument, RateLine, Signature, document};
pub use engine::Typst;
pub use error::PaperError;
pub use page::Page;
pub use panel_sheet::{Drawing, PanelSheet, SectionLine};
pub use pass_document::{DepthLine, LineProfile, PassDocument, SetWorked, With, figure, pass_document};
pub use pass_words::HeatLine;
pub use press::{Press, pass_pdf, plan_pdf, plan_pdf_by};
