//! worked.csv: what has been worked already.

use lastmicron_film::panel::Panel;
use lastmicron_job::on_panel::is_rectangle_on;
use lastmicron_plan::{Car, CarPanel, KeptOff, Worked};

use crate::kept_off;
use crate::place::File;
use crate::problem::{Fault, Ledger};
use crate::row;
use crate::sheet::{Columns, Row, Sheet};

pub(crate) const COLUMNS: Columns =
    Columns { needed: &["panel", "x_mm", "y_mm", "width_mm", "height_mm", "after"], optional: &["keep_off"], on_other_width: "" };

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
    let kept_off = panel.and_then(|panel| kept_off_of(row, &car.panels[panel], ledger));
    let worked =
        Worked { panel: panel?, x_mm: x_mm?, y_mm: y_mm?, width_mm: width_mm?, height_mm: height_mm?, after: after?, kept_off: kept_off? };
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

fn kept_off_of(row: &Row<'_>, panel: &CarPanel, ledger: &mut Ledger) -> Option<KeptOff> {
    kept_off::read(row.get("keep_off"), panel).map_err(|fault| ledger.refuse(row.place("keep_off"), fault)).ok()
}

/// Of an outline that was refused it can't be told.
fn lies_on(worked: &Worked, panel: &Panel) -> bool {
    panel.outline_mm.is_empty() || is_rectangle_on(panel, [worked.x_mm, worked.y_mm], [worked.width_mm, worked.height_mm])
}
