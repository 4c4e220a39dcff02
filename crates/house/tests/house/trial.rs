//! The trial, small: is the stated risk honest, and is the film put to use?

use lastmicron_house::trial::{More, Tried, try_car};
use lastmicron_plan::Effort;
use lastmicron_rehearsal::{Scenario, Score, families, tally};

/// Judgement: enough that a reckless planner shows (the bench rule breaches on half of them), few enough for every check.
const USUAL: usize = 12;
const HARSH: usize = 8;
const WORKED: usize = 6;

fn tried(families: &[Scenario], cars: usize) -> Vec<Score> {
    let car = |car| try_car(families, 5, car, More::Nothing, Effort { draws: 500, seed: 1 });
    (0..cars).map(|c| car(c).map(|Tried { score, .. }| score)).collect::<Result<_, _>>().unwrap()
}

fn assert_honest(scores: &[Score]) {
    let tally = tally(scores).unwrap();
    let over = |expected: f64| expected + 3.0 * expected.max(1.0).sqrt();
    assert!((tally.breaches as f64) <= over(tally.stated), "{tally:?}");
    assert!((tally.breaches as f64) <= over(tally.allowed), "{tally:?}");
    assert!(scores.iter().all(|s| s.stated <= s.limit + 1e-9), "a plan states more than its limit");
    assert!(tally.bench_breaches > tally.breaches, "{tally:?}");
}

#[test]
fn plans_breach_no_oftener_than_stated_and_put_the_film_to_use() {
    let scores = tried(&families::usual(), USUAL);
    assert_honest(&scores);
    let tally = tally(&scores).unwrap();
    // Judgement: well below what the trial in full reaches, so that only a planner that has become timid fails on twelve cars.
    assert!(tally.correction > 0.45 * tally.oracle_correction, "{tally:?}");
}

#[test]
fn plans_stay_honest_where_pads_take_what_the_physics_says() {
    let scores = tried(&families::worked_by_physics(), WORKED);
    assert_honest(&scores);
    let tally = tally(&scores).unwrap();
    assert!(tally.correction > 0.45 * tally.oracle_correction, "{tally:?}");
}

#[test]
fn plans_stay_honest_where_cars_are_not_as_hoped() {
    assert_honest(&tried(&families::harsh(), HARSH));
}
