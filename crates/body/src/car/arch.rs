//! Wheel arches, and shut lines that keep clear of them.

use crate::curve::Spot;

/// The opening over a wheel, from the side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Arch {
    /// Above the axle.
    pub(crate) centre: Spot,
    pub(crate) radius: f64,
    /// 1 for a circle, less for squarer.
    pub(crate) round: f64,
}

/// Legs of an arch. Judgement: a car's is drawn some 60 px wide, where a leg is 6 px.
const LEGS: u32 = 14;

impl Arch {
    /// The same, wider by `mm`.
    pub(crate) fn wider(self, mm: f64) -> Self {
        Self { radius: self.radius + mm, ..self }
    }

    /// Half its width at a height; nought above it.
    pub(crate) fn half_width(&self, z: f64) -> f64 {
        let up = (z - self.centre[1]) / self.radius;
        if up >= 1.0 {
            return 0.0;
        }
        let angle = up.abs().min(1.0).powf(1.0 / self.round).asin();
        self.radius * angle.cos().powf(self.round)
    }

    /// The angle from the horizontal at which it is at a height.
    fn angle(&self, z: f64) -> f64 {
        let up = ((z - self.centre[1]) / self.radius).clamp(-1.0, 1.0);
        up.signum() * up.abs().powf(1.0 / self.round).asin()
    }

    /// Over the wheel from `from_z` before it to `to_z` behind it.
    pub(crate) fn over(&self, from_z: f64, to_z: f64) -> Vec<Spot> {
        self.between(std::f64::consts::PI - self.angle(from_z), self.angle(to_z), LEGS)
    }

    /// Its part before the wheel, upward.
    pub(crate) fn before(&self, from_z: f64, to_z: f64) -> Vec<Spot> {
        self.between(std::f64::consts::PI - self.angle(from_z), std::f64::consts::PI - self.angle(to_z), 5)
    }

    /// Its part behind the wheel, upward.
    pub(crate) fn behind(&self, from_z: f64, to_z: f64) -> Vec<Spot> {
        self.between(self.angle(from_z), self.angle(to_z), 5)
    }

    fn between(&self, from: f64, to: f64, legs: u32) -> Vec<Spot> {
        let power = |x: f64| x.signum() * x.abs().powf(self.round) * self.radius;
        (0..=legs)
            .map(|i| {
                let (sin, cos) = (from + (to - from) * f64::from(i) / f64::from(legs)).sin_cos();
                [self.centre[0] + power(cos), self.centre[1] + power(sin)]
            })
            .collect()
    }

    /// A shut line behind this arch, upward from `bottom` to `top`: at `x`, or as far back as the arch asks.
    pub(crate) fn shut_behind(&self, x: f64, bottom: f64, top: f64) -> Vec<Spot> {
        self.shut(bottom, top, |z| f64::max(x, if self.half_width(z) > 0.0 { self.centre[0] + self.half_width(z) } else { x }))
    }

    /// A shut line before this arch, upward.
    pub(crate) fn shut_before(&self, x: f64, bottom: f64, top: f64) -> Vec<Spot> {
        self.shut(bottom, top, |z| f64::min(x, if self.half_width(z) > 0.0 { self.centre[0] - self.half_width(z) } else { x }))
    }

    fn shut(&self, bottom: f64, top: f64, x: impl Fn(f64) -> f64) -> Vec<Spot> {
        const STEPS: u32 = 12;
        (0..=STEPS).map(|i| bottom + (top - bottom) * f64::from(i) / f64::from(STEPS)).map(|z| [x(z), z]).collect()
    }
}
