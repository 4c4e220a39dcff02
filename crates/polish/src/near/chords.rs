//! A pad cut into chords along its stroke: what a place at a distance from the stroke's middle gets of it.

use crate::equipment::{Machine, Pad};
use crate::motion::{Motion, MotionError, UnderPad};
use crate::near::NearError;
use crate::table::between;

/// Chords from the pad's middle to its end. Judgement: 96 hold gains to a thousandth; more costs time only.
const HALF: usize = 96;

/// Places along half of a chord.
const PLACES: usize = 24;

/// Places along a radius at which time and speed are worked out. Judgement: linear between 512 of them, gains move in the fourth digit.
const RADIAL: usize = 512;

/// A place of a chord.
#[derive(Clone, Copy, Debug)]
struct Point {
    /// From the pad's middle along the stroke, mm.
    along_mm: f64,
    /// Length that it stands for x share of the time for which the pad covers it, mm.
    time_mm: f64,
    /// The same x the pad's speed there while it does, mm m/s.
    slide: f64,
}

/// A pad's chords from one side to the other.
pub(super) struct Chords {
    radius_mm: f64,
    reach_mm: f64,
    step_mm: f64,
    /// By chord, the places of its half.
    points: Vec<Vec<Point>>,
    /// Time under the pad by chord, mm.
    time_mm: Vec<f64>,
}

impl Chords {
    pub(super) fn of(machine: &Machine, pad: &Pad) -> Result<Self, NearError> {
        let motion = Motion::of(machine)?;
        let radius_mm = pad.diameter_mm / 2.0;
        let reach_mm = radius_mm + motion.orbit_radius_mm();
        let step_mm = reach_mm / HALF as f64;
        let under = |i: usize| motion.under_pad(reach_mm * i as f64 / RADIAL as f64, radius_mm);
        let radial = (0..=RADIAL).map(under).collect::<Result<Vec<UnderPad>, MotionError>>()?;
        let covered: Vec<f64> = radial.iter().map(|under| under.covered).collect();
        let slide_m_s: Vec<f64> = radial.iter().map(|under| under.covered * under.speed.mean_m_s).collect();
        let chord = |i: usize| {
            let across_mm = middle_mm(i, step_mm, reach_mm);
            let piece_mm = (reach_mm * reach_mm - across_mm * across_mm).max(0.0).sqrt() / PLACES as f64;
            let point = |j: usize| {
                let along_mm = (j as f64 + 0.5) * piece_mm;
                let out = across_mm.hypot(along_mm) / reach_mm;
                Point { along_mm, time_mm: piece_mm * between(&covered, out), slide: piece_mm * between(&slide_m_s, out) }
            };
            (0..PLACES).map(point).collect::<Vec<Point>>()
        };
        let points: Vec<Vec<Point>> = (0..2 * HALF).map(chord).collect();
        let time_mm = points.iter().map(|chord| chord.iter().map(|p| p.time_mm).sum()).collect();
        Ok(Self { radius_mm, reach_mm, step_mm, points, time_mm })
    }

    pub(super) fn radius_mm(&self) -> f64 {
        self.radius_mm
    }

    pub(super) fn reach_mm(&self) -> f64 {
        self.reach_mm
    }

    /// Where the middle of chord `i` lies across the stroke, mm; the rim for those that only the orbit brings under the pad.
    pub(super) fn across_mm(&self, i: usize) -> f64 {
        middle_mm(i, self.step_mm, self.reach_mm).clamp(-self.radius_mm, self.radius_mm)
    }

    /// A stroke's pressure x sliding distance by chord, from its pressure across and along the stroke, mm Pa m/s.
    ///
    /// While the pad orbits its rim covers places beyond its mean rim: they get the pressure of the rim.
    pub(super) fn slid(&self, pressure_pa: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        let of = |(i, chord): (usize, &Vec<Point>)| {
            let across_mm = middle_mm(i, self.step_mm, self.reach_mm);
            let at = |p: &Point| {
                let within = (RIM * self.radius_mm / across_mm.hypot(p.along_mm)).min(1.0);
                p.slide * pressure_pa(within * across_mm, within * p.along_mm)
            };
            chord.iter().map(at).sum()
        };
        self.points.iter().enumerate().map(of).collect()
    }

    /// Pressure x speed, mean over the time under the pad, of a stroke's `slid`.
    pub(super) fn mean(&self, slid: &[f64]) -> f64 {
        slid.iter().sum::<f64>() / self.time_mm.iter().sum::<f64>()
    }

    /// What a place `across_mm` from the stroke's middle has of a value by chord: linear between chords, nothing beyond the pad.
    pub(super) fn at(&self, by_chord: &[f64], across_mm: f64) -> f64 {
        let place = (across_mm + self.reach_mm) / self.step_mm - 0.5;
        if !(place > -1.0 && place < by_chord.len() as f64) {
            return 0.0;
        }
        let value = |i: f64| if i < 0.0 { 0.0 } else { by_chord.get(i as usize).copied().unwrap_or(0.0) };
        let low = place.floor();
        value(low) + (place - low) * (value(low + 1.0) - value(low))
    }

    /// Standard deviation over mean of strokes of a value by chord, laid side by side `apart_mm` from each other without end.
    pub(super) fn ripple(&self, by_chord: &[f64], apart_mm: f64) -> f64 {
        let places = 2 * HALF;
        let strokes = (self.reach_mm / apart_mm).ceil() as i32;
        let sum = |i: usize| {
            let at_mm = apart_mm * (i as f64 + 0.5) / places as f64;
            (-strokes..=strokes + 1).map(|j| self.at(by_chord, at_mm - f64::from(j) * apart_mm)).sum::<f64>()
        };
        let sums: Vec<f64> = (0..places).map(sum).collect();
        let mean = sums.iter().sum::<f64>() / places as f64;
        let variance = sums.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / places as f64;
        variance.sqrt() / mean
    }

    /// The time under the pad at the same place, mm.
    pub(super) fn time_at(&self, across_mm: f64) -> f64 {
        self.at(&self.time_mm, across_mm)
    }
}

/// Share of the radius at which the rim's pressure is taken: a hair within, where a pad surely touches.
const RIM: f64 = 1.0 - 1e-9;

/// Where the middle of chord `i` lies across the stroke, mm.
fn middle_mm(i: usize, step_mm: f64, reach_mm: f64) -> f64 {
    (i as f64 + 0.5) * step_mm - reach_mm
}
