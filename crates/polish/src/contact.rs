//! Where a soft pad presses, and how hard: flat, over a panel's edge, over a body line, on a crown.
//!
//! The foam is a bed of springs side by side (an elastic foundation, Winkler's): pressure = stiffness x squeeze, place by place, and never
//! below nothing, for a pad that is not stuck to the paint can't pull. Source: K. L. Johnson, "Contact Mechanics", 1985, section 4.3 (from memory); the
//! formulas derived again \[D\].
//!
//! Weak: real foam creeps, stiffens from about half its thickness on, and is sheared by the stroke; a machine's backing gives; the springs don't
//! know of each other, so that foam wrapped round an edge is not in it. The results carry [`Finding`]s where the model leaves its range.

mod bend;
mod curve;
mod edge;
mod face;
mod finding;

use std::f64::consts::PI;

pub use bend::{Bend, OverBend, press_on_bend};
pub use edge::{StripEnds, strip_over_edge};
pub use face::{RIM_FROM, RIM_THICKNESS};
pub use finding::{Finding, USUAL_THICKNESS_MM};

use crate::equipment::{Pad, PadEdge};
use crate::preston::above_0;
use face::Face;

/// How a machine is held over an edge. Real work lies between the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hold {
    /// It tilts until the pressure balances about the middle of the pad.
    SelfAligning,
    /// It is kept square to the panel by force: the least that the edge can get.
    Rigid,
}

/// What the pad is on. Lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Surface {
    /// Flat, and larger than the pad.
    Flat,
    /// Flat, with an edge that the pad's rim overhangs.
    Edge {
        /// How far the rim is out beyond the edge, mm: less than the pad's radius.
        overhang_mm: f64,
        /// How the machine is held.
        hold: Hold,
    },
    /// A straight convex line across the pad's middle: the panel falls away from it on both sides as x^2 / (2 radius).
    Ridge {
        /// Radius of the line, mm.
        radius_mm: f64,
    },
    /// A crown, alike in all directions: it falls away as r^2 / (2 radius).
    Dome {
        /// Radius of the crown, mm.
        radius_mm: f64,
    },
}

/// A contact that can't be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ContactError {
    /// The pad's diameter.
    #[error("a pad of {0} mm: its diameter must be a number above 0")]
    Diameter(f64),
    /// The pad's stiffness.
    #[error("a stiffness of {0} Pa/m: it must be a number above 0; soft foam has about 2.4e6")]
    Stiffness(f64),
    /// The load.
    #[error("a load of {0} N: it must be a number above 0; without a load nothing is pressed")]
    Load(f64),
    /// The overhang.
    #[error("an overhang of {0} mm: it must be a number from 0 up")]
    Overhang(f64),
    /// The pad's middle would be beyond the edge.
    #[error("an overhang of {overhang_mm} mm under a pad of radius {radius_mm} mm: with its middle over the edge or beyond it tips off")]
    Tips {
        /// How far the rim is out.
        overhang_mm: f64,
        /// Radius of the pad.
        radius_mm: f64,
    },
    /// The radius of the line or crown.
    #[error("a radius of {0} mm: a line's or a crown's radius must be a number above 0")]
    Radius(f64),
    /// The turn of a line.
    #[error("a line that turns by {0} degrees: it must be a number above 0 and below 180")]
    Turn(f64),
    /// Where a line runs under the pad.
    #[error("a line {0} mm beside the pad's middle: it must be a number")]
    Offset(f64),
    /// Numbers so extreme that the pressure is none.
    #[error("the pressure is not a finite number: pad, load or radius are too extreme to compute with")]
    NotFinite,
}

/// A pad pressed on something. Places are in mm from the pad's middle: x towards the edge or across the line, y along it.
#[derive(Clone, Debug, PartialEq)]
pub struct Contact {
    radius_mm: f64,
    stiffness_pa_per_mm: f64,
    pad_edge: PadEdge,
    squeeze: Squeeze,
    flat_pa: f64,
    peak_pa: f64,
    from_mm: f64,
    to_mm: f64,
    indent_mm: f64,
    findings: Vec<Finding>,
}

/// How far the foam is squeezed: depth + tilt x - across x^2 - around (x^2 + y^2), out to x = reach.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Squeeze {
    depth_mm: f64,
    tilt: f64,
    across_per_mm: f64,
    around_per_mm: f64,
    reach_mm: f64,
}

/// How a pad lies on a surface under a load.
///
/// # Errors
/// [`ContactError`] for a pad, load or surface out of range.
///
/// ```
/// use lastmicron_polish::contact::{Surface, press};
/// use lastmicron_polish::{Pad, PadEdge};
/// let pad = Pad { name: "soft".into(), diameter_mm: 150.0, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
/// let line = press(&pad, 50.0, Surface::Ridge { radius_mm: 20.0 }).unwrap();
/// assert!((line.peak_over_flat() - 5.49).abs() < 0.01);
/// ```
pub fn press(pad: &Pad, load_n: f64, surface: Surface) -> Result<Contact, ContactError> {
    let checked = checked(pad, load_n)?;
    let Checked { radius_mm, stiffness_pa_per_mm, flat_pa } = checked;
    let positive = |x: f64| x > 0.0 && x.is_finite();
    let face = Face::new(pad.edge);
    let laid = Laid { face: &face, radius_mm, flat_mm: checked.flat_mm() };
    let lie = match surface {
        Surface::Flat => laid.flat(),
        Surface::Edge { overhang_mm, hold } => laid.over_edge(checked_overhang(overhang_mm, radius_mm)?, hold),
        Surface::Ridge { radius_mm } if positive(radius_mm) => laid.over_ridge(radius_mm),
        Surface::Dome { radius_mm } if positive(radius_mm) => laid.on_dome(radius_mm),
        Surface::Ridge { radius_mm } | Surface::Dome { radius_mm } => return Err(ContactError::Radius(radius_mm)),
    };
    let peak_pa = lie.peak_mm * stiffness_pa_per_mm;
    let all = [flat_pa, peak_pa, lie.indent_mm, lie.from_mm, lie.to_mm, lie.squeeze.depth_mm, lie.squeeze.tilt];
    if all.iter().any(|x| !x.is_finite()) || flat_pa <= 0.0 {
        return Err(ContactError::NotFinite);
    }
    let findings = finding::of(pad, surface, &lie);
    let Lie { squeeze, from_mm, to_mm, indent_mm, .. } = lie;
    Ok(Contact { radius_mm, stiffness_pa_per_mm, pad_edge: pad.edge, squeeze, flat_pa, peak_pa, from_mm, to_mm, indent_mm, findings })
}

/// A pad and a load that can be computed with.
#[derive(Clone, Copy)]
struct Checked {
    radius_mm: f64,
    stiffness_pa_per_mm: f64,
    /// Mean pressure on a flat panel, Pa.
    flat_pa: f64,
}

impl Checked {
    /// Squeeze of an upright pad on a flat panel, mm.
    fn flat_mm(&self) -> f64 {
        self.flat_pa / self.stiffness_pa_per_mm
    }
}

fn checked(pad: &Pad, load_n: f64) -> Result<Checked, ContactError> {
    let radius_mm = above_0(pad.diameter_mm, ContactError::Diameter)? / 2.0;
    let stiffness_pa_per_mm = above_0(pad.stiffness_pa_per_m, ContactError::Stiffness)? / 1000.0;
    let load_n = above_0(load_n, ContactError::Load)?;
    Ok(Checked { radius_mm, stiffness_pa_per_mm, flat_pa: load_n / (PI * (radius_mm / 1000.0).powi(2)) })
}

impl Contact {
    /// Pressure at a place under the pad, Pa: 0 where it doesn't touch.
    #[must_use]
    pub fn pressure_pa(&self, x_mm: f64, y_mm: f64) -> f64 {
        let is_under = x_mm.hypot(y_mm) <= self.radius_mm && x_mm <= self.squeeze.reach_mm;
        if is_under { self.touched_pa(x_mm, y_mm) } else { 0.0 }
    }

    /// Pressure at `count` places (at least two), equally far apart, on the line through the pad's middle towards the edge or across the line,
    /// from one end of the contact to the other, Pa.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a profile has few places")]
    pub fn profile_pa(&self, count: usize) -> Vec<f64> {
        let last = count.max(2) - 1;
        let share = |i: usize| i as f64 / last as f64;
        (0..=last).map(|i| self.touched_pa(self.from_mm + (self.to_mm - self.from_mm) * share(i), 0.0)).collect()
    }

    /// Mean pressure of the same load on a flat panel, Pa.
    #[must_use]
    pub const fn flat_pa(&self) -> f64 {
        self.flat_pa
    }

    /// Highest pressure anywhere under the pad, Pa.
    #[must_use]
    pub const fn peak_pa(&self) -> f64 {
        self.peak_pa
    }

    /// Highest pressure over the mean on a flat panel: for an upright pad on a flat panel 1.
    #[must_use]
    pub fn peak_over_flat(&self) -> f64 {
        self.peak_pa / self.flat_pa
    }

    /// Ends of the contact along x, mm.
    #[must_use]
    pub const fn ends_mm(&self) -> [f64; 2] {
        [self.from_mm, self.to_mm]
    }

    /// Half of the width of the contact along x, mm.
    #[must_use]
    pub fn half_width_mm(&self) -> f64 {
        0.5 * (self.to_mm - self.from_mm)
    }

    /// Deepest squeeze of the foam, mm.
    #[must_use]
    pub const fn indent_mm(&self) -> f64 {
        self.indent_mm
    }

    /// Where the model leaves its range, and what to beware of.
    #[must_use]
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    fn touched_pa(&self, x_mm: f64, y_mm: f64) -> f64 {
        let r_mm = x_mm.hypot(y_mm);
        let Squeeze { depth_mm, tilt, across_per_mm, around_per_mm, .. } = self.squeeze;
        let squeeze_mm = depth_mm + tilt * x_mm - across_per_mm * x_mm * x_mm - around_per_mm * r_mm * r_mm;
        self.stiffness_pa_per_mm * face::stiffness(self.pad_edge, r_mm / self.radius_mm) * squeeze_mm.max(0.0)
    }
}

fn checked_overhang(overhang_mm: f64, radius_mm: f64) -> Result<f64, ContactError> {
    if !(overhang_mm >= 0.0 && overhang_mm.is_finite()) {
        Err(ContactError::Overhang(overhang_mm))
    } else if overhang_mm >= radius_mm {
        Err(ContactError::Tips { overhang_mm, radius_mm })
    } else {
        Ok(overhang_mm)
    }
}

/// A pad about to be laid on something, and what it does: squeezes in terms of that on a flat panel, places in terms of the radius.
struct Laid<'f> {
    face: &'f Face,
    radius_mm: f64,
    /// Squeeze of an upright pad by the same load on a flat panel, mm.
    flat_mm: f64,
}

/// How a pad lies.
struct Lie {
    squeeze: Squeeze,
    from_mm: f64,
    to_mm: f64,
    /// Deepest squeeze, mm.
    indent_mm: f64,
    /// Squeeze of full-thickness foam at the highest pressure, mm.
    peak_mm: f64,
}

impl Laid<'_> {
    fn flat(&self) -> Lie {
        let depth_mm = self.flat_mm * PI / self.face.across(-1.0, 1.0, &|_| 1.0);
        let squeeze = Squeeze { depth_mm, tilt: 0.0, across_per_mm: 0.0, around_per_mm: 0.0, reach_mm: self.radius_mm };
        self.lie(squeeze, [-1.0, 1.0], depth_mm)
    }

    fn over_edge(&self, overhang_mm: f64, hold: Hold) -> Lie {
        let reach = (self.radius_mm - overhang_mm) / self.radius_mm;
        let across = |from: f64, to: f64, f: &dyn Fn(f64) -> f64| self.face.across(from, to, f);
        let edge::Balance { depth, tilt, from } = match hold {
            Hold::SelfAligning => edge::tilted(reach, PI, &across),
            Hold::Rigid => edge::square(reach, PI, &across),
        };
        let squeeze = Squeeze {
            depth_mm: depth * self.flat_mm,
            tilt: tilt * self.flat_mm / self.radius_mm,
            across_per_mm: 0.0,
            around_per_mm: 0.0,
            reach_mm: reach * self.radius_mm,
        };
        self.lie(squeeze, [from, reach], (depth + tilt * reach) * self.flat_mm)
    }

    fn over_ridge(&self, line_radius_mm: f64) -> Lie {
        let fall_mm = self.radius_mm * self.radius_mm / (2.0 * line_radius_mm);
        let half = curve::ridge_square(self.face, PI * self.flat_mm / fall_mm);
        let (depth_mm, end) = (half * fall_mm, half.sqrt().min(1.0));
        let across_per_mm = 1.0 / (2.0 * line_radius_mm);
        let squeeze = Squeeze { depth_mm, tilt: 0.0, across_per_mm, around_per_mm: 0.0, reach_mm: self.radius_mm };
        self.lie(squeeze, [-end, end], depth_mm)
    }

    fn on_dome(&self, crown_radius_mm: f64) -> Lie {
        let fall_mm = self.radius_mm * self.radius_mm / (2.0 * crown_radius_mm);
        let half = curve::dome_square(self.face, PI * self.flat_mm / fall_mm);
        let (depth_mm, end) = (half * fall_mm, half.sqrt().min(1.0));
        let around_per_mm = 1.0 / (2.0 * crown_radius_mm);
        let squeeze = Squeeze { depth_mm, tilt: 0.0, across_per_mm: 0.0, around_per_mm, reach_mm: self.radius_mm };
        let peak_mm = fall_mm * self.face.highest_on_dome(half);
        Lie { peak_mm, ..self.lie(squeeze, [-end, end], depth_mm) }
    }

    /// On all but a crown the deepest squeeze reaches out to the pad's rim along y, where a tapered pad is stiffest.
    fn lie(&self, squeeze: Squeeze, ends: [f64; 2], indent_mm: f64) -> Lie {
        let [from_mm, to_mm] = ends.map(|end| end * self.radius_mm);
        Lie { squeeze, from_mm, to_mm, indent_mm, peak_mm: indent_mm * self.face.at_rim() }
    }
}

#[cfg(test)]
mod tests;
