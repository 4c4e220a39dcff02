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
mod tests {
    use super::*;
    use lastmicron_plan::{BodyLine, KeepOff, KeepOffLine};

    use crate::orders::SectionOrders;
    use crate::truth::{Depths, GaugeTruth, PanelTruth};
    use crate::{families, rehearse};

    /// One panel of 500 x 500 mm with 20 um everywhere, a floor of 16, one process of 2 um a set, edge gain 0.5 over 25 mm, no scatter.
    fn plain() -> Rehearsal {
        let mut rehearsal = rehearse(&families::thin_single_stage(), 1).unwrap();
        let side = 21;
        rehearsal.car.panels.truncate(1);
        rehearsal.car.panels[0].panel.outline_mm = vec![[0.0, 0.0], [500.0, 0.0], [500.0, 500.0], [0.0, 500.0]];
        rehearsal.car.processes.truncate(1);
        rehearsal.car.goal.correction = 0.9;
        let topcoat_um = vec![20.0; side * side];
        let panel = PanelTruth { step_mm: 25.0, nx: side, ny: side, topcoat_um, undercoat_um: 30.0, rate_factor: 1.0, resprayed: false };
        rehearsal.truth = Truth {
            panels: vec![panel],
            rates_um: vec![2.0],
            marks: vec![0.0],
            section_scatter: 0.0,
            edges: TrueEdges::Law { gain: 0.5, reach_mm: 25.0 },
            defects: Depths { scale_um: 2.0, shape: 1.0 },
            gauge: GaugeTruth { offset_um: 0.0, gain: 0.0, repeat_um: 0.0, texture_um: 0.0, step_um: 0.0, wild: 0.0 },
            bare_low: 0.0,
        };
        rehearsal
    }

    fn whole(sets: u32) -> PanelOrders {
        let steps = if sets == 0 { Vec::new() } else { vec![Step { process: 0, sets }] };
        PanelOrders {
            keep_off: Vec::new(),
            keep_off_lines: Vec::new(),
            sections: vec![SectionOrders { x_mm: 0.0, y_mm: 0.0, width_mm: 500.0, height_mm: 500.0, steps }],
        }
    }

    fn off_all_edges(mm: f64) -> Vec<KeepOff> {
        (0..4).map(|edge| KeepOff { edge, mm }).collect()
    }

    #[test]
    fn an_edge_loses_more_than_the_middle() {
        let after = work(&plain(), &[whole(1)]).unwrap();
        let lowest = after.panels[0].lowest.unwrap();
        assert!((lowest.topcoat_um - 17.0).abs() < 1e-12); // [D] 20 - 2 * 1.5 at the very edge
        assert!(!after.breached(16.0) && after.breached(17.1));
    }

    #[test]
    fn a_second_set_breaches_at_the_edge_unless_the_edge_is_kept_off() {
        let mut orders = whole(2);
        assert!(work(&plain(), &[orders.clone()]).unwrap().breached(16.0)); // [D] 20 - 4 * 1.5 = 14
        orders.keep_off = off_all_edges(1.0);
        let after = work(&plain(), &[orders]).unwrap();
        // [D] the next node is 25 mm in: 20 - 4 * (1 + 0.5 exp(-2)) = 15.7293
        assert!((after.panels[0].lowest.unwrap().topcoat_um - (16.0 - 2.0 * (-2.0_f64).exp())).abs() < 1e-12);
    }

    #[test]
    fn a_band_kept_off_gains_nothing_and_loses_nothing() {
        let mut orders = whole(1);
        orders.keep_off = off_all_edges(101.0);
        let after = work(&plain(), &[orders]).unwrap();
        let inside = (11.0 * 11.0) / (21.0 * 21.0); // [D] nodes at 125 to 375 mm each way
        assert!((after.film_um - 2.0 * inside).abs() < 0.001); // the gain there is below 0.5 exp(-10)
        assert!((after.correction - inside * (1.0 - (-1.0_f64).exp())).abs() < 0.001);
    }

    #[test]
    fn a_line_kept_off_gains_nothing_and_loses_nothing_on_either_side() {
        let mut rehearsal = plain();
        rehearsal.truth.edges = TrueEdges::Law { gain: 0.0, reach_mm: 25.0 };
        rehearsal.car.panels[0].lines = vec![BodyLine { points_mm: vec![[0.0, 250.0], [500.0, 250.0]], radius_mm: 20.0 }];
        // The film on the line is too thin for any work.
        rehearsal.truth.panels[0].topcoat_um[10 * 21 + 10] = 16.5;
        let mut orders = whole(1);
        assert!(work(&rehearsal, &[orders.clone()]).unwrap().breached(16.0));
        orders.keep_off_lines = vec![KeepOffLine { line: 0, mm: 25.1 }];
        let after = work(&rehearsal, &[orders.clone()]).unwrap();
        assert!(!after.breached(16.0) && after.breached(18.1));
        let worked = 18.0 / 21.0; // [D] rows of nodes but those at 225, 250 and 275 mm
        assert!((after.film_um - 2.0 * worked).abs() < 1e-12);
        assert!((after.correction - worked * (1.0 - (-1.0_f64).exp())).abs() < 1e-12);
        orders.keep_off_lines = vec![KeepOffLine { line: 0, mm: 24.9 }];
        assert!((work(&rehearsal, &[orders]).unwrap().film_um - 2.0 * 20.0 / 21.0).abs() < 1e-12);
    }

    #[test]
    fn nothing_is_earned_beyond_the_goal() {
        let after = work(&plain(), &[whole(8)]).unwrap();
        assert!((after.correction - 0.9).abs() < 1e-12);
    }

    #[test]
    fn marks_take_from_the_correction_and_can_make_it_worse() {
        let mut rehearsal = plain();
        rehearsal.truth.edges = TrueEdges::Law { gain: 0.0, reach_mm: 25.0 };
        rehearsal.truth.marks = vec![0.1];
        let gone = |sets| work(&rehearsal, &[whole(sets)]).unwrap().correction;
        assert!((gone(1) - (1.0 - (-1.0_f64).exp() - 0.1)).abs() < 1e-12); // [D]
        assert!(gone(4) < gone(3));
    }

    #[test]
    fn a_panel_left_alone_has_no_lowest_place_and_no_breach() {
        let after = work(&plain(), &[whole(0)]).unwrap();
        assert_eq!(after.panels[0].lowest, None);
        assert!(!after.breached(1000.0));
        assert!(after.hours.abs() < 1e-12 && after.film_um.abs() < 1e-12);
    }

    #[test]
    fn hours_count_every_set_of_every_section() {
        let after = work(&plain(), &[whole(2)]).unwrap();
        assert!((after.hours - 2.0 * 18.0 * 0.25 / 60.0).abs() < 1e-12); // [D] two sets, 18 minutes a m2, 0.25 m2
    }

    #[test]
    fn what_is_not_measured_is_not_counted_as_a_breach() {
        let mut rehearsal = plain();
        rehearsal.car.readings.clear();
        let after = work(&rehearsal, &[whole(8)]).unwrap();
        assert!(!after.breached(16.0));
        assert!(after.panels[0].lowest.unwrap().topcoat_um < 16.0);
    }

    #[test]
    fn a_section_on_a_shared_border_takes_the_places_above_and_to_the_right() {
        let half = |x_mm: f64, sets: u32| SectionOrders {
            x_mm,
            y_mm: 0.0,
            width_mm: 250.0,
            height_mm: 500.0,
            steps: vec![Step { process: 0, sets }],
        };
        let mut rehearsal = plain();
        rehearsal.truth.edges = TrueEdges::Law { gain: 0.0, reach_mm: 25.0 };
        let orders = PanelOrders { keep_off: Vec::new(), keep_off_lines: Vec::new(), sections: vec![half(0.0, 1), half(250.0, 2)] };
        let after = work(&rehearsal, &[orders]).unwrap();
        assert!((after.film_um - (10.0 * 2.0 + 11.0 * 4.0) / 21.0).abs() < 1e-12); // [D] ten columns of nodes left of 250 mm, eleven from it on
    }

    #[test]
    fn orders_that_cannot_be_worked_are_refused_with_the_place_or_the_number() {
        let refused = |orders: &[PanelOrders]| work(&plain(), orders).unwrap_err();
        assert_eq!(refused(&[]), Unlawful::Panels { ordered: 0, present: 1 });
        let mut small = whole(1);
        small.sections[0].width_mm = 200.0;
        assert!(matches!(refused(&[small]), Unlawful::Side { side_mm, .. } if (side_mm - 200.0).abs() < 1e-9));
        let mut gap = whole(1);
        gap.sections[0].width_mm = 400.0;
        assert!(matches!(refused(&[gap]), Unlawful::Tiling { sections: 0, .. }));
        let mut twice = whole(1);
        twice.sections.push(twice.sections[0].clone());
        assert!(matches!(refused(&[twice]), Unlawful::Tiling { sections: 2, .. }));
        let mut unknown = whole(1);
        unknown.sections[0].steps[0].process = 1;
        assert!(matches!(refused(&[unknown]), Unlawful::Step { process: 1, .. }));
        let mut fifth = whole(1);
        fifth.keep_off = vec![KeepOff { edge: 4, mm: 10.0 }];
        assert!(matches!(refused(&[fifth]), Unlawful::KeepOff { edge: 4, .. }));
        let mut lined = whole(1);
        lined.keep_off_lines = vec![KeepOffLine { line: 0, mm: 10.0 }];
        assert!(matches!(refused(&[lined]), Unlawful::KeepOffLine { line: 0, .. }));
        let mut alone = plain();
        alone.car.panels[0].work = false;
        assert!(matches!(work(&alone, &[whole(1)]).unwrap_err(), Unlawful::LeftAlone { .. }));
    }

    #[test]
    fn section_scatter_differs_between_sections_and_repeats_with_the_seed() {
        let mut rehearsal = plain();
        rehearsal.truth.section_scatter = 0.1;
        let once = work(&rehearsal, &[whole(1)]).unwrap();
        assert_eq!(once, work(&rehearsal, &[whole(1)]).unwrap());
        rehearsal.seed = 2;
        assert!((once.film_um - work(&rehearsal, &[whole(1)]).unwrap().film_um).abs() > 1e-6);
    }
}
