//! The typesetting engine, in process.

use serde::Serialize;
use serde_json::Value;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::printable::{breakable, printable};
use crate::recorded::{READINGS_FILE, RECORD_FILE};
use crate::seal::sealed;
use crate::signed::{CHECKPOINT_FILE, KEYS_FILE};
use crate::{HandoverDocument, KeySheetDocument, PaperError, PassDocument, PlanDocument, Press};

/// The forms' markup. What a person typed is never part of it.
const PLAN: (&str, &str) = ("plan.typ", include_str!("../template/plan.typ"));
const PASS: (&str, &str) = ("pass.typ", include_str!("../template/pass.typ"));
const HANDOVER: (&str, &str) = ("handover.typ", include_str!("../template/handover.typ"));
const KEY_SHEET: (&str, &str) = ("key_sheet.typ", include_str!("../template/key_sheet.typ"));
/// The name by which the forms read what they print.
const DATA_NAME: &str = "plan.json";

/// The press of this crate. It holds two faces of DejaVu Sans Condensed (Bitstream Vera licence, free to embed), which have the
/// Latin, Greek, Cyrillic, Arabic and Hebrew letters.
#[derive(Debug)]
pub struct Typst {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    faces: Vec<Font>,
    plan: Source,
    pass: Source,
    handover: Source,
    key_sheet: Source,
    data: FileId,
}

impl Typst {
    /// Sets the press up.
    ///
    /// # Errors
    /// [`PaperError::Typeface`] when a built-in face can't be read.
    pub fn new() -> Result<Self, PaperError> {
        let faces = [dejavu::sans_condensed::regular(), dejavu::sans_condensed::bold()];
        let faces = faces.into_iter().map(|face| Font::new(Bytes::new(face), 0).ok_or(PaperError::Typeface));
        let faces: Vec<Font> = faces.collect::<Result<_, _>>()?;
        let form = |(name, markup): (&str, &str)| Ok(Source::new(file_id(name)?, markup.to_owned()));
        let (plan, pass, handover, key_sheet) = (form(PLAN)?, form(PASS)?, form(HANDOVER)?, form(KEY_SHEET)?);
        let book = LazyHash::new(FontBook::from_fonts(&faces));
        Ok(Self { library: LazyHash::new(Library::default()), book, faces, plan, pass, handover, key_sheet, data: file_id(DATA_NAME)? })
    }

    fn covers(&self, c: char) -> bool {
        self.faces.first().is_some_and(|face| face.info().coverage.contains(u32::from(c)))
    }
}

impl Press for Typst {
    fn plan(&self, document: &PlanDocument) -> Result<Vec<u8>, PaperError> {
        self.printed(&self.plan, document, Vec::new())
    }

    fn pass(&self, document: &PassDocument) -> Result<Vec<u8>, PaperError> {
        self.printed(&self.pass, document, Vec::new())
    }

    fn handover(&self, document: &HandoverDocument) -> Result<Vec<u8>, PaperError> {
        let file = |name: &str, bytes: &[u8]| Ok((file_id(name)?, Bytes::new(bytes.to_vec())));
        let mut attached = vec![file(READINGS_FILE, &document.readings_file)?];
        if document.apart.is_empty() {
            attached.push(file(RECORD_FILE, &document.record_file)?);
        }
        if let Some(signed) = &document.signed {
            attached.push(file(CHECKPOINT_FILE, &signed.checkpoint_file)?);
            attached.push(file(KEYS_FILE, &signed.keys_file)?);
        }
        let pdf = self.printed(&self.handover, document, attached)?;
        sealed(pdf).ok_or_else(|| PaperError::Archive("there is no place for the file's own hash".to_owned()))
    }

    fn key_sheet(&self, document: &KeySheetDocument) -> Result<Vec<u8>, PaperError> {
        self.printed(&self.key_sheet, document, Vec::new())
    }
}

impl Typst {
    fn printed(&self, form: &Source, document: &impl Serialize, attached: Vec<(FileId, Bytes)>) -> Result<Vec<u8>, PaperError> {
        let data = serde_json::to_value(document).map_err(|e| PaperError::Data(e.to_string()))?;
        match self.pages(form, data.clone(), &attached, &|c| self.covers(c)) {
            // Some sequences of marks are joined by the shaper into glyphs that stand for no character, which an archive refuses:
            // then only letters that are never joined are printed.
            Err(PaperError::Archive(_)) => self.pages(form, data, &attached, &|c| self.covers(c) && stands_alone(c)),
            pages => pages,
        }
    }

    fn pages(
        &self,
        form: &Source,
        mut data: Value,
        attached: &[(FileId, Bytes)],
        covers: &dyn Fn(char) -> bool,
    ) -> Result<Vec<u8>, PaperError> {
        make_printable(&mut data, "", covers);
        let bytes = serde_json::to_vec(&data).map_err(|e| PaperError::Data(e.to_string()))?;
        let desk = Desk { press: self, form, data: Bytes::new(bytes), attached };
        let pages = typst::compile::<PagedDocument>(&desk).output.map_err(|e| PaperError::Layout(said(&e)))?;
        // Files may be attached to the third part alone.
        let archive = if attached.is_empty() { PdfStandard::A_2a } else { PdfStandard::A_3a };
        let standards = PdfStandards::new(&[archive, PdfStandard::Ua_1]).map_err(|e| PaperError::Archive(e.message().to_string()))?;
        let options = PdfOptions { creator: Smart::Custom(Some("lastmicron".to_owned())), standards, ..PdfOptions::default() };
        let pdf = typst_pdf::pdf(&pages, &options).map_err(|e| PaperError::Archive(said(&e)));
        // What was remembered of this document is of no use to the next.
        typst::comemo::evict(0);
        pdf
    }
}

/// Latin, Greek and Cyrillic letters, punctuation and signs, without combining marks.
const fn stands_alone(c: char) -> bool {
    matches!(c, ' '..='\u{2ff}' | '\u{370}'..='\u{482}' | '\u{48a}'..='\u{52f}' | '\u{2010}'..='\u{2027}' | '\u{2030}'..='\u{205e}' | '\u{2190}'..='\u{25ff}')
}

fn file_id(name: &str) -> Result<FileId, PaperError> {
    let path = VirtualPath::new(name).map_err(|e| PaperError::Layout(format!("{e:?}")))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

fn said(errors: &[SourceDiagnostic]) -> String {
    let sentences: Vec<String> = errors.iter().map(|e| e.message.to_string()).collect();
    sentences.join("; ")
}

/// Makes every text of the data fit to print. Drawings and what is read aloud are not set in columns: they need no places to break.
fn make_printable(value: &mut Value, key: &str, covers: &dyn Fn(char) -> bool) {
    match value {
        Value::String(text) => {
            let mut clean = printable(text, covers);
            // A heading read aloud must say something.
            if clean.trim().is_empty() && matches!(key, "name" | "title" | "head") {
                clean = "(no name)".to_owned();
            }
            *text = if matches!(key, "svg" | "alt" | "title" | "head" | "paper" | "citation" | "seal" | "apart") {
                clean
            } else {
                breakable(&clean)
            };
        }
        Value::Array(items) => items.iter_mut().for_each(|item| make_printable(item, key, covers)),
        Value::Object(map) => map.iter_mut().for_each(|(key, item)| make_printable(item, key, covers)),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// One document on the press: all that the engine may read.
struct Desk<'a> {
    press: &'a Typst,
    form: &'a Source,
    data: Bytes,
    attached: &'a [(FileId, Bytes)],
}

impl World for Desk<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.press.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.press.book
    }

    fn main(&self) -> FileId {
        self.form.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.form.id() { Ok(self.form.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let attached = self.attached.iter().find(|(name, _)| *name == id).map(|(_, bytes)| bytes);
        let data = Some(&self.data).filter(|_| id == self.press.data);
        data.or(attached).cloned().ok_or(FileError::AccessDenied)
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.press.faces.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        // A document does not depend on the day it is printed.
        None
    }
}

#[cfg(test)]
mod tests {
    use typst::layout::{Frame, FrameItem};

    use super::*;
    use crate::{KeySheet, Page, key_sheet_document};

    /// What stands on the pages, as a reader's copy of it has it.
    fn text_of(press: &Typst, form: &Source, document: &impl Serialize) -> String {
        fn add(frame: &Frame, text: &mut String) {
            for (_, item) in frame.items() {
                match item {
                    FrameItem::Group(group) => add(&group.frame, text),
                    FrameItem::Text(run) => text.push_str(&run.text),
                    _ => {}
                }
            }
        }
        let data = Bytes::new(serde_json::to_vec(document).unwrap());
        let pages = typst::compile::<PagedDocument>(&Desk { press, form, data, attached: &[] }).output.unwrap();
        let mut text = String::new();
        pages.pages().iter().for_each(|page| add(&page.frame, &mut text));
        text
    }

    #[test]
    fn what_the_sheet_of_a_key_says_to_type_can_be_typed_as_it_is_printed() {
        // An invented text of a key's length, which is none.
        let secret = format!("AGE-SECRET-KEY-1{}", "QPZRY9X8GF".repeat(6).split_at(58).0);
        let made = "2024-05-01T09:30:00Z".parse().unwrap();
        let sheet = key_sheet_document(&KeySheet { secret: &secret, recipient: "age1qpz", made: &made }, Page::A4).unwrap();
        let press = Typst::new().unwrap();
        let text = text_of(&press, &press.key_sheet, &sheet);
        for words in ["backup-key check -", "--key key.txt", "--data DIR", "age -d -i key.txt"] {
            assert!(text.contains(words), "{words}: {text}");
        }
    }

    #[test]
    fn no_form_has_two_hyphens_where_they_become_a_dash() {
        for (name, markup) in [PLAN, PASS, HANDOVER, KEY_SHEET] {
            for line in markup.lines().filter(|line| !line.trim_start().starts_with("//")) {
                // What stands between backticks is printed as it is.
                let set: String = line.split('`').step_by(2).collect();
                assert!(!set.contains("--"), "{name}: {line}");
            }
        }
    }
}
