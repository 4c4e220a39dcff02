//! The test spot: each process on its own taped patch, measured and counted before and after.

use lastmicron_film::gauge::Layer;
use lastmicron_look::{Count, Kind, Seen};
use lastmicron_plan::{Car, KeptOff, Worked};
use lastmicron_polish::Step;
use rand_distr::{Binomial, Distribution};
use rand_pcg::Pcg64;

use crate::Range;
use crate::chance::whole_between;
use crate::survey::{Place, push, read, total_um};
use crate::taken::{Done, On};
use crate::truth::{Truth, rate_factor};

/// Side of a patch, mm, where the panel is large enough.
const PATCH_MM: f64 = 200.0;

/// Least side of a panel for a test spot, mm: room for a patch and a hand's width about it.
const LEAST_SIDE_MM: f64 = 400.0;

/// Marked points of a patch, measured before and after.
const POINTS: usize = 8;

/// How far from the patch's border the points stay, mm: no reading on tape.
const MARGIN_MM: f64 = 30.0;

/// How far a panel's mean reading may be from the vehicle's before a person takes it for a respray, um. Judgement: about four sds of original panels.
const ORIGINAL_WITHIN_UM: f64 = 25.0;

/// Tries every process on the thickest panel that looks original: two sets of each, one of the strongest.
pub(crate) fn try_processes(truth: &mut Truth, car: &mut Car, dice: &mut Pcg64) {
    let Some(panel) = thickest_original(car) else { return };
    let [width_mm, height_mm] = car.panels[panel].panel.size_mm();
    let processes = car.processes.len();
    let side_mm = f64::min(PATCH_MM, width_mm / processes as f64).min(height_mm);
    for process in 0..processes {
        let centre_mm = [width_mm * (process as f64 + 0.5) / processes as f64, height_mm / 2.0];
        let sets = if process + 1 == processes && processes > 1 { 1 } else { 2 };
        let patch = Worked {
            panel,
            x_mm: (centre_mm[0] - side_mm / 2.0).round(),
            y_mm: (centre_mm[1] - side_mm / 2.0).round(),
            width_mm: side_mm.round(),
            height_mm: side_mm.round(),
            after: vec![Step { process, sets }],
            kept_off: KeptOff::default(),
        };
        try_one(truth, car, &patch, Step { process, sets }, dice);
        car.worked.push(patch);
    }
}

fn thickest_original(car: &Car) -> Option<usize> {
    let means: Vec<(usize, f64)> = (0..car.panels.len())
        .filter(|k| car.panels[*k].work && car.panels[*k].panel.size_mm().into_iter().all(|side_mm| side_mm >= LEAST_SIDE_MM))
        .filter_map(|k| {
            let values: Vec<f64> =
                car.readings.iter().filter(|r| r.panel == k && r.layer == Layer::Total).map(|r| r.value.micrometres()).collect();
            (!values.is_empty()).then(|| (k, values.iter().sum::<f64>() / values.len() as f64))
        })
        .collect();
    let mut sorted: Vec<f64> = means.iter().map(|(_, m)| *m).collect();
    sorted.sort_by(f64::total_cmp);
    let usual_um = *sorted.get(sorted.len() / 2)?;
    let looks_original = |m: f64| (m - usual_um).abs() <= ORIGINAL_WITHIN_UM;
    means.into_iter().filter(|(_, m)| looks_original(*m)).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(k, _)| k)
}

fn try_one(truth: &mut Truth, car: &mut Car, patch: &Worked, step: Step, dice: &mut Pcg64) {
    let reach_mm = patch.width_mm / 2.0 - MARGIN_MM;
    let centre_mm = [patch.x_mm + patch.width_mm / 2.0, patch.y_mm + patch.height_mm / 2.0];
    let aside = Range::between(-reach_mm, reach_mm);
    let points: Vec<Place> = (0..POINTS)
        .map(|_| {
            let [x_mm, y_mm] = centre_mm.map(|c| (c + aside.draw(dice)).round());
            Place { panel: patch.panel, x_mm, y_mm, layer: Layer::Total }
        })
        .collect();
    measure(truth, car, &points, &[], dice);
    let one_set_um = truth.rates_um[step.process] * truth.panels[patch.panel].rate_factor * rate_factor(dice, truth.section_scatter);
    take_off(truth, car, patch, &Done::evenly(step.process, one_set_um * f64::from(step.sets)));
    measure(truth, car, &points, &[step], dice);
    count(truth, car, patch.panel, step, one_set_um, dice);
}

fn measure(truth: &Truth, car: &mut Car, points: &[Place], after: &[Step], dice: &mut Pcg64) {
    for point in points {
        let film_um = total_um(&truth.panels[point.panel], point.x_mm, point.y_mm);
        let value_um = read(&truth.gauge, film_um, dice);
        push(car, *point, value_um, after.to_vec());
    }
}

fn take_off(truth: &mut Truth, car: &Car, patch: &Worked, done: &Done) {
    let on = On::patch(&car.panels[patch.panel], patch);
    for node in 0..truth.panels[patch.panel].topcoat_um.len() {
        let at_mm @ [x, y] = truth.panels[patch.panel].place_mm(node);
        if (patch.x_mm..=patch.x_mm + patch.width_mm).contains(&x) && (patch.y_mm..=patch.y_mm + patch.height_mm).contains(&y) {
            truth.panels[patch.panel].topcoat_um[node] -= done.taken_um(truth, on, at_mm);
        }
    }
}

/// Counts the same defects before and after each set: survivors of survivors, and the marks that a set leaves beside them.
fn count(truth: &Truth, car: &mut Car, panel: usize, step: Step, one_set_um: f64, dice: &mut Pcg64) {
    let before = whole_between(dice, [40, 90]) as u64;
    let spot = format!("spot {}", step.process + 1);
    let mut seen = |after: Vec<(usize, u32)>, n: u64| {
        let seen = Seen::Count(u32::try_from(n).unwrap_or(u32::MAX));
        car.counts.push(Count { spot: spot.clone(), panel, after, seen, share_between: None, kind: Kind::Fine, wiped: true });
    };
    seen(Vec::new(), before);
    let mut left = before;
    for sets in 1..=step.sets {
        let share = |s: u32| truth.defects.share_left(f64::from(s) * one_set_um);
        left = survivors(left, share(sets) / share(sets - 1), dice);
        let marks = survivors(before * u64::from(sets), truth.marks[step.process], dice);
        seen(vec![(step.process, sets)], left + marks);
    }
}

fn survivors(of: u64, chance: f64, dice: &mut Pcg64) -> u64 {
    Binomial::new(of, chance.clamp(0.0, 1.0)).map_or(0, |law| law.sample(dice))
}
