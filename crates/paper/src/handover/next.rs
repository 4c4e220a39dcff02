//! What the next person begins with, and what nobody knows.

use lastmicron_draw::in_unit;
use lastmicron_job::fold::Standing;
use lastmicron_plan::taken::thin_places;
use lastmicron_units::Unit;
use serde::Serialize;

use super::Estimated;
use super::done::{is_gone_through, panel_name};
use super::left::NONE_THERE;
use super::measured::gauge_name;

/// Most thin places named. Judgement: a hand goes to three.
const MOST_THIN: usize = 3;

/// What the next person begins with on one panel.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct NextLine {
    /// The panel.
    pub name: String,
    /// Above which its thinnest place lies 19 times in 20.
    pub lowest: String,
    /// Where it is thin.
    pub thin: String,
    /// The floor agreed this time.
    pub floor: String,
    /// The gauges it was read with.
    pub gauge: String,
}

/// A line a panel.
pub(super) fn next(standing: &Standing, estimated: Option<Estimated<'_>>, unit: Unit) -> Vec<NextLine> {
    let floor = standing.terms.last().map_or_else(|| "none".to_owned(), |terms| in_unit(terms.limits.floor.micrometres(), unit));
    let line = |panel: usize| {
        let of = estimated.and_then(|e| e.taken.panels.iter().find(|p| p.panel == panel)?.film.as_ref());
        let thin = of.map(|film| {
            let place = |p: &lastmicron_plan::taken::ThinPlace| format!("x\u{a0}{:.0}, y\u{a0}{:.0}", p.x_mm, p.y_mm);
            format!("{} mm", thin_places(&film.left, MOST_THIN).iter().map(place).collect::<Vec<_>>().join("; "))
        });
        NextLine {
            name: panel_name(standing, panel),
            lowest: match of.map(|film| in_unit(film.smallest_left_um.p05.max(0.0), unit)) {
                None => "not known".to_owned(),
                Some(lowest) if is_gone_through(standing, panel) => format!("{lowest}; {NONE_THERE}"),
                Some(lowest) => lowest,
            },
            thin: thin.unwrap_or_else(|| "not known".to_owned()),
            floor: floor.clone(),
            gauge: gauges(standing, panel),
        }
    };
    (0..standing.panels.len()).map(line).collect()
}

fn gauges(standing: &Standing, panel: usize) -> String {
    let readings = standing.readings.iter().filter(|taken| taken.reading.panel == panel);
    let mut used: Vec<usize> = readings.map(|taken| taken.reading.gauge).collect();
    let count = used.len();
    used.sort_unstable();
    used.dedup();
    let names: Vec<String> =
        used.iter().filter_map(|&gauge| standing.gauges.get(gauge)).map(|gauge| gauge_name(gauge).to_lowercase()).collect();
    if names.is_empty() { "none".to_owned() } else { format!("{}: {count}", names.join(", ")) }
}

/// What is not known.
pub(super) fn unknown(standing: &Standing, estimated: Option<Estimated<'_>>) -> Vec<String> {
    let mut unknown = Vec::new();
    if let Some(e) = estimated {
        let unread: Vec<String> = e.taken.panels.iter().filter(|p| p.film.is_none()).map(|p| panel_name(standing, p.panel)).collect();
        if !unread.is_empty() {
            unknown.push(format!("How much topcoat these panels have, since none of it was read: {}.", unread.join(", ")));
        }
    }
    unknown.extend(
        [
            "What lies between the places read: the maps there are drawn from their neighbours, and the map of uncertainty says how far.",
            "How the topcoat divides from what is beneath it, except where an undercoat or a topcoat reading says so.",
            "What was kept off within a section: sections are counted as worked whole, so along edges that were kept off less was taken than is said.",
            "What was done and not written down, here or before.",
        ]
        .map(str::to_owned),
    );
    unknown
}
