//! The example's files with lines, cells and numbers changed: read or refused, and what reads is planned.

use std::path::Path;

use lastmicron_folder::Files;
use lastmicron_plan::{Effort, PanelPlan, plan};
use lastmicron_units::Unit;
use proptest::prelude::*;

use crate::mutations::{file, holds};
use crate::read;

pub(crate) fn example() -> Files {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sage-roadster");
    let bytes = |name: &str| Some(std::fs::read(folder.join(name)).unwrap());
    Files {
        job: bytes("job.toml"),
        readings: bytes("readings.csv"),
        worked: bytes("worked.csv"),
        defects: bytes("defects.csv"),
        gloss: bytes("gloss.csv"),
    }
}

/// What may stand where a number stood.
const NUMBERS: [&str; 24] = [
    "0",
    "-0",
    "-1",
    "1",
    "2",
    "9",
    "10",
    "600",
    "15000",
    "0.02",
    "0.9999999999999999",
    "1e-300",
    "1e300",
    "nan",
    "-inf",
    "0x10",
    "1_0",
    "1,5",
    "47 mil",
    "\u{2212}4",
    "\u{661}",
    "\u{1f600}",
    "\0",
    "",
];

/// What a slip of the hand, a spreadsheet or a script does to a file.
#[derive(Clone, Debug)]
enum Slip {
    Number { which: usize, to: &'static str },
    Scaled { which: usize, by: f64 },
    Lost { from: usize, lines: usize },
    Doubled { line: usize },
    Swapped { line: usize, other: usize },
    Cell { line: usize, other: usize, cell: usize },
    CutShort { at: usize },
    Windows,
    OldMac,
    Marked,
}

fn slip() -> impl Strategy<Value = Slip> {
    let n = 0_usize..1000;
    prop_oneof![
        6 => (n.clone(), prop::sample::select(NUMBERS.to_vec())).prop_map(|(which, to)| Slip::Number { which, to }),
        6 => (n.clone(), prop::sample::select(vec![0.0, 0.01, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 25.4, 1000.0])).prop_map(|(which, by)| Slip::Scaled { which, by }),
        3 => (n.clone(), 1_usize..100).prop_map(|(from, lines)| Slip::Lost { from, lines }),
        2 => n.clone().prop_map(|line| Slip::Doubled { line }),
        2 => (n.clone(), n.clone()).prop_map(|(line, other)| Slip::Swapped { line, other }),
        4 => (n.clone(), n.clone(), n.clone()).prop_map(|(line, other, cell)| Slip::Cell { line, other, cell }),
        1 => n.prop_map(|at| Slip::CutShort { at }),
        1 => Just(Slip::Windows),
        1 => Just(Slip::OldMac),
        1 => Just(Slip::Marked),
    ]
}

/// Where numbers stand in a text.
fn numbers(text: &str) -> Vec<std::ops::Range<usize>> {
    let mut found: Vec<std::ops::Range<usize>> = Vec::new();
    for (at, c) in text.char_indices().filter(|(_, c)| c.is_ascii_digit() || *c == '.') {
        match found.last_mut() {
            Some(last) if last.end == at => last.end = at + c.len_utf8(),
            _ => found.push(at..at + c.len_utf8()),
        }
    }
    found
}

fn slipped(text: &str, slip: &Slip) -> String {
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let count = lines.len();
    let numbers = numbers(text);
    let put = |which: usize, to: &dyn Fn(&str) -> String| match numbers.get(which % numbers.len().max(1)) {
        Some(at) => format!("{}{}{}", &text[..at.start], to(&text[at.clone()]), &text[at.end..]),
        None => text.to_owned(),
    };
    match slip {
        Slip::Number { which, to } => return put(*which, &|_| (*to).to_owned()),
        Slip::Scaled { which, by } => return put(*which, &|from| (from.parse().unwrap_or(1.0) * by).to_string()),
        Slip::Lost { from, lines: lost } => drop(lines.drain(from % count..(from % count + lost).min(count))),
        Slip::Doubled { line } => lines.insert(line % count, lines[line % count].clone()),
        Slip::Swapped { line, other } => lines.swap(line % count, other % count),
        Slip::Cell { line, other, cell } => {
            let from: Vec<&str> = lines[other % count].split(',').collect();
            let mut to: Vec<&str> = lines[line % count].split(',').collect();
            let at = cell % from.len().min(to.len());
            to[at] = from[at];
            lines[line % count] = to.join(",");
        }
        Slip::CutShort { at } => return text.chars().take(text.chars().count() * at / 1000).collect(),
        Slip::Windows => return text.replace('\n', "\r\n"),
        Slip::OldMac => return text.replace('\n', "\r"),
        Slip::Marked => return format!("\u{feff}{text}"),
    }
    lines.join("\n")
}

fn slips() -> impl Strategy<Value = Vec<(usize, Slip)>> {
    proptest::collection::vec((prop::sample::select(vec![0_usize, 0, 1, 1, 2, 3, 4]), slip()), 1..5)
}

fn after(slips: &[(usize, Slip)]) -> Files {
    let mut files = example();
    for (which, slip) in slips {
        let bytes = file(&mut files, *which).as_mut().unwrap();
        *bytes = slipped(&String::from_utf8(bytes.clone()).unwrap(), slip).into_bytes();
    }
    files
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn the_example_after_slips_is_read_or_refused(slips in slips()) {
        holds(&after(&slips));
    }
}

proptest! {
    // A plan takes some tenths of a second.
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 60, ..ProptestConfig::default() })]

    #[test]
    fn what_reads_is_planned_or_refused_with_a_sentence(slips in slips()) {
        if let Ok(checked) = read(&after(&slips)) {
            match plan(&checked.contents.job.car, Effort { draws: 64, seed: 1 }, Unit::Micrometre) {
                Ok(outcome) => {
                    let plan = outcome.plan;
                    // Nobody knows a risk where all that is worked was never read; everywhere else it is a chance.
                    let is_known = !plan.panels.iter().any(PanelPlan::is_worked) || plan.panels.iter().any(|p| p.is_worked() && p.measured);
                    prop_assert_eq!((0.0..=1.0).contains(&plan.risk), is_known);
                    prop_assert!(plan.hours.is_finite() && (is_known || plan.risk.is_nan()));
                }
                Err(error) => prop_assert!(!error.to_string().is_empty()),
            }
        }
    }
}

#[test]
fn the_example_is_read_as_it_stands() {
    assert!(read(&example()).unwrap().findings.is_empty());
    assert_eq!(after(&[(0, Slip::Scaled { which: 0, by: 1.0 })]), example());
}
