//! Whatever the bytes, there is an answer.

use image_webp::ColorType;
use proptest::prelude::*;
use proptest::sample::Index;

use super::made_jpeg::Jpeg;
use super::made_png::{GREY, PALETTE, RGB, RGBA, chunk, header, png};
use super::made_tiff::{exif, segment};
use super::{made_webp, read_small};

fn slope(x: usize, y: usize) -> u8 {
    (x * 67 + y * 29) as u8
}

/// Valid files of many kinds.
fn files() -> Vec<Vec<u8>> {
    let mut grey = Jpeg::grey(12, 3, slope);
    grey.segments.push(segment(&exif(6, true)));
    let colour = Jpeg { restart_interval: Some(2), ..Jpeg::colour(4, 4, [slope, slope, slope]) };
    let halved = Jpeg { components: vec![(2, 2, slope), (1, 1, slope), (1, 1, slope)], ..colour.clone() };
    let progressive = Jpeg { is_progressive: true, ..halved.clone() };
    let inks = Jpeg { components: vec![(1, 1, slope); 4], ..colour.clone() };
    let rows = |bytes: usize| (0..8).map(|y| (0..bytes).map(|x| slope(x, y)).collect()).collect::<Vec<Vec<u8>>>();
    let palette = chunk(b"PLTE", &(0..=255).flat_map(|i: u8| [i, i, 255 - i]).collect::<Vec<u8>>());
    let pixels: Vec<u8> = rows(24).concat();
    vec![
        grey.bytes(),
        colour.bytes(),
        halved.bytes(),
        progressive.bytes(),
        inks.bytes(),
        png(header(8, 8, 8, GREY, 0), &[chunk(b"eXIf", &exif(8, false))], &rows(8)),
        png(header(8, 8, 16, RGB, 0), &[], &rows(48)),
        png(header(8, 8, 8, RGBA, 0), &[], &rows(32)),
        png(header(8, 8, 8, PALETTE, 0), &[palette], &rows(8)),
        png(header(1, 8, 8, GREY, 1), &[], &vec![vec![9]; 8]),
        made_webp::lossless(&pixels, 8, 8, ColorType::Rgb8, Some(exif(5, false))),
        made_webp::LOSSY.to_vec(),
    ]
}

#[derive(Clone, Debug)]
enum Change {
    Flip(Index, u8),
    Cut(Index),
    Remove(Index, Index),
    Insert(Index, Vec<u8>),
    /// A stretch of another file in the place of this one's.
    Splice(usize, Index, Index),
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        8 => (any::<Index>(), 1u8..).prop_map(|(at, bits)| Change::Flip(at, bits)),
        1 => any::<Index>().prop_map(Change::Cut),
        1 => (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Change::Remove(from, to)),
        1 => (any::<Index>(), prop::collection::vec(any::<u8>(), 1..20)).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
        1 => (0..files().len(), any::<Index>(), any::<Index>()).prop_map(|(file, from, to)| Change::Splice(file, from, to)),
    ]
}

fn changed(bytes: &mut Vec<u8>, change: Change, files: &[Vec<u8>]) {
    let place = |at: Index, length: usize| at.index(length + 1);
    match change {
        Change::Flip(at, bits) => {
            let at = place(at, bytes.len().saturating_sub(1));
            bytes.get_mut(at).into_iter().for_each(|byte| *byte ^= bits);
        }
        Change::Cut(at) => bytes.truncate(place(at, bytes.len())),
        Change::Remove(from, to) => {
            let [from, to] = [place(from, bytes.len()), place(to, bytes.len())];
            bytes.drain(from.min(to)..from.max(to));
        }
        Change::Insert(at, inserted) => {
            let at = place(at, bytes.len());
            bytes.splice(at..at, inserted);
        }
        Change::Splice(file, from, to) => {
            let [here, there] = [place(from, bytes.len()), place(to, files[file].len())];
            bytes.truncate(here);
            bytes.extend(&files[file][there..]);
        }
    }
}

/// An answer, and a sensible one.
fn check(bytes: &[u8]) -> Result<(), TestCaseError> {
    match read_small(bytes) {
        Ok(photograph) => {
            let pixels = photograph.light.width() * photograph.light.height();
            prop_assert!((1..=10_000).contains(&pixels) && photograph.clipped.count() <= pixels);
            prop_assert!(photograph.light.values().iter().all(|v| (0.0..=255.001).contains(v)));
        }
        Err(e) => prop_assert!(e.to_string().contains(": ")),
    }
    Ok(())
}

#[test]
fn the_files_that_are_changed_are_valid_before() {
    let valid = files().iter().filter(|bytes| read_small(bytes).is_ok()).count();
    // Inks and the picture that one sees through are refused, all others read.
    assert_eq!(valid, files().len() - 2);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn changed_files_are_read_or_refused(file in 0..files().len(), changes in prop::collection::vec(change(), 1..5)) {
        let files = files();
        let mut bytes = files[file].clone();
        changes.into_iter().for_each(|c| changed(&mut bytes, c, &files));
        check(&bytes)?;
    }

    #[test]
    fn noise_behind_a_beginning_is_refused_or_read(file in 0..files().len(), keep in any::<Index>(), noise in prop::collection::vec(any::<u8>(), 0..300)) {
        let begun = &files()[file];
        let kept = &begun[..keep.index(begun.len())];
        check(&[kept, &noise].concat())?;
    }

    #[test]
    fn noise_is_refused(noise in prop::collection::vec(any::<u8>(), 0..300)) {
        check(&noise)?;
    }
}
