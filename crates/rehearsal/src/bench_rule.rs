//! The bench rule: what a careful person does today with a gauge, a sum and nerve.

use lastmicron_film::gauge::Layer;
use lastmicron_look::Seen;
use lastmicron_plan::Car;
use lastmicron_polish::Step;

use crate::orders::{PanelOrders, SectionOrders};

/// Longest side of a section, mm: half of anything longer is still 250.
const SIDE_MM: f64 = 500.0;

/// Lowest reading less the usual undercoat less the floor is what may be taken off a panel; the same process everywhere.
///
/// The process is the mildest that reached the goal on the test spot (the one that got furthest, if none did), and its sets are as many as the
/// spot says are enough, or as the panel's allowance holds, whichever are fewer. What one set takes is the mean of before less after on the spot.
/// Resprays are taken at their reading, edges are worked with the rest, panels without readings are worked as the test spot was.
#[must_use]
pub fn bench_rule(car: &Car) -> Vec<PanelOrders> {
    let mut chosen: Vec<Trial> = (0..car.processes.len()).map(|p| trial_of(car, p)).collect();
    chosen.sort_by(|a, b| a.set_um.total_cmp(&b.set_um));
    let reached = chosen.iter().find(|t| t.reached);
    let Some(trial) = reached.or_else(|| chosen.iter().min_by_key(|t| t.sets)) else { return Vec::new() };
    let orders = |k| PanelOrders { keep_off: Vec::new(), keep_off_lines: Vec::new(), sections: sections(car, k, steps(car, k, trial)) };
    (0..car.panels.len()).map(orders).collect()
}

/// What the test spot says of one process.
#[derive(Clone, Copy, Debug)]
struct Trial {
    process: usize,
    /// Whether the goal was reached on the spot.
    reached: bool,
    /// Sets that are enough, from the counts.
    sets: u32,
    /// What one set took, um.
    set_um: f64,
}

fn trial_of(car: &Car, process: usize) -> Trial {
    let shares = shares_left(car, process);
    let enough = shares.iter().position(|left| 1.0 - left >= car.goal.correction);
    let sets = enough.map_or_else(|| carried_on(&shares, car.goal.correction), |i| i as u32 + 1);
    Trial { process, reached: enough.is_some(), sets, set_um: set_um(car, process) }
}

/// Share left after one set, two sets, ...
fn shares_left(car: &Car, process: usize) -> Vec<f64> {
    let number = |seen: Seen| match seen {
        Seen::Count(n) => f64::from(n),
        Seen::ShareLeft(share) => share,
    };
    let after = |sets: u32| car.counts.iter().find(|c| c.after == [(process, sets)]);
    let before = |spot: &str| car.counts.iter().find(|c| c.spot == spot && c.after.is_empty()).map_or(1.0, |c| number(c.seen));
    (1..).map_while(|sets| after(sets).map(|c| number(c.seen) / before(&c.spot).max(1.0))).collect()
}

/// Sets that reach the goal if every further set leaves the share that the last count says of one.
fn carried_on(shares: &[f64], goal: f64) -> u32 {
    let Some(left) = shares.last() else { return 1 };
    let of_one = left.powf(1.0 / shares.len() as f64).clamp(0.01, 0.95);
    ((1.0 - goal).max(0.01).ln() / of_one.ln()).ceil() as u32
}

/// Mean of before less after on the process's spot, a set; the stated belief where the spot shows nothing.
fn set_um(car: &Car, process: usize) -> f64 {
    let stated = car.processes[process].removal_um.mean;
    let Some(spot) = car.worked.iter().find(|w| matches!(w.after.as_slice(), [s] if s.process == process)) else { return stated };
    let on_spot =
        |x: f64, y: f64| (spot.x_mm..=spot.x_mm + spot.width_mm).contains(&x) && (spot.y_mm..=spot.y_mm + spot.height_mm).contains(&y);
    let points: Vec<_> = car.readings.iter().filter(|r| r.panel == spot.panel && r.after == spot.after).collect();
    let mut taken_um = Vec::new();
    for after in points.iter().filter(|r| on_spot(r.x_mm, r.y_mm)) {
        let same_place = |r: &&lastmicron_plan::Reading| {
            r.panel == after.panel
                && r.after.is_empty()
                && r.layer == after.layer
                && (r.x_mm - after.x_mm).abs() < 1.0
                && (r.y_mm - after.y_mm).abs() < 1.0
        };
        if let Some(before) = car.readings.iter().find(same_place) {
            taken_um.push((before.value - after.value).micrometres());
        }
    }
    let sets: u32 = spot.after.iter().map(|s| s.sets).sum();
    let mean = taken_um.iter().sum::<f64>() / (taken_um.len() as f64 * f64::from(sets));
    // A spot on which less than a tenth of the usual seems to have gone tells nothing but noise.
    if mean > 0.1 * stated { mean } else { stated }
}

fn steps(car: &Car, k: usize, trial: &Trial) -> Vec<Step> {
    if !car.panels[k].work {
        return Vec::new();
    }
    let lowest = car
        .readings
        .iter()
        .filter(|r| r.panel == k && r.layer == Layer::Total && r.after.is_empty())
        .map(|r| r.value.micrometres())
        .reduce(f64::min);
    let usual_um = car.paint.undercoat.map_or(0.0, |u| u.mean_um);
    let allowed = lowest.map_or(trial.sets, |low| {
        let allowance_um = low - usual_um - car.limits.floor.micrometres();
        (allowance_um / trial.set_um).floor().max(0.0) as u32
    });
    let sets = trial.sets.min(allowed);
    if sets == 0 { Vec::new() } else { vec![Step { process: trial.process, sets }] }
}

fn sections(car: &Car, k: usize, steps: Vec<Step>) -> Vec<SectionOrders> {
    let [width_mm, height_mm] = car.panels[k].panel.size_mm();
    let parts = |size_mm: f64| (size_mm / SIDE_MM).ceil().max(1.0) as usize;
    let (columns, rows) = (parts(width_mm), parts(height_mm));
    let (w, h) = (width_mm / columns as f64, height_mm / rows as f64);
    let section =
        |i: usize, j: usize| SectionOrders { x_mm: i as f64 * w, y_mm: j as f64 * h, width_mm: w, height_mm: h, steps: steps.clone() };
    (0..rows).flat_map(|j| (0..columns).map(move |i| (i, j))).map(|(i, j)| section(i, j)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{families, rehearse, work};
    use lastmicron_look::{Count, Kind};
    use lastmicron_plan::{Reading, Worked};
    use lastmicron_units::Thickness;

    /// A car of one panel whose readings are these, where one-step took 1.5 um a set on the spot and left 30 of 100, then 9.
    fn car(readings_um: &[f64]) -> Car {
        let mut car = rehearse(&families::thin_single_stage(), 1).unwrap().car;
        car.panels.truncate(1);
        let one_step = |sets| vec![Step { process: 1, sets }];
        let reading = |x_mm: f64, um: f64, after: Vec<Step>| Reading {
            panel: 0,
            x_mm,
            y_mm: 100.0,
            value: Thickness::from_micrometres(um).unwrap(),
            layer: Layer::Total,
            after,
            gauge: 0,
            session: String::new(),
            line: None,
        };
        car.readings = readings_um.iter().map(|um| reading(300.0, *um, Vec::new())).collect();
        car.readings.extend([reading(100.0, 70.0, Vec::new()), reading(100.0, 67.0, one_step(2))]);
        car.worked = vec![Worked {
            panel: 0,
            x_mm: 0.0,
            y_mm: 0.0,
            width_mm: 200.0,
            height_mm: 200.0,
            after: one_step(2),
            kept_off: lastmicron_plan::KeptOff::default(),
        }];
        let count = |after: Vec<(usize, u32)>, n| Count {
            spot: "spot".to_owned(),
            panel: 0,
            after,
            seen: Seen::Count(n),
            share_between: None,
            kind: Kind::Fine,
            wiped: true,
        };
        car.counts = vec![count(Vec::new(), 100), count(vec![(1, 1)], 30), count(vec![(1, 2)], 9)];
        car
    }

    fn sets(readings_um: &[f64]) -> u32 {
        let orders = bench_rule(&car(readings_um));
        orders[0].sections[0].steps.iter().map(|s| s.sets).sum()
    }

    #[test]
    fn sets_are_those_that_the_spot_needed_where_the_allowance_holds_them() {
        assert_eq!(sets(&[60.0, 55.0]), 2); // [D] 55 - 26 - 16 = 13 um; two sets left 9 of 100, and the goal is 88
        assert_eq!(sets(&[60.0, 44.0]), 1); // [D] 44 - 26 - 16 = 2 um holds one set of 1.5
        assert_eq!(sets(&[60.0, 42.5]), 0); // [D] half a micrometre
    }

    #[test]
    fn a_panel_without_readings_is_worked_as_the_spot_was() {
        let mut car = car(&[60.0]);
        let mut plastic = car.panels[0].clone();
        plastic.panel.name = "deflector".to_owned();
        car.panels.push(plastic);
        assert_eq!(bench_rule(&car)[1].sections[0].steps, [Step { process: 1, sets: 2 }]);
    }

    #[test]
    fn a_panel_to_be_left_alone_gets_no_steps() {
        let mut car = car(&[60.0]);
        car.panels[0].work = false;
        assert!(bench_rule(&car)[0].sections.iter().all(|s| s.steps.is_empty()));
    }

    #[test]
    fn the_bench_rule_gives_orders_that_can_be_worked_and_goes_through_often() {
        let mut breaches = 0;
        for family in families::usual() {
            for seed in 1..=20 {
                let rehearsal = rehearse(&family, seed).unwrap();
                let after = work(&rehearsal, &bench_rule(&rehearsal.car)).unwrap();
                breaches += usize::from(after.breached(rehearsal.car.limits.floor.micrometres()));
            }
        }
        assert!((10..50).contains(&breaches), "{breaches} of 60");
    }
}
