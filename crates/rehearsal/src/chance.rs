//! Seeded chance: every number of a rehearsal comes from its seed.

use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal, StudentT};
use rand_pcg::Pcg64;

/// A quantity drawn evenly between two values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Least.
    pub low: f64,
    /// Most; as the least where the quantity is known.
    pub high: f64,
}

/// How far a true value may lie from what is believed of it, in sds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tails {
    /// As a normal law has it.
    Normal,
    /// Student's t with 4 degrees of freedom: one in twenty beyond 2.8 sd.
    Heavy,
}

impl Range {
    /// Always `value`.
    #[must_use]
    pub const fn exactly(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// Evenly between `low` and `high`.
    #[must_use]
    pub const fn between(low: f64, high: f64) -> Self {
        Self { low, high }
    }

    pub(crate) fn draw(self, dice: &mut Pcg64) -> f64 {
        self.low + (self.high - self.low) * dice.random::<f64>()
    }
}

impl Tails {
    pub(crate) fn draw(self, dice: &mut Pcg64, mean: f64, sd: f64) -> f64 {
        let z: f64 = match self {
            Self::Normal => StandardNormal.sample(dice),
            Self::Heavy => StudentT::new(4.0).map_or(0.0, |t| t.sample(dice)),
        };
        mean + sd * z
    }
}

/// What a stream of chance is for: streams of one seed are independent, so that measuring more changes nothing of the car.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Stream {
    Film = 1,
    Measuring = 2,
    Working = 3,
    Again = 4,
    HiddenPlace = 5,
    Hand = 6,
    Strokes = 7,
    Panel = 8,
    FirstPhotograph = 9,
    SecondPhotograph = 10,
}

pub(crate) fn dice(seed: u64, stream: Stream) -> Pcg64 {
    // The seed is hashed into the state by `seed_from_u64`; the odd multiplier keeps neighbouring seeds and streams apart.
    Pcg64::seed_from_u64(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(stream as u64))
}

pub(crate) fn normal(dice: &mut Pcg64, mean: f64, sd: f64) -> f64 {
    Tails::Normal.draw(dice, mean, sd)
}

pub(crate) fn happens(dice: &mut Pcg64, chance: f64) -> bool {
    dice.random::<f64>() < chance
}

pub(crate) fn whole_between(dice: &mut Pcg64, [low, high]: [usize; 2]) -> usize {
    dice.random_range(low..=high.max(low))
}
