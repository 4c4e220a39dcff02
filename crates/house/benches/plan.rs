//! One plan of a vehicle with 14 panels and about 300 readings, 25 mm between nodes, 2,000 joint films to choose on and as many to judge by.

use divan::Bencher;
use lastmicron_plan::{Effort, next, plan};
use lastmicron_rehearsal::families::modern_clear;
use lastmicron_rehearsal::{Panels, Rehearsal, rehearse};
use lastmicron_units::Unit;

fn main() {
    divan::main();
}

/// A car of the trial's modern family, drawn with as many panels and readings as a whole vehicle has.
fn vehicle() -> Option<Rehearsal> {
    let mut scenario = modern_clear();
    scenario.panels = Panels::Any([14, 14]);
    scenario.readings = [17, 18];
    rehearse(&scenario, 1).ok()
}

#[divan::bench(sample_count = 10)]
fn a_plan(bencher: Bencher) {
    if let Some(rehearsal) = vehicle() {
        bencher.bench_local(|| plan(&rehearsal.car, Effort::default(), Unit::Micrometre));
    }
}

#[divan::bench(sample_count = 5)]
fn twenty_readings_advised(bencher: Bencher) {
    if let Some(rehearsal) = vehicle() {
        bencher.bench_local(|| next(&rehearsal.car, 20, Effort::default()));
    }
}
