//! The sheet on which the key of encrypted backups is kept.

use lastmicron_job::event::When;
use serde::Serialize;

use crate::document::Fact;
use crate::panel_sheet::Drawing;
use crate::qr::qr;
use crate::{Page, PaperError};

/// Letters of a key that stand together. Judgement: what is typed at a glance.
const GROUP: usize = 4;
/// Letters before them that are the same in every key of age: `AGE-SECRET-KEY-1`.
const HEAD: usize = 16;

/// A key.
#[derive(Clone, Copy)]
pub struct KeySheet<'a> {
    /// The secret half in letters.
    pub secret: &'a str,
    /// The public half in letters.
    pub recipient: &'a str,
    /// When it was made.
    pub made: &'a When,
}

/// All that is printed of a key, in the order of the page. It is secret.
#[derive(Clone, PartialEq, Serialize)]
pub struct KeySheetDocument {
    /// The paper's name.
    pub paper: String,
    /// What it is.
    pub title: String,
    /// The beginning of the key.
    pub head: String,
    /// The rest, in groups.
    pub groups: Vec<String>,
    /// The whole key as a code.
    pub code: Drawing,
    /// Which key it is.
    pub facts: Vec<Fact>,
}

/// Puts a key onto a sheet.
///
/// # Errors
/// [`PaperError::Data`] for a text too long to be a key.
pub fn key_sheet_document(sheet: &KeySheet<'_>, page: Page) -> Result<KeySheetDocument, PaperError> {
    let letters: Vec<char> = sheet.secret.chars().collect();
    let (head, rest) = letters.split_at(HEAD.min(letters.len()));
    Ok(KeySheetDocument {
        paper: page.paper().to_owned(),
        title: "Key of the backups".to_owned(),
        head: head.iter().collect(),
        groups: rest.chunks(GROUP).map(|group| group.iter().collect()).collect(),
        code: qr(sheet.secret, "The key as a QR code: the same letters as above, without spaces")?,
        facts: [("Made", sheet.made.to_string()), ("Its public half, which is no secret", sheet.recipient.to_owned())]
            .map(|(name, value)| Fact { name: name.to_owned(), value })
            .to_vec(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_groups_of_a_sheet_are_the_key() {
        // An invented text of a key's length.
        let secret = format!("AGE-SECRET-KEY-1{}", "QPZRY9X8GF".repeat(6).split_at(58).0);
        let made = "2024-05-01T09:30:00Z".parse().unwrap();
        let sheet = KeySheet { secret: &secret, recipient: "age1qpz", made: &made };
        let document = key_sheet_document(&sheet, Page::A4).unwrap();
        assert_eq!(document.head.clone() + &document.groups.concat(), secret);
        assert_eq!((document.groups.len(), document.groups[0].as_str(), document.groups[14].len()), (15, "QPZR", 2));
        assert!(document.code.svg.contains("<path"));
    }
}
