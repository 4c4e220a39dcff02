//! A section's map in digits.

use lastmicron_polish::pass::SectionMap;
use lastmicron_units::Unit;

/// Columns and rows of the map. A character is about twice as high as wide, so that the section is square.
const COLUMNS: usize = 46;
const ROWS: usize = 23;

/// Steps that a digit may count, times a power of ten.
const STEPS: [f64; 7] = [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.5];

/// The section as rows of digits, top first, and what a digit counts.
pub(super) fn text(section: &SectionMap, unit: Unit) -> String {
    let one = unit.micrometres();
    let step = step(section.map.max_um / one);
    let cell = |column: usize, row: usize| {
        let (x, y) = ((column as f64 + 0.5) / COLUMNS as f64, 1.0 - (row as f64 + 0.5) / ROWS as f64);
        digit(depth_um(section, x * section.side_mm, y * section.side_mm) / one / step)
    };
    let mut text = String::new();
    for row in 0..ROWS {
        text += "    ";
        text.extend((0..COLUMNS).map(|column| cell(column, row)));
        text.push('\n');
    }
    let decimals = (0..6).find(|&d| is_whole(step * 10f64.powi(d))).unwrap_or(6);
    let decimals = usize::try_from(decimals).unwrap_or(6);
    let [low, high] = [5.0, 6.0].map(|digits| format!("{:.decimals$}", digits * step));
    let [of_step, side] = [format!("{step:.decimals$}"), format!("{}", section.side_mm)];
    text + &format!("    a digit counts {of_step} {unit} (5: {low} to {high}), a dot less; {side} mm square\n")
}

/// The least step with which the deepest is below ten digits.
fn step(deepest: f64) -> f64 {
    if !(deepest > 0.0 && deepest.is_finite()) {
        return 1.0;
    }
    let power = 10f64.powf((deepest / 10.0).log10().floor());
    let fits = |step: &f64| deepest / step < 10.0;
    STEPS.into_iter().map(|of| of * power).find(fits).unwrap_or(10.0 * power)
}

fn is_whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6 && value > 0.5
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a number from 0 to 9 is a digit")]
fn digit(steps: f64) -> char {
    match char::from_digit(steps.clamp(0.0, 9.0).floor() as u32, 10) {
        Some('0') | None => '.',
        Some(digit) => digit,
    }
}

/// Depth at a place, linear between nodes.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place within the section is a node's index")]
fn depth_um(section: &SectionMap, x_mm: f64, y_mm: f64) -> f64 {
    let last = section.nodes.saturating_sub(2);
    let [column, row] = [x_mm, y_mm].map(|mm| ((mm / section.step_mm).max(0.0) as usize).min(last));
    let [right, up] = [(x_mm, column), (y_mm, row)].map(|(mm, node)| (mm / section.step_mm - node as f64).clamp(0.0, 1.0));
    let at = |column: usize, row: usize| section.map.depth_um.get(row * section.nodes + column).copied().unwrap_or(f64::NAN);
    let along = |row: usize| at(column, row) * (1.0 - right) + at(column + 1, row) * right;
    along(row) * (1.0 - up) + along(row + 1) * up
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_the_least_round_one_that_keeps_to_digits() {
        for (deepest, expected) in [(1.3, 0.15), (0.95, 0.1), (1.0, 0.15), (9.9, 1.0), (0.04, 0.005), (80.0, 10.0)] {
            let step = step(deepest);
            assert!((step - expected).abs() < 1e-12 && deepest / step < 10.0, "{deepest}: {step}");
        }
        assert!((step(f64::NAN) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn digits_count_steps_and_a_dot_is_less_than_one() {
        assert_eq!([0.0, 0.99, 1.0, 5.5, 9.9, 12.0, f64::NAN].map(digit), ['.', '.', '1', '5', '9', '9', '.']);
    }
}
