//! defects.csv: defects counted before and after sets.

use std::collections::HashMap;

use lastmicron_job::bounds::MOST_COUNTED;
use lastmicron_look::{Count, Disagreement, Kind, Seen, disagreements};
use lastmicron_plan::Car;
use lastmicron_units::read_number;

use crate::place::{File, Place};
use crate::problem::{Doubt, Fault, Ledger};
use crate::row;
use crate::sheet::{Columns, Row, Sheet};
use lastmicron_job::words::KINDS;

pub(crate) const COLUMNS: Columns = Columns {
    needed: &["spot", "panel", "after"],
    optional: &["count", "x_mm", "y_mm", "share_low", "share_high", "kind", "share_left", "wiped"],
    on_other_width: ". For a photograph's row among counts the header needs share_left,share_low,share_high besides count: each row leaves empty what it doesn't state",
};
const YES_NO: [(&str, bool); 2] = [("yes", true), ("no", false)];

/// A spot as its first row has it.
struct Spot {
    panel: usize,
    line: usize,
    /// Whether a row says what was there before work; a share with bounds is of just that.
    is_compared: bool,
}

/// Reads every row; those that were refused are left out, and the ledger knows.
pub(crate) fn read(text: &str, car: &Car, ledger: &mut Ledger) -> Vec<(Count, Option<[f64; 2]>)> {
    let Some(sheet) = Sheet::read(File::Defects, text, &COLUMNS, ledger) else { return Vec::new() };
    let (mut counts, mut lines) = (Vec::new(), Vec::new());
    let mut spots: HashMap<String, Spot> = HashMap::new();
    for row in sheet.rows() {
        let Some((count, place)) = count(&row, car, ledger) else { continue };
        let spot = spots.entry(count.spot.clone()).or_insert(Spot { panel: count.panel, line: row.line, is_compared: false });
        spot.is_compared |= count.after.is_empty() || count.is_measured();
        if spot.panel != count.panel {
            row::spot_moved(&row, &count.spot, [spot.panel, count.panel], car, ledger);
        }
        counts.push((count, place));
        lines.push(row.line);
    }
    doubt_disagreeing(&counts, &lines, ledger);
    let mut lacking: Vec<_> = spots.into_iter().filter(|(_, spot)| !spot.is_compared).collect();
    lacking.sort_by_key(|(_, spot)| spot.line);
    for (name, spot) in lacking {
        ledger.doubt(Place::line(File::Defects, spot.line).part("after"), Doubt::NoCountBefore(name));
    }
    counts
}

fn doubt_disagreeing(counts: &[(Count, Option<[f64; 2]>)], lines: &[usize], ledger: &mut Ledger) {
    let alone: Vec<Count> = counts.iter().map(|(count, _)| count.clone()).collect();
    for Disagreement { rows: [first, here], left } in disagreements(&alone) {
        if let (Some(first_line), Some(line), Some(count)) = (lines.get(first), lines.get(here), alone.get(here)) {
            let column = if count.is_measured() { "share_left" } else { "count" };
            let doubt = Doubt::Disagree { spot: count.spot.clone(), first_line: *first_line, first: left[0], here: left[1] };
            ledger.doubt(Place::line(File::Defects, *line).part(column), doubt);
        }
    }
}

fn count(row: &Row<'_>, car: &Car, ledger: &mut Ledger) -> Option<(Count, Option<[f64; 2]>)> {
    let spot = row::spot(row, ledger);
    let panel = row::panel(row, &car.panels, ledger);
    let after = row::done(row, car, ledger);
    let seen = seen(row, ledger);
    let share_between = share_between(row, ledger);
    if let (Some(Seen::ShareLeft(share)), Some([low, high])) = (seen, share_between)
        && !(low..=high).contains(&share)
    {
        ledger.refuse(row.place("share_left"), Fault::Range { found: share.to_string(), wanted: "from share_low to share_high" });
    }
    let kind = row::word(row, "kind", &KINDS, ledger).unwrap_or(Kind::Fine);
    let wiped = row::word(row, "wiped", &YES_NO, ledger).unwrap_or(false);
    let has_place = !row.get("x_mm").is_empty() || !row.get("y_mm").is_empty();
    let on = panel.and_then(|panel| car.panels.get(panel)).map(|panel| &panel.panel);
    let place = if has_place { row::place_mm(row, on, ledger) } else { None };
    let after = after?.iter().map(|step| (step.process, step.sets)).collect();
    Some((Count { spot, panel: panel?, after, seen: seen?, share_between, kind, wiped }, place))
}

fn seen(row: &Row<'_>, ledger: &mut Ledger) -> Option<Seen> {
    const EITHER: &str = "either count or share_left";
    match (row.get("count"), row.get("share_left")) {
        ("", "") => ledger.refuse(row.place("count"), Fault::OneOf(EITHER, "neither")),
        ("", _) => return row::share(row, "share_left", ledger).map(Seen::ShareLeft),
        (text, "") => return counted(row, text, ledger).map(Seen::Count),
        _ => ledger
            .refuse(row.place("count"), Fault::OneOf(EITHER, "both; a photograph of a counted spot is a row of its own, with count empty")),
    }
    None
}

fn counted(row: &Row<'_>, text: &str, ledger: &mut Ledger) -> Option<u32> {
    const WANTED: &str = "a whole number from 0 to 1,000,000 (a share goes into the column share_left)";
    let number = match read_number(text) {
        Ok(written) => written.value,
        Err(error) => {
            ledger.refuse(row.place("count"), error);
            return None;
        }
    };
    let whole = format!("{number:.0}")
        .parse::<u32>()
        .ok()
        .filter(|whole| number <= f64::from(MOST_COUNTED) && f64::from(*whole).total_cmp(&(number + 0.0)).is_eq());
    if whole.is_none() {
        ledger.refuse(row.place("count"), Fault::Range { found: text.to_owned(), wanted: WANTED });
    }
    whole
}

fn share_between(row: &Row<'_>, ledger: &mut Ledger) -> Option<[f64; 2]> {
    let has = |column: &str| !row.get(column).is_empty();
    if has("share_low") != has("share_high") {
        ledger.refuse(row.place("share_low"), Fault::OneOf("share_low and share_high together or neither", "one without the other"));
        return None;
    }
    let (low, high) = (row::share(row, "share_low", ledger), row::share(row, "share_high", ledger));
    let (low, high) = (low?, high?);
    if low > high {
        ledger.refuse(row.place("share_low"), Fault::Range { found: low.to_string(), wanted: "not above share_high" });
        return None;
    }
    Some([low, high])
}
