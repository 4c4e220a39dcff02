//! Ridges of a picture of 12 million pixels: response, hysteresis, skeleton, lengths.
//!
//! The picture is `w5/picture.pgm` (8-bit grey) in the folder named by `LASTMICRON_BENCH_INPUTS`; `w5/truth.csv` (left, right) has the true length of its
//! ridges by halves, pixels. Timed from the picture as an array in single precision to the response, from that to the pixels kept, from these to the
//! skeleton and its links' length, and from that to the ridges' length.

#![expect(clippy::disallowed_methods, clippy::print_stdout, reason = "a benchmark reads its inputs and prints what it found")]

use std::path::Path;

use divan::Bencher;
use lastmicron_raster::{Hessian, Mask, Plane, Window, hiding_width, hysteresis, link_length, ridge, ridge_length, skeleton};

const SIGMAS: [f64; 4] = [1.0, 1.5, 2.0, 3.0];
const LOW: f32 = 0.0113;
const HIGH: f32 = 0.0213;

fn main() {
    if std::env::var_os("LASTMICRON_BENCH_INPUTS").is_none() {
        println!("skipped: LASTMICRON_BENCH_INPUTS names no folder of inputs");
        return;
    }
    if let Some(answers) = answers() {
        println!("{answers}");
    }
    divan::main();
}

/// What the libraries print too, to compare, and the lengths beside the true ones.
fn answers() -> Option<String> {
    let (picture, response, truth) = (picture()?, response()?, truth()?);
    let kept = hysteresis(&response, LOW, HIGH);
    let skeleton = skeleton(&kept);
    let hessian = Hessian::new(&picture, 1.5).ok()?;
    let (middle, width, rows) = (picture.width() / 2, picture.width(), 0..picture.height());
    let half = |columns| ridge_length(&skeleton, &hessian, &Window { columns, rows: rows.clone() }, hiding_width(1.0, 1.0));
    let (left, right) = (half(0..middle), half(middle..width));
    let sum: f64 = response.values().iter().map(|value| f64::from(*value)).sum();
    Some(format!(
        "response: greatest {:.6}, mean {:.6}; kept {}; skeleton {}, links {:.0} px; of the true length left and right: found {:.3} {:.3}, \
         estimated {:.3} {:.3}; right over left: found {:.3}, estimated {:.3}, true {:.3}",
        response.values().iter().copied().fold(0.0, f32::max),
        sum / response.values().len() as f64,
        kept.count(),
        skeleton.count(),
        link_length(&skeleton),
        left.found_px / truth[0],
        right.found_px / truth[1],
        left.estimated_px / truth[0],
        right.estimated_px / truth[1],
        right.found_px / left.found_px,
        right.estimated_px / left.estimated_px,
        truth[1] / truth[0]
    ))
}

fn read(name: &str) -> Option<Vec<u8>> {
    std::fs::read(Path::new(&std::env::var_os("LASTMICRON_BENCH_INPUTS")?).join(name)).ok()
}

/// The picture's greys over 255.
fn picture() -> Option<Plane> {
    let file = read("w5/picture.pgm")?;
    let mut parts = file.splitn(4, |byte| *byte == b'\n');
    let (_, size, _, grey) = (parts.next()?, std::str::from_utf8(parts.next()?).ok()?, parts.next()?, parts.next()?);
    let (width, height) = size.split_once(' ')?;
    Plane::new(width.parse().ok()?, height.parse().ok()?, grey.iter().map(|grey| f32::from(*grey) / 255.0).collect()).ok()
}

fn truth() -> Option<[f64; 2]> {
    let text = String::from_utf8(read("w5/truth.csv")?).ok()?;
    let (left, right) = text.lines().nth(1)?.split_once(',')?;
    Some([left.parse().ok()?, right.parse().ok()?])
}

fn response() -> Option<Plane> {
    ridge::response(&picture()?, &SIGMAS).ok()
}

fn lines() -> Option<Mask> {
    Some(skeleton(&hysteresis(&response()?, LOW, HIGH)))
}

#[divan::bench(sample_count = 5, name = "response")]
fn timed_response(bencher: Bencher) {
    if let Some(picture) = picture() {
        bencher.bench(|| ridge::response(divan::black_box(&picture), &SIGMAS));
    }
}

#[divan::bench(sample_count = 20, name = "hysteresis")]
fn timed_hysteresis(bencher: Bencher) {
    if let Some(response) = response() {
        bencher.bench(|| hysteresis(divan::black_box(&response), LOW, HIGH));
    }
}

#[divan::bench(sample_count = 20)]
fn skeleton_and_links(bencher: Bencher) {
    if let Some(response) = response() {
        let kept = hysteresis(&response, LOW, HIGH);
        bencher.bench(|| link_length(&skeleton(divan::black_box(&kept))));
    }
}

#[divan::bench(sample_count = 5)]
fn hessian_and_ridge_length(bencher: Bencher) {
    if let (Some(picture), Some(lines)) = (picture(), lines()) {
        let window = Window { columns: 0..picture.width(), rows: 0..picture.height() };
        bencher.bench(|| Some(ridge_length(&lines, &Hessian::new(divan::black_box(&picture), 1.5).ok()?, &window, hiding_width(1.0, 1.0))));
    }
}
