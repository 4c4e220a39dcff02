//! A job and its plan in words: all that is printed, as data.

use lastmicron_draw::{Scales, correction_curve};
use lastmicron_job::Job;
use lastmicron_plan::{HEAT_IS, Outcome, PadWork, tape_in_words};
use lastmicron_units::Unit;
use serde::Serialize;

use crate::Page;
use crate::cautions::{CAUTIONS, PREVAIL};
use crate::facts::{totals, vehicle};
use crate::panel_sheet::{Drawing, NAME_CHARS, PanelSheet, SENTENCE_CHARS, drawing, panel_sheet};
use crate::printable::cut;
use crate::ranges::removal_range;

/// A name and what is said of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// The name.
    pub name: String,
    /// What is said.
    pub value: String,
}

/// What one set of a process takes, before and after the test spot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RateLine {
    /// The process.
    pub process: String,
    /// Believed before anything was measured.
    pub before: String,
    /// Believed now.
    pub now: String,
    /// Minutes a square metre.
    pub minutes: String,
}

/// What is asked of one process's machine and pad.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PadSheet {
    /// Process, machine and pad.
    pub title: String,
    /// What is asked, each with its name.
    pub asked: Vec<Fact>,
}

/// Who signs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signature {
    /// The person's part.
    pub who: String,
}

/// All that is printed of a plan, in the order of the pages.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanDocument {
    /// The paper's name.
    pub paper: String,
    /// The job's title.
    pub title: String,
    /// As much of the title as a page's head holds.
    pub head: String,
    /// The unit of film figures.
    pub unit: String,
    /// The vehicle.
    pub vehicle: Vec<Fact>,
    /// The totals.
    pub totals: Vec<Fact>,
    /// The panels, in the order of the job.
    pub panels: Vec<PanelSheet>,
    /// Where to tape, in one line.
    pub tape: String,
    /// What is asked of machines and pads.
    pub pad_work: Vec<PadSheet>,
    /// How weak the heat in it is; empty where nothing is asked.
    pub heat: String,
    /// Correction against film removed.
    pub curve: Drawing,
    /// The curve's bend in words.
    pub bend: String,
    /// What each process takes.
    pub rates: Vec<RateLine>,
    /// What was found on the way.
    pub findings: Vec<Fact>,
    /// What was assumed, with sources.
    pub assumptions: Vec<String>,
    /// What is not known.
    pub unknown: Vec<String>,
    /// The usual care.
    pub cautions: Vec<Fact>,
    /// Who prevails over it.
    pub prevail: String,
    /// Who signs.
    pub signatures: Vec<Signature>,
}

/// Puts a job and its plan into words, film figures in `unit`.
#[must_use]
pub fn document(job: &Job, outcome: &Outcome, page: Page, unit: Unit) -> PlanDocument {
    let scales = Scales::of(outcome, unit);
    let title = job.title.trim();
    PlanDocument {
        paper: page.paper().to_owned(),
        title: if title.is_empty() { "Untitled job".to_owned() } else { cut(title, 2 * NAME_CHARS) },
        head: cut(title, NAME_CHARS),
        unit: unit.symbol().to_owned(),
        vehicle: vehicle(job, outcome),
        totals: totals(job, outcome, unit),
        panels: (0..job.car.panels.len()).map(|i| panel_sheet(&job.car, outcome, i, &scales, page)).collect(),
        tape: tape(job, outcome),
        pad_work: outcome.pad_work.iter().map(|work| pad_sheet(job, work)).collect(),
        heat: if outcome.pad_work.is_empty() { String::new() } else { format!("{HEAT_IS}.") },
        curve: drawing(&correction_curve(&job.car, outcome, unit, page.curve_room())),
        bend: bend(outcome, unit),
        rates: rates(job, outcome, unit),
        findings: findings(job, outcome),
        assumptions: outcome.assumptions.iter().map(|a| cut(a, SENTENCE_CHARS)).collect(),
        unknown: unknown(job, outcome),
        cautions: CAUTIONS.iter().map(|(name, value)| Fact { name: (*name).to_owned(), value: (*value).to_owned() }).collect(),
        prevail: PREVAIL.to_owned(),
        signatures: ["Specialist", "Owner"].map(|who| Signature { who: who.to_owned() }).into(),
    }
}

fn tape(job: &Job, outcome: &Outcome) -> String {
    // A line, however many panels there are.
    if outcome.plan.panels.iter().any(lastmicron_plan::PanelPlan::is_worked) {
        format!("{}.", cut(&tape_in_words(&job.car, &outcome.tapes), usize::MAX))
    } else {
        "None: nothing is worked.".to_owned()
    }
}

fn pad_sheet(job: &Job, work: &PadWork) -> PadSheet {
    let fact = |(name, asked): (&str, String)| {
        let mut letters = name.chars();
        let name = letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default();
        Fact { name, value: cut(&asked, SENTENCE_CHARS) }
    };
    PadSheet { title: cut(&work.title(&job.car), 2 * NAME_CHARS), asked: work.asked().into_iter().map(fact).collect() }
}

fn bend(outcome: &Outcome, unit: Unit) -> String {
    if outcome.curve.len() < 2 || !outcome.bend_um.is_finite() {
        return String::new();
    }
    let bend = lastmicron_draw::in_unit(outcome.bend_um, unit);
    format!("Up to about {bend} the paint gives defects for little film; beyond the bend each further per cent costs more and more of it.")
}

fn rates(job: &Job, outcome: &Outcome, unit: Unit) -> Vec<RateLine> {
    let process = |index: usize| job.car.processes.get(index);
    let line = |rate: &lastmicron_plan::Rate| RateLine {
        process: process(rate.process).map_or_else(|| format!("process {}", rate.process + 1), |p| cut(&p.name, NAME_CHARS)),
        before: removal_range(&rate.prior_um, unit),
        now: removal_range(&rate.posterior_um, unit),
        minutes: process(rate.process).map_or_else(|| "\u{2013}".to_owned(), |p| format!("{:.0}", p.minutes_per_m2)),
    };
    outcome.rates.iter().map(line).collect()
}

fn findings(job: &Job, outcome: &Outcome) -> Vec<Fact> {
    let about = |finding: &lastmicron_plan::Finding| {
        let panel = finding.panel.and_then(|i| job.car.panels.get(i)).map(|p| cut(&p.panel.name, NAME_CHARS));
        let line = finding.line.map(|n| format!("readings.csv, line {n}"));
        let parts: Vec<String> = panel.into_iter().chain(line).collect();
        if parts.is_empty() { "Vehicle".to_owned() } else { parts.join("; ") }
    };
    outcome.findings.iter().map(|f| Fact { name: about(f), value: cut(&f.sentence, SENTENCE_CHARS) }).collect()
}

fn unknown(job: &Job, outcome: &Outcome) -> Vec<String> {
    let names = |wanted: &dyn Fn(&lastmicron_plan::PanelPlan) -> bool| {
        let names: Vec<String> = outcome.plan.panels.iter().filter(|p| wanted(p)).map(|p| cut(&p.name, NAME_CHARS)).collect();
        names.join(", ")
    };
    let mut unknown = Vec::new();
    let unmeasured = names(&|p| !p.measured);
    if !unmeasured.is_empty() {
        unknown.push(format!("How much topcoat these panels have, since none of their readings stands behind the plan: {unmeasured}."));
    }
    let resprayed = names(&|p| p.measured && p.respray >= 0.5);
    if !resprayed.is_empty() {
        unknown.push(format!("What was added where a panel was painted again (filler, primer or topcoat): {resprayed}."));
    }
    if job.car.counts.is_empty() {
        unknown.push("How deep the defects are: none were counted on a test spot.".to_owned());
    }
    unknown.extend(
        [
            "What lies between the places read: the estimate there is drawn from its neighbours, and the map of uncertainty says how far.",
            "How the topcoat divides from what is beneath it, except where an undercoat or a topcoat reading says so.",
            "Film lost at edges and lines that nobody read, and single spots smaller than a probe.",
            "What was done to this paint before, unless it is in the record.",
            "How the paint looks in another light, and after the next summer: judge after a wipe and again the next day.",
        ]
        .map(str::to_owned),
    );
    unknown
}
