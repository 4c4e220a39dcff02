//! Whatever the bytes are, a folder is read or refused.

use lastmicron_folder::Files;
use proptest::prelude::*;

use crate::{good, read};

pub(crate) fn file(files: &mut Files, which: usize) -> &mut Option<Vec<u8>> {
    match which {
        0 => &mut files.job,
        1 => &mut files.readings,
        2 => &mut files.worked,
        3 => &mut files.defects,
        _ => &mut files.gloss,
    }
}

/// Refused with a reason, or read with numbers that can be worked with.
pub(crate) fn holds(files: &Files) {
    match read(files) {
        Ok(checked) => {
            let car = &checked.contents.job.car;
            assert!(!car.readings.is_empty() && !car.processes.is_empty() && !car.gauges.is_empty());
            for reading in &car.readings {
                let panel = &car.panels[reading.panel].panel;
                assert!(panel.edge_distance_mm(reading.x_mm, reading.y_mm) <= 1.0 || panel.contains(reading.x_mm, reading.y_mm));
                assert!(reading.gauge < car.gauges.len() && reading.after.iter().all(|step| step.process < car.processes.len()));
            }
            assert!(car.panels.iter().all(|panel| panel.panel.area_m2() > 0.0));
            let _ = checked.findings.iter().map(ToString::to_string).collect::<String>();
        }
        Err(problems) => assert!(!problems.listed.is_empty() && !problems.to_string().is_empty()),
    }
}

const WORDS: [&str; 24] = [
    "nan",
    "inf",
    "-1",
    "0",
    "1e308",
    "1e-308",
    "9999999999999999999999",
    "\"",
    ",",
    ",,",
    "\n",
    "\r",
    "[",
    "]",
    "[[panel]]\n",
    "= ",
    "{",
    "}",
    "cut:1",
    "mil",
    "\u{feff}",
    "\0",
    "'",
    "#",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn arbitrary_bytes_are_read_or_refused(which in 0_usize..5, bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let mut files = good();
        *file(&mut files, which) = Some(bytes);
        holds(&files);
    }

    #[test]
    fn arbitrary_text_under_a_good_header_is_read_or_refused(which in 1_usize..5, text in "[a-z0-9:+.,\"\\-\n\r ]{0,120}") {
        let mut files = good();
        let slot = file(&mut files, which);
        let header = slot.clone().unwrap().split(|byte| *byte == b'\n').next().unwrap().to_vec();
        *slot = Some([header, b"\n".to_vec(), text.into_bytes()].concat());
        holds(&files);
    }

    #[test]
    fn a_good_folder_with_bytes_changed_is_read_or_refused(which in 0_usize..5, changes in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let mut files = good();
        let bytes = file(&mut files, which).as_mut().unwrap();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        holds(&files);
    }

    #[test]
    fn a_good_folder_with_words_put_in_or_cut_out_is_read_or_refused(
        which in 0_usize..5,
        at in any::<prop::sample::Index>(),
        cut in 0_usize..30,
        word in prop::sample::select(WORDS.to_vec()),
    ) {
        let mut files = good();
        let bytes = file(&mut files, which).as_mut().unwrap();
        let at = at.index(bytes.len());
        let end = (at + cut).min(bytes.len());
        bytes.splice(at..end, word.bytes());
        holds(&files);
    }

    #[test]
    fn a_number_of_a_good_job_changed_to_anything_is_read_or_refused(at in any::<prop::sample::Index>(), number in any::<f64>()) {
        let mut files = good();
        let text = String::from_utf8(files.job.clone().unwrap()).unwrap();
        let keys: Vec<usize> = text.match_indices("= ").map(|(at, _)| at + 2).filter(|at| text[*at..].starts_with(|c: char| c.is_ascii_digit())).collect();
        let from = keys[at.index(keys.len())];
        let to = from + text[from..].find(|c: char| !(c.is_ascii_digit() || c == '.' || c == 'e')).unwrap();
        files.job = Some(format!("{}{number:?}{}", &text[..from], &text[to..]).into_bytes());
        holds(&files);
    }
}
