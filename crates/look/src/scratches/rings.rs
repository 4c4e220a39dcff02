//! Rings round the lamp, and the responses in them as characteristic functions.

use num_complex::Complex64;

/// Edges of rings, pixels of a picture 2000 pixels wide. Judgement: within the first the lamp's own image bends; beyond the last hardly anything is lit.
pub(crate) const EDGES: [f64; 7] = [190.0, 250.0, 330.0, 430.0, 560.0, 730.0, 950.0];
pub(crate) const RINGS: usize = EDGES.len() - 1;

/// Sectors of a ring, to see how much a mean over it varies.
const SECTORS: usize = 24;
const CELLS: usize = RINGS * SECTORS;

/// Where characteristic functions are taken, 1 / noise. Judgement: small numbers tell the bright scratches' brightness, large ones the number of the faint; beyond 1.5 noise has eaten all.
pub(crate) const AT: [f64; 9] = [0.02, 0.04, 0.08, 0.15, 0.27, 0.45, 0.7, 1.0, 1.4];

/// Bins a unit of noise, and the responses kept apart, in units of noise; what is beyond counts as the last.
const BINS_PER_NOISE: f64 = 10.0;
const LEAST: f64 = -60.0;
const MOST: f64 = 600.0;
const BINS: usize = ((MOST - LEAST) * BINS_PER_NOISE) as usize;

/// Fewest pixels of a ring on one side from which anything is said.
const LEAST_PIXELS: u64 = 1500;

/// A ring's mean distance from the lamp, pixels of a picture 2000 pixels wide.
pub(crate) fn middle(ring: usize) -> f64 {
    let (a, b) = (EDGES[ring], EDGES[ring + 1]);
    (a * a + a * b + b * b) / (a + b) / 1.5
}

/// Counts of responses: by sector and bin, of those round the lamp and of those towards it.
#[derive(Clone, Debug)]
pub(crate) struct Tally {
    round: Vec<u32>,
    towards: Vec<u32>,
}

impl Tally {
    pub(crate) fn new() -> Self {
        Self { round: vec![0; CELLS * BINS], towards: vec![0; CELLS * BINS] }
    }

    /// Adds the pixel at `at` of the responses, `away` (x, y) from the lamp; `scale` is the picture's width by 2000.
    pub(crate) fn add(&mut self, away: [f64; 2], scale: f64, responses: [f32; 2], noise: f32) {
        let distance = away[0].hypot(away[1]) / scale;
        let Some(ring) = EDGES.windows(2).position(|edges| distance >= edges[0] && distance < edges[1]) else { return };
        let turn = away[1].atan2(away[0]) / std::f64::consts::TAU + 0.5;
        let sector = ((turn * SECTORS as f64) as usize).min(SECTORS - 1);
        let cell = (ring * SECTORS + sector) * BINS;
        let bin = |response: f32| (((response / noise) - LEAST as f32) * BINS_PER_NOISE as f32).clamp(0.0, (BINS - 1) as f32) as usize;
        self.round[cell + bin(responses[0])] += 1;
        self.towards[cell + bin(responses[1])] += 1;
    }

    pub(crate) fn join(mut self, other: &Self) -> Self {
        for (to, from) in [(&mut self.round, &other.round), (&mut self.towards, &other.towards)] {
            to.iter_mut().zip(from).for_each(|(to, from)| *to += from);
        }
        self
    }

    /// The characteristic functions of all rings.
    pub(crate) fn rings(&self) -> Rings {
        let turns: Vec<Vec<Complex64>> = (0..BINS)
            .map(|bin| {
                let response = LEAST + (bin as f64 + 0.5) / BINS_PER_NOISE;
                AT.iter().map(|at| Complex64::cis(at * response)).collect()
            })
            .collect();
        let sums = |cell: &[u32]| {
            let mut sums = [Complex64::default(); AT.len()];
            for (count, turns) in cell.iter().zip(&turns).filter(|(count, _)| **count > 0) {
                for (sum, turn) in sums.iter_mut().zip(turns) {
                    *sum += turn * f64::from(*count);
                }
            }
            sums
        };
        let of = |tally: &[u32]| -> Vec<[Complex64; AT.len()]> { tally.chunks_exact(BINS).map(sums).collect() };
        let pixels: Vec<u64> = self.round.chunks_exact(BINS).map(|cell| cell.iter().map(|count| u64::from(*count)).sum()).collect();
        let (round, towards) = (of(&self.round), of(&self.towards));
        let rings = (0..RINGS).map(|ring| {
            let cells = ring * SECTORS..(ring + 1) * SECTORS;
            Ring::of(&pixels[cells.clone()], &round[cells.clone()], &towards[cells])
        });
        Rings { rings: rings.collect() }
    }
}

/// What is known of each ring on one side.
#[derive(Clone, Debug)]
pub(crate) struct Rings {
    pub(crate) rings: Vec<Ring>,
}

/// One ring on one side.
#[derive(Clone, Debug)]
pub(crate) struct Ring {
    /// Pixels.
    pub(crate) pixels: f64,
    /// Logarithm of the characteristic function of responses round the lamp, less that of responses towards it, at [`AT`].
    pub(crate) change: [Complex64; AT.len()],
    /// How much the logarithm towards the lamp varies: variance of its real and imaginary parts, times the number of pixels.
    noise: [[f64; 2]; AT.len()],
}

impl Ring {
    fn of(pixels: &[u64], round: &[[Complex64; AT.len()]], towards: &[[Complex64; AT.len()]]) -> Self {
        let count = pixels.iter().sum::<u64>() as f64;
        let total = |cells: &[[Complex64; AT.len()]], at: usize| cells.iter().map(|cell| cell[at]).sum::<Complex64>() / count.max(1.0);
        let mut ring = Self { pixels: count, change: [Complex64::default(); AT.len()], noise: [[0.0; 2]; AT.len()] };
        if !ring.is_enough() {
            return ring;
        }
        for at in 0..AT.len() {
            let (around, inward) = (total(round, at), total(towards, at));
            ring.change[at] = around.ln() - inward.ln();
            for (pixels, cell) in pixels.iter().zip(towards) {
                let apart = (cell[at] - inward * (*pixels as f64)) / inward;
                ring.noise[at][0] += apart.re * apart.re / count;
                ring.noise[at][1] += apart.im * apart.im / count;
            }
        }
        ring
    }

    /// Are there enough pixels to say anything?
    pub(crate) fn is_enough(&self) -> bool {
        self.pixels > LEAST_PIXELS as f64
    }
}

impl Rings {
    /// Variances of the logarithm towards the lamp, times the number of pixels: the medians of some sides' rings.
    pub(crate) fn noise(sides: &[&Self]) -> [[f64; 2]; AT.len()] {
        let enough: Vec<&Ring> = sides.iter().flat_map(|side| &side.rings).filter(|ring| ring.is_enough()).collect();
        std::array::from_fn(|at| [0, 1].map(|part| median(enough.iter().map(|ring| ring.noise[at][part]).collect())))
    }
}

/// The median; 0 of nothing.
pub(crate) fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return 0.0;
    }
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}
