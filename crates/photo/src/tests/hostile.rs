//! Files that are damaged, cut, something else, or made to harm.

use image_webp::ColorType;

use super::made_jpeg::{Jpeg, middle};
use super::made_png::{GREY, RGB, chunk, header, packed, png};
use super::made_webp::{self, LOSSY, extended, riff};
use super::{CUT, read_small, read_small_of_many_bytes, refusal};
use crate::read::read;

fn says(bytes: &[u8], words: &str) {
    assert_eq!(refusal(bytes), words);
}

fn slope(x: usize, y: usize) -> u8 {
    (x * 40 + y * 9) as u8
}

fn jpeg() -> Jpeg {
    Jpeg::colour(5, 4, [slope, middle, slope])
}

fn grey_png() -> Vec<u8> {
    png(header(4, 3, 8, GREY, 0), &[], &[vec![1, 2, 3, 4], vec![5, 6, 7, 8], vec![9, 10, 11, 12]])
}

fn webp() -> Vec<u8> {
    let pixels: Vec<u8> = (0..8 * 8 * 3).map(|i| (i * i * 31) as u8).collect();
    made_webp::lossless(&pixels, 8, 8, ColorType::Rgb8, None)
}

fn damaged(coding: &str) -> String {
    format!(
        "this {coding} picture can't be decoded, being damaged or coded in an unusual way: copy it from the camera again, or save it anew as an ordinary JPEG"
    )
}

#[test]
fn what_is_no_photograph_is_named() {
    says(b"", "the file is empty: copy it from the camera again");
    let heif = "this is an HEIC, HEIF or AVIF picture, which is not read here: export or share it as JPEG, and set the phone's camera to save the most compatible format";
    says(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", heif);
    says(b"\0\0\0\x18ftypavif\0\0\0\0avifmif1", heif);
    for (bytes, name) in [
        (b"II*\0\x08\0\0\0".as_slice(), "a TIFF picture or a camera's raw file"),
        (b"IIRO\x08\0\0\0", "a camera's raw file"),
        (b"GIF89a\x01\0", "a GIF picture"),
        (b"BM\x36\0\0\0\0\0\0\0\x36\0", "a BMP picture"),
        (b"\0\0\0\x18ftypisom", "a video"),
        (b"%PDF-1.7", "a PDF document"),
        (b"PK\x03\x04", "a ZIP archive"),
        (b"x_mm,y_mm\n1,2\n", "text"),
        (b"\xA5\x3C\x01\x99\xFE\x02", "no kind of file known here"),
    ] {
        says(bytes, &format!("this looks like {name}: give the photograph as JPEG, PNG or WebP"));
    }
}

#[test]
fn a_jpeg_that_is_cut_anywhere_is_refused() {
    for is_progressive in [false, true] {
        let bytes = Jpeg { is_progressive, restart_interval: Some(3), ..jpeg() }.bytes();
        assert!(read_small(&bytes).is_ok());
        for length in 3..bytes.len() {
            says(&bytes[..length], CUT);
        }
    }
}

#[test]
fn a_png_that_is_cut_anywhere_is_refused() {
    for length in 8..grey_png().len() {
        says(&grey_png()[..length], CUT);
    }
}

#[test]
fn a_webp_that_is_cut_anywhere_is_refused() {
    for bytes in [webp(), LOSSY.to_vec()] {
        for length in 12..bytes.len() {
            says(&bytes[..length], CUT);
        }
    }
    // Its lengths set right again.
    let bytes = webp();
    for length in 30..bytes.len() - 2 {
        says(&riff(&[made_webp::chunk(b"VP8L", &bytes[20..length])]), &damaged("WebP"));
    }
}

#[test]
fn a_jpeg_that_was_cut_and_closed_is_not_filled_with_grey() {
    // Many bits a block, so that what a decoder reads ahead is less than a row.
    let bytes = Jpeg::colour(12, 12, [|x, y| (x * 97 + y * 31) as u8, |x, y| (x * 61 + y) as u8, |x, y| (x + y * 77) as u8]).bytes();
    let scan = bytes.windows(2).position(|w| w == [0xFF, 0xDA]).unwrap() + 14;
    // What is cut off is more than the last bits of a block that the decoder has read ahead.
    for length in scan..bytes.len() - 10 {
        if bytes[length - 1] != 0xFF {
            let refused = refusal(&[&bytes[..length], &[0xFF, 0xD9]].concat());
            assert!(refused == CUT || refused == damaged("JPEG"), "{refused}, cut to {length} of {} bytes", bytes.len());
        }
    }
}

#[test]
fn a_progressive_jpeg_that_was_closed_before_its_last_pass_is_refused() {
    let bytes = Jpeg { is_progressive: true, ..jpeg() }.bytes();
    let passes: Vec<usize> = (0..bytes.len() - 1).filter(|at| bytes[*at..at + 2] == [0xFF, 0xDA]).collect();
    let closed = |at: usize| [&bytes[..at], &[0xFF, 0xD9]].concat();
    // All together, then the luma's and those of two chromas: without the last of these the luma is whole.
    says(&closed(passes[1]), CUT);
    says(&closed(passes[1] - 9), CUT);
    assert!(passes.len() == 4 && read_small(&closed(passes[2])).is_ok());
}

#[test]
fn notes_without_end_are_passed_over() {
    let notes = |marker, content: &[u8]| vec![(marker, content.to_vec()); 30_000];
    let segments = [notes(0xE1, b"Exif\0\0MM\0*\0\0\0\x08\0\0"), notes(0xE2, b"ICC_PROFILE\0\x01\x01"), notes(0xFE, b"")].concat();
    let bytes = Jpeg { segments, ..jpeg() }.bytes();
    assert_eq!(read_small_of_many_bytes(&bytes).unwrap(), read_small(&jpeg().bytes()).unwrap());
}

#[test]
fn what_a_camera_appends_is_passed_over() {
    let appended = [b"\0\0\0\x18ftypmp42".as_slice(), &jpeg().bytes()[..200]].concat();
    for bytes in [jpeg().bytes(), Jpeg { is_progressive: true, ..jpeg() }.bytes(), grey_png(), webp()] {
        assert_eq!(read_small(&[&bytes, appended.as_slice()].concat()).unwrap(), read_small(&bytes).unwrap());
    }
}

#[test]
fn kinds_of_jpeg_that_are_not_read_are_refused() {
    let mut inks = jpeg();
    inks.components.push((1, 1, middle));
    says(&inks.bytes(), "the colours of this JPEG are printing inks (CMYK), not light: give the photograph as the camera took it");
    let frame = jpeg().bytes().windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    let changed = |at: usize, byte: u8| {
        let mut bytes = jpeg().bytes();
        bytes[frame + at] = byte;
        bytes
    };
    for arithmetic_lossless_or_hierarchical in [0xC3, 0xC5, 0xC9, 0xCA] {
        says(&changed(1, arithmetic_lossless_or_hierarchical), &damaged("JPEG"));
    }
    says(&changed(4, 12), &damaged("JPEG")); // bits a sample
    says(&changed(6, 0), &damaged("JPEG")); // no rows
}

#[test]
fn a_jpeg_of_endless_passes_is_refused() {
    let bytes = Jpeg { is_progressive: true, ..Jpeg::grey(2, 2, slope) }.bytes();
    let last = bytes.windows(2).rposition(|w| w == [0xFF, 0xDA]).unwrap();
    let (picture, pass) = bytes[..bytes.len() - 2].split_at(last);
    let with_passes = |count| [picture, &pass.repeat(count), &[0xFF, 0xD9]].concat();
    let before = picture.windows(2).filter(|w| *w == [0xFF, 0xDA]).count();
    assert!(read_small(&with_passes(64 - before)).is_ok());
    says(&with_passes(65 - before), &damaged("JPEG"));
    says(&with_passes(20_000), &damaged("JPEG"));
}

#[test]
fn what_is_packed_beside_the_pixels_is_never_unpacked() {
    let zeros = packed(&vec![0; 8 << 20]);
    let text = chunk(b"zTXt", &[b"Comment\0\0".as_slice(), &zeros].concat());
    let profile = chunk(b"iCCP", &[b"profile\0\0".as_slice(), &zeros].concat());
    let rows = [vec![1, 2, 3, 4]];
    let bytes = png(header(4, 1, 8, GREY, 0), &[text, profile], &rows);
    assert_eq!(read_small(&bytes).unwrap(), read_small(&png(header(4, 1, 8, GREY, 0), &[], &rows)).unwrap());
}

#[test]
fn pixels_beyond_the_picture_are_not_kept() {
    let rows = vec![0; 2 << 20];
    let bytes = [header(4, 1, 8, GREY, 0), chunk(b"IDAT", &packed(&rows)), chunk(b"IEND", &[])].concat();
    match read_small(&bytes) {
        Ok(photograph) => assert_eq!(photograph.light.values(), [0.0; 4]),
        Err(e) => assert_eq!(e.to_string(), damaged("PNG")),
    }
}

#[test]
fn a_png_with_a_wrong_sum_is_refused() {
    for name in [b"IHDR", b"IDAT"] {
        let mut bytes = grey_png();
        let at = bytes.windows(4).position(|w| w == name).unwrap();
        let length = u32::from_be_bytes(bytes[at - 4..at].try_into().unwrap()) as usize;
        bytes[at + 4 + length] ^= 1;
        says(&bytes, &damaged("PNG"));
    }
}

#[test]
fn a_png_without_pixels_is_refused() {
    let bytes = [header(4, 1, 8, GREY, 0), chunk(b"IEND", &[])].concat();
    says(&bytes, &damaged("PNG"));
}

#[test]
fn an_animation_is_refused() {
    let control = chunk(b"acTL", &[0, 0, 0, 2, 0, 0, 0, 0]);
    let frame = chunk(b"fcTL", &[&[0u8, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 1], [0u8; 12].as_slice(), &[0, 0]].concat());
    let bytes = png(header(1, 1, 8, RGB, 0), &[control, frame], &[vec![1, 2, 3]]);
    says(&bytes, "this PNG file is an animation: give one photograph");
    let pixels = b"\x2F\x03\xC0\0\0\x07P\x94\xA2\x14\xA5\xFF\x81\x88\xE8\x7F\0";
    let frame = [[0; 6].as_slice(), &[3, 0, 0, 3, 0, 0, 0, 0, 0, 0], &made_webp::chunk(b"VP8L", pixels)].concat();
    let frames = [made_webp::chunk(b"ANIM", &[0; 6]), made_webp::chunk(b"ANMF", &frame), made_webp::chunk(b"ANMF", &frame)];
    let bytes = riff(&[vec![extended(2, 4, 4)], frames.to_vec()].concat());
    says(&bytes, "this WebP file is an animation: give one photograph");
}

#[test]
fn a_webp_whose_picture_is_larger_than_it_says_is_refused_before_it_is_decoded() {
    let mut picture = LOSSY[12..].to_vec();
    picture[14..18].copy_from_slice(&[0xFF, 0x3F, 0xFF, 0x3F]);
    says(&riff(&[extended(0, 32, 16), picture]), &damaged("WebP"));
    let whole = riff(&[extended(0, 32, 16), LOSSY[12..].to_vec()]);
    assert!(read_small(&whole).is_ok());
}

#[test]
fn a_webp_without_a_picture_is_refused() {
    says(&riff(&[extended(0, 32, 16)]), &damaged("WebP"));
    says(&riff(&[]), CUT);
}

#[test]
fn a_header_of_thirty_thousand_by_thirty_thousand_is_refused_for_its_size() {
    let words = "the photograph has 30000 x 30000 pixels (900 megapixels), and at most 51 megapixels are read: set the camera to fewer, or cut out what is to be measured";
    let png = png(header(30_000, 30_000, 16, RGB, 0), &[], &[vec![0; 100]]);
    assert_eq!(read(&png).unwrap_err().to_string(), words);
    let mut jpeg = jpeg().bytes();
    let frame = jpeg.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0x75, 0x30, 0x75, 0x30]);
    assert_eq!(read(&jpeg).unwrap_err().to_string(), words);
    let mut webp = LOSSY.to_vec();
    webp[26..30].copy_from_slice(&[0xFF, 0x3F, 0xFF, 0x3F]);
    let words = words.replace("30000 x 30000 pixels (900", "16383 x 16383 pixels (268");
    assert_eq!(read(&webp).unwrap_err().to_string(), words);
}
