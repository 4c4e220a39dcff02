//! The plan, what one set does, the handover, and the key of the backups, as PDF documents.
//!
//! [`document`] puts a job and its plan into words: plain data, no layout. A [`Press`] makes pages of it; [`Typst`] is the one press
//! there is, and the only thing here that knows the typesetting engine. It reads no clock, no file and no network, and what a person
//! typed reaches it as data, never as markup.

mod care;
mod cautions;
mod document;
mod engine;
mod error;
mod facts;
mod handed;
mod handover;
mod key_sheet;
mod page;
mod panel_sheet;
mod pass_document;
mod pass_words;
mod press;
mod printable;
mod qr;
mod ranges;
mod recorded;
mod seal;
mod signed;

pub use document::{Fact, PadSheet, PlanDocument, RateLine, Signature, document};
pub use engine::Typst;
pub use error::PaperError;
pub use handed::{Changed, HandedOver, MOST_ATTACHED_BYTES, MOST_HANDOVER_BYTES, NotAHandover, read_handover};
pub use handover::{Estimated, HandoverDocument, NextLine, PanelHandover, SignedLines, SpotLine, handover_document};
pub use key_sheet::{KeySheet, KeySheetDocument, key_sheet_document};
pub use page::Page;
pub use panel_sheet::{Drawing, PanelSheet, SectionLine};
pub use pass_document::{DepthLine, LineProfile, PassDocument, SetWorked, With, figure, pass_document};
pub use pass_words::HeatLine;
pub use press::{Press, handover_pdf, key_sheet_pdf, pass_pdf, plan_pdf, plan_pdf_by};
pub use recorded::{READINGS_FILE, RECORD_FILE, Recorded};
pub use signed::{CHECKPOINT_FILE, KEYS_FILE, Signed, unsigned_from};
