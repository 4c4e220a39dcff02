//! What rows of different files have in common: a panel, a place on it, what had been done.

use lastmicron_film::panel::Panel;
use lastmicron_job::bounds::{PLACE_MM, SHARE_LEFT, Sense};
use lastmicron_job::on_panel::is_place_on;
use lastmicron_plan::{Car, CarPanel};
use lastmicron_polish::Step;
use lastmicron_units::read_number;

use crate::after;
use crate::nearest::nearest;
use crate::problem::{Fault, Ledger};
use crate::sheet::Row;

/// Index of the panel that the row names.
pub(crate) fn panel(row: &Row<'_>, panels: &[CarPanel], ledger: &mut Ledger) -> Option<usize> {
    let name = row.get("panel");
    if name.is_empty() {
        ledger.refuse(row.place("panel"), Fault::EmptyField("every row names its panel"));
        return None;
    }
    let at = panels.iter().position(|panel| panel.panel.name == name);
    if at.is_none() {
        let names = || panels.iter().map(|panel| panel.panel.name.as_str());
        let known = names().map(str::to_owned).collect();
        ledger.refuse(row.place("panel"), Fault::Unknown { what: "panel", word: name.to_owned(), nearest: nearest(name, names()), known });
    }
    at
}

/// The spot's name.
pub(crate) fn spot(row: &Row<'_>, ledger: &mut Ledger) -> String {
    let spot = row.get("spot").to_owned();
    if spot.is_empty() {
        ledger.refuse(row.place("spot"), Fault::EmptyField("give the spot a name, so that its rows belong together"));
    }
    spot
}

/// Refuses a spot that lay on another panel above.
pub(crate) fn spot_moved(row: &Row<'_>, spot: &str, [first, here]: [usize; 2], car: &Car, ledger: &mut Ledger) {
    let name = |panel: usize| car.panels.get(panel).map(|panel| panel.panel.name.clone()).unwrap_or_default();
    ledger.refuse(row.place("panel"), Fault::SpotMoved { spot: spot.to_owned(), first: name(first), second: name(here) });
}

/// A number in mm.
pub(crate) fn mm(row: &Row<'_>, column: &str, ledger: &mut Ledger) -> Option<f64> {
    match read_number(row.get(column)) {
        Ok(written) if (PLACE_MM.holds)(written.value) => Some(written.value + 0.0),
        Ok(written) => {
            ledger.refuse(row.place(column), Fault::Range { found: written.value.to_string(), wanted: PLACE_MM.wanted });
            None
        }
        Err(error) => {
            ledger.refuse(row.place(column), error);
            None
        }
    }
}

/// A place on a panel, mm; one that rounding has put just off it counts as on it.
pub(crate) fn place_mm(row: &Row<'_>, panel: Option<&Panel>, ledger: &mut Ledger) -> Option<[f64; 2]> {
    let (x_mm, y_mm) = (mm(row, "x_mm", ledger), mm(row, "y_mm", ledger));
    let (x_mm, y_mm, panel) = (x_mm?, y_mm?, panel?);
    // An outline that was refused can't tell.
    if panel.outline_mm.is_empty() || is_place_on(panel, [x_mm, y_mm]) {
        return Some([x_mm, y_mm]);
    }
    let [width_mm, height_mm] = panel.size_mm();
    ledger.refuse(row.place("x_mm"), Fault::OffPanel { x_mm, y_mm, panel: panel.name.clone(), width_mm, height_mm });
    None
}

/// What had been done.
pub(crate) fn done(row: &Row<'_>, car: &Car, ledger: &mut Ledger) -> Option<Vec<Step>> {
    match after::read(row.get("after"), &car.processes) {
        Ok(steps) => Some(steps),
        Err(fault) => {
            ledger.refuse(row.place("after"), fault);
            None
        }
    }
}

/// One of a few words; `None` for an empty field.
pub(crate) fn word<T: Copy>(row: &Row<'_>, column: &'static str, words: &[(&str, T)], ledger: &mut Ledger) -> Option<T> {
    let text = row.get(column);
    if text.is_empty() {
        return None;
    }
    let found = words.iter().find(|(word, _)| *word == text).map(|(_, meant)| *meant);
    if found.is_none() {
        let known = words.iter().map(|(word, _)| (*word).to_owned()).collect();
        let nearest = nearest(text, words.iter().map(|(word, _)| *word));
        ledger.refuse(row.place(column), Fault::Unknown { what: "word", word: text.to_owned(), nearest, known });
    }
    found
}

/// A share from 0 to 1; `None` for an empty field.
pub(crate) fn share(row: &Row<'_>, column: &str, ledger: &mut Ledger) -> Option<f64> {
    number(row, column, &SHARE_LEFT, ledger)
}

/// A number within bounds; `None` for an empty field.
pub(crate) fn number(row: &Row<'_>, column: &str, sense: &Sense, ledger: &mut Ledger) -> Option<f64> {
    let text = row.get(column);
    if text.is_empty() {
        return None;
    }
    match read_number(text) {
        Ok(written) if (sense.holds)(written.value) => return Some(written.value + 0.0),
        Ok(written) => ledger.refuse(row.place(column), Fault::Range { found: written.value.to_string(), wanted: sense.wanted }),
        Err(error) => ledger.refuse(row.place(column), error),
    }
    None
}
