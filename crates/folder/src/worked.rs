//! worked.csv: what has been worked already.

use lastmicron_film::panel::Panel;
use lastmicron_plan::{Car, Worked};

use crate::place::File;
use crate::problem::{Fault, Ledger};
use crate::row::{self, ROUNDING_MM};
use crate::sheet::{Columns, Row, Sheet};

pub(crate) const COLUMNS: Columns = Columns { needed: &["panel", "x_mm", "y_mm", "width_mm", "height_mm", "after"], optional: &[] };

/// Reads every row; those that were refused are left out, and the ledger knows.
pub(crate) fn read(text: &str, car: &Car, ledger: &mut Ledger) -> Vec<Worked> {
    let Some(sheet) = Sheet::read(File::Worked, text, &COLUMNS, ledger) else { return Vec::new() };
    let mut worked = Vec::new();
    for row in sheet.rows() {
        worked.extend(rectangle(&row, car, ledger));
    }
    worked
}

fn rectangle(row: &Row<'_>, car: &Car, ledger: &mut Ledger) -> Option<Worked> {
    let panel = row::panel(row, &car.panels, ledger);
    let [x_mm, y_mm, width_mm, height_mm] = ["x_mm", "y_mm", "width_mm", "height_mm"].map(|column| row::mm(row, column, ledger));
    for (column, size) in [("width_mm", width_mm), ("height_mm", height_mm)] {
        if let Some(size) = size.filter(|size| *size <= 0.0) {
            ledger.refuse(row.place(column), Fault::Range { found: size.to_string(), wanted: "a size above 0 mm" });
        }
    }
    let after = row::done(row, car, ledger);
    if after.as_ref().is_some_and(Vec::is_empty) {
        ledger.refuse(row.place("after"), Fault::EmptyField("say what was done, like cut:1; leave out what was not worked"));
    }
    let worked = Worked { panel: panel?, x_mm: x_mm?, y_mm: y_mm?, width_mm: width_mm?, height_mm: height_mm?, after: after? };
    let on = &car.panels.get(worked.panel)?.panel;
    if worked.width_mm > 0.0 && worked.height_mm > 0.0 && !lies_on(&worked, on) {
        let [width_mm, height_mm] = on.size_mm();
        let corner = [worked.x_mm + worked.width_mm, worked.y_mm + worked.height_mm];
        let [x_mm, y_mm] = if on.contains(worked.x_mm, worked.y_mm) { corner } else { [worked.x_mm, worked.y_mm] };
        ledger.refuse(row.place("x_mm"), Fault::OffPanel { x_mm, y_mm, panel: on.name.clone(), width_mm, height_mm });
        return None;
    }
    Some(worked)
}

/// Whether a rectangle lies within the panel's box and some of it on the panel. What was worked over an oblique edge may stick out beyond it.
fn lies_on(worked: &Worked, panel: &Panel) -> bool {
    /// Places tried either way.
    const TRIED: u32 = 8;
    if panel.outline_mm.is_empty() {
        return true;
    }
    let [width_mm, height_mm] = panel.size_mm();
    let within = |low: f64, size: f64, most: f64| low >= -ROUNDING_MM && low + size <= most + ROUNDING_MM;
    let along = |low: f64, size: f64, i: u32| low + size * f64::from(i) / f64::from(TRIED);
    within(worked.x_mm, worked.width_mm, width_mm)
        && within(worked.y_mm, worked.height_mm, height_mm)
        && (0..=TRIED)
            .any(|i| (0..=TRIED).any(|j| panel.contains(along(worked.x_mm, worked.width_mm, i), along(worked.y_mm, worked.height_mm, j))))
}
