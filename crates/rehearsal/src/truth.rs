//! The true film of a car, and how it is drawn.

use lastmicron_film::gauge::Substrate;
use lastmicron_film::panel::Panel;
use lastmicron_numerics::kernel::Family;
use lastmicron_plan::{Car, CarPanel, Limits};
use lastmicron_polish::Equipment;
use lastmicron_units::{Removal, Thickness};
use rand::RngExt;
use rand_pcg::Pcg64;

use crate::chance::{Stream, dice, happens, whole_between};
use crate::field::{FieldLaw, Grid, draw_field};
use crate::scenario::{Edges, History, Panels, Scenario, ScenarioError, Sketch, StatedLimits};
use crate::{Physics, Range, spot, survey};

/// Least true topcoat anywhere before work, um: a car worn through before it came in is another job.
const LEAST_TOPCOAT_UM: f64 = 1.0;

/// Least factor by which a panel or a section may differ from a process's rate.
const LEAST_FACTOR: f64 = 0.2;

/// A car as a planner sees it, and the truth that it does not see.
#[derive(Clone, Debug, PartialEq)]
pub struct Rehearsal {
    /// The seed that it was drawn from.
    pub seed: u64,
    /// What was measured and what is wanted.
    pub car: Car,
    /// What is true.
    pub truth: Truth,
}

/// What is true of a car.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// The panels, in the order of the car's.
    pub panels: Vec<PanelTruth>,
    /// Film that one set of each process takes, um.
    pub rates_um: Vec<f64>,
    /// Share of new defects that one set of each process leaves.
    pub marks: Vec<f64>,
    /// Scatter of rates from section to section.
    pub section_scatter: f64,
    /// What is taken near edges and lines.
    pub edges: TrueEdges,
    /// Depths of the defects.
    pub defects: Depths,
    /// The gauge's errors.
    pub gauge: GaugeTruth,
    /// Chance that a place without topcoat lacks some of the primers.
    pub bare_low: f64,
}

/// What is truly taken near edges and lines.
#[derive(Clone, Debug, PartialEq)]
pub enum TrueEdges {
    /// Times the middle: `1 + gain * exp(-2 distance / reach)`, whatever the process.
    Law {
        /// Gain at the very edge.
        gain: f64,
        /// Distance over which it falls off, mm.
        reach_mm: f64,
    },
    /// Summed up from the physics, for each process and line.
    Summed(Physics),
}

/// What is true of one panel, on a grid of nodes 0, step, ...: x running fastest, from the bottom row.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelTruth {
    /// Spacing of the nodes, mm.
    pub step_mm: f64,
    /// Nodes along x.
    pub nx: usize,
    /// Nodes along y.
    pub ny: usize,
    /// Topcoat there now, test spots taken off, um.
    pub topcoat_um: Vec<f64>,
    /// All under it, um.
    pub undercoat_um: f64,
    /// Factor of this panel on the rates.
    pub rate_factor: f64,
    /// Whether it was painted again.
    pub resprayed: bool,
}

/// Depths of defects: the share deeper than `d` is `exp(-(d / scale)^shape)`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Depths {
    /// Scale, um.
    pub scale_um: f64,
    /// Shape.
    pub shape: f64,
}

/// The errors of the gauge that day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GaugeTruth {
    /// Offset, um.
    pub offset_um: f64,
    /// Gain, as a share of the reading.
    pub gain: f64,
    /// Standard deviation of repeats at one place, um.
    pub repeat_um: f64,
    /// Scatter from re-placing the probe, um.
    pub texture_um: f64,
    /// The display's step, um.
    pub step_um: f64,
    /// Chance of a wild reading.
    pub wild: f64,
}

impl Depths {
    /// Share of the defects that are deeper than `depth_um`.
    #[must_use]
    pub fn share_left(self, depth_um: f64) -> f64 {
        (-(depth_um.max(0.0) / self.scale_um).powf(self.shape)).exp()
    }

    /// Film to take until `share` of the defects are gone, um; `share` below 1.
    #[must_use]
    pub fn depth_um(self, share: f64) -> f64 {
        self.scale_um * (-(-share).ln_1p()).powf(1.0 / self.shape)
    }
}

impl PanelTruth {
    /// Place of a node, mm.
    #[must_use]
    pub fn place_mm(&self, node: usize) -> [f64; 2] {
        [(node % self.nx) as f64 * self.step_mm, (node / self.nx) as f64 * self.step_mm]
    }

    /// The node nearest to a place.
    #[must_use]
    pub fn node_at(&self, x_mm: f64, y_mm: f64) -> usize {
        let nearest = |at_mm: f64, nodes: usize| ((at_mm / self.step_mm).round().max(0.0) as usize).min(nodes - 1);
        nearest(y_mm, self.ny) * self.nx + nearest(x_mm, self.nx)
    }

    /// Topcoat between nodes, um: linear along each side.
    #[must_use]
    pub fn topcoat_at_um(&self, x_mm: f64, y_mm: f64) -> f64 {
        let (i, u) = cell(x_mm, self.step_mm, self.nx);
        let (j, v) = cell(y_mm, self.step_mm, self.ny);
        let row = |j: usize| {
            let at = |i: usize| self.topcoat_um.get(j * self.nx + i).copied().unwrap_or(f64::NAN);
            at(i) + u * (at(i + 1) - at(i))
        };
        row(j) + v * (row(j + 1) - row(j))
    }
}

fn cell(at_mm: f64, step_mm: f64, nodes: usize) -> (usize, f64) {
    let last = nodes.saturating_sub(2);
    let i = ((at_mm / step_mm).max(0.0).floor() as usize).min(last);
    (i, at_mm / step_mm - i as f64)
}

/// A factor on a rate: about 1, never below a fifth.
pub(crate) fn rate_factor(dice: &mut Pcg64, scatter: f64) -> f64 {
    crate::chance::normal(dice, 1.0, scatter).max(LEAST_FACTOR)
}

/// Draws a car and measures it. Same scenario and seed, same car.
///
/// # Errors
/// [`ScenarioError`] when the scenario's figures can't be a car's.
pub fn rehearse(scenario: &Scenario, seed: u64) -> Result<Rehearsal, ScenarioError> {
    let mut chance = dice(seed, Stream::Film);
    let sketches = sketches(&scenario.panels, &mut chance);
    let mut truth = draw_truth(scenario, &sketches, seed, &mut chance)?;
    let mut car = blank_car(scenario, &sketches, &truth.edges)?;
    let mut measuring = dice(seed, Stream::Measuring);
    survey::survey(scenario, &truth, &mut car, &mut measuring);
    spot::try_processes(&mut truth, &mut car, &mut measuring);
    Ok(Rehearsal { seed, car, truth })
}

fn sketches(panels: &Panels, dice: &mut Pcg64) -> Vec<Sketch> {
    match panels {
        Panels::Named(sketches) => sketches.clone(),
        Panels::Any(count) => (1..=whole_between(dice, *count)).map(|k| any_sketch(k, dice)).collect(),
    }
}

fn any_sketch(number: usize, dice: &mut Pcg64) -> Sketch {
    let side_mm = |[low, high]: [usize; 2], dice: &mut Pcg64| dice.random_range(low / 25..=high / 25) as f64 * 25.0;
    Sketch {
        name: format!("panel {number}"),
        width_mm: side_mm([500, 1500], dice),
        height_mm: side_mm([400, 1200], dice),
        substrate: Substrate::Steel,
        visibility: 1.0,
        work: true,
        history: History::Drawn,
    }
}

fn blank_car(scenario: &Scenario, sketches: &[Sketch], edges: &TrueEdges) -> Result<Car, ScenarioError> {
    let lines = |k: usize| match edges {
        TrueEdges::Law { .. } => Vec::new(),
        TrueEdges::Summed(physics) => physics.lines(k),
    };
    let panels = sketches.iter().enumerate().map(|(k, s)| CarPanel {
        panel: Panel::rectangle(&s.name, s.width_mm, s.height_mm, s.substrate),
        undercoat: None,
        hardness: None,
        metallic: None,
        visibility: s.visibility,
        work: s.work,
        lines: lines(k),
        gone_through: Vec::new(),
    });
    let (equipment, edge) = match &scenario.edges {
        Edges::Stated(edge) => (Equipment::default(), Some(*edge)),
        Edges::Worked(workshop) => (workshop.equipment.clone(), None),
    };
    let StatedLimits { floor_um, risk, spend_um, through_risk } = scenario.limits;
    let floor = Thickness::from_micrometres(floor_um)?;
    let spend = spend_um.map(Removal::from_micrometres).transpose()?;
    Ok(Car {
        panels: panels.collect(),
        paint: scenario.paint,
        gauges: vec![scenario.gauge.clone()],
        processes: scenario.processes.clone(),
        equipment,
        scatter: scenario.scatter,
        edge,
        limits: Limits { floor, risk, spend, through_risk },
        goal: scenario.goal,
        readings: Vec::new(),
        worked: Vec::new(),
        counts: Vec::new(),
    })
}

fn draw_truth(scenario: &Scenario, sketches: &[Sketch], seed: u64, dice: &mut Pcg64) -> Result<Truth, ScenarioError> {
    let drawn = &scenario.truth;
    let build = drawn.build_um.draw(dice);
    let build_um = drawn.tails.draw(dice, build, drawn.build_sd_um);
    let stated = scenario.paint.undercoat.ok_or(ScenarioError::NoUndercoat)?;
    let shift_um = drawn.undercoat_shift_um.draw(dice);
    let undercoat_um = drawn.tails.draw(dice, stated.mean_um + shift_um, stated.sd_um);
    let smoothness = whole_between(dice, [0, drawn.smoothness.len().saturating_sub(1)]);
    let field = FieldLaw {
        family: drawn.smoothness.get(smoothness).copied().unwrap_or(Family::Matern32),
        sd_um: drawn.field_sd_um.draw(dice),
        length_mm: drawn.length_mm.draw(dice),
        stretch: drawn.stretch.draw(dice),
    };
    let rates_um = scenario.processes.iter().map(|p| {
        let believed = p.removal_um;
        drawn.tails.draw(dice, believed.mean, believed.sd).max(LEAST_FACTOR * believed.mean)
    });
    let rates_um = rates_um.collect();
    let marks = scenario.processes.iter().map(|p| p.marks.map_or(0.0, |m| crate::chance::normal(dice, m.mean, m.sd).max(0.0)));
    let marks = marks.collect();
    let edges = draw_edges(scenario, sketches, seed, dice)?;
    let defects = Depths { scale_um: drawn.defect_scale_um.draw(dice), shape: drawn.defect_shape.draw(dice) };
    let gauge = draw_gauge(scenario, dice);
    let panels = sketches.iter().map(|s| draw_panel(scenario, s, &field, build_um, undercoat_um, dice)).collect::<Result<_, _>>()?;
    Ok(Truth { panels, rates_um, marks, section_scatter: drawn.rate_section, edges, defects, gauge, bare_low: drawn.bare_low })
}

/// The physics has a stream of chance of its own.
fn draw_edges(scenario: &Scenario, sketches: &[Sketch], seed: u64, film: &mut Pcg64) -> Result<TrueEdges, ScenarioError> {
    Ok(match &scenario.edges {
        Edges::Stated(edge) => {
            TrueEdges::Law { gain: crate::chance::normal(film, edge.gain.mean, edge.gain.sd).max(0.0), reach_mm: edge.reach_mm }
        }
        Edges::Worked(workshop) => {
            let sizes_mm: Vec<[f64; 2]> = sketches.iter().map(|s| [s.width_mm, s.height_mm]).collect();
            TrueEdges::Summed(Physics::draw(workshop, scenario.processes.len(), &sizes_mm, &mut dice(seed, Stream::Hand))?)
        }
    })
}

/// The accuracy statement is rectangular: offset and gain lie anywhere within it.
fn draw_gauge(scenario: &Scenario, dice: &mut Pcg64) -> GaugeTruth {
    let gauge = &scenario.gauge;
    GaugeTruth {
        offset_um: Range::between(-gauge.fixed_um, gauge.fixed_um).draw(dice),
        gain: Range::between(-gauge.percent / 100.0, gauge.percent / 100.0).draw(dice),
        repeat_um: gauge.repeatability_um,
        texture_um: scenario.truth.texture_um.draw(dice),
        step_um: gauge.resolution_um,
        wild: scenario.truth.wild,
    }
}

fn draw_panel(
    scenario: &Scenario,
    sketch: &Sketch,
    law: &FieldLaw,
    build_um: f64,
    undercoat_um: f64,
    dice: &mut Pcg64,
) -> Result<PanelTruth, ScenarioError> {
    let drawn = &scenario.truth;
    let grid = Grid::over(sketch.width_mm, sketch.height_mm);
    let field_um = draw_field(&grid, law, dice)?;
    let mean_um = drawn.tails.draw(dice, build_um, drawn.panel_sd_um);
    let thin = thin_edge(drawn.thin_edge, dice);
    let mut under_um = drawn.tails.draw(dice, undercoat_um, drawn.undercoat_panel_sd_um);
    let resprayed = match sketch.history {
        History::Original => false,
        History::Resprayed => true,
        History::Drawn => happens(dice, drawn.respray),
    };
    let (extra_um, extra_under_um) = if resprayed { respray(dice) } else { (0.0, 0.0) };
    under_um += extra_under_um;
    let rate_factor = rate_factor(dice, drawn.rate_panel);
    let topcoat_um = field_um.iter().enumerate().map(|(node, f)| {
        let [x, y] = grid.place_mm(node);
        let d = f64::min(f64::min(x, sketch.width_mm - x), f64::min(y, sketch.height_mm - y));
        (mean_um + f - thin.depth_um * (-d / thin.scale_mm).exp() + extra_um - under_um).max(LEAST_TOPCOAT_UM)
    });
    let topcoat_um = topcoat_um.collect();
    Ok(PanelTruth { step_mm: grid.step_mm, nx: grid.nx, ny: grid.ny, topcoat_um, undercoat_um: under_um, rate_factor, resprayed })
}

struct ThinEdge {
    depth_um: f64,
    scale_mm: f64,
}

/// Judgement: edges that were sanded or sprayed thin lose 2 to 7 um over 15 to 60 mm.
fn thin_edge(chance: f64, dice: &mut Pcg64) -> ThinEdge {
    let scale_mm = Range::between(15.0, 60.0).draw(dice);
    let depth_um = Range::between(2.0, 7.0).draw(dice);
    ThinEdge { depth_um: if happens(dice, chance) { depth_um } else { 0.0 }, scale_mm }
}

/// What a respray adds, and how much of that is undercoat. Judgement: 60 to 140 um, of which anything from a third to all is filler and primer.
fn respray(dice: &mut Pcg64) -> (f64, f64) {
    let extra_um = Range::between(60.0, 140.0).draw(dice);
    (extra_um, extra_um * Range::between(0.3, 1.0).draw(dice))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::families;

    fn square(topcoat_um: Vec<f64>) -> PanelTruth {
        PanelTruth { step_mm: 25.0, nx: 2, ny: 2, topcoat_um, undercoat_um: 30.0, rate_factor: 1.0, resprayed: false }
    }

    #[test]
    fn topcoat_between_four_nodes_is_their_bilinear_mean() {
        let panel = square(vec![10.0, 20.0, 30.0, 60.0]);
        assert!((panel.topcoat_at_um(0.0, 0.0) - 10.0).abs() < 1e-12);
        assert!((panel.topcoat_at_um(25.0, 25.0) - 60.0).abs() < 1e-12);
        assert!((panel.topcoat_at_um(12.5, 12.5) - 30.0).abs() < 1e-12); // [D] (10 + 20 + 30 + 60) / 4
        assert!((panel.topcoat_at_um(12.5, 0.0) - 15.0).abs() < 1e-12);
    }

    #[test]
    fn the_nearest_node_is_found_and_is_where_it_says() {
        let panel = PanelTruth { nx: 3, ny: 4, ..square(vec![0.0; 12]) };
        for node in 0..12 {
            let [x, y] = panel.place_mm(node);
            assert_eq!(panel.node_at(x + 12.0, y - 12.0), node);
        }
    }

    #[test]
    fn depth_for_a_share_is_the_inverse_of_the_share_left() {
        let depths = Depths { scale_um: 1.5, shape: 1.3 };
        assert!((depths.share_left(1.5) - (-1.0_f64).exp()).abs() < 1e-15); // [D] at its scale 1/e is left, whatever the shape
        for share in [0.1, 0.5, 0.88, 0.99] {
            assert!((1.0 - depths.share_left(depths.depth_um(share)) - share).abs() < 1e-12);
        }
    }

    #[test]
    fn same_seed_draws_the_same_car_and_another_seed_another() {
        let scenario = &families::all()[0];
        assert_eq!(rehearse(scenario, 3), rehearse(scenario, 3));
        assert_ne!(rehearse(scenario, 3).unwrap().truth, rehearse(scenario, 4).unwrap().truth);
    }

    #[test]
    fn no_place_is_drawn_without_topcoat() {
        for scenario in families::all() {
            let mut scenario = scenario;
            scenario.truth.panel_sd_um = 30.0;
            let rehearsal = rehearse(&scenario, 1).unwrap();
            let unworked = |k: usize| rehearsal.car.worked.iter().all(|w| w.panel != k);
            for panel in rehearsal.truth.panels.iter().enumerate().filter(|(k, _)| unworked(*k)).map(|(_, p)| p) {
                assert!(panel.topcoat_um.iter().all(|t| *t >= LEAST_TOPCOAT_UM));
            }
        }
    }
}
