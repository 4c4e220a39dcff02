//! Orders carried out on the truth.

use lastmicron_film::gauge::Layer;
use lastmicron_plan::{Car, CarPanel};
use lastmicron_polish::Step;
use rand_pcg::Pcg64;

use crate::chance::{Stream, dice};
use crate::orders::{PanelOrders, Unlawful, check};
use crate::taken::{Done, On};
use crate::truth::{Rehearsal, TrueEdges, Truth};

/// Spacing of the places between nodes, mm. Judgement: half of the nodes' own; what a pad leaves changes little over it but on a line, which has places of its own.
const BETWEEN_MM: f64 = 12.5;

/// What the work left.
#[derive(Clone, Debug, PartialEq)]
pub struct Aftermath {
    /// Panels in the order of the car.
    pub panels: Vec<PanelAftermath>,
    /// Share of the defects gone, the goal at most, weighted by area and visibility over the panels that may be worked.
    pub correction: f64,
    /// Film taken, um, the mean over the same area.
    pub film_um: f64,
    /// Hours of machine work.
    pub hours: f64,
}

/// What the work left of one panel.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelAftermath {
    /// Whether the film was measured before. Panels that were not are no part of a stated risk.
    pub measured: bool,
    /// Share of the defects gone, the goal at most.
    pub correction: f64,
    /// Film taken, um, the mean over the panel.
    pub film_um: f64,
    /// The lowest place that was worked; none when the panel was left alone.
    pub lowest: Option<Lowest>,
    /// Topcoat left at the nodes of the truth, worked or not, um.
    pub left_um: Vec<f64>,
}

/// A place and what is left there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lowest {
    /// Place, mm.
    pub x_mm: f64,
    /// Place, mm.
    pub y_mm: f64,
    /// Topcoat left, um; below 0 is through to the undercoat.
    pub topcoat_um: f64,
}

impl Aftermath {
    /// Whether any worked place of a measured panel ended below the floor.
    #[must_use]
    pub fn breached(&self, floor_um: f64) -> bool {
        self.panels.iter().any(|p| p.measured && p.lowest.is_some_and(|l| l.topcoat_um < floor_um))
    }

    /// Whether any worked place of a measured panel was worked through to the undercoat.
    #[must_use]
    pub fn went_through(&self) -> bool {
        self.breached(0.0)
    }
}

/// Works a car as ordered. Every section has scatter of its own, which only the rehearsal's seed decides.
///
/// # Errors
/// [`Unlawful`] when the orders can't be carried out as they stand.
pub fn work(rehearsal: &Rehearsal, orders: &[PanelOrders]) -> Result<Aftermath, Unlawful> {
    let Rehearsal { seed, car, truth } = rehearsal;
    check(car, orders)?;
    let mut chance = [Stream::Working, Stream::Strokes].map(|stream| dice(*seed, stream));
    let mut panels = Vec::with_capacity(orders.len());
    for (k, orders) in orders.iter().enumerate() {
        panels.push(work_panel(car, truth, k, orders, &mut chance)?);
    }
    let [correction, film_um] = over_the_car(car, truth, &panels);
    Ok(Aftermath { panels, correction, film_um, hours: hours(car, orders) })
}

fn work_panel(car: &Car, truth: &Truth, k: usize, orders: &PanelOrders, dice: &mut [Pcg64; 2]) -> Result<PanelAftermath, Unlawful> {
    let (of_car, panel) = (&car.panels[k], &truth.panels[k]);
    let [working, strokes] = dice;
    let done: Vec<Done> = orders.sections.iter().map(|s| Done::draw(truth, panel, &s.steps, [&mut *working, &mut *strokes])).collect();
    let marks: Vec<f64> = orders.sections.iter().map(|s| new_marks(truth, &s.steps)).collect();
    let on = On::ordered(k, of_car, orders);
    let (mut gone, mut film_um, mut lowest) = (0.0, 0.0, None::<Lowest>);
    let mut left_um = panel.topcoat_um.clone();
    for (node, left_um) in left_um.iter_mut().enumerate() {
        let at_mm = panel.place_mm(node);
        let section = section_of(of_car, orders, at_mm)?;
        let taken_um = done[section].taken_um(truth, on, at_mm);
        if taken_um > 0.0 {
            gone += share_gone(truth, taken_um, marks[section], car.goal.correction);
            film_um += taken_um;
            *left_um -= taken_um;
            lower(&mut lowest, at_mm, *left_um);
        }
    }
    for at_mm in between_nodes(truth, of_car) {
        let taken_um = done[section_of(of_car, orders, at_mm)?].taken_um(truth, on, at_mm);
        if taken_um > 0.0 {
            lower(&mut lowest, at_mm, panel.topcoat_at_um(at_mm[0], at_mm[1]) - taken_um);
        }
    }
    let nodes = panel.topcoat_um.len() as f64;
    Ok(PanelAftermath { measured: measured(car, k), correction: gone / nodes, film_um: film_um / nodes, lowest, left_um })
}

fn lower(lowest: &mut Option<Lowest>, [x_mm, y_mm]: [f64; 2], topcoat_um: f64) {
    if lowest.is_none_or(|l| topcoat_um < l.topcoat_um) {
        *lowest = Some(Lowest { x_mm, y_mm, topcoat_um });
    }
}

/// Places between the nodes at which the film may be lowest: pads take most on a line and not at a panel's very edge. A law takes most on the nodes.
fn between_nodes(truth: &Truth, of_car: &CarPanel) -> Vec<[f64; 2]> {
    if matches!(truth.edges, TrueEdges::Law { .. }) {
        return Vec::new();
    }
    let steps = |mm: f64| (mm / BETWEEN_MM).round() as usize;
    let [width_mm, height_mm] = of_car.panel.size_mm();
    let all = (0..=steps(height_mm)).flat_map(|j| (0..=steps(width_mm)).map(move |i| [i as f64 * BETWEEN_MM, j as f64 * BETWEEN_MM]));
    let on_lines = of_car.lines.iter().flat_map(|line| line.points_mm.windows(2)).flat_map(|ends| {
        let [a, b] = [ends[0], ends[1]];
        let count = steps(f64::hypot(b[0] - a[0], b[1] - a[1])).max(1);
        (0..=count).map(move |i| [0, 1].map(|axis| a[axis] + (b[axis] - a[axis]) * i as f64 / count as f64))
    });
    all.chain(on_lines).collect()
}

fn section_of(of_car: &CarPanel, orders: &PanelOrders, at_mm: [f64; 2]) -> Result<usize, Unlawful> {
    let size_mm = of_car.panel.size_mm();
    let mut holding = orders.sections.iter().enumerate().filter(|(_, s)| s.holds(at_mm, size_mm)).map(|(i, _)| i);
    match (holding.next(), holding.count()) {
        (Some(section), 0) => Ok(section),
        (first, others) => {
            let sections = usize::from(first.is_some()) + others;
            Err(Unlawful::Tiling { panel: of_car.panel.name.clone(), x_mm: at_mm[0], y_mm: at_mm[1], sections })
        }
    }
}

fn new_marks(truth: &Truth, steps: &[Step]) -> f64 {
    steps.iter().map(|s| f64::from(s.sets) * truth.marks[s.process]).sum()
}

/// Share of the defects gone where `taken_um` was taken, net of new marks; more than the goal is worth no more than it.
pub(crate) fn share_gone(truth: &Truth, taken_um: f64, marks: f64, goal: f64) -> f64 {
    (1.0 - truth.defects.share_left(taken_um) - marks).min(goal)
}

fn measured(car: &Car, k: usize) -> bool {
    car.readings.iter().any(|r| r.panel == k && r.layer != Layer::Undercoat)
}

/// Means over the panels that may be worked, by node and visibility: correction weighted by both, film by nodes alone.
fn over_the_car(car: &Car, truth: &Truth, panels: &[PanelAftermath]) -> [f64; 2] {
    let (mut seen, mut area, mut gone, mut film) = (0.0, 0.0, 0.0, 0.0);
    for ((of_car, truth), after) in car.panels.iter().zip(&truth.panels).zip(panels) {
        if of_car.work {
            let nodes = truth.topcoat_um.len() as f64;
            seen += nodes * of_car.visibility;
            gone += nodes * of_car.visibility * after.correction;
            area += nodes;
            film += nodes * after.film_um;
        }
    }
    [if seen > 0.0 { gone / seen } else { 0.0 }, if area > 0.0 { film / area } else { 0.0 }]
}

fn hours(car: &Car, orders: &[PanelOrders]) -> f64 {
    let minutes_per_m2 = |steps: &[Step]| steps.iter().map(|s| f64::from(s.sets) * car.processes[s.process].minutes_per_m2).sum::<f64>();
    let sections = orders.iter().flat_map(|p| &p.sections);
    sections.map(|s| s.width_mm * s.height_mm * 1e-6 * minutes_per_m2(&s.steps)).sum::<f64>() / 60.0
}

#[cfg(test)]
mod tests;
