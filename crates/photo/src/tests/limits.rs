//! How many pixels and bytes a photograph may have.

use super::CUT;
use super::made_jpeg::Jpeg;
use super::made_png::{GREY, header, png};
use crate::read::{LEAST_PIXELS, Limits, read, read_within};

#[test]
fn a_photograph_of_a_megapixel_is_read_and_one_of_less_is_not() {
    let bytes = Jpeg::grey(125, 125, |x, y| (x + y) as u8).bytes();
    let photograph = read(&bytes).unwrap();
    assert_eq!((photograph.light.width() * photograph.light.height(), photograph.light.row(999)[999]), (LEAST_PIXELS, 248.0));
    let bytes = Jpeg::grey(125, 124, |x, y| (x + y) as u8).bytes();
    assert_eq!(
        read(&bytes).unwrap_err().to_string(),
        "the photograph has 1000 x 992 pixels, too small to measure on, which needs 1 megapixel and 300 pixels each way: give it as the camera took it, neither shrunk nor cut out"
    );
}

#[test]
fn cameras_sold_with_fifty_megapixels_are_read() {
    // Sides of 4:3 with 8192 and 8160 columns. Their size is looked at first, and only then is it found that there are no pixels.
    for (width, height) in [(8192, 6144), (8160, 6120), (6144, 8192)] {
        assert_eq!(read(&header(width, height, 8, GREY, 0)).unwrap_err().to_string(), CUT);
    }
    assert!(read(&header(8192, 6250, 8, GREY, 0)).unwrap_err().to_string().contains("at most 51 megapixels"));
}

#[test]
fn a_strip_is_too_small_however_long() {
    for (width, height) in [(299, 10_000), (50_000_000, 1)] {
        assert!(read(&header(width, height, 8, GREY, 0)).unwrap_err().to_string().contains("too small to measure on"));
    }
}

#[test]
fn limits_hold_to_the_pixel_and_the_byte() {
    let bytes = png(header(10, 10, 8, GREY, 0), &[], &vec![vec![7; 10]; 10]);
    let exact = Limits { least_side: 10, least_pixels: 100, most_pixels: 100, most_bytes: bytes.len() };
    let refused = |limits| read_within(&bytes, limits).unwrap_err().to_string();
    assert!(read_within(&bytes, exact).is_ok());
    assert!(refused(Limits { least_pixels: 101, ..exact }).starts_with("the photograph has 10 x 10 pixels, too small"));
    assert!(refused(Limits { least_side: 11, ..exact }).starts_with("the photograph has 10 x 10 pixels, too small"));
    assert!(refused(Limits { most_pixels: 99, ..exact }).starts_with("the photograph has 10 x 10 pixels (0 megapixels), and at most"));
    assert_eq!(
        refused(Limits { most_bytes: bytes.len() - 1, ..exact }),
        "the file has 0 MB, and at most 100 MB are read: save the photograph as JPEG"
    );
}
