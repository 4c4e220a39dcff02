//! Rings round the lamp, and the responses in them as characteristic functions.

use num_complex::Complex64;

/// Edges of rings, pixels of a picture 2000 pixels wide. Judgement: within the first the lamp's own image bends; beyond the last hardly anything is lit.
pub(crate) const EDGES: [f64; 7] = [190.0, 250.0, 330.0, 430.0, 560.0, 730.0, 950.0];
pub(crate) const RINGS: usize = EDGES.len() - 1;

/// Sectors of a ring, to see how much a mean over it varies: of 15 degrees each.
pub(crate) const SECTORS: usize = 24;
const CELLS: usize = RINGS * SECTORS;

/// Where characteristic functions are taken, 1 / noise. Judgement: small numbers tell the bright scratches' brightness, large ones the number of the faint; beyond 1.5 noise leaves less than a third.
pub(crate) const AT: [f64; 9] = [0.02, 0.04, 0.08, 0.15, 0.27, 0.45, 0.7, 1.0, 1.4];

/// Bins a unit of noise, and the responses kept apart, in units of noise; what is beyond counts as the last.
const BINS_PER_NOISE: f64 = 10.0;
const LEAST: f64 = -60.0;
const MOST: f64 = 600.0;
const BINS: usize = ((MOST - LEAST) * BINS_PER_NOISE) as usize;

/// Fewest sectors with pixels from which a ring tells how much a mean varies.
const LEAST_SECTORS: usize = 4;

/// Fewest pixels of a ring on one side from which anything is said.
const LEAST_PIXELS: u64 = 1500;

/// A ring's mean distance from the lamp, pixels of a picture 2000 pixels wide.
pub(crate) fn middle(ring: usize) -> f64 {
    let (a, b) = (EDGES[ring], EDGES[ring + 1]);
    (a * a + a * b + b * b) / (a + b) / 1.5
}

/// The ring of a place that is `away` (x, y) from the lamp, where it is in one; `scale` is the picture's size by that of one 2000 pixels wide.
pub(crate) fn ring(away: [f64; 2], scale: f64) -> Option<usize> {
    let square = (away[0] * away[0] + away[1] * away[1]) / (scale * scale);
    EDGES.iter().filter(|edge| **edge * **edge <= square).count().checked_sub(1).filter(|ring| *ring < RINGS)
}

/// Tangents of 15 and of 30 degrees.
const TANGENTS: [f64; 2] = [0.267_949_192_431_122_7, 0.577_350_269_189_625_8];

/// The sector of a place that is `away` (x, y) from the lamp: each has a number, but neighbours need not have neighbouring ones.
pub(crate) fn sector([x, y]: [f64; 2]) -> usize {
    let quadrant = usize::from(x < 0.0) + 2 * usize::from(y < 0.0);
    let (least, most) = (x.abs().min(y.abs()), x.abs().max(y.abs()));
    let from_axis = TANGENTS.iter().filter(|tangent| least >= **tangent * most).count();
    let within = if x.abs() >= y.abs() { from_axis } else { SECTORS / 4 - 1 - from_axis };
    quadrant * (SECTORS / 4) + within
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

    /// Adds a pixel's responses, `away` (x, y) from the lamp; `scale` is the picture's size by that of one 2000 pixels wide.
    pub(crate) fn add(&mut self, away: [f64; 2], scale: f64, responses: [f32; 2], noise: f32) {
        let Some(ring) = ring(away, scale) else { return };
        let cell = (ring * SECTORS + sector(away)) * BINS;
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

    /// The characteristic functions of all rings, when each `every`-th row was counted.
    pub(crate) fn rings(&self, every: usize) -> Rings {
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
            Ring::of(&pixels[cells.clone()], &round[cells.clone()], &towards[cells], every)
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
    /// Pixels whose responses were counted.
    pub(crate) pixels: f64,
    /// Pixels that they stand for.
    pub(crate) area: f64,
    /// Logarithm of the characteristic function of responses round the lamp, less that of responses towards it, at [`AT`].
    pub(crate) change: [Complex64; AT.len()],
    /// How much the logarithm towards the lamp varies: variance of its real and imaginary parts, times the number of pixels.
    noise: [[f64; 2]; AT.len()],
    /// Sectors that have pixels.
    sectors: usize,
}

impl Ring {
    fn of(pixels: &[u64], round: &[[Complex64; AT.len()]], towards: &[[Complex64; AT.len()]], every: usize) -> Self {
        let count = pixels.iter().sum::<u64>() as f64;
        let total = |cells: &[[Complex64; AT.len()]], at: usize| cells.iter().map(|cell| cell[at]).sum::<Complex64>() / count.max(1.0);
        let area = count * every as f64;
        let sectors = pixels.iter().filter(|pixels| **pixels > 0).count();
        // The mean is theirs too.
        let freedom = sectors as f64 / sectors.saturating_sub(1).max(1) as f64;
        let mut ring = Self { pixels: count, area, change: [Complex64::default(); AT.len()], noise: [[0.0; 2]; AT.len()], sectors };
        if !ring.is_enough() {
            return ring;
        }
        for at in 0..AT.len() {
            let (around, inward) = (total(round, at), total(towards, at));
            ring.change[at] = around.ln() - inward.ln();
            for (pixels, cell) in pixels.iter().zip(towards) {
                let apart = (cell[at] - inward * (*pixels as f64)) / inward;
                ring.noise[at][0] += freedom * apart.re * apart.re / count;
                ring.noise[at][1] += freedom * apart.im * apart.im / count;
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
    /// Are there enough rings to say anything?
    pub(crate) fn are_enough(&self) -> bool {
        2 * self.rings.iter().filter(|ring| ring.is_enough()).count() >= RINGS
    }

    /// Variances of the logarithm towards the lamp, times the number of pixels: the medians of some sides' rings.
    pub(crate) fn noise(sides: &[&Self]) -> [[f64; 2]; AT.len()] {
        let enough = || sides.iter().flat_map(|side| &side.rings).filter(|ring| ring.is_enough());
        let most = enough().map(|ring| ring.sectors).max().unwrap_or(0);
        let enough: Vec<&Ring> = enough().filter(|ring| ring.sectors >= most.min(LEAST_SECTORS)).collect();
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_turn_has_sectors_of_equal_size() {
        let at = |degrees: f64| sector([100.0 * degrees.to_radians().cos(), 100.0 * degrees.to_radians().sin()]);
        let starts: Vec<usize> = (0..SECTORS).map(|turn| at(15.0 * turn as f64 + 0.1)).collect();
        for (turn, start) in starts.iter().enumerate() {
            assert!(*start < SECTORS && starts.iter().filter(|other| *other == start).count() == 1, "{turn}");
            assert_eq!(at(15.0 * turn as f64 + 14.9), *start);
        }
    }

    #[test]
    fn rings_lie_between_their_edges() {
        for (distance, wanted) in [(0.0, None), (189.0, None), (191.0, Some(0)), (429.0, Some(2)), (949.0, Some(5)), (951.0, None)] {
            assert_eq!(ring([0.6 * 2.0 * distance, -0.8 * 2.0 * distance], 2.0), wanted, "{distance}");
        }
    }
}
