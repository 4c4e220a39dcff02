//! PDFs put together object by object: where each stands in them is right, whatever it says (ISO 32000-1, 7.5).

use std::borrow::Cow;

use super::made_png::packed;
use super::seeds::BETWEEN;

/// What stands before the bytes of a stream.
const STREAM: &[u8] = b"\nstream\n";

/// Objects from number 1 on. The first is the catalogue, the second the properties.
pub(super) fn pdf(objects: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = b"%PDF-1.7\n".to_vec();
    let mut table = format!("xref\n0 {}\n0000000000 65535 f\r\n", objects.len() + 1);
    for (before, object) in objects.iter().enumerate() {
        table.push_str(&format!("{:010} 00000 n\r\n", bytes.len()));
        bytes.extend(format!("{} 0 obj\n", before + 1).bytes());
        bytes.extend(object);
        bytes.extend(b"\nendobj\n");
    }
    let ends = format!("{table}trailer\n<</Root 1 0 R/Info 2 0 R>>\nstartxref\n{}\n%%EOF", bytes.len());
    bytes.extend(ends.bytes());
    bytes
}

/// The objects of a PDF with files attached, each a name and the object that holds its bytes.
pub(super) fn carrying(keywords: &str, files: &[(&str, Vec<u8>)]) -> Vec<Vec<u8>> {
    let references: Vec<String> = (0..files.len()).map(|n| format!("{} 0 R", 3 + 2 * n)).collect();
    let catalogue = format!("<</Type/Catalog/AF[{}]>>", references.join(" "));
    let properties = format!("<</Keywords({keywords})>>");
    let named = files.iter().enumerate().flat_map(|(n, (name, holder))| {
        let file = format!("<</Type/Filespec/F({name})/UF({name})/EF<</F {} 0 R>>>>", 4 + 2 * n);
        [file.into_bytes(), holder.clone()]
    });
    [catalogue.into_bytes(), properties.into_bytes()].into_iter().chain(named).collect()
}

/// An object that holds bytes, behind what its dictionary says of them.
pub(super) fn stream(says: &str, bytes: &[u8]) -> Vec<u8> {
    [format!("<<{says}/Length {}>>", bytes.len()).as_bytes(), STREAM, bytes, b"\nendstream"].concat()
}

/// An object that holds packed bytes.
pub(super) fn packed_stream(bytes: &[u8]) -> Vec<u8> {
    stream(PACKED, &packed(bytes))
}

/// What the dictionary of packed bytes says.
pub(super) const PACKED: &str = "/Type/EmbeddedFile/Filter/FlateDecode";

/// Bytes not packed yet, and how long they are not said yet: so that they may be changed before.
pub(super) fn open_stream(says: &str, bytes: &[u8]) -> Vec<u8> {
    [b"<<", says.as_bytes(), STREAM, bytes].concat()
}

/// Objects as one file that may be changed, and is no PDF before [`whole`].
pub(super) fn open(objects: &[Vec<u8>]) -> Vec<u8> {
    objects.join(BETWEEN)
}

/// The PDF of objects that were changed, with the table and the lengths that fit them; what is one already as it is.
pub(super) fn whole(bytes: &[u8]) -> Cow<'_, [u8]> {
    if bytes.starts_with(b"%PDF-") {
        return Cow::Borrowed(bytes);
    }
    let mut objects = Vec::new();
    let mut rest = bytes;
    while let Some((before, behind)) = split(rest, BETWEEN) {
        objects.push(closed(before));
        rest = behind;
    }
    objects.push(closed(rest));
    Cow::Owned(pdf(&objects))
}

fn closed(object: &[u8]) -> Vec<u8> {
    let Some((says, bytes)) = split(object, STREAM) else { return object.to_vec() };
    let says = String::from_utf8_lossy(says.strip_prefix(b"<<").unwrap_or(says)).into_owned();
    if says.contains("/Filter") { stream(&says, &packed(bytes)) } else { stream(&says, bytes) }
}

fn split<'b>(bytes: &'b [u8], at: &[u8]) -> Option<(&'b [u8], &'b [u8])> {
    let found = bytes.windows(at.len()).position(|window| window == at)?;
    Some((&bytes[..found], &bytes[found + at.len()..]))
}
