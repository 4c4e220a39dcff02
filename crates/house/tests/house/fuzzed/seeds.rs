//! Good files of every kind, to be changed.

use std::fs;
use std::path::Path;

use image_webp::ColorType;
use lastmicron_folder::Files;
use lastmicron_record::{Bundle, Checkpoint, Keys, SigningKey};

use super::{Kind, handovers, made_jpeg, made_png, made_tiff, made_webp};

/// What stands between the files of a folder that are changed as one.
pub(super) const BETWEEN: &[u8] = b"\n--- the next file ---\n";

pub(super) fn of(kind: Kind) -> Vec<Vec<u8>> {
    match kind {
        Kind::Folder => vec![files().join(BETWEEN)],
        Kind::Events => events(),
        Kind::Record => records(),
        Kind::Photograph => photographs(),
        Kind::Handover => handovers::all(),
    }
}

fn kept(from_root: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(from_root)).unwrap()
}

fn files() -> [Vec<u8>; 5] {
    ["job.toml", "readings.csv", "worked.csv", "defects.csv", "gloss.csv"].map(|name| kept(&format!("examples/sage-roadster/{name}")))
}

/// A folder with other bytes in one of its files.
pub(super) fn folder_with(file: usize, bytes: &[u8]) -> Vec<u8> {
    let mut files = files();
    files[file] = bytes.to_vec();
    files.join(BETWEEN)
}

/// The files of a folder again; none where what stands between them was changed.
pub(super) fn unpacked(bytes: &[u8]) -> Option<Files> {
    let mut rest = bytes;
    let mut next = || {
        let end = rest.windows(BETWEEN.len()).position(|window| window == BETWEEN)?;
        let file = rest[..end].to_vec();
        rest = &rest[end + BETWEEN.len()..];
        Some(file)
    };
    let [job, readings, worked, defects] = [next()?, next()?, next()?, next()?];
    Some(Files { job: Some(job), readings: Some(readings), worked: Some(worked), defects: Some(defects), gloss: Some(rest.to_vec()) })
}

pub(super) fn bundle() -> (Vec<u8>, Bundle) {
    let bytes = kept("crates/store/tests/bundles/1/olive-coupe.record");
    let bundle = Bundle::read(&bytes).unwrap();
    (bytes, bundle)
}

/// All events of a record in one array, each alone, and what they are in twos.
fn events() -> Vec<Vec<u8>> {
    let events: Vec<String> = bundle().1.entries.iter().map(|entry| serde_json::to_string(&entry.event).unwrap()).collect();
    let all = format!("[{}]", events.join(","));
    let twos = events.chunks(2).map(|two| format!("[{}]", two.join(",")));
    [all].into_iter().chain(twos).chain(events.clone()).map(String::into_bytes).collect()
}

fn records() -> Vec<Vec<u8>> {
    let (bytes, bundle) = bundle();
    let key = SigningKey::of("workshop", [7; 32]).unwrap();
    let note = Checkpoint::of(&bundle.entries).unwrap().unwrap().sign(&key);
    vec![bytes, note.to_string().into_bytes(), Keys::of(key.public()).to_string().into_bytes()]
}

/// As small as is read: one megapixel.
fn photographs() -> Vec<Vec<u8>> {
    use made_jpeg::{Jpeg, middle};
    use made_png::{GREY, RGB, chunk, header, png};
    let slope = |x: usize, y: usize| (x * 5 + y * 3) as u8;
    let row = |y: usize, bytes: usize| (0..bytes).map(|x| slope(x / 8, y / 8)).collect::<Vec<u8>>();
    let rows = |bytes: usize| (0..1000).map(|y| row(y, bytes)).collect::<Vec<Vec<u8>>>();
    let mut grey = Jpeg::grey(126, 126, slope);
    grey.segments.push(made_tiff::segment(&made_tiff::exif(6, true)));
    let colour = Jpeg { restart_interval: Some(9), ..Jpeg::colour(126, 126, [slope, middle, slope]) };
    let progressive = Jpeg { is_progressive: true, ..grey.clone() };
    vec![
        grey.bytes(),
        colour.bytes(),
        progressive.bytes(),
        png(header(1000, 1000, 8, GREY, 0), &[chunk(b"eXIf", &made_tiff::exif(8, false))], &rows(1000)),
        png(header(1000, 1000, 8, RGB, 0), &[], &rows(3000)),
        made_webp::lossless(&rows(3000).concat(), 1000, 1000, ColorType::Rgb8, Some(made_tiff::exif(5, false))),
    ]
}
