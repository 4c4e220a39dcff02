//! The choice as numbers: for every section, treatment and distance kept off, what it gains, costs and endangers.

use rayon::prelude::*;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::hazard::bits;
use crate::room::{GAIN_BINS_MM, KEEP_OFF_MM, PanelRoom, SectionRoom, edge_groups};
use crate::treatment::Treatment;

/// What one treatment of a section gains and endangers under one combined level of edges kept off.
#[derive(Clone, Debug)]
pub(crate) struct Choice {
    /// Mean share of the section's defects gone, none counted beyond the goal, times the section's weight.
    pub(crate) value: f64,
    /// Mean film taken, um times the section's weight.
    pub(crate) film: f64,
    /// Draws in which a worked place ends below the floor.
    pub(crate) below: Vec<u64>,
    /// Draws in which a worked place reaches the undercoat; empty where no limit is set on that.
    pub(crate) through: Vec<u64>,
    /// Whether the spend allows it.
    pub(crate) allowed: bool,
}

/// A section of the problem.
#[derive(Clone, Debug)]
pub(crate) struct Section {
    /// Index among the problem's panels.
    pub(crate) panel: usize,
    /// Index among its panel's sections.
    pub(crate) number: usize,
    /// Edge groups near enough to matter.
    pub(crate) groups: Vec<usize>,
    /// By combined level, then treatment.
    pub(crate) options: Vec<Vec<Choice>>,
    /// Minutes of each treatment.
    pub(crate) minutes: Vec<f64>,
    /// Share of the vehicle's area times visibility.
    pub(crate) weight: f64,
    /// Sections beside it on the same panel.
    pub(crate) neighbours: Vec<usize>,
}

/// A panel of the problem.
#[derive(Clone, Debug)]
pub(crate) struct ProblemPanel {
    /// Index in the car.
    pub(crate) panel: usize,
    pub(crate) groups: usize,
    pub(crate) sections: Vec<usize>,
}

/// All that a search needs.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    pub(crate) panels: Vec<ProblemPanel>,
    pub(crate) sections: Vec<Section>,
    pub(crate) draws: usize,
    pub(crate) treatments: usize,
}

/// Combined level of a section whose edge groups are kept off at `levels` (by group of the panel).
pub(crate) fn combined(groups: &[usize], levels: &[usize]) -> usize {
    groups.iter().rev().fold(0, |sum, &g| sum * KEEP_OFF_MM.len() + levels[g])
}

impl Problem {
    /// The problem over the measured panels that may be worked, on the draws to choose on; every treatment counted as taking `margin_um` more
    /// than it does.
    pub(crate) fn new(car: &Car, drawn: &Drawn, rooms: &[Option<PanelRoom>], treatments: &[Treatment], margin_um: f64) -> Self {
        let half = drawn.first_half();
        let taken: Vec<Vec<f32>> =
            treatments.iter().map(|t| half.clone().map(|d| (t.removal_um(drawn, d) + margin_um) as f32).collect()).collect();
        let gained: Vec<[f64; GAIN_BINS_MM.len()]> = treatments.par_iter().map(|t| gains(car, drawn, t)).collect();
        let total: f64 = car.panels.iter().filter(|p| p.work).map(|p| p.panel.area_m2() * p.visibility).sum();
        let mut problem = Self { panels: Vec::new(), sections: Vec::new(), draws: half.len(), treatments: treatments.len() };
        for (k, room) in rooms.iter().enumerate() {
            let Some(room) = room.as_ref().filter(|_| car.panels[k].work) else { continue };
            let first = problem.sections.len();
            let panel = problem.panels.len();
            let made: Vec<Section> = room
                .sections
                .par_iter()
                .enumerate()
                .map(|(number, s)| {
                    let weight = s.area_m2 * car.panels[k].visibility / total;
                    let options = s.reaches.iter().map(|_| Vec::new()).collect();
                    let mut section = Section {
                        panel,
                        number,
                        groups: s.groups.clone(),
                        options,
                        minutes: treatments.iter().map(|t| t.minutes_per_m2 * s.area_m2).collect(),
                        weight,
                        neighbours: neighbours(&room.sections, number).map(|n| first + n).collect(),
                    };
                    for (level, options) in section.options.iter_mut().enumerate() {
                        *options = (0..treatments.len())
                            .map(|t| option(car, drawn, s, level, &treatments[t], &taken[t], &gained[t], weight))
                            .collect();
                    }
                    section
                })
                .collect();
            problem.panels.push(ProblemPanel {
                panel: k,
                groups: edge_groups(&car.panels[k]).len(),
                sections: (first..first + made.len()).collect(),
            });
            problem.sections.extend(made);
        }
        problem
    }
}

/// Mean correction at each of [`GAIN_BINS_MM`], none counted beyond the goal: a treatment that meets the goal in the mean is as good as any.
fn gains(car: &Car, drawn: &Drawn, treatment: &Treatment) -> [f64; GAIN_BINS_MM.len()] {
    let sample: Vec<usize> = drawn.first_half().step_by((drawn.count() / 1000).max(1)).collect();
    let factors = drawn.section_factors(usize::MAX >> 40, 0);
    GAIN_BINS_MM.map(|mm| {
        let sum: f64 = sample
            .iter()
            .map(|&d| {
                let gain = 1.0 + drawn.edge_gain[d] * drawn.knowledge.edge.fall_off(mm);
                let factor = gain * factors[d] * drawn.panel_factor(d, d % car.panels.len());
                treatment.correction(drawn, d, factor)
            })
            .sum();
        (sum / sample.len() as f64).min(car.goal.correction)
    })
}

#[expect(clippy::too_many_arguments, reason = "one row of the problem, from its section, treatment and level")]
fn option(
    car: &Car,
    drawn: &Drawn,
    section: &SectionRoom,
    level: usize,
    treatment: &Treatment,
    taken: &[f32],
    gained: &[f64; GAIN_BINS_MM.len()],
    weight: f64,
) -> Choice {
    let (reach, half) = (&section.reaches[level], drawn.first_half());
    let gain = drawn.knowledge.edge.gain.mean;
    let mut option = Choice { value: 0.0, film: 0.0, below: vec![0; taken.len().div_ceil(64)], through: Vec::new(), allowed: true };
    let with_through = car.limits.through_risk.is_some();
    if with_through {
        option.through.clone_from(&option.below);
    }
    if treatment.steps.is_empty() {
        return option;
    }
    for (bin, nodes) in reach.nodes.iter().enumerate() {
        let fall_off = drawn.knowledge.edge.fall_off(GAIN_BINS_MM[bin]);
        option.value += weight * gained[bin] * nodes / section.nodes;
        option.film += weight * treatment.mean_um * (1.0 + gain * fall_off) * nodes / section.nodes;
    }
    option.below = bits(taken, &reach.room_um[half.clone()]);
    if with_through {
        option.through = bits(taken, &reach.depth_um[half]);
    }
    option.allowed = car.limits.spend.is_none_or(|spend| treatment.mean_um * (1.0 + gain * reach.fall_off) <= spend.micrometres());
    option
}

/// Sections of a panel that share a border with section `number`.
fn neighbours(sections: &[SectionRoom], number: usize) -> impl Iterator<Item = usize> + '_ {
    let (c, r) = (sections[number].tile.column, sections[number].tile.row);
    let beside = move |s: &SectionRoom| s.tile.column.abs_diff(c) + s.tile.row.abs_diff(r) == 1;
    (0..sections.len()).filter(move |&n| beside(&sections[n]))
}
