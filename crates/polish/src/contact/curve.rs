//! A pad over a convex line, or on a crown. Places in units of the pad's radius R; what the panel falls away by at R is the unit of squeeze.
//!
//! The squeeze is then A - x^2, with A the square of the contact's half-width while that is within the pad.

use std::f64::consts::PI;

use super::face::Face;

/// Half-width up to which a line's contact is taken for a strip as long as the pad is wide, which is Johnson's closed form. The chords of a round
/// pad shorten off the middle, so that the closed form carries a tenth of the half-width's square too much load: at a third 1.1 %, and its peak
/// is then 0.7 % low. Judgement: far less than a pad's stiffness is known to; beyond, the chords themselves are integrated.
const NARROW: f64 = 1.0 / 3.0;

/// Bisections for a half-width. Judgement: 60 halve the pad's radius down to the last bit.
const HALVINGS: usize = 60;

/// A on a line: `load` is that of full-thickness foam squeezed by one unit over so large an area, in R^2.
pub(super) fn ridge_square(face: &Face, load: f64) -> f64 {
    // 8 a^3 / 3: P' = 2 k a^3 / (3 radius) over a length 2 R
    let narrow = (3.0 * load / 8.0).cbrt();
    if face.is_upright() && narrow <= NARROW {
        return narrow * narrow;
    }
    let carried = |square: f64| {
        let end = square.sqrt().min(1.0);
        face.across(-end, end, &|x| square - x * x)
    };
    solved(load, carried, face.across(-1.0, 1.0, &|_| 1.0))
}

/// A on a crown.
pub(super) fn dome_square(face: &Face, load: f64) -> f64 {
    // F = k pi a^4 / (4 radius)
    let square = (2.0 * load / PI).sqrt();
    if face.is_upright() && square <= 1.0 {
        return square;
    }
    let carried = |square: f64| face.within(square.sqrt().min(1.0), &|r| square - r * r);
    solved(load, carried, face.within(1.0, &|_| 1.0))
}

/// The A that carries a load. Once all of the face (so stiff on the whole) touches, more squeeze carries more load in proportion.
fn solved(load: f64, carried: impl Fn(f64) -> f64, whole: f64) -> f64 {
    let touching = carried(1.0);
    if load >= touching {
        return 1.0 + (load - touching) / whole;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        // Half-widths are halved, not their squares: a narrow contact keeps its digits.
        let middle: f64 = 0.5 * (low + high);
        *(if carried(middle * middle) < load { &mut low } else { &mut high }) = middle;
    }
    high * high
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::equipment::PadEdge;

    #[test]
    fn the_chords_of_a_round_pad_add_a_tenth_of_the_half_widths_square_to_the_load() {
        // [D] the integral of 2 sqrt(1 - x^2) (a^2 - x^2) is 8 a^3 / 3 (1 - a^2 / 10 - ...)
        let face = Face::new(PadEdge::Upright);
        let a = 0.1f64;
        let load = face.across(-a, a, &|x| a * a - x * x);
        assert!((load / (8.0 * a.powi(3) / 3.0) - (1.0 - a * a / 10.0)).abs() < 1e-5);
        // [D] out to the rim 3 pi / 4
        assert!((face.across(-1.0, 1.0, &|x| 1.0 - x * x) - 3.0 * PI / 4.0).abs() < 1e-14);
    }

    #[test]
    fn a_wide_contact_carries_its_load_to_the_last_digits() {
        let face = Face::new(PadEdge::Upright);
        for a in [0.4f64, 0.7, 0.999] {
            let square = ridge_square(&face, face.across(-a, a, &|x| a * a - x * x));
            assert!((square.sqrt() - a).abs() < 1e-12, "{a} {square}");
        }
        // [D] 1.2 - x^2 over all of the disc: 1.2 pi - pi / 4, and 1.2 pi - pi / 2 where it falls all round
        assert!((ridge_square(&face, 0.95 * PI) - 1.2).abs() < 1e-12);
        assert!((dome_square(&face, 0.7 * PI) - 1.2).abs() < 1e-12);
        assert!((dome_square(&face, 0.5 * PI) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_tapered_pad_carries_more_by_its_stiff_rim() {
        // A, load on a line, load on a crown: [C] numpy, direct summation of 4001 x 4001 places
        let face = Face::new(PadEdge::Tapered);
        for (square, line, crown) in [(0.05, 0.032_561_5, 0.003_926_99), (0.3, 0.468_598_9, 0.141_371_7), (1.5, 4.526_399, 3.497_135)] {
            assert!((ridge_square(&face, line) / square - 1.0).abs() < 1e-4, "{square} {}", ridge_square(&face, line));
            assert!((dome_square(&face, crown) / square - 1.0).abs() < 1e-4, "{square} {}", dome_square(&face, crown));
        }
    }

    #[test]
    fn the_closed_form_meets_the_chords_within_what_is_said() {
        let face = Face::new(PadEdge::Upright);
        let load = 8.0 * NARROW.powi(3) / 3.0;
        let (below, above) = (ridge_square(&face, load * 0.999_999), ridge_square(&face, load * 1.000_001));
        assert!(above / below > 1.0 && above / below < 1.008, "{below} {above}");
    }
}
