//! gloss.csv: specular gloss read on spots before and after sets.

use std::collections::HashMap;

use lastmicron_job::bounds::{GLOSS, INDEX};
use lastmicron_look::gloss::Reading;
use lastmicron_plan::Car;

use crate::place::File;
use crate::problem::{Fault, Ledger};
use crate::row;
use crate::sheet::{Columns, Row, Sheet};

pub(crate) const COLUMNS: Columns =
    Columns { needed: &["spot", "panel", "after", "gloss_20", "gloss_60"], optional: &["index"], on_other_width: "" };

/// Reads every row; those that were refused are left out, and the ledger knows.
pub(crate) fn read(text: &str, car: &Car, ledger: &mut Ledger) -> Vec<Reading> {
    let Some(sheet) = Sheet::read(File::Gloss, text, &COLUMNS, ledger) else { return Vec::new() };
    let mut readings: Vec<Reading> = Vec::new();
    let mut panels: HashMap<String, usize> = HashMap::new();
    for row in sheet.rows() {
        let Some(reading) = reading(&row, car, ledger) else { continue };
        let first = *panels.entry(reading.spot.clone()).or_insert(reading.panel);
        if first != reading.panel {
            row::spot_moved(&row, &reading.spot, [first, reading.panel], car, ledger);
        }
        readings.push(reading);
    }
    readings
}

fn reading(row: &Row<'_>, car: &Car, ledger: &mut Ledger) -> Option<Reading> {
    let spot = row::spot(row, ledger);
    let panel = row::panel(row, &car.panels, ledger);
    let after = row::done(row, car, ledger);
    let units = |column, ledger: &mut Ledger| row::number(row, column, &GLOSS, ledger);
    let [gloss_20, gloss_60] = [units("gloss_20", ledger), units("gloss_60", ledger)];
    let index = row::number(row, "index", &INDEX, ledger);
    if row.get("gloss_20").is_empty() && row.get("gloss_60").is_empty() {
        ledger.refuse(row.place("gloss_20"), Fault::OneOf("gloss_20 or gloss_60 or both", "neither"));
    }
    let after = after?.iter().map(|step| (step.process, step.sets)).collect();
    Some(Reading { spot, panel: panel?, after, gloss_20, gloss_60, index })
}
