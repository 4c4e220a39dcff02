//! A pad that overhangs an edge. Places in units of its radius, from its middle, positive towards the edge; pressure in any unit.

use super::{ContactError, checked_overhang};
use crate::preston::above_0;

/// Integral of a function x stiffness over the face between two places.
type Across<'a> = dyn Fn(f64, f64, &dyn Fn(f64) -> f64) -> f64 + 'a;

/// Squeeze `depth + tilt x` from `from` to the edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Balance {
    pub(super) depth: f64,
    pub(super) tilt: f64,
    pub(super) from: f64,
}

/// The squeeze of a pad kept square: the same all over.
pub(super) fn square(reach: f64, load: f64, across: &Across<'_>) -> Balance {
    Balance { depth: load / across(-1.0, reach, &|_| 1.0), tilt: 0.0, from: -1.0 }
}

/// The squeeze that carries a load at the pad's middle and balances about it, without pulling anywhere.
///
/// Method: linear in x by force and moment over all that is on the panel; where that would pull at the far side, the pad lifts there, and the
/// place from which it touches is found by bisection: the middle of a pressure that rises from there to the edge moves towards the edge with it \[D\].
pub(super) fn tilted(reach: f64, load: f64, across: &Across<'_>) -> Balance {
    let moment = |power: i32| across(-1.0, reach, &|x| x.powi(power));
    let [area, first, second] = [moment(0), moment(1), moment(2)];
    let scale = load / (area * second - first * first);
    let (depth, tilt) = (scale * second, -scale * first);
    if depth - tilt >= 0.0 {
        return Balance { depth, tilt, from: -1.0 };
    }
    let from = bisected(-1.0, reach.min(0.0), |from| across(from, reach, &|x| (x - from) * x));
    let tilt = load / across(from, reach, &|x| x - from);
    Balance { depth: -tilt * from, tilt, from }
}

/// The place between two at which a rising function passes 0.
fn bisected(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    loop {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            return middle;
        }
        *(if rising(middle) < 0.0 { &mut low } else { &mut high }) = middle;
    }
}

/// Pressures of a strip at its two ends, over those on a flat panel, and how much of it touches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StripEnds {
    /// At the panel's edge.
    pub edge_over_flat: f64,
    /// At the far end.
    pub far_over_flat: f64,
    /// Length that touches, mm.
    pub touching_mm: f64,
}

/// A self-aligning strip (a block, a straight-sided pad) that overhangs an edge it is parallel to. R being half its width, h the overhang and
/// L = 2 R - h: (2 R / L) (1 +- 3 h / L) at the ends; from h = R / 2 on, where the far end lifts, a triangle over 3 (R - h) that ends in
/// (4 / 3) R / (R - h).
///
/// Source: force and moment \[D\]. A round pad is gentler: see [`super::press`].
///
/// ```
/// let ends = lastmicron_polish::contact::strip_over_edge(40.0, 20.0).unwrap();
/// assert!((ends.edge_over_flat - 8.0 / 3.0).abs() < 1e-12 && ends.far_over_flat.abs() < 1e-12);
/// ```
///
/// # Errors
/// [`ContactError::Diameter`] for a width that is none, [`ContactError::Overhang`], and [`ContactError::Tips`] with its middle over the edge.
pub fn strip_over_edge(half_width_mm: f64, overhang_mm: f64) -> Result<StripEnds, ContactError> {
    let half_width_mm = above_0(half_width_mm, |half| ContactError::Diameter(2.0 * half))?;
    let overhang_mm = checked_overhang(overhang_mm, half_width_mm)?;
    let (length_mm, left_mm) = (2.0 * half_width_mm - overhang_mm, half_width_mm - overhang_mm);
    Ok(if overhang_mm <= left_mm {
        let end = |sign: f64| 2.0 * half_width_mm / length_mm * (1.0 + sign * 3.0 * overhang_mm / length_mm);
        StripEnds { edge_over_flat: end(1.0), far_over_flat: end(-1.0), touching_mm: length_mm }
    } else {
        StripEnds { edge_over_flat: 4.0 * half_width_mm / (3.0 * left_mm), far_over_flat: 0.0, touching_mm: 3.0 * left_mm }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    use lastmicron_numerics::quadrature::Rule;
    use proptest::prelude::*;

    /// A strip of unit depth and half-width 1: its load on a flat panel at pressure 1 is 2.
    fn solved(overhang: f64) -> StripEnds {
        let rule = Rule::of(16);
        let Balance { depth, tilt, from } = tilted(1.0 - overhang, 2.0, &|from, to, f| rule.integral(from, to, f));
        StripEnds {
            edge_over_flat: depth + tilt * (1.0 - overhang),
            far_over_flat: depth + tilt * from,
            touching_mm: 1.0 - overhang - from,
        }
    }

    #[test]
    fn a_strip_has_its_published_pressures() {
        // [D, C] standards 4.4: overhang, edge, far
        let table = [
            (0.0, 1.0, 1.0),
            (0.1, 1.218_837, 0.886_427),
            (0.2, 1.481_481, 0.740_741),
            (0.3, 1.799_308, 0.553_633),
            (0.4, 2.1875, 0.3125),
            (0.5, 2.666_667, 0.0),
            (0.6, 3.333_3, 0.0),
            (0.8, 6.666_7, 0.0),
        ];
        for (overhang, edge, far) in table {
            let tolerance = if overhang > 0.5 { 0.51e-4 } else { 0.51e-6 };
            for ends in [strip_over_edge(1.0, overhang).unwrap(), solved(overhang)] {
                assert!((ends.edge_over_flat - edge).abs() < tolerance, "{overhang}: {ends:?}");
                assert!((ends.far_over_flat - far).abs() < tolerance, "{overhang}: {ends:?}");
            }
        }
        // [D] the contact of a strip that has lifted is three times what is left of its half
        assert!((solved(0.8).touching_mm - 0.6).abs() < 1e-12);
        assert_eq!(strip_over_edge(40.0, 40.0), Err(ContactError::Tips { overhang_mm: 40.0, radius_mm: 40.0 }));
        assert_eq!(strip_over_edge(40.0, -1.0), Err(ContactError::Overhang(-1.0)));
        assert_eq!(strip_over_edge(0.0, 1.0), Err(ContactError::Diameter(0.0)));
    }

    proptest! {
        #[test]
        fn the_solver_finds_the_closed_form_of_a_strip(overhang in 0.0..0.999f64) {
            let (wanted, got) = (strip_over_edge(1.0, overhang).unwrap(), solved(overhang));
            prop_assert!((got.edge_over_flat / wanted.edge_over_flat - 1.0).abs() < 1e-10, "{got:?} {wanted:?}");
            prop_assert!((got.far_over_flat - wanted.far_over_flat).abs() < 1e-9 && (got.touching_mm - wanted.touching_mm).abs() < 1e-9);
        }
    }
}
