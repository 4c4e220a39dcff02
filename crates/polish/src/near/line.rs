//! Strokes over and along a body line.

use crate::contact::{Bend, press_on_bend};
use crate::near::{Near, NearError, Profile, Sample};

/// By how much a body line turns the panel, degrees, each as likely as the others. Judgement: pressed lines turn by some tens of degrees; the job
/// states their radius and not their turn. More presses harder on the line itself, and over a narrower strip.
pub const TURNS_DEG: [f64; 3] = [15.0, 30.0, 45.0];

/// Strokes told apart in a pad's reach. Judgement: 24 lie three millimetres apart under a large pad, finer than what it presses on.
const STROKES: f64 = 24.0;

/// A stroke along a line.
struct Stroke {
    /// Which of the places between two neighbouring strokes its own lies at.
    phase: usize,
    /// Distance of its middle from the line, mm.
    at_mm: f64,
    /// Pressure x sliding by chord.
    slid: Vec<f64>,
}

pub(super) fn profile(near: &Near<'_>, radius_mm: f64) -> Result<Profile, NearError> {
    let (chords, apart_mm) = (&near.chords, near.apart_mm());
    let phases = (apart_mm / chords.reach_mm() * STROKES).ceil().clamp(1.0, STROKES);
    let step_mm = apart_mm / phases;
    let farthest_mm = 2.0 * chords.radius_mm() + chords.reach_mm();
    let first = -(chords.reach_mm() / step_mm).ceil();
    let count = (farthest_mm / step_mm - first).ceil() as usize;
    let mut strokes: Vec<Stroke> =
        (0..=count).map(|i| Stroke { phase: i % phases as usize, at_mm: (first + i as f64) * step_mm, slid: near.flat.clone() }).collect();
    // What strokes on a flat panel differ by from phase to phase is not the line's.
    let flat: Vec<Sample> = Profile::distances_mm(near.pad).map(|d| gain(near, &strokes, d)).collect();
    let along = f64::from(near.used.passes.div_ceil(2)) / f64::from(near.used.passes);
    let mut samples = vec![Sample::default(); flat.len()];
    for turn_deg in TURNS_DEG {
        for stroke in &mut strokes {
            let over = press_on_bend(near.pad, near.used.load_n, Bend { radius_mm, turn_deg }, stroke.at_mm)?;
            // A line bends all of a chord alike, so that its pressure goes with its squeeze.
            let of_flat = |(i, flat): (usize, &f64)| flat * over.squeeze_mm(chords.across_mm(i)) / near.flat_mm;
            stroke.slid = near.flat.iter().enumerate().map(of_flat).collect();
        }
        for ((sample, flat), distance_mm) in samples.iter_mut().zip(&flat).zip(Profile::distances_mm(near.pad)) {
            let here = gain(near, &strokes, distance_mm);
            let of_phase = (here.variance - flat.variance).max(0.0);
            sample.mean += here.mean / TURNS_DEG.len() as f64;
            sample.variance += (here.mean * here.mean + along * along * of_phase) / TURNS_DEG.len() as f64;
        }
    }
    for sample in &mut samples {
        sample.variance -= sample.mean * sample.mean;
    }
    Ok(Profile::of(near.pad, samples))
}

/// The gain at a distance from the line, over the phases of strokes along it.
fn gain(near: &Near<'_>, strokes: &[Stroke], distance_mm: f64) -> Sample {
    let mut phases: Vec<[f64; 2]> = Vec::new();
    for stroke in strokes {
        if stroke.phase >= phases.len() {
            phases.push([0.0; 2]);
        }
        let across_mm = distance_mm - stroke.at_mm;
        let [slid, time] = &mut phases[stroke.phase];
        *slid += near.chords.at(&stroke.slid, across_mm);
        *time += near.chords.time_at(across_mm);
    }
    let [slid, time] = phases.iter().fold([0.0; 2], |all, [slid, time]| [all[0] + slid, all[1] + time]);
    let mean = slid / time / near.middle - 1.0;
    // A phase is weighed by its time: one that hardly comes there says little.
    let apart = |[slid, time]: &[f64; 2]| if *time > 0.0 { time * (slid / time / near.middle - 1.0 - mean).powi(2) } else { 0.0 };
    Sample { mean, variance: phases.iter().map(apart).sum::<f64>() / time }
}
