//! Panels, their outlines and their body lines.

use lastmicron_film::gauge::Substrate;
use lastmicron_film::panel::Panel;
use lastmicron_job::bounds::{LENGTH_MM, MOST_PANELS, RADIUS_MM, VISIBILITY};
use lastmicron_job::on_panel::is_place_on;
use lastmicron_job::outline;
use lastmicron_plan::{BodyLine, CarPanel, GoneThrough};

use super::Names;
use super::settings::undercoat;
use crate::place::Place;
use crate::problem::{Doubt, Fault, Ledger};
use crate::table::Table;
use lastmicron_job::words::{HARDNESSES, SUBSTRATES};

/// Reads the panels, and the line that each begins on.
pub(super) fn read(root: &mut Table<'_>, substrate: Option<Substrate>, ledger: &mut Ledger) -> (Vec<CarPanel>, Vec<usize>) {
    root.need("panel", "[[panel]]", ledger);
    let place = root.place("panel");
    let tables = root.tables("panel", ledger);
    if tables.is_empty() && root.is_list("panel") {
        ledger.refuse(place.clone(), Fault::Nothing("a job needs at least one panel"));
    }
    if tables.len() > MOST_PANELS {
        ledger.refuse(place, Fault::TooLarge { most: "500 panels" });
        return (Vec::new(), Vec::new());
    }
    let mut names = Names::default();
    let mut panels = Vec::new();
    let mut lines = Vec::new();
    for mut table in tables {
        lines.push(table.line());
        panels.push(panel(&mut table, &mut names, substrate, ledger));
        table.finish(ledger);
    }
    (panels, lines)
}

fn panel(table: &mut Table<'_>, names: &mut Names, of_vehicle: Option<Substrate>, ledger: &mut Ledger) -> CarPanel {
    table.need("name", "name = \"bonnet\"", ledger);
    let name = table.name("name", ledger).unwrap_or_default();
    if !name.is_empty() {
        names.take("panel", name, table.place("name"), ledger);
    }
    let outline_mm = outline_mm(table, ledger);
    let stated = table.word("substrate", &SUBSTRATES, ledger).or(of_vehicle);
    if stated.is_none() {
        ledger.doubt(table.place("substrate"), Doubt::Unstated("substrate"));
    }
    let panel = Panel { name: name.to_owned(), outline_mm, substrate: stated.unwrap_or(Substrate::Unknown) };
    let undercoat = undercoat(table, ledger);
    let hardness = table.word("hardness", &HARDNESSES, ledger);
    let metallic = table.flag("metallic", ledger);
    let visibility = table.number("visibility", &VISIBILITY, ledger).unwrap_or(1.0);
    let work = table.flag("work", ledger).unwrap_or(true);
    let lines = lines(table, &panel, ledger);
    let gone_through = gone_through(table, &panel, ledger);
    CarPanel { panel, undercoat, hardness, metallic, visibility, work, lines, gone_through }
}

/// Corners from width and height or from the outline; none when they were refused.
fn outline_mm(table: &mut Table<'_>, ledger: &mut Ledger) -> Vec<[f64; 2]> {
    const EITHER: &str = "either width_mm and height_mm or outline_mm";
    let place = table.place("outline_mm");
    let width = table.number("width_mm", &LENGTH_MM, ledger);
    let height = table.number("height_mm", &LENGTH_MM, ledger);
    let outline = table.points("outline_mm", ledger);
    let has_size = table.has("width_mm") || table.has("height_mm");
    let corners = match (table.has("outline_mm"), has_size) {
        (true, true) => {
            ledger.refuse(place, Fault::OneOf(EITHER, "both"));
            return Vec::new();
        }
        (false, false) => {
            ledger.refuse(place, Fault::OneOf(EITHER, "neither"));
            return Vec::new();
        }
        (true, false) => outline,
        (false, true) => {
            table.need("width_mm", "width_mm = 1400", ledger);
            table.need("height_mm", "height_mm = 1150", ledger);
            width.zip(height).map(|(w, h)| vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]])
        }
    };
    let Some(corners) = corners else { return Vec::new() };
    let place = if has_size { table.place("width_mm") } else { place };
    outline::in_order(corners).unwrap_or_else(|why| {
        ledger.refuse(place, Fault::Outline(why));
        Vec::new()
    })
}

fn lines(table: &mut Table<'_>, panel: &Panel, ledger: &mut Ledger) -> Vec<BodyLine> {
    let mut lines = Vec::new();
    for mut inner in table.tables("line", ledger) {
        inner.need("points_mm", "points_mm = [[0, 600], [1400, 640]]", ledger);
        inner.need("radius_mm", "radius_mm = 12", ledger);
        let points_mm = inner.points("points_mm", ledger).unwrap_or_default();
        let place = inner.place("points_mm");
        if inner.has("points_mm") && points_mm.len() == 1 {
            ledger.refuse(place.clone(), Fault::LineOfOnePoint);
        }
        refuse_off_panel(&points_mm, panel, place, ledger);
        let radius_mm = inner.number("radius_mm", &RADIUS_MM, ledger).unwrap_or(0.0);
        inner.finish(ledger);
        lines.push(BodyLine { points_mm, radius_mm });
    }
    lines
}

/// Where the topcoat was gone through.
fn gone_through(table: &mut Table<'_>, panel: &Panel, ledger: &mut Ledger) -> Vec<GoneThrough> {
    let mut places = Vec::new();
    for mut inner in table.tables("gone_through", ledger) {
        inner.need("place_mm", "place_mm = [620, 90]", ledger);
        let place = inner.place("place_mm");
        let place_mm = inner.point("place_mm", ledger);
        refuse_off_panel(place_mm.as_slice(), panel, place, ledger);
        let despite = inner.flag("despite", ledger).unwrap_or(false);
        inner.finish(ledger);
        places.extend(place_mm.map(|place_mm| GoneThrough { place_mm, despite }));
    }
    places
}

fn refuse_off_panel(points_mm: &[[f64; 2]], panel: &Panel, place: Place, ledger: &mut Ledger) {
    let [width_mm, height_mm] = panel.size_mm();
    let off = points_mm.iter().find(|point| !is_place_on(panel, **point));
    if let (Some([x_mm, y_mm]), false) = (off, panel.outline_mm.is_empty()) {
        ledger.refuse(place, Fault::OffPanel { x_mm: *x_mm, y_mm: *y_mm, panel: panel.name.clone(), width_mm, height_mm });
    }
}
