//! What light a stored pixel is, and whether it is clipped.

use image_webp::ColorType;
use proptest::prelude::*;

use super::made_jpeg::{Jpeg, Value, middle};
use super::made_png::{GREY, GREY_ALPHA, PALETTE, RGB, RGBA, chunk, header, png};
use super::{made_webp, read_small, refusal};
use crate::photograph::Photograph;

fn light(photograph: &Photograph) -> Vec<f32> {
    photograph.light.values().to_vec()
}

#[track_caller]
fn check(bytes: &[u8], expected: &[f32], clipped: &[bool]) {
    let photograph = read_small(bytes).unwrap();
    let found = light(&photograph);
    assert_eq!(found.len(), expected.len());
    assert!(found.iter().zip(expected).all(|(f, e)| (f - e).abs() < 1e-3), "{found:?} where {expected:?} was stored");
    let width = photograph.light.width();
    let found: Vec<bool> = (0..found.len()).map(|at| photograph.clipped.get(at % width, at / width)).collect();
    assert_eq!(found, clipped);
    assert_eq!(photograph.clipped.count(), clipped.iter().filter(|c| **c).count());
}

// [D] Y' = 0.299 R' + 0.587 G' + 0.114 B' by hand, of 16 bits divided by 65535 / 255 = 257.
#[test]
fn png_of_every_kind_is_read() {
    let [t, f] = [true, false];
    check(&png(header(3, 1, 8, GREY, 0), &[], &[vec![0, 254, 255]]), &[0.0, 254.0, 255.0], &[f, f, t]);
    check(
        &png(header(8, 1, 1, GREY, 0), &[], &[vec![0b1000_0001]]),
        &[255.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 255.0],
        &[t, f, f, f, f, f, f, t],
    );
    check(&png(header(3, 1, 4, GREY, 0), &[], &[vec![0x1E, 0xF0]]), &[17.0, 238.0, 255.0], &[f, f, t]);
    let sixteen = [0, 257, 0x8000, 0xFEFF, 0xFF00].map(u16::to_be_bytes).concat();
    check(&png(header(5, 1, 16, GREY, 0), &[], &[sixteen]), &[0.0, 1.0, 127.501_94, 254.003_9, 254.007_8], &[f, f, f, f, t]);
    let three = vec![100, 0, 0, 0, 100, 0, 0, 0, 255];
    check(&png(header(3, 1, 8, RGB, 0), &[], &[three]), &[29.9, 58.7, 29.07], &[f, f, t]);
    let wide = [[25_700, 0, 0], [0, 25_700, 0], [0, 0, 0xFFFF]].concat().into_iter().flat_map(u16::to_be_bytes).collect();
    check(&png(header(3, 1, 16, RGB, 0), &[], &[wide]), &[29.9, 58.7, 29.07], &[f, f, t]);
    let palette = chunk(b"PLTE", &[255, 0, 0, 10, 20, 30]);
    check(&png(header(2, 1, 8, PALETTE, 0), &[palette], &[vec![1, 0]]), &[18.15, 76.245], &[f, t]);
    check(&png(header(2, 1, 8, GREY_ALPHA, 0), &[], &[vec![7, 255, 255, 255]]), &[7.0, 255.0], &[f, t]);
    check(&png(header(1, 1, 8, RGBA, 0), &[], &[vec![10, 20, 30, 255]]), &[18.15], &[f]);
    check(&png(header(1, 1, 16, GREY_ALPHA, 0), &[], &[vec![7, 7, 255, 255]]), &[7.0], &[f]);
    check(&png(header(1, 1, 16, RGBA, 0), &[], &[vec![10, 10, 20, 20, 30, 30, 255, 255]]), &[18.15], &[f]);
}

#[test]
fn a_transparent_pixel_is_no_photograph() {
    let says = "parts of this picture are transparent, so that it was edited: give the photograph as the camera took it";
    assert_eq!(refusal(&png(header(2, 1, 8, GREY_ALPHA, 0), &[], &[vec![7, 255, 9, 254]])), says);
    assert_eq!(refusal(&png(header(1, 1, 8, RGBA, 0), &[], &[vec![1, 2, 3, 0]])), says);
    assert_eq!(refusal(&png(header(1, 1, 16, GREY_ALPHA, 0), &[], &[vec![7, 7, 0, 255]])), says);
    assert_eq!(refusal(&png(header(1, 1, 16, RGBA, 0), &[], &[vec![1, 1, 2, 2, 3, 3, 254, 255]])), says);
    let see_through = [chunk(b"PLTE", &[1, 2, 3]), chunk(b"tRNS", &[0])];
    assert_eq!(refusal(&png(header(1, 1, 8, PALETTE, 0), &see_through, &[vec![0]])), says);
    assert_eq!(refusal(&made_webp::lossless(&[1, 2, 3, 128], 1, 1, ColorType::Rgba8, None)), says);
}

#[test]
fn interlaced_png_is_put_in_its_places() {
    // Each pass as the standard draws it over 8 x 8 pixels (ISO/IEC 15948, section 8.2), over a width and height that end within.
    const PASSES: [&[u8; 8]; 8] = [b"16462646", b"77777777", b"56565656", b"77777777", b"36463646", b"77777777", b"56565656", b"77777777"];
    for (width, height) in [(1, 1), (3, 2), (5, 5), (11, 9), (16, 8)] {
        let value = |x: usize, y: usize| (x * 20 + y) as u8;
        let mut rows = vec![];
        for pass in b'1'..=b'7' {
            for y in 0..height {
                let row: Vec<u8> = (0..width).filter(|x| PASSES[y % 8][x % 8] == pass).map(|x| value(x, y)).collect();
                if !row.is_empty() {
                    rows.push(row);
                }
            }
        }
        let file = png(header(width as u32, height as u32, 8, GREY, 1), &[], &rows);
        let expected: Vec<f32> = (0..width * height).map(|at| f32::from(value(at % width, at / width))).collect();
        check(&file, &expected, &vec![false; width * height]);
    }
}

fn chequered(x: usize, y: usize) -> u8 {
    [16, 90, 200, 254, 255][(x + 2 * y) % 5]
}

#[track_caller]
fn check_blocks(jpeg: &Jpeg, clipped: usize) {
    let photograph = read_small(&jpeg.bytes()).unwrap();
    let (width, height) = (jpeg.across * 8, jpeg.down * 8);
    assert_eq!((photograph.light.width(), photograph.light.height()), (width, height));
    for (y, row) in photograph.light.rows().enumerate() {
        let expected: Vec<f32> = (0..width).map(|x| f32::from(chequered(x / 8, y / 8))).collect();
        assert_eq!(row, expected, "row {y}");
    }
    assert_eq!(photograph.clipped.count(), clipped * 64);
}

// [D] An even block's samples are its first coefficient times its step over 8, and 128 (ITU-T T.81, A.3.3); Y is the light.
#[test]
fn jpeg_gives_the_luma_that_it_holds() {
    let colour = Jpeg::colour(6, 4, [chequered, middle, middle]);
    let mut halved = colour.clone();
    halved.components = vec![(2, 2, chequered), (1, 1, middle), (1, 1, middle)];
    let mut halved_across = colour.clone();
    halved_across.components = vec![(2, 1, chequered), (1, 1, middle), (1, 1, middle)];
    for mut jpeg in [Jpeg::grey(6, 4, chequered), colour, halved, halved_across] {
        let of_255 = (0..24).filter(|i| chequered(i % 6, i / 6) == 255).count();
        for is_progressive in [false, true] {
            for restart_interval in [None, Some(2)] {
                (jpeg.is_progressive, jpeg.restart_interval) = (is_progressive, restart_interval);
                check_blocks(&jpeg, of_255);
            }
        }
    }
}

// [D] R = Y + 1.402 (Cr - 128), G = Y - 0.344136 (Cb - 128) - 0.714136 (Cr - 128), B = Y + 1.772 (Cb - 128), rounded.
#[test]
fn a_jpeg_is_clipped_where_one_of_its_channels_is() {
    let cases: [([Value; 3], bool); 7] = [
        ([|_, _| 254, middle, middle], false),
        ([|_, _| 255, middle, middle], true),
        ([|_, _| 200, middle, |_, _| 166], false),    // R = 253.28
        ([|_, _| 200, middle, |_, _| 167], true),     // R = 254.68, which is 255
        ([|_, _| 200, |_, _| 158, middle], false),    // B = 253.16
        ([|_, _| 200, |_, _| 159, middle], true),     // B = 254.93
        ([|_, _| 230, |_, _| 100, |_, _| 104], true), // G = 256.78
    ];
    for (i, (values, is_clipped)) in cases.into_iter().enumerate() {
        let photograph = read_small(&Jpeg::colour(4, 1, values).bytes()).unwrap();
        assert_eq!(photograph.clipped.count(), if is_clipped { 256 } else { 0 }, "case {i}");
        assert_eq!(photograph.light.values(), [f32::from(values[0](0, 0)); 256], "case {i}");
    }
}

#[test]
fn a_jpeg_of_red_green_and_blue_is_read_as_such() {
    let mut jpeg = Jpeg::colour(2, 1, [|_, _| 100, |_, _| 50, |_, _| 200]);
    // Segment 14 as ITU-T T.872, section 6.5.3, has it, of which the last byte says that colours are not transformed.
    jpeg.segments.push((0xEE, vec![0x41, 0x64, 0x6F, 0x62, 0x65, 0, 100, 0, 0, 0, 0, 0]));
    // [D] 29.9 + 29.35 + 22.8
    check(&jpeg.bytes(), &[82.05; 128], &[false; 128]);
}

#[test]
fn webp_is_read() {
    let lossless = made_webp::lossless(&[100, 0, 0, 0, 0, 255], 2, 1, ColorType::Rgb8, None);
    check(&lossless, &[29.9, 29.07], &[false, true]);
    let opaque = made_webp::lossless(&[10, 20, 30, 255], 1, 1, ColorType::Rgba8, None);
    check(&opaque, &[18.15], &[false]);
    // [D] 0.299 220 + 0.587 200 + 0.114 180 = 203.7; another decoder gives 40 and 203.7 away from the edge.
    let lossy = read_small(made_webp::LOSSY).unwrap();
    assert_eq!((lossy.light.width(), lossy.light.height()), (32, 16));
    for y in 0..16 {
        let row = lossy.light.row(y);
        assert!((row[3] - 40.0).abs() < 2.0 && (row[28] - 203.7).abs() < 2.0, "row {y}: {row:?}");
    }
}

proptest! {
    #[test]
    fn png_and_webp_give_the_same_light(pixels in prop::collection::vec(any::<[u8; 3]>(), 35)) {
        let bytes = pixels.as_flattened();
        let rows: Vec<Vec<u8>> = bytes.chunks(15).map(<[u8]>::to_vec).collect();
        let png = read_small(&png(header(5, 7, 8, RGB, 0), &[], &rows)).unwrap();
        let webp = read_small(&made_webp::lossless(bytes, 5, 7, ColorType::Rgb8, None)).unwrap();
        prop_assert!(png == webp);
        for (at, [r, g, b]) in pixels.into_iter().enumerate() {
            let luma = 0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b);
            prop_assert!((f64::from(png.light.values()[at]) - luma).abs() < 1e-4);
            prop_assert_eq!(png.clipped.get(at % 5, at / 5), [r, g, b].contains(&255));
        }
    }
}
