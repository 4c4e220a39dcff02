//! `lastmicron photo` on photographs that are drawn here, and on files that are none.

mod drawn;

use std::fs;

use expect_test::{Expect, expect};
use lastmicron_photo::{Picture, write_png};
use serde_json::Value;

use crate::{Ended, Room};
use drawn::{HEIGHT, LEFT, WIDTH, Worked, photograph};

const HALVES: [&str; 4] = ["--line", "600,-700,600.5,2000", "--untouched", "200,450"];

fn split(room: &Room, image: &str, more: &[&str]) -> Ended {
    room.run(&[&["photo", "split", image], &HALVES[..], more].concat())
}

/// A room with a photograph of a spot whose right half is worked; it is PNG, whatever its name says.
fn room() -> Room {
    let room = Room::new();
    fs::write(room.path("spot.jpg"), photograph(Worked::RightHalf, 1)).unwrap();
    room
}

/// The share that is gone is about that of the scratches drawn: on so small a photograph it is good to a tenth or two, and its interval says so.
fn check_gone(gone: &Value) {
    let [low, estimate, high] = ["low", "estimate", "high"].map(|key| gone[key].as_f64().unwrap());
    assert!(low <= estimate && estimate <= high && (0.05..0.6).contains(&(high - low)), "{gone}");
    assert!((estimate - (1.0 - LEFT)).abs() < 0.2, "{gone}");
}

/// Every number as `#`.
fn shape(value: &Value) -> String {
    match value {
        Value::Object(map) => {
            format!("{{{}}}", map.iter().map(|(key, value)| format!("{key}: {}", shape(value))).collect::<Vec<_>>().join(", "))
        }
        Value::Array(values) => format!("[{}]", values.iter().map(shape).collect::<Vec<_>>().join(", ")),
        Value::Number(_) => "#".to_owned(),
        other => other.to_string(),
    }
}

/// Width and height in a PNG's header.
fn size_of_png(bytes: &[u8]) -> [u32; 2] {
    assert_eq!(bytes[..8], *b"\x89PNG\r\n\x1a\n");
    [16, 20].map(|at| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()))
}

#[test]
fn a_half_polished_spot_is_measured_and_drawn() {
    let room = room();
    let ended = split(&room, "spot.jpg", &["--json", "--overlay", "seen.png"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    let json: Value = serde_json::from_str(&ended.out).unwrap();
    expect!["{gone: {estimate: #, low: #, high: #}, visible: {estimate: #, low: #, high: #}, untouched: {length_per_area: #, low: #, high: #}, worked: {length_per_area: #, low: #, high: #}, warnings: []}"]
        .assert_eq(&shape(&json));
    check_gone(&json["gone"]);
    check_gone(&json["visible"]);
    // [D] 1500 scratches of 63 pixels on 1200 x 900
    let untouched = json["untouched"]["length_per_area"].as_f64().unwrap();
    assert!((0.5..2.0).contains(&(untouched / 0.0875)), "{untouched}");
    assert!(json["worked"]["length_per_area"].as_f64().unwrap() < 0.6 * untouched);
    assert_eq!(size_of_png(&fs::read(room.path("seen.png")).unwrap()), [WIDTH as u32, HEIGHT as u32]);
    assert_eq!(room.names(), ["job", "seen.png", "spot.jpg"]);
}

#[test]
fn two_photographs_are_measured_and_told() {
    let room = Room::new();
    fs::write(room.path("before.png"), photograph(Worked::Nowhere, 11)).unwrap();
    fs::write(room.path("after.png"), photograph(Worked::Everywhere, 21)).unwrap();
    let ended = room.run(&["photo", "pair", "before.png", "after.png", "--overlay", "seen.png"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    let words = ended.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let gone: f64 = words.split(" %").next().unwrap().parse().unwrap();
    assert!((100.0 * (1.0 - LEFT) - gone).abs() < 20.0, "{words}");
    for part in ["of the scratch length is gone (", "orange before and blue after", "--row SPOT,PANEL,AFTER"] {
        assert!(words.contains(part), "{part}: {words}");
    }
    let [width, height] = size_of_png(&fs::read(room.path("seen.png")).unwrap());
    assert!(width == WIDTH as u32 && height > 2 * HEIGHT as u32, "{width} x {height}");
    assert!(ended.out.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn sides_that_are_taken_for_each_other_are_told() {
    let room = room();
    let ended = room.run(&["photo", "split", "spot.jpg", "--line", "600,-700,600.5,2000", "--untouched", "1000,450", "--json"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    let json: Value = serde_json::from_str(&ended.out).unwrap();
    assert!(json["gone"]["estimate"].as_f64().unwrap() < 0.1, "{json}");
    assert!(json["warnings"].to_string().contains("the wrong way round"), "{json}");
    refused(
        &room,
        &[
            &["photo", "split", "spot.jpg", "--line", "600,-700,600.5,2000", "--untouched", "1000,450"],
            &["--row", "spot 1,boot lid,finish:2", "--overlay", "seen.png"][..],
        ]
        .concat(),
        &expect![[r#"
            lastmicron: spot.jpg: there are more scratches where work was done than where none was: are untouched and worked, or before and after, the wrong way round? If not, the work left marks of its own. No row is given: a plan would take from it that the work takes next to nothing
        "#]],
    );
}

#[test]
fn a_row_that_can_not_be_one_is_refused_before_a_photograph_is_read() {
    let room = Room::new();
    for after in ["finish", "finish:two"] {
        let ended = split(&room, "not-there.jpg", &["--row", &format!("spot 1,boot lid,{after}")]);
        let said = format!(
            "lastmicron: --row 'spot 1,boot lid,{after}': say what had been done to the spot as process:sets, with + between one process and the next, like --row 'spot 1,boot lid,finish:2'\n"
        );
        assert_eq!((ended.status, ended.out.as_str(), ended.err), (2, "", said));
    }
}

#[test]
fn a_photograph_is_a_row_that_the_job_takes() {
    let room = room();
    let ended = split(&room, "spot.jpg", &["--row", "spot 9,boot lid,cut:1 + finish:2"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    fs::write(room.path("job").join("defects.csv"), &ended.out).unwrap();
    let read = lastmicron_folder::read(&room.path("job")).unwrap();
    let [count] = &read.contents.job.car.counts[..] else { panic!("{}", ended.out) };
    let [low, high] = count.share_between.unwrap();
    let lastmicron_look::Seen::ShareLeft(left) = count.seen else { panic!("{}", ended.out) };
    assert!(low <= left && left <= high && (left - LEFT).abs() < 0.2, "{}", ended.out);
    assert_eq!((count.spot.as_str(), count.after.len()), ("spot 9", 2));
    // A half-polished spot needs no row before work: nothing is said of this one.
    assert!(read.findings.iter().all(|finding| !finding.to_string().contains("spot 9")));
}

/// Nothing is printed and nothing written.
fn refused(room: &Room, arguments: &[&str], expect: &Expect) {
    let names = room.names();
    let ended = room.run(arguments);
    expect.assert_eq(&ended.err);
    assert_eq!((ended.status, ended.out.as_str()), (2, ""));
    assert_eq!(room.names(), names);
}

fn refused_file(bytes: &[u8], expect: &Expect) {
    let room = Room::new();
    fs::write(room.path("spot.jpg"), bytes).unwrap();
    refused(&room, &[&["photo", "split", "spot.jpg", "--overlay", "seen.png"], &HALVES[..]].concat(), expect);
}

/// A PNG's signature and header.
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let body = [b"IHDR", &width.to_be_bytes()[..], &height.to_be_bytes(), &[8, 2, 0, 0, 0]].concat();
    let crc = !body
        .iter()
        .fold(u32::MAX, |crc, byte| (0..8).fold(crc ^ u32::from(*byte), |crc, _| crc >> 1 ^ if crc & 1 == 1 { 0xEDB8_8320 } else { 0 }));
    [b"\x89PNG\r\n\x1a\n", &13_u32.to_be_bytes()[..], &body, &crc.to_be_bytes()].concat()
}

#[test]
fn files_that_are_no_photograph_are_refused() {
    let whole = photograph(Worked::Nowhere, 1);
    refused_file(
        b"",
        &expect![[r#"
        lastmicron: spot.jpg: the file is empty: copy it from the camera again
    "#]],
    );
    refused_file(
        b"\xFF\xD8\xFF\xE0\0\x10JFIF\0\x01\x01\0\0\x01\0\x01\0\0",
        &expect![[r#"
        lastmicron: spot.jpg: the file ends before its picture does, so that a part is missing: copy it from the camera again
    "#]],
    );
    refused_file(
        &whole[..whole.len() / 2],
        &expect![[r#"
        lastmicron: spot.jpg: the file ends before its picture does, so that a part is missing: copy it from the camera again
    "#]],
    );
    refused_file(
        b"Dear customer",
        &expect![[r#"
        lastmicron: spot.jpg: this looks like text: give the photograph as JPEG, PNG or WebP
    "#]],
    );
    refused_file(
        b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
        &expect![[r#"
        lastmicron: spot.jpg: this is an HEIC, HEIF or AVIF picture, which is not read here: export or share it as JPEG, and set the phone's camera to save the most compatible format
    "#]],
    );
    refused_file(
        &png_header(30_000, 30_000),
        &expect![[r#"
        lastmicron: spot.jpg: the photograph has 30000 x 30000 pixels (900 megapixels), and at most 51 megapixels are read: set the camera to fewer, or cut out what is to be measured
    "#]],
    );
    refused_file(
        &png_header(600, 400),
        &expect![[r#"
        lastmicron: spot.jpg: the photograph has 600 x 400 pixels, too small to measure on, which needs 1 megapixel and 300 pixels each way: give it as the camera took it, neither shrunk nor cut out
    "#]],
    );
}

#[test]
fn a_file_that_is_too_long_is_not_read() {
    let room = Room::new();
    let file = fs::File::create(room.path("spot.png")).unwrap();
    std::io::Write::write_all(&mut &file, &png_header(4000, 3000)).unwrap();
    file.set_len(3_000_000_000).unwrap();
    refused(
        &room,
        &[&["photo", "split", "spot.png"], &HALVES[..]].concat(),
        &expect![[r#"
        lastmicron: spot.png: the file has 3000 MB, and at most 100 MB are read: save the photograph as JPEG
    "#]],
    );
    let film = fs::File::create(room.path("film.mp4")).unwrap();
    std::io::Write::write_all(&mut &film, b"\0\0\0\x18ftypisom\0\0\0\0isommp42").unwrap();
    film.set_len(3_000_000_000).unwrap();
    refused(
        &room,
        &[&["photo", "split", "film.mp4"], &HALVES[..]].concat(),
        &expect![[r#"
        lastmicron: film.mp4: this looks like a video: give the photograph as JPEG, PNG or WebP
    "#]],
    );
}

#[test]
fn files_that_are_not_there_are_named() {
    let room = Room::new();
    refused(
        &room,
        &[&["photo", "split", "spit.jpg"], &HALVES[..]].concat(),
        &expect![[r#"
        lastmicron: spit.jpg: there is no such file: name the photograph
    "#]],
    );
    refused(
        &room,
        &["photo", "pair", "job", "after.jpg"],
        &expect![[r#"
        lastmicron: job: that is a folder: name the photograph in it
    "#]],
    );
}

#[test]
fn photographs_that_say_nothing_are_refused() {
    let room = Room::new();
    let grey = |width: usize, height: usize| write_png(&Picture::new(width, height, vec![[70; 3]; width * height]).unwrap()).unwrap();
    fs::write(room.path("spot.png"), grey(1200, 900)).unwrap();
    fs::write(room.path("high.png"), grey(900, 1200)).unwrap();
    refused(
        &room,
        &[&["photo", "split", "spot.png"], &HALVES[..]].concat(),
        &expect![[r#"
            lastmicron: spot.png: no lamp is seen in the photograph: photograph one small lamp mirrored in the paint, near the middle of the picture
        "#]],
    );
    refused(
        &room,
        &["photo", "pair", "spot.png", "high.png"],
        &expect![[r#"
        lastmicron: spot.png, high.png: the two photographs differ in size: take both with the same camera, upright or lying alike
    "#]],
    );
}

#[test]
fn lines_and_points_that_make_no_halves_are_refused() {
    let room = room();
    let check = |line: &str, untouched: &str, expect: &Expect| {
        refused(&room, &["photo", "split", "spot.jpg", "--line", line, "--untouched", untouched], expect);
    };
    check(
        "600,0,600,0",
        "200,450",
        &expect![[r#"
        lastmicron: --line: the line's two points must be finite and at least one pixel apart: give two places far apart on the border between the halves
    "#]],
    );
    check(
        "600,0,600,900",
        "600.5,450",
        &expect![[r#"
        lastmicron: --untouched: the untouched point must lie at least one pixel away from the line: give a place well inside the untouched half
    "#]],
    );
    check(
        "600,0,600,900",
        "-20,450",
        &expect![[r#"
        lastmicron: --untouched: -20,450 is not in the photograph, which seen upright is 1200 pixels wide and 900 high: give a place well inside the untouched half, x from the left first, then y from the top
    "#]],
    );
    check(
        "600,0,600",
        "200,450",
        &expect![[r#"
        error: invalid value '600,0,600' for '--line <X1,Y1,X2,Y2>': give 4 numbers of pixels with commas between them

        For more information, try '--help'.
    "#]],
    );
    check(
        "600,0,600,NaN",
        "200,450",
        &expect![[r#"
        error: invalid value '600,0,600,NaN' for '--line <X1,Y1,X2,Y2>': give 4 numbers of pixels with commas between them

        For more information, try '--help'.
    "#]],
    );
    check(
        "5000,0,5000,900",
        "200,450",
        &expect![[r#"
        lastmicron: --line: the line through 5000,0 and 5000,900 passes by the photograph, which seen upright is 1200 pixels wide and 900 high: give two places on the border between the halves, x from the left first, then y from the top
    "#]],
    );
    check(
        "-40,-10,-40,1e17",
        "200,450",
        &expect![[r#"
        lastmicron: --line: the line through -40,-10 and -40,100000000000000000 passes by the photograph, which seen upright is 1200 pixels wide and 900 high: give two places on the border between the halves, x from the left first, then y from the top
    "#]],
    );
    check(
        "1190,0,1190,900",
        "200,450",
        &expect![[r#"
            lastmicron: spot.jpg: too little of the worked side can be used: half of the picture should be worked and half untouched, the lamp near the line, nothing shining beside it
        "#]],
    );
}

#[test]
fn what_can_not_be_meant_is_refused() {
    let room = room();
    let check = |more: &[&str], expect: &Expect| {
        refused(&room, &[&["photo", "split", "spot.jpg"], &HALVES[..], more].concat(), expect);
    };
    check(
        &["--row", "spot 1,boot lid"],
        &expect![[r#"
        lastmicron: --row 'spot 1,boot lid': give the spot, its panel and what had been done to it, with commas between them, like --row 'spot 1,boot lid,finish:2'
    "#]],
    );
    check(
        &["--row", "spot 1,boot lid,finish:2", "--json"],
        &expect![[r#"
        error: the argument '--row <SPOT,PANEL,AFTER>' cannot be used with '--json'

        Usage: lastmicron photo split --line <X1,Y1,X2,Y2> --untouched <X,Y> --row <SPOT,PANEL,AFTER> <IMAGE>

        For more information, try '--help'.
    "#]],
    );
    check(
        &["--overlay", "job/../spot.jpg"],
        &expect![[r#"
        lastmicron: job/../spot.jpg: that is the photograph itself: name another file for the overlay
    "#]],
    );
}

#[test]
fn an_overlay_takes_the_place_of_nothing_but_a_picture() {
    let room = room();
    fs::write(room.path("after.png"), photograph(Worked::Everywhere, 21)).unwrap();
    fs::create_dir(room.path("seen.png")).unwrap();
    let check = |overlay: &str, expect: &Expect| {
        refused(&room, &["photo", "pair", "spot.jpg", "after.png", "--overlay", overlay], expect);
    };
    check(
        "job/job.toml",
        &expect![[r#"
        lastmicron: job/job.toml: the overlay is written as PNG: give it a name that ends in .png
    "#]],
    );
    check(
        "seen",
        &expect![[r#"
        lastmicron: seen: the overlay is written as PNG: give it a name that ends in .png
    "#]],
    );
    check(
        "job/../after.png",
        &expect![[r#"
        lastmicron: job/../after.png: that is the photograph itself: name another file for the overlay
    "#]],
    );
    check(
        "nowhere/seen.png",
        &expect![[r#"
        lastmicron: nowhere/seen.png: there is no folder nowhere: make it first, or name another place for the overlay
    "#]],
    );
    check(
        "spot.jpg/seen.png",
        &expect![[r#"
        lastmicron: spot.jpg/seen.png: there is no folder spot.jpg: make it first, or name another place for the overlay
    "#]],
    );
    check(
        "seen.png",
        &expect![[r#"
        lastmicron: seen.png: that is a folder: name a file in it for the overlay
    "#]],
    );
}

#[cfg(unix)]
#[test]
fn a_link_to_a_photograph_is_that_photograph() {
    let room = room();
    std::os::unix::fs::symlink(room.path("spot.jpg"), room.path("link.png")).unwrap();
    refused(
        &room,
        &[&["photo", "split", "spot.jpg"], &HALVES[..], &["--overlay", "link.png"]].concat(),
        &expect![[r#"
        lastmicron: link.png: that is the photograph itself: name another file for the overlay
    "#]],
    );
}

#[test]
fn an_overlay_takes_the_place_of_an_earlier_one() {
    let room = room();
    fs::write(room.path("seen.PNG"), "an earlier one").unwrap();
    let ended = split(&room, "spot.jpg", &["--overlay", "seen.PNG"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    assert_eq!(size_of_png(&fs::read(room.path("seen.PNG")).unwrap()), [WIDTH as u32, HEIGHT as u32]);
    assert_eq!(room.names(), ["job", "seen.PNG", "spot.jpg"]);
}
