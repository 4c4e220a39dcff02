//! job.toml: everything but what was measured.

mod panels;
mod processes;
mod settings;

use std::collections::HashMap;

use lastmicron_job::Job;
use lastmicron_plan::Car;
use toml::de::DeTable;

use crate::place::{File, Place};
use crate::problem::{Fault, Ledger};
use crate::table::{Lines, Table};

/// Where in job.toml stands what is looked at again together with the readings.
pub(crate) struct Stands {
    /// The floor.
    pub(crate) floor: Place,
    /// The line that each panel begins on.
    pub(crate) panel_lines: Vec<usize>,
}

/// Reads job.toml into a job without readings. Values that were refused are filled in, to go on looking for what else is wrong: the ledger knows.
pub(crate) fn read(text: &str, ledger: &mut Ledger) -> Option<(Job, Stands)> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let lines = Lines::of(text);
    let (document, errors) = DeTable::parse_recoverable(text);
    for error in &errors {
        let place = error.span().map_or(Place::file(File::Job), |span| Place::line(File::Job, lines.line(span.start)));
        ledger.refuse(place, Fault::Syntax(crate::place::shown(error.message())));
    }
    if !errors.is_empty() {
        return None;
    }
    let mut root = Table::root(document.get_ref(), &lines);
    root.need("format", "format = 1", ledger);
    if let Some(format) = root.whole("format", [i64::MIN, i64::MAX], "the number 1", ledger).filter(|format| *format != 1) {
        ledger.refuse(root.place("format"), Fault::Format(format));
    }
    let title = root.text("title", ledger).unwrap_or_default().to_owned();
    let vehicle = settings::vehicle(&mut root, ledger);
    let paint = settings::paint(&mut root, ledger);
    let gauges = settings::gauges(&mut root, ledger);
    let limits = settings::limits(&mut root, ledger);
    let goal = settings::goal(&mut root, ledger);
    let scatter = settings::scatter(&mut root, ledger);
    let edge = settings::edge(&mut root, ledger);
    let (processes, equipment) = processes::read(&mut root, ledger);
    let (panels, panel_lines) = panels::read(&mut root, vehicle.substrate, ledger);
    root.finish(ledger);
    let (limits, floor) = limits?;
    let car =
        Car { panels, paint, gauges, processes, equipment, scatter, edge, limits, goal, readings: vec![], worked: vec![], counts: vec![] };
    let settings::Vehicle { body, built, substrate } = vehicle;
    Some((
        Job { title, body, built, substrate: substrate.unwrap_or(lastmicron_film::gauge::Substrate::Unknown), car, gloss: Vec::new() },
        Stands { floor, panel_lines },
    ))
}

/// Names of one kind, each with the line of its first use.
#[derive(Default)]
struct Names(HashMap<String, usize>);

impl Names {
    /// Refuses a name that is taken.
    fn take(&mut self, what: &'static str, name: &str, place: Place, ledger: &mut Ledger) {
        let line = place.line.unwrap_or(1);
        if let Some(first) = self.0.get(name) {
            ledger.refuse(place, Fault::Duplicate { what, name: name.to_owned(), first: *first });
        } else {
            self.0.insert(name.to_owned(), line);
        }
    }
}
