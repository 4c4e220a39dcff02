//! WebP files (RFC 9649).

use image_webp::{ColorType, WebPEncoder};

/// A lossless picture, with an Exif block if there is one.
pub(super) fn lossless(pixels: &[u8], width: u32, height: u32, colours: ColorType, exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut bytes = vec![];
    let mut encoder = WebPEncoder::new(&mut bytes);
    if let Some(exif) = exif {
        encoder.set_exif_metadata(exif);
    }
    encoder.encode(pixels, width, height, colours).unwrap();
    bytes
}

/// A lossy picture of 32 x 16 pixels: grey of 40 on the left, red 220, green 200 and blue 180 on the right. By another encoder.
pub(super) const LOSSY: &[u8] = b"RIFFB\0\0\0WEBPVP8 6\0\0\0\xd0\x02\0\x9d\x01* \0\x10\0>1\x14\x88B\xa2!!\x18\x04\0 \x03\x04\xb2\x80;\0\x01F\xd0\0\xfe\xfe\xd2\x01\x7f\xdf\xd0\xff\xfd\xd0\x9b\xcdiG\xff\xc5\xb1Hj@\0\0";

pub(super) fn chunk(name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let filling = if content.len() % 2 == 1 { vec![0] } else { vec![] };
    [name.as_slice(), &(content.len() as u32).to_le_bytes(), content, &filling].concat()
}

pub(super) fn riff(chunks: &[Vec<u8>]) -> Vec<u8> {
    chunk(b"RIFF", &[b"WEBP".as_slice(), &chunks.concat()].concat())
}

/// The header of a file with more than a picture: its features and the size of its canvas.
pub(super) fn extended(features: u8, width: u32, height: u32) -> Vec<u8> {
    let side = |pixels: u32| (pixels - 1).to_le_bytes()[..3].to_vec();
    chunk(b"VP8X", &[vec![features, 0, 0, 0], side(width), side(height)].concat())
}
