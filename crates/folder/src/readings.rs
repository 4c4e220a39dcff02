//! readings.csv: the survey, the test spots and the readings taken while working.

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_plan::{Car, CarPanel, Reading};
use lastmicron_units::{Entered, Unit};
use toml::value::Datetime;

use crate::contents::Jotting;
use crate::nearest::nearest;
use crate::place::File;
use crate::problem::{Fault, Ledger};
use crate::row;
use crate::sheet::{Columns, Row, Sheet};
use lastmicron_job::words::{LAYERS, SUBSTRATES, word_for};

pub(crate) const COLUMNS: Columns = Columns {
    needed: &["panel", "x_mm", "y_mm", "reading", "unit", "after"],
    optional: &["layer", "gauge", "session", "taken", "note"],
    on_other_width: "",
};

/// Reads every row; those that were refused are left out, and the ledger knows.
pub(crate) fn read(text: &str, car: &Car, ledger: &mut Ledger) -> Vec<(Reading, Jotting)> {
    let Some(sheet) = Sheet::read(File::Readings, text, &COLUMNS, ledger) else { return Vec::new() };
    let mut rows = 0;
    let mut readings = Vec::new();
    for row in sheet.rows() {
        rows += 1;
        readings.extend(reading(&row, car, ledger));
    }
    if rows == 0 && ledger.is_clean(File::Readings) {
        ledger.refuse(sheet.header_place(), Fault::Nothing("a plan needs readings of the film"));
    }
    readings
}

fn reading(row: &Row<'_>, car: &Car, ledger: &mut Ledger) -> Option<(Reading, Jotting)> {
    let panel = row::panel(row, &car.panels, ledger);
    let car_panel = panel.and_then(|panel| car.panels.get(panel));
    let place = row::place_mm(row, car_panel.map(|panel| &panel.panel), ledger);
    let entered = entered(row, ledger);
    let layer = if row.get("layer").is_empty() { Some(Layer::Total) } else { row::word(row, "layer", &LAYERS, ledger) };
    if let Some((panel, layer)) = car_panel.zip(layer) {
        readable(row, panel, layer, ledger);
    }
    let after = row::done(row, car, ledger);
    let gauge = gauge(row, car, ledger);
    if let Some((entered, through_um)) = entered.zip(gauge.and_then(|gauge| car.gauges.get(gauge)).map(|gauge| gauge.through_um)) {
        let reading_um = entered.thickness().micrometres();
        if through_um > reading_um && reading_um >= 0.0 {
            ledger.refuse(row.place("reading"), Fault::BelowFoil { reading_um, through_um });
        }
    }
    let taken = taken(row, ledger);
    let (panel, [x_mm, y_mm], entered) = (panel?, place?, entered?);
    let reading = Reading {
        panel,
        x_mm,
        y_mm,
        value: entered.thickness(),
        layer: layer?,
        after: after?,
        gauge: gauge?,
        session: row.get("session").to_owned(),
        line: Some(row.line),
    };
    Some((reading, Jotting { entered: Some(entered), taken, note: row.get("note").to_owned() }))
}

/// The number with its unit, from the two columns; the number may bring its unit along if the column agrees.
fn entered(row: &Row<'_>, ledger: &mut Ledger) -> Option<Entered> {
    let (text, column) = (row.get("reading"), row.get("unit"));
    let unit = if column.is_empty() { None } else { Some(column.parse::<Unit>()) };
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if matches!(unit, Some(Err(_))) && is_digits(text) && is_digits(column) {
        ledger.refuse(row.place("unit"), Fault::DecimalComma { whole: text.to_owned(), decimals: column.to_owned() });
        return None;
    }
    if let Some(Err(_)) = unit {
        let known = || Unit::ALL.into_iter().map(Unit::symbol);
        let fault = Fault::Unknown {
            what: "unit",
            word: column.to_owned(),
            nearest: nearest(column, known()),
            known: known().map(str::to_owned).collect(),
        };
        ledger.refuse(row.place("unit"), fault);
    }
    let unit = unit.and_then(Result::ok);
    let entered = match Entered::read(text, unit.unwrap_or(Unit::Micrometre)) {
        Ok(entered) => entered,
        Err(error) => {
            ledger.refuse(row.place("reading"), error);
            return None;
        }
    };
    let brings_unit = text.ends_with(|c: char| c.is_alphabetic());
    match unit {
        None if column.is_empty() && !brings_unit => ledger.refuse(row.place("unit"), Fault::EmptyField("write um, mil or mm")),
        Some(unit) if unit != entered.unit() => {
            let fault = Fault::TwoUnits { written: entered.unit().to_string(), column: unit.to_string() };
            ledger.refuse(row.place("unit"), fault);
        }
        _ if entered.number() < 0.0 => {
            let fault = Fault::Range { found: entered.to_string(), wanted: "0 or more: a film is not negative" };
            ledger.refuse(row.place("reading"), fault);
        }
        None if !column.is_empty() => {}
        _ => return Some(entered),
    }
    None
}

fn readable(row: &Row<'_>, panel: &CarPanel, layer: Layer, ledger: &mut Ledger) {
    let is_ultrasonic = layer == Layer::Topcoat;
    let substrate = panel.panel.substrate;
    if substrate == Substrate::Plastic && !is_ultrasonic {
        let fault = Fault::Unreadable { panel: panel.panel.name.clone(), substrate: word_for(&substrate, &SUBSTRATES) };
        ledger.refuse(row.place("panel"), fault);
    }
}

/// Index of the gauge that the row names; the first where it names none.
fn gauge(row: &Row<'_>, car: &Car, ledger: &mut Ledger) -> Option<usize> {
    let name = row.get("gauge");
    let at = car.gauges.iter().position(|gauge| gauge.name == name);
    if at.is_none() && !name.is_empty() {
        let names = || car.gauges.iter().map(|gauge| gauge.name.as_str()).filter(|name| !name.is_empty());
        let known = names().map(str::to_owned).collect();
        ledger.refuse(row.place("gauge"), Fault::Unknown { what: "gauge", word: name.to_owned(), nearest: nearest(name, names()), known });
    }
    at
}

fn taken(row: &Row<'_>, ledger: &mut Ledger) -> String {
    let text = row.get("taken");
    let is_instant = |time: Datetime| time.date.is_some() && time.time.is_some() && time.offset.is_some();
    if !text.is_empty() && !text.parse::<Datetime>().is_ok_and(is_instant) {
        ledger.refuse(
            row.place("taken"),
            Fault::Range { found: text.to_owned(), wanted: "an RFC 3339 time, like 2024-05-01T09:30:00+02:00" },
        );
    }
    text.to_owned()
}
