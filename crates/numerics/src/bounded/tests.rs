//! Known answers, and what proves any answer.

use proptest::prelude::*;

use super::*;

fn close(got: &[f64], want: &[f64], tolerance: f64) {
    assert_eq!(got.len(), want.len());
    assert!(got.iter().zip(want).all(|(a, b)| (a - b).abs() <= tolerance), "{got:?} {want:?}");
}

/// tridiag(.25, .5, .25) of five rows.
fn tridiagonal() -> Rows {
    let entry = |i: usize, j: usize| [0.5, 0.25, 0.0, 0.0, 0.0][i.abs_diff(j)];
    let rows: Vec<Vec<f64>> = (0..5).map(|i| (0..5).map(|j| entry(i, j)).collect()).collect();
    Rows::new(&rows).unwrap()
}

#[test]
fn a_target_that_can_be_reached_is_reached_exactly() {
    // standards 5 [C]
    let found = tridiagonal().nearest(&[1.0, 2.0, 3.0, 2.0, 1.0], None).unwrap();
    close(&found.x, &[2.0, 0.0, 6.0, 0.0, 2.0], 1e-12);
    assert!(found.residual < 1e-12, "{}", found.residual);
}

/// tridiag(.25, .5, .25) times a vector of five; it is its own transpose.
fn smeared(t: &[f64]) -> Vec<f64> {
    let at = |i: usize| t.get(i).copied().unwrap_or(0.0);
    (0..5).map(|i| 0.5 * t[i] + 0.25 * (at(i + 1) + i.checked_sub(1).map_or(0.0, at))).collect()
}

#[test]
fn the_least_squares_are_there_at_once_where_the_usual_iteration_creeps() {
    // standards 5 [C]: Richardson-Lucy from ones, t <- t B'(r / B t) / B'1; its rms after 1, 10, 100, 1000 rounds
    let (wanted, ones) = ([1.0, 2.0, 3.0, 2.0, 1.0], smeared(&[1.0; 5]));
    let rms = |t: &[f64]| (smeared(t).iter().zip(wanted).map(|(b, r)| (b - r).powi(2)).sum::<f64>() / 5.0).sqrt();
    let (mut t, mut after) = (vec![1.0; 5], Vec::new());
    for round in 1..=1000 {
        let ratio: Vec<f64> = wanted.iter().zip(smeared(&t)).map(|(r, b)| r / b).collect();
        t = t.iter().zip(smeared(&ratio)).zip(&ones).map(|((t, up), one)| t * up / one).collect();
        if round == 1 {
            close(&t[..3], &[1.555_556, 2.083_333, 2.5], 1e-6);
        }
        if [1, 10, 100, 1000].contains(&round) {
            after.push(rms(&t));
        }
        assert!((smeared(&t).iter().sum::<f64>() - 9.0).abs() < 1e-9, "what is taken in all stays what is wanted");
    }
    close(&after, &[0.370_472, 0.124_664, 0.084_237, 0.015_466], 1e-6);
    assert!(rms(&tridiagonal().nearest(&wanted, None).unwrap().x) < 1e-12);
}

#[test]
fn the_least_time_for_a_wanted_depth_under_a_cap_is_one_of_its_targets() {
    // standards 5 [C]: least sum of t with B t >= (0, 1, 1, 1, 0) and B t <= 1.2 is 4. [D] It is no less: y = (0, 2, 0, 2, 0) has B'y <= 1 everywhere, so that
    // sum of t >= y'B t >= y'(0, 1, 1, 1, 0) = 4.
    let (least, cap) = ([0.0, 1.0, 1.0, 1.0, 0.0], [1.2; 5]);
    let price = [0.0, 2.0, 0.0, 2.0, 0.0];
    assert!(smeared(&price).iter().all(|y| *y <= 1.0));
    assert!((price.iter().zip(least).map(|(y, l)| y * l).sum::<f64>() - 4.0).abs() < 1e-15);
    let t = [0.0, 1.6, 0.8, 1.6, 0.0];
    let found = tridiagonal().nearest(&smeared(&t), Some(&cap)).unwrap();
    close(&found.x, &t, 1e-9);
    assert!((found.x.iter().sum::<f64>() - 4.0).abs() < 1e-9);
    assert!(found.reached.iter().zip(least).all(|(b, l)| *b >= l - 1e-9 && *b <= 1.2 + 1e-9), "{:?}", found.reached);
}

#[test]
fn a_target_that_cannot_be_reached_is_not_lifted_by_a_piston() {
    // standards 5 [C]: the linear solution is (10, -16, 22, -16, 10)
    let found = tridiagonal().nearest(&[1.0, 0.0, 3.0, 0.0, 1.0], None).unwrap();
    close(&found.x, &[0.857_142_857, 0.0, 3.714_285_714, 0.0, 0.857_142_857], 1e-9);
    close(&found.reached, &[0.42857, 1.14286, 1.85714, 1.14286, 0.42857], 1e-5);
    assert!((found.residual - 2.138_089_935_3).abs() < 1e-9, "{}", found.residual);
    assert!(found.gap < 1e-12, "{}", found.gap);
}

#[test]
fn a_cap_that_binds_has_a_price() {
    // [D] one place: the best of |x - 3|^2 / 2 under x <= 2 is 2, and a cap of 2 + e gains e (3 - 2)
    let found = Rows::new(&[vec![0.5]]).unwrap().nearest(&[3.0], Some(&[2.0])).unwrap();
    close(&found.x, &[4.0], 1e-12);
    close(&found.price, &[1.0], 1e-9);
    assert!(found.reached[0] <= 2.0);
}

#[test]
fn a_place_that_may_not_be_touched_shuts_every_position_that_touches_it() {
    // [D]
    let found = tridiagonal().nearest(&[1.0; 5], Some(&[f64::INFINITY, f64::INFINITY, f64::INFINITY, f64::INFINITY, 0.0])).unwrap();
    assert!(found.x[3] == 0.0 && found.x[4] == 0.0 && found.reached[4] == 0.0, "{found:?}");
    let none = tridiagonal().nearest(&[1.0; 5], Some(&[0.0; 5])).unwrap();
    close(&none.x, &[0.0; 5], 0.0);
    assert!((none.residual - 5f64.sqrt()).abs() < 1e-15);
}

#[test]
fn nothing_wanted_takes_nothing() {
    let found = tridiagonal().nearest(&[0.0; 5], None).unwrap();
    close(&found.x, &[0.0; 5], 1e-12);
    let found = Rows::new(&[vec![0.0, 0.0]]).unwrap().nearest(&[1.0], None).unwrap();
    close(&found.x, &[0.0, 0.0], 0.0);
}

#[test]
fn what_makes_no_sense_is_refused() {
    assert_eq!(Rows::new(&[]).unwrap_err(), BoundedError::Empty { rows: 0, columns: 0 });
    assert_eq!(Rows::new(&[vec![]]).unwrap_err(), BoundedError::Empty { rows: 1, columns: 0 });
    assert_eq!(Rows::new(&[vec![1.0], vec![1.0, 2.0]]).unwrap_err(), BoundedError::Ragged { row: 1, found: 2, expected: 1 });
    assert_eq!(Rows::new(&[vec![0.0, -1.0]]).unwrap_err(), BoundedError::Influence { row: 0, column: 1, value: -1.0 });
    assert!(Rows::new(&[vec![f64::NAN]]).is_err());
    let one = Rows::new(&[vec![1.0]]).unwrap();
    assert_eq!(one.nearest(&[1.0, 2.0], None).unwrap_err(), BoundedError::Count { what: "targets", found: 2, expected: 1 });
    assert_eq!(one.nearest(&[1.0], Some(&[])).unwrap_err(), BoundedError::Count { what: "caps", found: 0, expected: 1 });
    assert_eq!(one.nearest(&[1.0], Some(&[-1.0])).unwrap_err(), BoundedError::Cap { row: 0, value: -1.0 });
    assert!(one.nearest(&[1.0], Some(&[f64::NAN])).is_err());
    assert!(one.nearest(&[f64::INFINITY], None).is_err());
    let touch = Touch { right: 0, up: 0, influence: 1.0 };
    assert!(Lattice::new([0, 1], [1, 1], [1, 1], &[touch]).is_err());
    assert!(Lattice::new([1, 1], [0, 1], [1, 1], &[touch]).is_err());
    assert!(Lattice::new([1, 1], [1, 1], [1, 1], &[]).is_err());
    assert!(Lattice::new([1, 1], [1, 1], [1, 1], &[Touch { influence: -1.0, ..touch }]).is_err());
    let far = Touch { right: 9, up: 990, influence: 1.0 };
    let too_large = BoundedError::TooLarge { positions: 1_000_000, cells: 1_000_000 };
    assert_eq!(Lattice::new([1000, 1000], [1, 1], [1000, 1000], &[touch, far]).unwrap_err(), too_large);
    let mut wide = vec![0.0; 10_001];
    (wide[0], wide[10_000]) = (1.0, 1.0);
    assert_eq!(Rows::new(&[wide]).unwrap_err(), BoundedError::TooLarge { positions: 10_001, cells: 1 });
    assert!(Lattice::new([usize::MAX, 2], [1, 1], [1, 1], &[touch]).is_err());
}

/// What must hold at the best x and nowhere else (Karush, Kuhn and Tucker), relative to the target's size.
fn proves(rows: &[Vec<f64>], target: &[f64], cap: Option<&[f64]>, found: &Bounded) -> Result<(), TestCaseError> {
    let largest = rows.iter().flatten().copied().fold(0.0, f64::max);
    let size = target.iter().map(|t| t.abs()).fold(0.0, f64::max);
    let reached: Vec<f64> = rows.iter().map(|row| row.iter().zip(&found.x).map(|(a, x)| a * x).sum()).collect();
    prop_assert!(found.x.iter().all(|x| *x >= 0.0 && x.is_finite()), "{:?}", found.x);
    prop_assert!(found.price.iter().all(|price| *price >= 0.0));
    let mut sides = 0.0;
    for (i, reached) in reached.iter().enumerate() {
        if let Some(cap) = cap {
            prop_assert!(*reached <= cap[i] * (1.0 + 1e-14), "{} above {}", reached, cap[i]);
            sides += if found.price[i] > 0.0 { found.price[i] * (cap[i] - reached) } else { 0.0 };
        } else {
            prop_assert!(found.price[i] == 0.0);
        }
    }
    prop_assert!(sides <= 1e-7 * size * size, "caps not complementary: {:e}", sides);
    for j in 0..found.x.len() {
        let shut = cap.is_some_and(|cap| rows.iter().zip(cap).any(|(row, cap)| row[j] > 0.0 && *cap <= 0.0));
        let slope: f64 = (0..rows.len()).map(|i| rows[i][j] * (reached[i] - target[i] + found.price[i])).sum();
        prop_assert!(shut || slope >= -1e-6 * size * largest, "column {} would gain: {:e}", j, slope);
        prop_assert!(shut || slope * found.x[j] <= 1e-7 * size * size, "column {} not complementary: {:e}", j, slope * found.x[j]);
    }
    Ok(())
}

#[test]
fn where_a_factor_is_worth_nothing_the_answer_is_one_that_its_prices_prove() {
    // One cap and columns that can stand for each other: steps to 1e121, lowered to the cap, reached as much at a price of nothing.
    let row = vec![0.232_329_115_974_998_56, 1.415_958_018_468_762_6, 0.408_429_142_260_825, 0.0, 1.399_650_746_148_204_6];
    let (rows, target, cap) = ([row], [2.592_734_122_822_533_5], [0.05]);
    let found = Rows::new(&rows).unwrap().nearest(&target, Some(&cap)).unwrap();
    proves(&rows, &target, Some(&cap), &found).unwrap();
    // [D] The price of the cap is what the target lacks there.
    assert!((found.price[0] - (target[0] - cap[0])).abs() < 1e-6, "{:?}", found.price);
}

fn problem() -> impl Strategy<Value = (Vec<Vec<f64>>, Vec<f64>, Vec<f64>)> {
    (1..9usize, 1..9usize).prop_flat_map(|(rows, columns)| {
        let value = prop_oneof![2 => Just(0.0), 3 => 0.01..2.0_f64];
        let cap = prop_oneof![1 => Just(0.0), 6 => 0.05..3.0_f64, 1 => Just(f64::INFINITY)];
        (
            prop::collection::vec(prop::collection::vec(value, columns), rows),
            prop::collection::vec(-0.5..3.0_f64, rows),
            prop::collection::vec(cap, rows),
        )
    })
}

/// A lattice as rows.
fn written_out(positions: [usize; 2], pitch: [usize; 2], cells: [usize; 2], stencil: &[Touch]) -> Vec<Vec<f64>> {
    let mut rows = vec![vec![0.0; positions[0] * positions[1]]; cells[0] * cells[1]];
    for j in 0..positions[1] {
        for i in 0..positions[0] {
            for touch in stencil {
                let (x, y) = ((i * pitch[0]) as isize + touch.right, (j * pitch[1]) as isize + touch.up);
                if (0..cells[0] as isize).contains(&x) && (0..cells[1] as isize).contains(&y) {
                    rows[y as usize * cells[0] + x as usize][j * positions[0] + i] = touch.influence;
                }
            }
        }
    }
    rows
}

fn lattice() -> impl Strategy<Value = ([usize; 2], [usize; 2], [usize; 2], Vec<Touch>, u32)> {
    let pair = |range: std::ops::Range<usize>| (range.clone(), range).prop_map(|(x, y)| [x, y]);
    let stencil = (1..4isize, 1..4isize, -3..2isize, -3..2isize).prop_map(|(w, h, right, up)| {
        let touch = |at: isize| Touch { right: right + at % w, up: up + at / w, influence: 0.2 + ((at * 5 + 3) % 7) as f64 / 7.0 };
        (0..w * h).map(touch).collect::<Vec<Touch>>()
    });
    (pair(1..7), pair(1..4), pair(1..15), stencil, any::<u32>())
}

proptest! {
    #[test]
    fn every_answer_is_proved_by_its_prices((rows, target, cap) in problem()) {
        let influence = Rows::new(&rows).unwrap();
        proves(&rows, &target, Some(&cap), &influence.nearest(&target, Some(&cap)).unwrap())?;
        proves(&rows, &target, None, &influence.nearest(&target, None).unwrap())?;
    }

    #[test]
    fn the_unit_of_length_and_of_time_does_not_matter((rows, target, cap) in problem(), size in -9..9i32, speed in -9..9i32) {
        let (size, speed) = (10f64.powi(size), 10f64.powi(speed));
        let times = |values: &[f64], by: f64| values.iter().map(|value| value * by).collect::<Vec<f64>>();
        let plain = Rows::new(&rows).unwrap().nearest(&target, Some(&cap)).unwrap();
        let scaled: Vec<Vec<f64>> = rows.iter().map(|row| times(row, speed)).collect();
        let other = Rows::new(&scaled).unwrap().nearest(&times(&target, size), Some(&times(&cap, size))).unwrap();
        prop_assert!((other.residual / size - plain.residual).abs() < 1e-6, "{} {}", other.residual / size, plain.residual);
    }

    #[test]
    fn a_lattice_agrees_with_its_rows((positions, pitch, cells, stencil, seed) in lattice(), capped in any::<bool>()) {
        let rows = written_out(positions, pitch, cells, &stencil);
        let pseudo = |i: usize, of: u32| f64::from((i as u32).wrapping_mul(2_654_435_761).wrapping_add(seed).wrapping_mul(of) >> 16) / 65_536.0;
        let target: Vec<f64> = (0..rows.len()).map(|i| pseudo(i, 3) * 2.0).collect();
        let cap: Option<Vec<f64>> = capped.then(|| (0..rows.len()).map(|i| 0.2 + pseudo(i, 77)).collect());
        let lattice = Lattice::new(positions, pitch, cells, &stencil).unwrap();
        let found = lattice.nearest(&target, cap.as_deref()).unwrap();
        let by_rows = Rows::new(&rows).unwrap().nearest(&target, cap.as_deref()).unwrap();
        proves(&rows, &target, cap.as_deref(), &found)?;
        prop_assert!((found.residual - by_rows.residual).abs() < 1e-7, "{} {}", found.residual, by_rows.residual);
    }
}
