//! A photograph comes out as it is seen, and with nothing else of what the camera wrote.

use image_webp::ColorType;

use super::made_jpeg::{Jpeg, middle};
use super::made_png::{GREY, RGB, chunk, header, png};
use super::made_tiff::{LATITUDE, OWNER, SERIAL, exif, segment};
use super::{made_webp, read_small, read_small_of_many_bytes};
use crate::photograph::Photograph;
use crate::picture::{Picture, write_png};

/// Stored rows of the letter F, bright on dark.
const F: [&str; 7] = ["#####", "#....", "#....", "####.", "#....", "#....", "#...."];

/// An F stored so that it stands upright once it is turned as its value says (CIPA DC-008, section 4.6.4: which side of the scene the stored
/// first row and first column are).
fn stored(value: u16) -> Vec<String> {
    let rows: Vec<String> = F.map(str::to_owned).to_vec();
    let mirrored = |rows: Vec<String>| rows.iter().map(|row| row.chars().rev().collect::<String>()).collect::<Vec<_>>();
    let upside_down = |rows: Vec<String>| rows.into_iter().rev().collect::<Vec<_>>();
    let columns =
        |rows: Vec<String>| (0..rows[0].len()).map(|x| rows.iter().map(|row| row.as_bytes()[x] as char).collect()).collect::<Vec<_>>();
    match value {
        2 => mirrored(rows),                       // row: top, column: right
        3 => upside_down(mirrored(rows)),          // bottom, right
        4 => upside_down(rows),                    // bottom, left
        5 => columns(rows),                        // left, top
        6 => columns(mirrored(rows)),              // right, top
        7 => columns(upside_down(mirrored(rows))), // right, bottom
        8 => columns(upside_down(rows)),           // left, bottom
        _ => rows,
    }
}

fn seen(photograph: &Photograph) -> Vec<String> {
    let clipped = |x, y| if photograph.clipped.get(x, y) { '#' } else { '.' };
    let rows = photograph.light.rows().enumerate();
    rows.map(|(y, row)| {
        let letters: String = row.iter().map(|v| if *v > 127.0 { '#' } else { '.' }).collect();
        assert_eq!(letters, (0..row.len()).map(|x| clipped(x, y)).collect::<String>(), "clipped where it is bright");
        letters
    })
    .collect()
}

fn rows_of(stored: &[String]) -> Vec<Vec<u8>> {
    stored.iter().map(|row| row.bytes().map(|b| if b == b'#' { 255 } else { 0 }).collect()).collect()
}

fn png_of(stored: &[String], before: &[Vec<u8>]) -> Vec<u8> {
    png(header(stored[0].len() as u32, stored.len() as u32, 8, GREY, 0), before, &rows_of(stored))
}

fn webp_of(stored: &[String], exif: Vec<u8>) -> Vec<u8> {
    made_webp::lossless(&rows_of(stored).concat(), stored[0].len() as u32, stored.len() as u32, ColorType::L8, Some(exif))
}

#[test]
fn all_eight_orientations_come_out_upright() {
    for value in 1..=8 {
        for is_big_endian in [false, true] {
            let block = exif(value, is_big_endian);
            let png = png_of(&stored(value), &[chunk(b"eXIf", &block)]);
            assert_eq!(seen(&read_small(&png).unwrap()), F, "PNG, orientation {value}");
            let webp = webp_of(&stored(value), block.clone());
            assert_eq!(seen(&read_small(&webp).unwrap()), F, "WebP, orientation {value}");
            let webp = webp_of(&stored(value), [b"Exif\0\0", block.as_slice()].concat());
            assert_eq!(seen(&read_small(&webp).unwrap()), F, "WebP with a JPEG's block, orientation {value}");
        }
    }
}

/// Bright in the block of the F's lower end and beside it.
fn corner(x: usize, y: usize) -> u8 {
    if (x, y) == (0, 2) { 255 } else { 10 * x as u8 }
}

#[test]
fn a_jpeg_taken_with_the_camera_on_its_side_comes_out_upright() {
    let mut jpeg = Jpeg::grey(5, 3, corner);
    jpeg.segments.push(segment(&exif(6, true)));
    let photograph = read_small(&jpeg.bytes()).unwrap();
    assert_eq!((photograph.light.width(), photograph.light.height()), (24, 40));
    // The stored first column is the top, the last row the left: the bright block lies at the top left, the last column at the bottom.
    assert_eq!(photograph.light.row(0)[..9], [255.0, 255.0, 255.0, 255.0, 255.0, 255.0, 255.0, 255.0, 0.0]);
    assert_eq!(photograph.light.row(39), [40.0; 24]);
    assert!(photograph.clipped.get(0, 0) && photograph.clipped.get(7, 7) && photograph.clipped.count() == 64);
}

#[test]
fn pictures_larger_than_a_tile_are_turned_whole() {
    let rows: Vec<Vec<u8>> = (0..71).map(|y| (0..83).map(|x| (x * 3 + y * 7) as u8).collect()).collect();
    for value in 1..=8 {
        let bytes = png(header(83, 71, 8, GREY, 0), &[chunk(b"eXIf", &exif(value, false))], &rows);
        let photograph = read_small(&bytes).unwrap();
        for (x, y) in [(0, 0), (82, 0), (0, 70), (82, 70), (31, 32), (33, 64), (50, 1)] {
            let [u, v] = match value {
                1 => [x, y],
                2 => [82 - x, y],
                3 => [82 - x, 70 - y],
                4 => [x, 70 - y],
                5 => [y, x],
                6 => [70 - y, x],
                7 => [70 - y, 82 - x],
                _ => [y, 82 - x],
            };
            assert_eq!(photograph.light.get(u, v), Some(f32::from(rows[y][x])), "orientation {value}, ({x}, {y})");
        }
    }
}

#[test]
fn an_exif_block_behind_the_pixels_is_read_too() {
    let bytes = png_of(&stored(6), &[]);
    let (pixels, end) = bytes.split_at(bytes.len() - chunk(b"IEND", &[]).len());
    let bytes = [pixels, &chunk(b"eXIf", &exif(6, false)), end].concat();
    assert_eq!(seen(&read_small(&bytes).unwrap()), F);
}

#[test]
fn an_orientation_that_makes_no_sense_leaves_the_picture_as_stored() {
    for block in [exif(0, true), exif(9, true), exif(6, true)[..20].to_vec(), b"nothing".to_vec(), vec![], vec![0x4D; 2 << 20]] {
        let png = png_of(&stored(1), &[chunk(b"eXIf", &block)]);
        assert_eq!(seen(&read_small_of_many_bytes(&png).unwrap()), F, "{:?}", &block[..block.len().min(30)]);
    }
}

fn holds(bytes: &[u8], what: &[u8]) -> bool {
    bytes.windows(what.len()).any(|window| window == what)
}

#[test]
fn nothing_of_where_and_with_what_it_was_taken_comes_out() {
    let block = exif(1, true);
    let place = LATITUDE.map(u32::to_be_bytes).concat();
    let owner_in_a_text = chunk(b"tEXt", &[b"Author\0", OWNER].concat());
    let mut jpeg = Jpeg::colour(4, 1, [corner, middle, middle]);
    jpeg.segments.push(segment(&block));
    let png = png(header(2, 1, 8, RGB, 0), &[chunk(b"eXIf", &block), owner_in_a_text], &[vec![1, 2, 3, 4, 5, 6]]);
    for file in [jpeg.bytes(), png, webp_of(&stored(1), block.clone())] {
        for secret in [OWNER, SERIAL, &place] {
            assert!(holds(&file, secret), "the test's own file holds it");
        }
        let photograph = read_small(&file).unwrap();
        let said = format!("{photograph:?}");
        // As an overlay is made: the light as grey.
        let pixels = photograph.light.values().iter().map(|v| [*v as u8; 3]).collect();
        let overlay = write_png(&Picture::new(photograph.light.width(), photograph.light.height(), pixels).unwrap()).unwrap();
        for secret in [OWNER, SERIAL, &place, b"Exif", b"Author"] {
            assert!(!holds(&overlay, secret) && !holds(said.as_bytes(), secret), "{secret:?}");
        }
    }
}

#[test]
fn an_overlay_is_the_picture_and_no_other_chunk() {
    let pixels: Vec<[u8; 3]> = (0..6).map(|i| [i * 40, 255 - i, 7]).collect();
    let bytes = write_png(&Picture::new(3, 2, pixels.clone()).unwrap()).unwrap();
    let mut names = vec![];
    let mut rest = &bytes[8..];
    while let [a, b, c, d, after @ ..] = rest {
        names.push(String::from_utf8(after[..4].to_vec()).unwrap());
        rest = &after[u32::from_be_bytes([*a, *b, *c, *d]) as usize + 8..];
    }
    assert_eq!(names, ["IHDR", "IDAT", "IEND"]);
    let read = read_small(&bytes).unwrap();
    let luma = |[r, g, b]: [u8; 3]| 0.299 * f32::from(r) + 0.587 * f32::from(g) + 0.114 * f32::from(b);
    assert!(read.light.values().iter().zip(pixels).all(|(v, p)| (v - luma(p)).abs() < 1e-3));
    assert!(Picture::new(0, 0, vec![]).is_err() && Picture::new(3, 2, vec![[0; 3]; 5]).is_err());
}
