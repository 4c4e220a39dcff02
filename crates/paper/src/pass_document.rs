//! What one set of a machine and a pad does, in words: all that is printed of it, as data.

use lastmicron_draw::{Room, pass_figure};
use lastmicron_plan::{HEAT_IS, Rate};
use lastmicron_polish::heat::HELD_STILL_S;
use lastmicron_polish::near::Profile;
use lastmicron_polish::pass::{Pass, range_um};
use lastmicron_polish::stage::Stage;
use lastmicron_polish::transfer::Transfer;
use lastmicron_polish::{Belief, Machine, Pad, Use};
use lastmicron_units::Unit;
use serde::Serialize;

use crate::Page;
use crate::cautions::{CAUTIONS, PREVAIL};
use crate::document::Fact;
use crate::panel_sheet::{Drawing, NAME_CHARS, SENTENCE_CHARS, drawing};
use crate::pass_words::{HeatLine, facts, findings, heat, heat_cautions, how_worked, residue};
use crate::printable::cut;

/// Distances that a table shows, mm, as far as the pad reaches.
const SHOWN_MM: [f64; 14] = [0.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0, 70.0, 100.0, 150.0, 200.0, 300.0];

/// Below this pad's diameter, mm, the smallest of the distances are of use: under larger ones they say the same as their neighbours.
const SMALL_MM: f64 = 60.0;

/// A set: what is worked with, and what is known of it.
#[derive(Clone, Copy, Debug)]
pub struct SetWorked<'a> {
    /// Title of the job.
    pub job: &'a str,
    /// Name of the process.
    pub process: &'a str,
    /// Machine, pad, and how they are used.
    pub with: With<'a>,
    /// Stages of the set; none where it is worked in one go.
    pub stages: &'a [Stage],
    /// What a set of the process takes as the job states it.
    pub rate: &'a Rate,
    /// From which use that was carried over, when it is another.
    pub carried: Option<(With<'a>, Transfer)>,
    /// What was assumed where nothing was stated.
    pub assumed: &'a [String],
    /// What the set does.
    pub pass: &'a Pass,
}

/// A machine, a pad, and how they are used.
#[derive(Clone, Copy, Debug)]
pub struct With<'a> {
    /// The machine.
    pub machine: &'a Machine,
    /// The pad.
    pub pad: &'a Pad,
    /// How they are used.
    pub used: &'a Use,
}

/// What a set takes at a distance.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct DepthLine {
    /// Distance, mm.
    pub mm: String,
    /// Mean.
    pub mean: String,
    /// The range that holds it 19 times in 20.
    pub range: String,
    /// Mean over that in a section's middle.
    pub times: String,
}

/// A body line: what a set takes near it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LineProfile {
    /// Which one.
    pub name: String,
    /// By distance from it.
    pub depths: Vec<DepthLine>,
}

/// All that is printed of a set, in the order of the page.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PassDocument {
    /// The paper's name.
    pub paper: String,
    /// What it is about.
    pub title: String,
    /// The job, for a page's head.
    pub head: String,
    /// The unit of film figures.
    pub unit: String,
    /// With what, how, and what it takes.
    pub facts: Vec<Fact>,
    /// What was assumed.
    pub assumed: Vec<String>,
    /// The drawing.
    pub figure: Drawing,
    /// Across an edge.
    pub edge: Vec<DepthLine>,
    /// Near body lines.
    pub lines: Vec<LineProfile>,
    /// How warm panels get.
    pub heat: Vec<HeatLine>,
    /// How long a pad is held still, s.
    pub held_still_s: String,
    /// What that calls for, and how weak it is.
    pub heat_notes: Vec<String>,
    /// The pad after it.
    pub residue: String,
    /// Where the contact's model leaves its range.
    pub findings: Vec<String>,
    /// The usual care.
    pub cautions: Vec<Fact>,
    /// Who prevails over it.
    pub prevail: String,
}

/// Puts a set into words, film figures in `unit`.
#[must_use]
pub fn pass_document(set: &SetWorked<'_>, page: Page, unit: Unit) -> PassDocument {
    let line = |(radius_mm, profile): &(f64, Profile)| LineProfile {
        name: format!("a line of radius {radius_mm} mm"),
        depths: depths(set, profile, unit),
    };
    let mut heat_notes = heat_cautions(set.pass);
    heat_notes.push(format!("{HEAT_IS}."));
    PassDocument {
        paper: page.paper().to_owned(),
        title: title(set),
        head: cut(set.job.trim(), NAME_CHARS),
        unit: unit.symbol().to_owned(),
        facts: facts(set, unit),
        assumed: set.assumed.iter().map(|a| cut(a, SENTENCE_CHARS)).collect(),
        figure: drawing(&figure(set, unit, page.pass_room())),
        edge: depths(set, &set.pass.edge, unit),
        lines: set.pass.lines.iter().map(line).collect(),
        heat: heat(set.pass),
        held_still_s: HELD_STILL_S.to_string(),
        heat_notes,
        residue: residue(set.pass, set.stages, unit),
        findings: findings(set.pass),
        cautions: CAUTIONS.iter().map(|(name, value)| Fact { name: (*name).to_owned(), value: (*value).to_owned() }).collect(),
        prevail: PREVAIL.to_owned(),
    }
}

/// The drawing of a set, captioned with what it is worked with.
#[must_use]
pub fn figure(set: &SetWorked<'_>, unit: Unit, room: Room) -> lastmicron_draw::Scene {
    pass_figure(set.pass, &title(set), &format!("{}.", cut(&how_worked(set), SENTENCE_CHARS)), unit, room)
}

fn title(set: &SetWorked<'_>) -> String {
    format!("One set of {}", cut(set.process, NAME_CHARS))
}

fn depths(set: &SetWorked<'_>, profile: &Profile, unit: Unit) -> Vec<DepthLine> {
    let pad_mm = set.with.pad.diameter_mm;
    let is_shown = |mm: &f64| *mm <= pad_mm && (pad_mm < SMALL_MM || *mm < 1.0 || *mm >= 5.0);
    let at = |mm: f64| {
        let gain = profile.at(mm);
        let depth = set.pass.depth_um(gain);
        let [low, high] = range_um(depth);
        DepthLine {
            mm: format!("{mm:.0}"),
            mean: fine(depth.mean, unit),
            range: format!("{} to {}", fine(low, unit), fine(high, unit)),
            times: format!("{:.2}", (1.0 + gain.mean).max(0.0)),
        }
    };
    SHOWN_MM.into_iter().filter(is_shown).map(at).collect()
}

/// What one set takes, which is less than a reading tells apart: a decimal more than a film has.
pub(crate) fn fine(um: f64, unit: Unit) -> String {
    format!("{:.*}", unit.decimals() + 1, (um + 0.0) / unit.micrometres())
}

/// A depth, by the value that it is as likely above as below, with its range.
pub(crate) fn ranged(depth: Belief, unit: Unit) -> String {
    let [low, high] = range_um(depth);
    format!("{} {unit} ({} to {}, 19 times in 20)", fine((low * high).sqrt(), unit), fine(low, unit), fine(high, unit))
}
