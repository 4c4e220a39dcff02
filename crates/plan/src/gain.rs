//! Gains near edges and body lines: what is taken there over what is taken in the middle.
//!
//! A process that states its machine, pad and use has its gains from contact and motion ([`lastmicron_polish::near`]), another has the method's
//! defaults; what a job states in `[edge]` comes before both at edges. A treatment blends the laws of its processes by what each takes of the film.

use lastmicron_film::grid::Grid;
use lastmicron_polish::near::{Near, NearError};
use lastmicron_polish::{Drive, EdgeGain, Machine, Pad, PadEdge, Step, USUAL_EDGE_GAIN, Use};
use rayon::prelude::*;

use crate::car::{BodyLine, Car, CarPanel, line_radii_mm};

/// Distances from an edge or a line at which correction is worked out, mm: places take the nearest below.
const BINS_MM: [f64; 6] = [0.0, 10.0, 20.0, 30.0, 50.0, 90.0];

/// Farther from a line than this it isn't felt, mm. Judgement: more than the radius of any pad.
const FELT_MM: f64 = 150.0;

/// Steps in which a blend's shares are told apart. Judgement: a twentieth moves a gain by less than its doubt; finer multiplies the sums.
const SHARE_STEPS: f64 = 20.0;

/// A gain that is not known: `mean + sd x hand`, never below nothing, where the hand is one standard draw for all of a car's places.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Gain {
    pub(crate) mean: f64,
    sd: f64,
}

impl Gain {
    /// The gain in a draw of the hand.
    pub(crate) fn drawn(self, hand: f64) -> f64 {
        (self.mean + self.sd * hand).max(0.0)
    }

    /// The larger mean and the larger standard deviation of the two.
    pub(crate) fn or(self, other: Self) -> Self {
        Self { mean: self.mean.max(other.mean), sd: self.sd.max(other.sd) }
    }

    fn plus(self, share: f64, law: EdgeGain, distance_mm: f64) -> Self {
        let part = share * law.fall_off(distance_mm);
        Self { mean: self.mean + part * law.gain.mean, sd: self.sd + part * law.gain.sd }
    }
}

/// How near a place lies to what raises the gain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Nearness {
    /// Distance from the nearest edge, mm.
    edge_mm: f64,
    /// Index of the kind of the line that is felt most, and the distance from it, mm; none where no line is felt.
    line: Option<(usize, f64)>,
}

impl Nearness {
    /// Number of the cell of bins that it lies in.
    pub(crate) fn cell(self) -> usize {
        let bin = |mm: f64| BINS_MM.iter().rposition(|&from| mm >= from - 1e-6).unwrap_or(0);
        let line = self.line.map_or(0, |(kind, mm)| 1 + kind * BINS_MM.len() + bin(mm));
        bin(self.edge_mm) + BINS_MM.len() * line
    }

    /// The near end of a cell.
    pub(crate) fn of_cell(cell: usize) -> Self {
        let (edge, line) = (cell % BINS_MM.len(), cell / BINS_MM.len());
        let of_line = |line: usize| (line / BINS_MM.len(), BINS_MM[line % BINS_MM.len()]);
        Self { edge_mm: BINS_MM[edge], line: line.checked_sub(1).map(of_line) }
    }

    /// The nearest that any place comes that the one on a grid stands for: a line may run between the places, an edge never does.
    pub(crate) fn nearest_within(self, grid: &Grid) -> Self {
        let half_mm = 0.5 * grid.step_mm[0].max(grid.step_mm[1]);
        Self { line: self.line.map(|(kind, mm)| (kind, (mm - half_mm).max(0.0))), ..self }
    }
}

/// Gains of one process.
#[derive(Clone, Debug, PartialEq)]
struct Law {
    edge: EdgeGain,
    /// By kind of line.
    lines: Vec<EdgeGain>,
}

impl Law {
    /// A gain with a share of this law's at a place added.
    fn add_to(&self, sum: Gain, share: f64, near: Nearness) -> Gain {
        let at_edge = sum.plus(share, self.edge, near.edge_mm);
        near.line.map_or(at_edge, |(kind, mm)| at_edge.plus(share, self.lines[kind], mm))
    }
}

/// What a treatment, or work done before, has of each law: shares of its removal.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Blend(Vec<f64>);

/// Gains of a car's processes.
#[derive(Clone, Debug)]
pub(crate) struct Gains {
    /// Radii of the kinds of lines, mm.
    radii_mm: Vec<f64>,
    laws: Vec<Law>,
    /// Law of each process.
    of_process: Vec<usize>,
    /// Largest unevenness of the processes that state a use.
    unevenness: f64,
}

/// A process whose machine, pad and use can't be worked with.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct NoGain {
    pub(crate) process: usize,
    pub(crate) why: NearError,
}

impl Gains {
    pub(crate) fn of(car: &Car) -> Result<Self, NoGain> {
        let radii_mm = line_radii_mm(&car.panels);
        let mut gains = Self { radii_mm, laws: Vec::new(), of_process: Vec::new(), unevenness: 0.0 };
        for process in 0..car.processes.len() {
            let stated = car.equipment.of(process);
            let same = (0..process).find(|&other| car.equipment.of(other) == stated);
            let law = match same {
                Some(other) => gains.of_process[other],
                None => {
                    let law = gains.law(car, stated).map_err(|why| NoGain { process, why })?;
                    gains.laws.iter().position(|l| *l == law).unwrap_or_else(|| {
                        gains.laws.push(law);
                        gains.laws.len() - 1
                    })
                }
            };
            gains.of_process.push(law);
        }
        Ok(gains)
    }

    fn law(&mut self, car: &Car, stated: Option<Stated<'_>>) -> Result<Law, NearError> {
        let usual = usual();
        let (machine, pad, used) = stated.unwrap_or((&usual.0, &usual.1, &usual.2));
        if stated.is_none() && self.radii_mm.is_empty() {
            return Ok(Law { edge: car.edge.unwrap_or(USUAL_EDGE_GAIN), lines: Vec::new() });
        }
        let near = Near::of(machine, pad, used)?;
        if stated.is_some() {
            self.unevenness = self.unevenness.max(near.unevenness());
        }
        let edge = match (car.edge, stated) {
            (Some(edge), _) => edge,
            (None, Some(_)) => near.edge()?.gain(),
            (None, None) => USUAL_EDGE_GAIN,
        };
        let lines = self.radii_mm.par_iter().map(|&radius_mm| Ok(near.line(radius_mm)?.gain())).collect::<Result<_, NearError>>()?;
        Ok(Law { edge, lines })
    }

    /// Standard deviation of depth over its mean from place to place within a section, of the processes that state a use: the largest.
    pub(crate) fn unevenness(&self) -> f64 {
        self.unevenness
    }

    /// The law of a process near edges.
    pub(crate) fn at_edges(&self, process: usize) -> EdgeGain {
        self.laws[self.of_process[process]].edge
    }

    /// The law of a process near lines, by kind: radius in mm, and gain.
    pub(crate) fn at_lines(&self, process: usize) -> impl Iterator<Item = (f64, EdgeGain)> + '_ {
        self.radii_mm.iter().copied().zip(self.laws[self.of_process[process]].lines.iter().copied())
    }

    /// How near places of a panel lie to its edges, at the distance given, and its lines.
    pub(crate) fn nearness(&self, panel: &CarPanel, [x_mm, y_mm]: [f64; 2], edge_mm: f64) -> Nearness {
        let to_line = |line: &BodyLine| {
            let kind = self.radii_mm.iter().position(|r| r.total_cmp(&line.radius_mm).is_eq()).unwrap_or(0);
            (kind, line.distance_mm([x_mm, y_mm]))
        };
        // Of several lines the one that raises the gain most under the first process: two within a pad's width are beyond the model.
        let raises =
            |&(kind, mm): &(usize, f64)| self.laws.first().map_or(0.0, |law| law.lines[kind].gain.mean * law.lines[kind].fall_off(mm));
        let near = panel.lines.iter().map(to_line).filter(|(_, mm)| *mm < FELT_MM);
        let line = near.max_by(|a, b| raises(a).total_cmp(&raises(b)).then(b.1.total_cmp(&a.1)));
        Nearness { edge_mm, line }
    }

    /// The blend of steps whose processes take `rates_um` a set.
    pub(crate) fn blend(&self, steps: &[Step], rates_um: &[f64]) -> Blend {
        let mut taken = vec![0.0; self.laws.len()];
        steps.iter().for_each(|s| taken[self.of_process[s.process]] += f64::from(s.sets) * rates_um[s.process]);
        let all: f64 = taken.iter().sum();
        Blend(taken.iter().map(|t| if all > 0.0 { (t / all * SHARE_STEPS).round() / SHARE_STEPS } else { 0.0 }).collect())
    }

    /// The gain of a blend at a place.
    pub(crate) fn at(&self, blend: &Blend, near: Nearness) -> Gain {
        let shares = self.laws.iter().zip(&blend.0).filter(|(_, share)| **share > 0.0);
        shares.fold(Gain::default(), |sum, (law, &share)| law.add_to(sum, share, near))
    }

    /// The gain of a process at a place.
    pub(crate) fn of_process(&self, process: usize, near: Nearness) -> Gain {
        self.laws[self.of_process[process]].add_to(Gain::default(), 1.0, near)
    }
}

type Stated<'e> = (&'e Machine, &'e Pad, &'e Use);

/// What is in the hand where a job doesn't say. Judgement: a large orbital with soft foam of 140 mm, upright, half overlapped and crosswise, under a
/// light hand: the usual tool on flats. A larger pad presses more on lines, a smaller one less.
fn usual() -> (Machine, Pad, Use) {
    let machine =
        Machine { name: "large orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 200.0 };
    let pad = Pad { name: "soft foam 140".to_owned(), diameter_mm: 140.0, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
    (machine, pad, Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 })
}
