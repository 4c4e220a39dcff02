//! What was removed and what is left.

use lastmicron_draw::{Room, TakenScales, in_unit, taken_map};
use lastmicron_film::gauge::Substrate;
use lastmicron_job::fold::Standing;
use lastmicron_plan::Chance;
use lastmicron_plan::taken::{PanelTaken, Taken};
use lastmicron_units::Unit;
use serde::Serialize;

use super::Estimated;
use super::done::{done, gone_through, is_gone_through, panel_name};
use crate::Page;
use crate::document::Fact;
use crate::facts::fact;
use crate::panel_sheet::{Drawing, drawing};
use crate::ranges::nineteen_in_twenty;

/// From this chance on a panel is said to have been painted again. Judgement: as likely as not.
const RESPRAYED: f64 = 0.5;

/// What is left where somebody saw the undercoat.
pub(super) const NONE_THERE: &str = "none where it was gone through";

/// One panel at the handover.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelHandover {
    /// Its name.
    pub name: String,
    /// What was removed and what is left.
    pub film: Vec<Fact>,
    /// What was done, and where.
    pub done: Vec<Fact>,
    /// Before, left, removed; none where there is no estimate of the vehicle.
    pub map: Option<Drawing>,
}

/// The sheet of a panel.
pub(super) fn panel(
    standing: &Standing,
    estimated: Option<(Estimated<'_>, &TakenScales)>,
    index: usize,
    page: Page,
    unit: Unit,
) -> PanelHandover {
    let of = estimated.and_then(|(e, scales)| Some((e, scales, e.taken.panels.iter().find(|p| p.panel == index)?)));
    let film = of.map_or_else(
        || vec![fact("Film", "no estimate stands behind this document".to_owned())],
        |(e, _, panel)| film(standing, e.taken, panel, e.car.limits.floor.micrometres(), unit),
    );
    let is_worked = |panel: &PanelTaken| panel.removed.as_ref().is_some_and(|removed| removed.over_worked_um.is_some());
    let room = |panel: &PanelTaken| if is_worked(panel) && panel.film.is_some() { page.four_panes() } else { page.two_panes() };
    let map = of.map(|(e, scales, panel)| drawing(&taken_map(e.car, panel, scales, room(panel))));
    PanelHandover { name: panel_name(standing, index), film, done: done(standing, index), map }
}

fn film(standing: &Standing, taken: &Taken, panel: &PanelTaken, floor_um: f64, unit: Unit) -> Vec<Fact> {
    let mut facts = Vec::new();
    let of = standing.panels.get(panel.panel);
    let area_m2 = of.map_or(0.0, |p| p.panel.area_m2());
    let is_worked = panel.worked_m2 > 0.0;
    let through = is_gone_through(standing, panel.panel);
    match &panel.film {
        Some(film) => {
            if is_worked {
                facts.push(fact("Thinnest place before work", nineteen_in_twenty(&film.smallest_before_um, unit)));
            }
            let now = nineteen_in_twenty(&film.smallest_left_um, unit);
            facts.push(fact("Thinnest place now", if through { format!("{NONE_THERE}; elsewhere {now}") } else { now }));
        }
        None => {
            let plastic = of.is_some_and(|p| p.panel.substrate == Substrate::Plastic);
            let why = if plastic { "no gauge of this kind reads film on plastic" } else { "none of its film was read" };
            facts.push(fact("Topcoat", format!("not known: {why}")));
        }
    }
    facts.push(fact("Removed", removed(panel, unit)));
    if is_worked {
        facts.push(fact("Worked", format!("{:.2} m\u{b2} of {area_m2:.2}, sections counted whole", panel.worked_m2.min(area_m2))));
    }
    if let Some(film) = &panel.film {
        let said = |p: f64| chance(p, taken.films, through);
        let floor = in_unit(floor_um, unit);
        facts.extend(film.below_floor.map(|p| fact(&format!("A worked place has ended below the floor of {floor}"), said(p))));
        facts.extend(film.reached_undercoat.map(|p| fact("A worked place has reached the undercoat", said(p))));
    }
    if panel.respray >= RESPRAYED {
        facts.push(fact(
            "Painted again?",
            format!(
                "{:.0} chances in 100, by its readings. A high reading there tells nothing of how much topcoat there is.",
                (100.0 * panel.respray).floor()
            ),
        ));
    }
    facts
}

/// A chance that was counted on films, which know nothing of what somebody saw.
fn chance(p: f64, films: usize, through: bool) -> String {
    let counted = Chance::counted(p, films);
    if through { format!("it has, where it was gone through; elsewhere {counted}") } else { counted.to_string() }
}

fn removed(panel: &PanelTaken, unit: Unit) -> String {
    match &panel.removed {
        _ if panel.worked_m2 <= 0.0 => "nothing: no sets are recorded".to_owned(),
        None => "not known: nothing was read on the whole vehicle".to_owned(),
        Some(removed) => match (&removed.over_worked_um, &removed.most_um) {
            (Some(over), Some(most)) => format!(
                "on the average where it was worked {}; at the place of most {}",
                nineteen_in_twenty(over, unit),
                nineteen_in_twenty(most, unit)
            ),
            _ => "on too small a place to be told".to_owned(),
        },
    }
}

/// The whole vehicle in a few lines.
pub(super) fn in_short(standing: &Standing, estimated: Option<Estimated<'_>>, unit: Unit) -> Vec<Fact> {
    let through = gone_through(standing).len();
    let mut facts = Vec::new();
    match estimated {
        None => facts.push(fact("Film", "no estimate stands behind this document: too little was stated or measured".to_owned())),
        Some(Estimated { car, taken }) => {
            let smallest = taken.smallest_left_um.as_ref();
            let smallest = smallest.map_or_else(|| "not known: nothing was read".to_owned(), |um| nineteen_in_twenty(um, unit));
            let smallest = if through > 0 { format!("{NONE_THERE}; elsewhere {smallest}") } else { smallest };
            facts.push(fact("Thinnest topcoat now, of all that was read", smallest));
            let worked = taken.panels.iter().filter(|p| p.worked_m2 > 0.0).count();
            let most = match &taken.most_um {
                Some(most) => nineteen_in_twenty(most, unit),
                None if worked == 0 => "nothing: no sets are recorded".to_owned(),
                None => "not known".to_owned(),
            };
            facts.push(fact("Most removed at any place", most));
            let area_m2 = |of: &dyn Fn(&PanelTaken) -> f64| taken.panels.iter().map(of).sum::<f64>();
            let all_m2 = area_m2(&|p| car.panels.get(p.panel).map_or(0.0, |p| p.panel.area_m2()));
            let counts =
                format!("{worked} of {} panels, {:.2} m\u{b2} of {all_m2:.2}", taken.panels.len(), area_m2(&|p| p.worked_m2).min(all_m2));
            facts.push(fact("Worked", counts));
            let floor = in_unit(car.limits.floor.micrometres(), unit);
            let said = |p: f64| chance(p, taken.films, through > 0);
            facts.extend(taken.below_floor.map(|p| fact(&format!("Some worked place has ended below the floor of {floor}"), said(p))));
            facts.extend(taken.reached_undercoat.map(|p| fact("Some worked place has reached the undercoat", said(p))));
        }
    }
    facts.push(fact(
        "Gone through the topcoat",
        if through == 0 {
            "nowhere, as recorded".to_owned()
        } else {
            format!("at {through} {}: see below", if through == 1 { "place" } else { "places" })
        },
    ));
    facts
}

impl Page {
    /// Room for before, left, removed, and how sure.
    const fn four_panes(self) -> Room {
        Room { width_pt: self.map_room().width_pt, height_pt: self.map_room().height_pt * 0.8 }
    }

    /// Room for what is left, and how sure.
    const fn two_panes(self) -> Room {
        Room { width_pt: self.map_room().width_pt, height_pt: self.map_room().height_pt * 0.4 }
    }
}
