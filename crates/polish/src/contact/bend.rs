//! A pad on a body line that turns the panel: flat, an arc, flat again. The pad may lie anywhere across it.

use std::f64::consts::PI;

use super::face::{self, Face};
use super::finding::{self, Finding};
use super::{ContactError, checked};
use crate::equipment::{Pad, PadEdge};
use crate::preston::above_0;

/// A convex line: an arc between two flats that it joins smoothly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Radius of the arc, mm.
    pub radius_mm: f64,
    /// Angle by which it turns the panel, degrees: above 0, below 180.
    pub turn_deg: f64,
}

/// A pad pressed on a bend. Places are in mm from the pad's middle: x across the line, y along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverBend {
    bend: Bend,
    offset_mm: f64,
    radius_mm: f64,
    stiffness_pa_per_mm: f64,
    pad_edge: PadEdge,
    depth_mm: f64,
    /// Tilt x pad's radius, mm.
    tilt_mm: f64,
}

/// Chords of the pad on which forces are summed. Judgement: 240 hold the load to 1e-4 where the pad touches on a tenth of its width.
const CHORDS: usize = 240;

/// Steps of the search. Judgement: it is exact once it knows which chords touch, as a rule after a dozen.
const STEPS: usize = 80;

impl Bend {
    /// How far the panel lies below the line's tangent plane at `across_mm` from the line, mm.
    #[must_use]
    pub fn fall_mm(&self, across_mm: f64) -> f64 {
        let half = self.turn_deg / 360.0 * PI;
        let (radius_mm, from) = (self.radius_mm, across_mm.abs());
        let arc_mm = radius_mm * half.sin();
        if from <= arc_mm {
            // As a product: the difference would lose its digits near the line.
            from * from / (radius_mm + ((radius_mm - from) * (radius_mm + from)).max(0.0).sqrt())
        } else {
            radius_mm * (1.0 - half.cos()) + (from - arc_mm) * half.tan()
        }
    }
}

/// How a pad lies on a bend whose line runs `offset_mm` beside its middle, tilting freely: its load about its middle, without pulling anywhere.
///
/// Method: squeeze = depth + tilt x - fall(x + offset), never below 0; depth and tilt by Newton's steps on the energy of the springs less the load's
/// work, which is convex, each step shortened while it would gain energy \[D\].
///
/// # Errors
/// [`ContactError`] for a pad, load or bend out of range.
///
/// ```
/// use lastmicron_polish::contact::{Bend, press_on_bend};
/// use lastmicron_polish::{Pad, PadEdge};
/// let pad = Pad { name: "soft".into(), diameter_mm: 140.0, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
/// let line = press_on_bend(&pad, 40.0, Bend { radius_mm: 12.0, turn_deg: 30.0 }, 0.0).unwrap();
/// let flat_pa = 40.0 / (std::f64::consts::PI * 0.07 * 0.07);
/// assert!((line.pressure_pa(0.0, 0.0) / flat_pa - 4.85).abs() < 0.05);
/// ```
pub fn press_on_bend(pad: &Pad, load_n: f64, bend: Bend, offset_mm: f64) -> Result<OverBend, ContactError> {
    let checked = checked(pad, load_n)?;
    above_0(bend.radius_mm, ContactError::Radius)?;
    if !(bend.turn_deg > 0.0 && bend.turn_deg < 180.0) {
        return Err(ContactError::Turn(bend.turn_deg));
    }
    if !offset_mm.is_finite() {
        return Err(ContactError::Offset(offset_mm));
    }
    let radius_mm = checked.radius_mm;
    let face = Face::new(pad.edge);
    let width = 2.0 / CHORDS as f64;
    let chords: Vec<Chord> = (0..CHORDS)
        .map(|i| {
            let x = (i as f64 + 0.5) * width - 1.0;
            let weight = face.chord(x, (1.0 - x * x).sqrt()) * width;
            Chord { x, weight, fall_mm: bend.fall_mm(x * radius_mm + offset_mm) }
        })
        .collect();
    let load_mm = PI * checked.flat_mm();
    let (depth_mm, tilt_mm) = balanced(&chords, load_mm).ok_or(ContactError::NotFinite)?;
    Ok(OverBend { bend, offset_mm, radius_mm, stiffness_pa_per_mm: checked.stiffness_pa_per_mm, pad_edge: pad.edge, depth_mm, tilt_mm })
}

impl OverBend {
    /// Pressure at a place under the pad, Pa: 0 where it doesn't touch.
    #[must_use]
    pub fn pressure_pa(&self, x_mm: f64, y_mm: f64) -> f64 {
        let share = x_mm.hypot(y_mm) / self.radius_mm;
        if share > 1.0 {
            return 0.0;
        }
        self.stiffness_pa_per_mm * face::stiffness(self.pad_edge, share) * self.squeeze_mm(x_mm)
    }

    /// How far the foam is squeezed at a distance across the line from the pad's middle, mm: the same all along it.
    #[must_use]
    pub fn squeeze_mm(&self, x_mm: f64) -> f64 {
        (self.depth_mm + self.tilt_mm * x_mm / self.radius_mm - self.bend.fall_mm(x_mm + self.offset_mm)).max(0.0)
    }

    /// Whether the foam is squeezed on the line so far that it is no longer in proportion.
    #[must_use]
    pub fn finding(&self) -> Option<Finding> {
        finding::deep(self.pad_edge, self.squeeze_mm(-self.offset_mm))
    }
}

/// A chord across the pad, in units of its radius.
struct Chord {
    x: f64,
    /// Stiffness x area.
    weight: f64,
    fall_mm: f64,
}

/// Depth and tilt that carry a load about the pad's middle.
fn balanced(chords: &[Chord], load_mm: f64) -> Option<(f64, f64)> {
    let squeeze = |c: &Chord, depth: f64, tilt: f64| (depth + tilt * c.x - c.fall_mm).max(0.0);
    let energy = |depth: f64, tilt: f64| {
        let springs: f64 = chords.iter().map(|c| c.weight * squeeze(c, depth, tilt).powi(2)).sum();
        0.5 * springs - load_mm * depth
    };
    let all: f64 = chords.iter().map(|c| c.weight).sum();
    // Square to the line, so deep that all of the pad touches.
    let mut depth = chords.iter().map(|c| c.fall_mm).fold(0.0, f64::max) + load_mm / all;
    let (mut tilt, mut now) = (0.0, energy(depth, 0.0));
    for _ in 0..STEPS {
        let mut sums = [0.0; 5];
        for c in chords {
            let s = squeeze(c, depth, tilt);
            if s > 0.0 {
                let terms = [c.weight, c.weight * c.x, c.weight * c.x * c.x, c.weight * s, c.weight * s * c.x];
                sums.iter_mut().zip(terms).for_each(|(sum, term)| *sum += term);
            }
        }
        let [area, first, second, force, moment] = sums;
        let determinant = area * second - first * first;
        let (down, over) = if determinant > 1e-12 * all * all {
            let (f, m) = (load_mm - force, -moment);
            ((second * f - first * m) / determinant, (area * m - first * f) / determinant)
        } else {
            ((load_mm - force) / all, -moment / all)
        };
        let mut share = 1.0;
        while share > 1e-9 && energy(depth + share * down, tilt + share * over) > now {
            share *= 0.5;
        }
        (depth, tilt) = (depth + share * down, tilt + share * over);
        let before = std::mem::replace(&mut now, energy(depth, tilt));
        if !now.is_finite() {
            return None;
        }
        if before - now <= 1e-13 * now.abs() {
            break;
        }
    }
    Some((depth, tilt))
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::contact::{Surface, press};
    use proptest::prelude::*;

    fn pad(edge: PadEdge) -> Pad {
        Pad { name: "foam".to_owned(), diameter_mm: 150.0, stiffness_pa_per_m: 2.4e6, edge }
    }

    /// Force and moment of a pressed pad, N and N mm, by squares.
    fn balance(over: &OverBend) -> [f64; 2] {
        let n = 600;
        let step = 150.0 / f64::from(n);
        let at = |i: i32| (f64::from(i) + 0.5) * step - 75.0;
        let mut sums = [0.0; 2];
        for i in 0..n {
            for j in 0..n {
                let force = over.pressure_pa(at(i), at(j)) * step * step * 1e-6;
                sums[0] += force;
                sums[1] += force * at(i);
            }
        }
        sums
    }

    #[test]
    fn on_a_line_that_turns_far_the_pad_presses_as_on_a_ridge() {
        // [C] standards 4.5: 5.49 x flat for R 20 mm under 50 N: there the contact is narrower than the arc, which a parabola is close to.
        let flat_pa = 50.0 / (PI * 0.075 * 0.075);
        let over = press_on_bend(&pad(PadEdge::Upright), 50.0, Bend { radius_mm: 20.0, turn_deg: 150.0 }, 0.0).unwrap();
        let ridge = press(&pad(PadEdge::Upright), 50.0, Surface::Ridge { radius_mm: 20.0 }).unwrap();
        // A circle falls away faster than its parabola: a little narrower, a little higher.
        let ratio = over.pressure_pa(0.0, 0.0) / flat_pa / ridge.peak_over_flat();
        assert!(ratio > 1.0 && ratio < 1.06, "{ratio}");
    }

    #[test]
    fn beside_the_line_the_pad_lies_flat() {
        let over = press_on_bend(&pad(PadEdge::Upright), 50.0, Bend { radius_mm: 12.0, turn_deg: 30.0 }, 90.0).unwrap();
        let flat_pa = 50.0 / (PI * 0.075 * 0.075);
        for (x, y) in [(0.0, 0.0), (70.0, 0.0), (-40.0, 50.0)] {
            assert!((over.pressure_pa(x, y) / flat_pa - 1.0).abs() < 1e-4, "{}", over.pressure_pa(x, y) / flat_pa);
        }
        assert!(over.pressure_pa(75.1, 0.0).abs() < 1e-12);
    }

    #[test]
    fn the_fall_joins_its_flats_smoothly() {
        // [D] an arc of 10 mm that turns by 60 degrees: 10 (1 - cos 30) at 5 mm, then down at tan 30
        let bend = Bend { radius_mm: 10.0, turn_deg: 60.0 };
        assert!((bend.fall_mm(5.0) - 10.0 * (1.0 - 0.75_f64.sqrt())).abs() < 1e-12);
        assert!((bend.fall_mm(-8.0) - bend.fall_mm(5.0) - 3.0 / 3.0_f64.sqrt()).abs() < 1e-12);
        assert!((bend.fall_mm(5.0 + 1e-6) - bend.fall_mm(5.0 - 1e-6) - 2e-6 / 3.0_f64.sqrt()).abs() < 1e-11);
    }

    #[test]
    fn what_is_no_bend_is_refused() {
        let said = |radius_mm, turn_deg, offset_mm| {
            press_on_bend(&pad(PadEdge::Upright), 50.0, Bend { radius_mm, turn_deg }, offset_mm).unwrap_err().to_string()
        };
        assert!(said(0.0, 30.0, 0.0).starts_with("a radius of 0 mm"));
        assert!(said(10.0, 180.0, 0.0).starts_with("a line that turns by 180 degrees"));
        assert!(said(10.0, 30.0, f64::NAN).starts_with("a line NaN mm beside"));
        assert!(press_on_bend(&pad(PadEdge::Upright), 0.0, Bend { radius_mm: 10.0, turn_deg: 30.0 }, 0.0).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn the_load_is_carried_about_the_middle(
            radius in 2.0..800.0_f64, turn in 2.0..120.0_f64, offset in -80.0..80.0_f64, load in 5.0..100.0_f64, tapered in any::<bool>(),
        ) {
            let edge = if tapered { PadEdge::Tapered } else { PadEdge::Upright };
            let over = press_on_bend(&pad(edge), load, Bend { radius_mm: radius, turn_deg: turn }, offset).unwrap();
            let [force, moment] = balance(&over);
            prop_assert!((force / load - 1.0).abs() < 0.01, "{force} {load}");
            prop_assert!(moment.abs() < 0.01 * load * 75.0, "{moment}");
        }
    }
}
