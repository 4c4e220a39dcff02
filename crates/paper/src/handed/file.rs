//! The structure of a PDF, as far as it takes to find what is attached to one that this press made: a table of cross references in one piece and objects
//! that stand in the open (ISO 32000-1, 7.5).
//!
//! Not a reader of any PDF: one that another program has saved anew may keep its objects packed, and is refused. In return nothing here nests, follows a
//! chain, or unpacks what isn't asked for, so that no file can make it run long or deep. (A reader of any PDF was tried: arrays within arrays overflowed its stack.)

use std::io::Read;

use flate2::read::ZlibDecoder;

/// Most bytes of an object that are looked at, streams apart. Judgement: the catalogue has 300; a table of contents would not matter here.
const MOST_OBJECT: usize = 64 * 1024;
/// An entry of the table: 7.5.4.
const ENTRY: usize = 20;

/// Why there are no bytes of a stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NoStream {
    /// There is none, or it can't be unpacked.
    Damaged,
    /// More than are wanted.
    Larger,
}

/// A PDF whose table of cross references has been found.
pub(super) struct File<'b> {
    bytes: &'b [u8],
    /// The entries of the table.
    entries: &'b [u8],
    trailer: &'b [u8],
}

impl<'b> File<'b> {
    /// Finds the table from the end of the file.
    pub(super) fn open(bytes: &'b [u8]) -> Option<Self> {
        if !is_pdf(bytes) {
            return None;
        }
        let end = end_of(bytes);
        let table = usize::try_from(number(behind(end, b"startxref")?)?).ok()?;
        let from = bytes.get(table..)?.strip_prefix(b"xref\n0 ")?;
        let count = usize::try_from(number(from)?).ok()?;
        let line = from.iter().position(|byte| *byte == b'\n')? + 1;
        let entries = from.get(line..line.checked_add(count.checked_mul(ENTRY)?)?)?;
        let trailer = within(from.get(line + entries.len()..)?);
        Some(Self { bytes, entries, trailer: trailer.strip_prefix(b"trailer")? })
    }

    /// The object that the trailer refers to by `key`, without its stream.
    pub(super) fn of_trailer(&self, key: &[u8]) -> Option<&'b [u8]> {
        self.object(reference(behind(self.trailer, key)?)?)
    }

    /// An object, without its stream.
    pub(super) fn object(&self, number_of: u64) -> Option<&'b [u8]> {
        self.from(number_of).map(within)
    }

    /// What the stream of an object holds, at most so many bytes.
    pub(super) fn stream(&self, number_of: u64, most: usize) -> Result<Vec<u8>, NoStream> {
        let (head, held) = self.held(number_of).ok_or(NoStream::Damaged)?;
        let mut bytes = Vec::new();
        let read = if behind(head, b"/Filter").is_none() {
            held.take(most as u64 + 1).read_to_end(&mut bytes)
        } else {
            behind(head, b"/Filter/FlateDecode").ok_or(NoStream::Damaged)?;
            ZlibDecoder::new(held).take(most as u64 + 1).read_to_end(&mut bytes)
        };
        // What is too large is said to be so, whatever stands behind it.
        if bytes.len() > most {
            return Err(NoStream::Larger);
        }
        read.map(|_| bytes).map_err(|_| NoStream::Damaged)
    }

    /// An object, and its stream as it stands in the file.
    fn held(&self, number_of: u64) -> Option<(&'b [u8], &'b [u8])> {
        let from = self.from(number_of)?;
        let head = within(from);
        let length = usize::try_from(number(behind(head, b"/Length ")?)?).ok()?;
        Some((head, from.get(head.len()..)?.strip_prefix(b"stream\n")?.get(..length)?))
    }

    /// The file from behind the head of an object.
    fn from(&self, number_of: u64) -> Option<&'b [u8]> {
        let at = usize::try_from(number_of).ok()?.checked_mul(ENTRY)?;
        let offset = usize::try_from(number(self.entries.get(at..at.checked_add(ENTRY)?)?)?).ok()?;
        let head = format!("{number_of} 0 obj\n");
        self.bytes.get(offset..)?.strip_prefix(head.as_bytes())
    }
}

/// Where the end of a file is looked for.
fn end_of(bytes: &[u8]) -> &[u8] {
    bytes.get(bytes.len().saturating_sub(1024)..).unwrap_or_default()
}

/// How many bytes stand behind the end of a PDF (ISO 32000-1, 7.5.5); none where it has no end.
pub(super) fn behind_end(bytes: &[u8]) -> Option<usize> {
    const END: &[u8] = b"%%EOF";
    let end = bytes.windows(END.len()).rposition(|window| window == END)?;
    Some(bytes.get(end + END.len()..)?.trim_ascii_start().len())
}

/// Whether it begins as a PDF.
pub(super) fn is_pdf(bytes: &[u8]) -> bool {
    bytes.starts_with(b"%PDF-")
}

/// What stands before a stream, or before the end of an object.
fn within(from: &[u8]) -> &[u8] {
    let from = from.get(..MOST_OBJECT).unwrap_or(from);
    let ends = [&b"stream\n"[..], b"endobj", b"startxref"];
    let end = ends.iter().filter_map(|end| position(from, end)).min();
    from.get(..end.unwrap_or(from.len())).unwrap_or(from)
}

fn position(text: &[u8], key: &[u8]) -> Option<usize> {
    text.windows(key.len()).position(|window| window == key)
}

/// What stands behind the first `key`.
pub(super) fn behind<'t>(text: &'t [u8], key: &[u8]) -> Option<&'t [u8]> {
    text.get(position(text, key)? + key.len()..)
}

/// A whole number at the beginning, behind white space.
fn number(text: &[u8]) -> Option<u64> {
    let text = text.trim_ascii_start();
    let digits = text.iter().take(12).take_while(|byte| byte.is_ascii_digit()).count();
    std::str::from_utf8(text.get(..digits)?).ok()?.parse().ok()
}

/// A reference at the beginning: `12 0 R`.
pub(super) fn reference(text: &[u8]) -> Option<u64> {
    let text = text.trim_ascii_start();
    let of = number(text)?;
    behind(text, of.to_string().as_bytes())?.starts_with(b" 0 R").then_some(of)
}

/// References one behind the other, up to `]`.
pub(super) fn references(text: &[u8]) -> Vec<u64> {
    /// Judgement: two are ours.
    const MOST: usize = 100;
    let list = text.get(..position(text, b"]").unwrap_or(0)).unwrap_or_default();
    list.split(|byte| *byte == b'R').take(MOST).filter_map(|part| reference(&[part.trim_ascii(), b"R"].join(&b' '))).collect()
}

/// A text up to its closing bracket, in which nothing is escaped.
pub(super) fn text(from: &[u8]) -> Option<&str> {
    let inside = from.get(..position(from, b")")?)?;
    std::str::from_utf8(inside).ok().filter(|text| text.is_ascii() && !text.contains(['(', '\\']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_and_texts_are_read_from_where_they_stand() {
        assert_eq!(reference(b" 586 0 R 585 0 R]"), Some(586));
        assert_eq!(references(b"586 0 R 585 0 R]>>"), [586, 585]);
        assert_eq!((reference(b"586 1 R"), reference(b"R"), references(b"1 0 R")), (None, None, vec![]));
        assert_eq!(text(b"record.jsonl)/UF"), Some("record.jsonl"));
        assert_eq!((text(b"a(b)c)"), text(b"a\\)b)"), text(b"open")), (None, None, None));
    }

    #[test]
    fn what_stands_behind_the_end_is_counted_wherever_that_is() {
        let long = [&b"%PDF-1.7 %%EOF\n"[..], &b"-".repeat(3000)].concat();
        assert_eq!([behind_end(&long), behind_end(b"%PDF-1.7 %%EOF\n"), behind_end(&long[..12])], [Some(3000), Some(0), None]);
    }

    #[test]
    fn an_object_is_found_by_the_table_and_nothing_past_the_end_is_read() {
        let whole = b"%PDF-1.7\n1 0 obj\n<</Length 5>>\nstream\nhello\nendstream\nendobj\nxref\n0 2\n0000000000 65535 f\r\n0000000009 00000 n\r\ntrailer\n<</Root 1 0 R>>\nstartxref\n61\n%%EOF";
        let file = File::open(whole).unwrap();
        assert_eq!(file.of_trailer(b"/Root"), Some(&b"<</Length 5>>\n"[..]));
        let damaged = Err(NoStream::Damaged);
        assert_eq!((file.stream(1, 5), file.stream(2, 5), file.stream(u64::MAX, 5)), (Ok(b"hello".to_vec()), damaged.clone(), damaged));
        assert_eq!(file.stream(1, 4), Err(NoStream::Larger));
        for end in 0..whole.len() {
            let read = File::open(&whole[..end]).map(|file| file.stream(1, 5));
            assert!(matches!(read, None | Some(Err(NoStream::Damaged))) || read == Some(Ok(b"hello".to_vec())));
        }
    }
}
