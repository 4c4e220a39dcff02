//! Strokes along an edge.

use crate::contact::{Hold, Surface, press};
use crate::near::{Near, NearError, Profile, Sample};

/// Farthest that a hand lets the rim of a pad go over an edge, as a share of its radius. Judgement: a quarter of the pad is the most that a practised
/// hand allows; beyond it a freely tilting pad begins to lift at its far side (from 0.529), and the edge's pressure runs away.
pub const MOST_OVERHANG: f64 = 0.5;

/// Overhangs over which gains are averaged.
const OVERHANGS: usize = 6;

/// What an outermost stroke gives by distance, held in one way.
struct Strokes {
    /// Distance of its middle from the edge, mm.
    first_mm: f64,
    /// Pressure x sliding by chord of the strokes that hang over, from the outermost; those beyond them lie flat.
    over: Vec<Vec<f64>>,
}

pub(super) fn profile(near: &Near<'_>) -> Result<Profile, NearError> {
    let (chords, apart_mm) = (&near.chords, near.apart_mm());
    let radius_mm = chords.radius_mm();
    let laid = |overhang_mm: f64, hold: Hold| -> Result<Strokes, NearError> {
        let first_mm = radius_mm - overhang_mm;
        let mut over = Vec::new();
        while over.len() as f64 * apart_mm < overhang_mm {
            let overhang_mm = overhang_mm - over.len() as f64 * apart_mm;
            let contact = press(near.pad, near.used.load_n, Surface::Edge { overhang_mm, hold })?;
            over.push(chords.slid(|x, y| contact.pressure_pa(x, y)));
        }
        Ok(Strokes { first_mm, over })
    };
    let mut ways = Vec::new();
    for i in 0..OVERHANGS {
        let overhang_mm = MOST_OVERHANG * radius_mm * (i as f64 + 0.5) / OVERHANGS as f64;
        ways.push([laid(overhang_mm, Hold::SelfAligning)?, laid(overhang_mm, Hold::Rigid)?]);
    }
    let gain = |strokes: &Strokes, distance_mm: f64| {
        let (mut slid, mut time) = (0.0, 0.0);
        let farthest = distance_mm + chords.reach_mm();
        let count = ((farthest - strokes.first_mm) / apart_mm).floor().max(0.0) as usize + 1;
        for stroke in 0..count {
            let across_mm = strokes.first_mm + stroke as f64 * apart_mm - distance_mm;
            slid += chords.at(strokes.over.get(stroke).unwrap_or(&near.flat), across_mm);
            time += chords.time_at(across_mm);
        }
        if time > 0.0 { slid / time / near.middle - 1.0 } else { 0.0 }
    };
    let sample = |distance_mm: f64| {
        let mut sample = Sample::default();
        for [free, square] in &ways {
            let (free, square) = (gain(free, distance_mm), gain(square, distance_mm));
            sample.mean += 0.5 * (free + square) / ways.len() as f64;
            // Held by an even share of the two: the mean square of w a + (1 - w) b.
            sample.variance += (free * free + square * square + free * square) / 3.0 / ways.len() as f64;
        }
        sample.variance -= sample.mean * sample.mean;
        sample
    };
    let mut samples: Vec<Sample> = Profile::distances_mm(near.pad).map(sample).collect();
    // On the very edge a place lies between a chord on the panel and one that hangs over it, which presses on nothing: the sample beside it stands.
    if let Some(beside) = samples.get(1).copied() {
        samples[0] = beside;
    }
    Ok(Profile::of(near.pad, samples))
}
