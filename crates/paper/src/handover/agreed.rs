//! The vehicle, and what was agreed of it.

use lastmicron_film::gauge::Substrate;
use lastmicron_job::fold::{Standing, Terms};
use lastmicron_plan::Chance;
use lastmicron_units::Unit;

use super::measured::minute;
use crate::document::Fact;
use crate::facts::{fact, hardness, paint, substrate};
use crate::panel_sheet::{NAME_CHARS, SENTENCE_CHARS};
use crate::printable::cut;
use crate::ranges::{grouped, percent};

/// What the vehicle is, as it was stated.
pub(super) fn vehicle(standing: &Standing) -> Vec<Fact> {
    let mut facts = Vec::new();
    if let Some(vehicle) = &standing.vehicle {
        facts.push(fact("Body", cut(&vehicle.body, NAME_CHARS)));
        facts.extend(vehicle.built.map(|year| fact("Built", year.to_string())));
        facts.push(fact("Under the paint", substrate(vehicle.substrate.unwrap_or(Substrate::Unknown)).to_owned()));
    }
    let metallic = if standing.paint.metallic { ", metallic" } else { "" };
    facts.push(fact("Paint", format!("{}{metallic}", paint(standing.paint.system))));
    facts.extend(standing.paint.hardness.map(|h| fact("How easily it marks", hardness(h).to_owned())));
    facts.push(fact("Panels", standing.panels.len().to_string()));
    if let Some(vehicle) = &standing.vehicle {
        let said = [("Earlier work, as told", &vehicle.history), ("To stay as it is", &vehicle.originality)];
        facts.extend(said.into_iter().filter(|(_, text)| !text.is_empty()).map(|(name, text)| fact(name, cut(text, SENTENCE_CHARS))));
        facts.extend(vehicle.owner.map(|sheet| fact("Owner: on a sheet of its own, of SHA-256", grouped(sheet))));
    }
    facts
}

/// The terms that hold.
pub(super) fn holds(standing: &Standing, unit: Unit) -> Vec<Fact> {
    let Some(terms) = standing.terms.last() else { return vec![fact("Terms", "none were agreed".to_owned())] };
    parts(terms, unit).map(|(name, value)| fact(name, value)).to_vec()
}

fn parts(terms: &Terms, unit: Unit) -> [(&'static str, String); 6] {
    let film = |um: f64| lastmicron_draw::in_unit(um, unit);
    let unlimited = || "no limit".to_owned();
    [
        ("Floor: least topcoat to leave anywhere", film(terms.limits.floor.micrometres())),
        ("Most to take anywhere at this visit", terms.limits.spend.map_or_else(unlimited, |s| film(s.micrometres()))),
        ("Most chance that any worked place ends below the floor", Chance::stated(terms.limits.risk).to_string()),
        (
            "Most chance that any worked place reaches the undercoat",
            terms.limits.through_risk.map_or_else(unlimited, |p| Chance::stated(p).to_string()),
        ),
        ("Share of the defects to remove", percent(terms.goal.correction)),
        ("Hours of machine work", format!("{:.1}", terms.goal.hours)),
    ]
}

/// When terms and plans were agreed, what each changed, and by whose sheet.
pub(super) fn changes(standing: &Standing, unit: Unit) -> Vec<Fact> {
    let mut dated: Vec<(lastmicron_job::event::When, String)> = Vec::new();
    for (i, terms) in standing.terms.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|i| standing.terms.get(i)).map(|terms| parts(terms, unit));
        let now = parts(terms, unit);
        let mut said = match before {
            None => "Agreed at first.".to_owned(),
            Some(before) => {
                let changed = before.iter().zip(&now).filter(|(b, n)| b.1 != n.1).map(|(b, n)| format!("{}: {}, before {}", n.0, n.1, b.1));
                let changed = changed.collect::<Vec<_>>().join("; ");
                if changed.is_empty() { "Agreed again, unchanged.".to_owned() } else { format!("Changed. {changed}.") }
            }
        };
        said += &with(terms.with, &terms.note);
        dated.push((terms.when.clone(), said));
    }
    for plan in &standing.plans {
        let digest = grouped(plan.said.plan);
        dated.push((
            plan.when.clone(),
            format!("A plan was accepted, of SHA-256 {digest}.{}", with(plan.said.with, plan.said.note.as_deref().unwrap_or_default())),
        ));
    }
    dated.sort_by(|(a, _), (b, _)| a.seconds_since(b).cmp(&0));
    dated.into_iter().map(|(when, said)| fact(&minute(&when), said)).collect()
}

fn with(sheet: Option<lastmicron_job::event::Digest>, note: &str) -> String {
    let sheet = sheet.map(|sheet| format!(" With whom: sheet {}.", grouped(sheet))).unwrap_or_default();
    let note = note.trim();
    if note.is_empty() { sheet } else { format!("{sheet} Note: {}", cut(note, SENTENCE_CHARS / 2)) }
}
