//! Photographs with a known truth, few and small: are measured shares right, and do their intervals hold?

use lastmicron_house::photographs::{Judged, Kind, What, drawn, table, tally};
use lastmicron_rehearsal::photograph::{Scene, scenes};

/// Judgement: each has some hundred scratches in its light, so that their luck is less than the errors allowed; small enough for every check.
const MEGAPIXELS: f64 = 2.0;

/// So many of each scene.
fn judged(kind: Kind, scenes: &[Scene], rounds: usize) -> Vec<Judged> {
    let in_turn = scenes.iter().cycle().take(rounds * scenes.len()).enumerate();
    in_turn.map(|(index, scene)| drawn(kind, scene, MEGAPIXELS, 7, index)).collect::<Result<_, _>>().unwrap()
}

/// What is asked of a measurement: mean errors at most these, of `gone` and of `visible`, and at least so large a share of intervals that hold.
struct Asked {
    gone: f64,
    visible: f64,
    held: f64,
}

fn assert_right(judged: &[Judged], asked: &Asked) {
    for (what, most) in [(What::Gone, asked.gone), (What::Visible, asked.visible)] {
        let tally = tally(judged, what).unwrap();
        assert!(tally.mean_error <= most, "{what:?}: {tally:?}\n{}", table(judged));
        // So few intervals can only say so if they miss by more than chance: two standard errors.
        let chance = 2.0 * (asked.held * (1.0 - asked.held) / tally.count as f64).sqrt();
        assert!(tally.held >= asked.held - chance, "{what:?}: {tally:?}\n{}", table(judged));
        // Judgement: an interval as wide as this would hold anything and say nothing.
        assert!(tally.width < 0.3, "{what:?}: {tally:?}\n{}", table(judged));
    }
}

#[test]
fn shares_of_one_photograph_are_right_and_their_intervals_hold() {
    assert_right(&judged(Kind::Split, &scenes::usual(), 3), &Asked { gone: 0.06, visible: 0.04, held: 0.88 });
}

#[test]
fn shares_of_two_photographs_are_right_and_their_intervals_hold() {
    assert_right(&judged(Kind::Pair, &scenes::usual(), 2), &Asked { gone: 0.05, visible: 0.03, held: 0.84 });
}

#[test]
fn where_less_is_seen_shares_are_nearly_as_good_and_their_intervals_hold() {
    // Judgement: errors of half as much again.
    assert_right(&judged(Kind::Split, &scenes::harsh(), 1), &Asked { gone: 0.09, visible: 0.06, held: 0.88 });
    assert_right(&judged(Kind::Pair, &scenes::harsh(), 1), &Asked { gone: 0.075, visible: 0.045, held: 0.84 });
}
