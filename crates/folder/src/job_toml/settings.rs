//! The vehicle, its paint, the gauges, the limits and the goal.

use lastmicron_body::Kind;
use lastmicron_film::gauge::{Gauge, Substrate};
use lastmicron_job::bounds::{
    CHANCE, CORRECTION, FILM_UM, FLOOR_UM, GAIN, HOURS, PERCENT, POSITIVE, SCATTER, SPEND_UM, Sense, UNDERCOAT_UM, YEARS,
};
use lastmicron_plan::{Goal, Limits, Paint, System, Undercoat};
use lastmicron_polish::{Belief, EdgeGain, Scatter};
use lastmicron_units::{Removal, Thickness};

use super::Names;
use crate::place::Place;
use crate::problem::{Doubt, Ledger};
use crate::table::Table;
use lastmicron_job::words::{HARDNESSES, SUBSTRATES, SYSTEMS};

/// What is stated of the vehicle as a whole.
pub(super) struct Vehicle {
    pub(super) body: String,
    pub(super) built: Option<i32>,
    pub(super) substrate: Option<Substrate>,
}

pub(super) fn vehicle(root: &mut Table<'_>, ledger: &mut Ledger) -> Vehicle {
    const WANTED: &str = "a year from 1880 to 2100";
    let custom = || "custom".to_owned();
    let Some(mut table) = root.table("vehicle", ledger) else {
        return Vehicle { body: custom(), built: None, substrate: None };
    };
    let body = table.name("body", ledger).map_or_else(custom, str::to_owned);
    if body != "custom" && Kind::named(&body).is_none() {
        ledger.doubt(table.place("body"), Doubt::Body(body.clone()));
    }
    let built = table.whole("built", YEARS.map(i64::from), WANTED, ledger).and_then(|year| i32::try_from(year).ok());
    let substrate = table.word("substrate", &SUBSTRATES, ledger);
    table.finish(ledger);
    Vehicle { body, built, substrate }
}

pub(super) fn paint(root: &mut Table<'_>, ledger: &mut Ledger) -> Paint {
    let place = root.place("paint");
    let Some(mut table) = root.table("paint", ledger) else {
        ledger.doubt(place, Doubt::Unstated("paint.system"));
        return Paint { system: System::Unknown, undercoat: None, hardness: None, metallic: false };
    };
    let system = table.word("system", &SYSTEMS, ledger).unwrap_or_else(|| {
        ledger.doubt(table.place("system"), Doubt::Unstated("paint.system"));
        System::Unknown
    });
    let undercoat = undercoat(&mut table, ledger);
    let hardness = table.word("hardness", &HARDNESSES, ledger);
    let metallic = table.flag("metallic", ledger).unwrap_or(false);
    table.finish(ledger);
    Paint { system, undercoat, hardness, metallic }
}

/// `undercoat = { mean_um, sd_um, panel_sd_um }`, in `[paint]` or in a panel.
pub(super) fn undercoat(table: &mut Table<'_>, ledger: &mut Ledger) -> Option<Undercoat> {
    let mut inner = table.table("undercoat", ledger)?;
    inner.need("mean_um", "mean_um = 32", ledger);
    inner.need("sd_um", "sd_um = 5", ledger);
    let mean_um = inner.number("mean_um", &UNDERCOAT_UM, ledger);
    let sd_um = inner.number("sd_um", &FILM_UM, ledger);
    let panel_sd_um = inner.number("panel_sd_um", &FILM_UM, ledger);
    certain(&inner, "sd_um", sd_um, ledger);
    inner.finish(ledger);
    Some(Undercoat { mean_um: mean_um?, sd_um: sd_um?, panel_sd_um })
}

/// Says so where a standard deviation is nothing.
fn certain(table: &Table<'_>, key: &'static str, sd: Option<f64>, ledger: &mut Ledger) {
    if sd.is_some_and(|sd| sd <= 0.0) {
        let place = table.place(key);
        let what = place.part.clone().unwrap_or_default();
        ledger.doubt(place, Doubt::Certain(what));
    }
}

/// `key = { mean, sd }`.
pub(super) fn belief(table: &mut Table<'_>, key: &'static str, mean: &Sense, sd: &Sense, ledger: &mut Ledger) -> Option<Belief> {
    let mut inner = table.table(key, ledger)?;
    inner.need("mean", "mean = 1.2", ledger);
    inner.need("sd", "sd = 0.3", ledger);
    let mean = inner.number("mean", mean, ledger);
    let sd = inner.number("sd", sd, ledger);
    certain(&inner, "sd", sd, ledger);
    inner.finish(ledger);
    Some(Belief { mean: mean?, sd: sd? })
}

pub(super) fn gauges(root: &mut Table<'_>, ledger: &mut Ledger) -> Vec<Gauge> {
    root.need("gauge", "[gauge]", ledger);
    let mut names = Names::default();
    let mut gauges = Vec::new();
    if let Some(mut table) = root.table("gauge", ledger) {
        gauges.push(gauge(&mut table, String::new(), ledger));
        table.finish(ledger);
    }
    for mut table in root.tables("other_gauge", ledger) {
        table.need("name", "name = \"second\"", ledger);
        let name = table.name("name", ledger).unwrap_or_default().to_owned();
        if !name.is_empty() {
            names.take("gauge", &name, table.place("name"), ledger);
        }
        gauges.push(gauge(&mut table, name, ledger));
        table.finish(ledger);
    }
    gauges
}

fn gauge(table: &mut Table<'_>, name: String, ledger: &mut Ledger) -> Gauge {
    table.need("accuracy", "accuracy = { fixed_um = 1.0, percent = 1.0 }", ledger);
    table.need("repeatability_um", "repeatability_um = 0.8", ledger);
    let (mut fixed_um, mut percent) = (0.0, 0.0);
    if let Some(mut accuracy) = table.table("accuracy", ledger) {
        accuracy.need("fixed_um", "fixed_um = 1.0", ledger);
        accuracy.need("percent", "percent = 1.0", ledger);
        fixed_um = accuracy.number("fixed_um", &FILM_UM, ledger).unwrap_or(0.0);
        percent = accuracy.number("percent", &PERCENT, ledger).unwrap_or(0.0);
        accuracy.finish(ledger);
    }
    let repeatability_um = table.number("repeatability_um", &FILM_UM, ledger);
    certain(table, "repeatability_um", repeatability_um, ledger);
    let resolution_um = table.number("resolution_um", &FILM_UM, ledger).unwrap_or(0.0);
    let through_um = table.number("through_um", &FILM_UM, ledger).unwrap_or(0.0);
    Gauge { name, fixed_um, percent, repeatability_um: repeatability_um.unwrap_or(0.0), resolution_um, through_um }
}

/// The limits, and where the floor stands.
pub(super) fn limits(root: &mut Table<'_>, ledger: &mut Ledger) -> Option<(Limits, Place)> {
    root.need("limits", "[limits]", ledger);
    let mut table = root.table("limits", ledger)?;
    table.need("floor_um", "floor_um = 16", ledger);
    table.need("risk", "risk = 0.02", ledger);
    let floor_um = table.number("floor_um", &FLOOR_UM, ledger);
    let risk = table.number("risk", &CHANCE, ledger);
    let spend_um = table.number("spend_um", &SPEND_UM, ledger);
    let through_risk = table.number("through_risk", &CHANCE, ledger);
    if through_risk.zip(risk).is_some_and(|(through, risk)| through >= risk) {
        ledger.doubt(table.place("through_risk"), Doubt::ThroughRiskIdle);
    }
    let floor_place = table.place("floor_um");
    table.finish(ledger);
    let floor = Thickness::from_micrometres(floor_um.unwrap_or(0.0)).ok()?;
    let spend = spend_um.and_then(|um| Removal::from_micrometres(um).ok());
    Some((Limits { floor, risk: risk.unwrap_or(0.5), spend, through_risk }, floor_place))
}

pub(super) fn goal(root: &mut Table<'_>, ledger: &mut Ledger) -> Goal {
    root.need("goal", "[goal]", ledger);
    let Some(mut table) = root.table("goal", ledger) else { return Goal { correction: 1.0, hours: 1.0 } };
    table.need("correction", "correction = 0.88", ledger);
    table.need("hours", "hours = 14", ledger);
    let correction = table.number("correction", &CORRECTION, ledger).unwrap_or(1.0);
    let hours = table.number("hours", &HOURS, ledger).unwrap_or(1.0);
    table.finish(ledger);
    Goal { correction, hours }
}

pub(super) fn scatter(root: &mut Table<'_>, ledger: &mut Ledger) -> Option<Scatter> {
    let mut table = root.table("scatter", ledger)?;
    table.need("panel", "panel = 0.1", ledger);
    table.need("section", "section = 0.1", ledger);
    let panel = table.number("panel", &SCATTER, ledger);
    let section = table.number("section", &SCATTER, ledger);
    table.finish(ledger);
    Some(Scatter { panel: panel?, section: section? })
}

pub(super) fn edge(root: &mut Table<'_>, ledger: &mut Ledger) -> Option<EdgeGain> {
    let mut table = root.table("edge", ledger)?;
    table.need("gain", "gain = { mean = 0.6, sd = 0.2 }", ledger);
    table.need("reach_mm", "reach_mm = 25", ledger);
    let gain = belief(&mut table, "gain", &GAIN, &GAIN, ledger);
    let reach_mm = table.number("reach_mm", &POSITIVE, ledger);
    table.finish(ledger);
    Some(EdgeGain { gain: gain?, reach_mm: reach_mm? })
}
