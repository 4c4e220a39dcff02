//! What was signed of the record, in words, groups and a code.

use serde::Serialize;

use crate::PaperError;
use crate::document::Fact;
use crate::panel_sheet::Drawing;
use crate::qr::qr;
use crate::ranges::grouped;
use crate::signed::Signed;

/// A checkpoint as it is printed and attached.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SignedLines {
    /// Of which record, how much, and by whom.
    pub facts: Vec<Fact>,
    /// The root of the entries' tree, in groups of four.
    pub root: String,
    /// The signed checkpoint whole, as a code.
    pub code: Drawing,
    /// The checkpoint: attached.
    #[serde(skip)]
    pub checkpoint_file: Vec<u8>,
    /// The public keys: attached.
    #[serde(skip)]
    pub keys_file: Vec<u8>,
}

impl SignedLines {
    pub(super) fn of(signed: &Signed) -> Result<Self, PaperError> {
        let note = signed.note.to_string();
        let origin = note.lines().next().unwrap_or_default().to_owned();
        let facts = [
            ("Signed record", origin),
            ("Entries signed", format!("1 to {}", signed.checkpoint.size)),
            ("Signed by", signed.key.name().to_owned()),
            ("Public key", signed.key.to_string()),
        ];
        Ok(Self {
            facts: facts.into_iter().map(|(name, value)| Fact { name: name.to_owned(), value }).collect(),
            root: grouped(signed.checkpoint.root),
            code: qr(
                &note,
                "QR code of the signed checkpoint: the record, the number of entries, the root of their tree, and the signature.",
            )?,
            checkpoint_file: note.into_bytes(),
            keys_file: signed.keys.to_string().into_bytes(),
        })
    }
}
