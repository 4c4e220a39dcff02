//! The face of a round pad: how stiff it is where, and integrals over it. Places in units of the pad's radius.

use std::f64::consts::PI;

use lastmicron_numerics::quadrature::Rule;

use crate::equipment::PadEdge;

/// Share of the radius from which a tapered pad thins. Judgement: the outer quarter slopes on pads that are called tapered; smaller spreads the
/// stiff rim over more of the pad and lowers its peak.
pub const RIM_FROM: f64 = 0.75;

/// Thickness of a tapered pad at its very rim, as a share of the full one. Judgement: about half; a foam of half the thickness pushes back twice
/// as hard for the same squeeze, and a smaller share makes the rim cut more.
pub const RIM_THICKNESS: f64 = 0.5;

/// Nodes of a rule. Judgement: 32 integrate smooth functions over half a turn to the last digits, and those with the rim's kink to 1e-7.
const NODES: usize = 32;

/// Places at which the highest pressure on a crown is looked for along a radius. Judgement: the pressure of the sloping rim is smooth, so that
/// a hundred find its highest to 1e-4.
const PLACES: u32 = 128;

/// Stiffness at a share of the radius, over that of the full thickness: 1 / thickness \[D\], since a foam's pressure goes with squeeze over
/// thickness. A tapered pad thins evenly from [`RIM_FROM`] to [`RIM_THICKNESS`] at its rim.
///
/// A plain model, and a weak one: a real sloping rim also bends, begins to touch later where its face slopes, and folds over an edge.
pub(super) fn stiffness(edge: PadEdge, share: f64) -> f64 {
    match edge {
        PadEdge::Upright => 1.0,
        PadEdge::Tapered => {
            let out = ((share - RIM_FROM) / (1.0 - RIM_FROM)).clamp(0.0, 1.0);
            1.0 / (1.0 - (1.0 - RIM_THICKNESS) * out)
        }
    }
}

/// A pad's face.
pub(super) struct Face {
    edge: PadEdge,
    rule: Rule,
}

impl Face {
    pub(super) fn new(edge: PadEdge) -> Self {
        Self { edge, rule: Rule::of(NODES) }
    }

    pub(super) const fn is_upright(&self) -> bool {
        matches!(self.edge, PadEdge::Upright)
    }

    /// Stiffness at the very rim.
    pub(super) fn at_rim(&self) -> f64 {
        stiffness(self.edge, 1.0)
    }

    /// Integral of `f(x)` x stiffness over the face between two chords.
    pub(super) fn across(&self, from: f64, to: f64, f: &dyn Fn(f64) -> f64) -> f64 {
        // x = sin t: the chord is then smooth out to the rim.
        let cuts = [-RIM_FROM, RIM_FROM].map(|cut| cut.clamp(from, to));
        let piece = |from: f64, to: f64| {
            if from < to {
                let angle = |x: f64| x.clamp(-1.0, 1.0).asin();
                self.rule.integral(angle(from), angle(to), |t| f(t.sin()) * self.chord(t.sin(), t.cos()) * t.cos())
            } else {
                0.0
            }
        };
        if self.is_upright() { piece(from, to) } else { piece(from, cuts[0]) + piece(cuts[0], cuts[1]) + piece(cuts[1], to) }
    }

    /// Integral of `f(r)` x stiffness over the face within a radius.
    pub(super) fn within(&self, radius: f64, f: &dyn Fn(f64) -> f64) -> f64 {
        let cut = RIM_FROM.min(radius);
        let ring = |r: f64| 2.0 * PI * r * stiffness(self.edge, r) * f(r);
        self.rule.integral(0.0, cut, ring) + self.rule.integral(cut, radius, ring)
    }

    /// Highest stiffness x (square - r^2) along a radius.
    pub(super) fn highest_on_dome(&self, square: f64) -> f64 {
        let at = |i: u32| {
            let r = f64::from(i) / f64::from(PLACES);
            stiffness(self.edge, r) * (square - r * r)
        };
        (0..=PLACES).map(at).fold(0.0, f64::max)
    }

    /// Stiffness along the chord at `x`, half of which is `half` long.
    pub(super) fn chord(&self, x: f64, half: f64) -> f64 {
        if self.is_upright() {
            return 2.0 * half;
        }
        let inner = (RIM_FROM * RIM_FROM - x * x).max(0.0).sqrt().min(half);
        2.0 * inner + 2.0 * self.rule.integral(inner, half, |y| stiffness(self.edge, x.hypot(y)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_upright_face_is_a_disc() {
        // [D] area pi, and the mean of x^2 a quarter
        let face = Face::new(PadEdge::Upright);
        assert!((face.across(-1.0, 1.0, &|_| 1.0) - PI).abs() < 1e-14);
        assert!((face.across(-1.0, 1.0, &|x| x * x) - PI / 4.0).abs() < 1e-14);
        assert!((face.within(1.0, &|r| r * r) - PI / 2.0).abs() < 1e-14);
        // [D] the half disc's middle is 4 / (3 pi) out
        assert!((face.across(0.0, 1.0, &|x| x) / (PI / 2.0) - 4.0 / (3.0 * PI)).abs() < 1e-14);
    }

    #[test]
    fn a_tapered_face_is_stiffer_towards_its_rim_by_the_thickness() {
        // [D] twice as stiff at half the thickness, four thirds midway down the slope
        assert!((stiffness(PadEdge::Tapered, 0.5) - 1.0).abs() < 1e-15);
        assert!((stiffness(PadEdge::Tapered, 0.875) - 4.0 / 3.0).abs() < 1e-15);
        assert!((stiffness(PadEdge::Tapered, 1.0) - 2.0).abs() < 1e-15);
        let face = Face::new(PadEdge::Tapered);
        // [D] 2 pi integral of r / (1 - (r - 3/4) 2) from 3/4 to 1 = 2 pi (5/4 / 2 ln 2 - 1/8), and the disc within
        let wanted = 2.0 * PI * (0.625 * 2f64.ln() - 0.125) + PI * RIM_FROM * RIM_FROM;
        assert!((face.within(1.0, &|_| 1.0) - wanted).abs() < 1e-13);
        // the same by chords
        assert!((face.across(-1.0, 1.0, &|_| 1.0) - wanted).abs() < 1e-6);
        assert!((face.across(-1.0, 0.3, &|_| 1.0) + face.across(0.3, 1.0, &|_| 1.0) - wanted).abs() < 1e-6);
    }
}
