//! PNG files chunk by chunk (ISO/IEC 15948).

use std::io::Write;

use flate2::{Compression, Crc, write::ZlibEncoder};

pub(super) const GREY: u8 = 0;
pub(super) const RGB: u8 = 2;
pub(super) const PALETTE: u8 = 3;
pub(super) const GREY_ALPHA: u8 = 4;
pub(super) const RGBA: u8 = 6;

pub(super) fn chunk(name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let mut crc = Crc::new();
    crc.update(name);
    crc.update(content);
    [(content.len() as u32).to_be_bytes().as_slice(), name, content, &crc.sum().to_be_bytes()].concat()
}

pub(super) fn header(width: u32, height: u32, depth: u8, colours: u8, interlace: u8) -> Vec<u8> {
    let content = [&width.to_be_bytes(), &height.to_be_bytes(), [depth, colours, 0, 0].as_slice(), &[interlace]].concat();
    [b"\x89PNG\r\n\x1A\n".as_slice(), &chunk(b"IHDR", &content)].concat()
}

pub(super) fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(vec![], Compression::fast());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

/// A picture of these rows, with chunks before its pixels.
pub(super) fn png(header: Vec<u8>, before: &[Vec<u8>], rows: &[Vec<u8>]) -> Vec<u8> {
    let filtered: Vec<u8> = rows.iter().flat_map(|row| [&[0], row.as_slice()].concat()).collect();
    [header, before.concat(), chunk(b"IDAT", &packed(&filtered)), chunk(b"IEND", &[])].concat()
}
