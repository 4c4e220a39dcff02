//! An influence that is one stencil at every position of a lattice.

use std::collections::BTreeMap;

use super::problem::{BoundedError, Influence, MOST_ENTRIES};
use crate::band::{Band, Factor};
use crate::wide::wide;

/// Most positions, most cells, and most of either along a side. Judgement: a square metre at every millimetre.
const MOST: usize = 1_000_000;

/// Values that are summed together; rows of planes are filled up so that they can be read past their end.
const LANES: usize = 8;

/// One cell that a position touches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// Cells to the right of the position's own, `pitch` times its column.
    pub right: isize,
    /// Cells above the position's own.
    pub up: isize,
    /// Influence on it, 0 or more.
    pub influence: f64,
}

/// Positions on a lattice over a grid of cells, each with the same stencil of influence. What falls off the cells is lost.
///
/// Inside, the axis with fewer positions runs fastest, which makes the band narrow. Cells are held in planes, one for each remainder of their
/// column and row by the pitch, so that neighbouring positions read and write neighbouring values.
#[derive(Clone, Debug)]
pub struct Lattice {
    /// Positions, cells and pitch along the slow and the fast axis.
    slow: Axis,
    fast: Axis,
    /// Whether x is the fast axis.
    x_is_fast: bool,
    /// Where in the planes each touched cell of position 0 is, and its influence.
    touches: Vec<(usize, f64)>,
    /// Where in the planes each cell is, cells with x running fastest; none for those that no position reaches.
    cells: Vec<Option<usize>>,
    /// Values in all planes.
    planes: usize,
    pairs: Vec<Pair>,
    factor: Option<Factor>,
}

/// One axis of a lattice.
#[derive(Clone, Copy, Debug)]
struct Axis {
    positions: usize,
    cells: usize,
    pitch: usize,
    /// Least of the stencil's offsets, in pitches, and how many pitches it covers.
    low: isize,
    span: usize,
}

impl Axis {
    fn new(positions: usize, cells: usize, pitch: usize, offsets: impl Iterator<Item = isize> + Clone) -> Self {
        let pitches = offsets.map(|offset| offset.div_euclid(pitch.cast_signed()));
        let low = pitches.clone().min().unwrap_or(0);
        let high = pitches.max().unwrap_or(0);
        Self { positions, cells, pitch, low, span: high.abs_diff(low) + 1 }
    }

    /// Values along the axis of one plane.
    const fn length(&self) -> usize {
        self.positions + self.span - 1
    }

    /// Plane and place of the cell at `offset` from the first position's.
    fn place(&self, offset: isize) -> Option<(usize, usize)> {
        let pitch = self.pitch.cast_signed();
        let place = offset.div_euclid(pitch).checked_sub(self.low)?;
        let place = usize::try_from(place).ok().filter(|place| *place < self.length())?;
        Some((offset.rem_euclid(pitch).unsigned_abs(), place))
    }
}

/// Two positions that touch the same cells: how far apart they are, and the products of their influences on these.
#[derive(Clone, Debug)]
struct Pair {
    slow: usize,
    fast: isize,
    products: Vec<(usize, f64)>,
}

impl Lattice {
    /// `positions` along x and y, `pitch` cells apart along x and y, over `cells` along x and y. Position (0, 0) is on cell (0, 0).
    ///
    /// # Errors
    /// [`BoundedError`] when there are no positions, cells or touches, too many, a pitch of 0, or an influence that is negative or not finite.
    pub fn new(positions: [usize; 2], pitch: [usize; 2], cells: [usize; 2], stencil: &[Touch]) -> Result<Self, BoundedError> {
        let count = |[x, y]: [usize; 2]| x.saturating_mul(y);
        let (position_count, cell_count) = (count(positions), count(cells));
        if position_count == 0 || cell_count == 0 || stencil.is_empty() || count(pitch) == 0 {
            return Err(BoundedError::Empty { rows: cell_count, columns: position_count });
        }
        if let Some((row, touch)) = stencil.iter().enumerate().find(|(_, touch)| !(touch.influence >= 0.0 && touch.influence.is_finite())) {
            return Err(BoundedError::Influence { row, column: 0, value: touch.influence });
        }
        let sides = [positions, cells, pitch].into_iter().flatten();
        if position_count > MOST || cell_count > MOST || sides.into_iter().any(|side| side > MOST) {
            return Err(BoundedError::TooLarge { positions: position_count, cells: cell_count });
        }
        // What is off the cells from every position.
        let on = |offset: isize, axis: usize| {
            offset < cells[axis].cast_signed() && offset >= -((positions[axis] - 1) * pitch[axis]).cast_signed()
        };
        let stencil: Vec<&Touch> = stencil.iter().filter(|touch| on(touch.right, 0) && on(touch.up, 1)).collect();
        let x = Axis::new(positions[0], cells[0], pitch[0], stencil.iter().map(|touch| touch.right));
        let y = Axis::new(positions[1], cells[1], pitch[1], stencil.iter().map(|touch| touch.up));
        let x_is_fast = positions[0] <= positions[1];
        let (slow, fast) = if x_is_fast { (y, x) } else { (x, y) };
        let row = fast.length().next_multiple_of(LANES) + LANES;
        let planes = row.saturating_mul(slow.length()).saturating_mul(count(pitch));
        if planes > 16 * MOST {
            return Err(BoundedError::TooLarge { positions: position_count, cells: cell_count });
        }
        let place = |x: isize, y: isize| {
            let (along_slow, along_fast) = if x_is_fast { (y, x) } else { (x, y) };
            let ((slow_plane, i), (fast_plane, j)) = (slow.place(along_slow)?, fast.place(along_fast)?);
            Some(((slow_plane * fast.pitch + fast_plane) * slow.length() + i) * row + j).map(|at| (at, along_slow, along_fast))
        };
        let mut touches = Touches::new();
        for touch in stencil.iter().filter(|touch| touch.influence > 0.0) {
            if let Some((at, along_slow, along_fast)) = place(touch.right, touch.up) {
                touches.entry((along_slow, along_fast)).or_insert((at, 0.0)).1 += touch.influence;
            }
        }
        let cell = |at: usize| place((at % cells[0]).cast_signed(), (at / cells[0]).cast_signed()).map(|(at, _, _)| at);
        let pairs = pairs(&touches, &slow, &fast);
        let lattice = Self {
            slow,
            fast,
            x_is_fast,
            touches: touches.into_values().collect(),
            cells: (0..cell_count).map(cell).collect(),
            planes,
            pairs,
            factor: None,
        };
        if position_count.saturating_mul(lattice.half_width() + 1) > MOST_ENTRIES {
            return Err(BoundedError::TooLarge { positions: position_count, cells: cell_count });
        }
        Ok(lattice)
    }

    pub(super) fn largest(&self) -> f64 {
        self.touches.iter().map(|(_, influence)| *influence).fold(0.0, f64::max)
    }

    /// The same with 1 as the largest influence.
    pub(super) fn scaled(&self) -> Self {
        let scale = self.largest().max(f64::MIN_POSITIVE);
        let mut scaled = self.clone();
        scaled.touches.iter_mut().for_each(|(_, influence)| *influence /= scale);
        scaled.pairs.iter_mut().flat_map(|pair| &mut pair.products).for_each(|(_, product)| *product /= scale * scale);
        scaled
    }

    /// Values in a plane's row.
    fn row(&self) -> usize {
        self.fast.length().next_multiple_of(LANES) + LANES
    }

    /// Index among the positions, x running fastest, of that at `slow` and `fast`.
    fn position(&self, slow: usize, fast: usize) -> usize {
        if self.x_is_fast { slow * self.fast.positions + fast } else { fast * self.slow.positions + slow }
    }

    /// Values of positions, x running fastest, with the fast axis running fastest.
    fn turned(&self, x: &[f64]) -> Vec<f64> {
        (0..x.len()).map(|at| x[self.position(at / self.fast.positions, at % self.fast.positions)]).collect()
    }

    /// The reverse.
    fn turn_back(&self, turned: &[f64], x: &mut [f64]) {
        for (at, value) in turned.iter().enumerate() {
            x[self.position(at / self.fast.positions, at % self.fast.positions)] = *value;
        }
    }

    fn in_planes(&self, values: &[f64]) -> Vec<f64> {
        let mut planes = vec![0.0; self.planes];
        for (cell, value) in self.cells.iter().zip(values) {
            if let Some(at) = cell {
                planes[*at] = *value;
            }
        }
        planes
    }

    /// How far from the diagonal the entries of A'A lie at most.
    fn half_width(&self) -> usize {
        let widths = self.pairs.iter().map(|pair| (pair.slow * self.fast.positions).saturating_add_signed(pair.fast));
        widths.max().unwrap_or(0).min((self.slow.positions * self.fast.positions).saturating_sub(1))
    }
}

/// Touched cells by their offsets along the slow and the fast axis: where they are in the planes, and the influence.
type Touches = BTreeMap<(isize, isize), (usize, f64)>;

/// All ways in which two positions touch the same cells, the second not before the first.
fn pairs(touches: &Touches, slow: &Axis, fast: &Axis) -> Vec<Pair> {
    let mut pairs = Vec::new();
    let across = fast.span.min(fast.positions).cast_signed();
    for away in 0..slow.span.min(slow.positions) {
        for aside in 1 - across..across {
            if away == 0 && aside < 0 {
                continue;
            }
            let (ds, df) = (away.cast_signed() * slow.pitch.cast_signed(), aside * fast.pitch.cast_signed());
            let product = |((s, f), (at, value)): (&(isize, isize), &(usize, f64))| Some((*at, value * touches.get(&(s - ds, f - df))?.1));
            let products: Vec<(usize, f64)> = touches.iter().filter_map(product).collect();
            if !products.is_empty() {
                pairs.push(Pair { slow: away, fast: aside, products });
            }
        }
    }
    pairs
}

impl Influence for Lattice {
    fn columns(&self) -> usize {
        self.slow.positions * self.fast.positions
    }

    fn rows(&self) -> usize {
        self.slow.cells * self.fast.cells
    }

    fn times(&self, x: &[f64]) -> Vec<f64> {
        let turned = self.turned(x);
        let mut planes = vec![0.0; self.planes];
        for (i, line) in turned.chunks_exact(self.fast.positions).enumerate() {
            spread(line, &self.touches, i * self.row(), &mut planes);
        }
        self.cells.iter().map(|cell| cell.map_or(0.0, |at| planes[at])).collect()
    }

    fn transposed(&self, r: &[f64]) -> Vec<f64> {
        let planes = self.in_planes(r);
        let mut turned = vec![0.0; self.columns()];
        for (i, line) in turned.chunks_exact_mut(self.fast.positions).enumerate() {
            gather(&planes, &self.touches, i * self.row(), line);
        }
        let mut out = vec![0.0; turned.len()];
        self.turn_back(&turned, &mut out);
        out
    }

    fn most(&self, bounds: &[f64]) -> Vec<f64> {
        let mut planes = vec![f64::INFINITY; self.planes];
        for (cell, bound) in self.cells.iter().zip(bounds) {
            if let Some(at) = cell {
                planes[*at] = *bound;
            }
        }
        let n = self.fast.positions;
        let at = |position: usize| position / n * self.row() + position % n;
        let most = |position: usize| {
            self.touches.iter().map(|(touch, influence)| planes[touch + at(position)] / influence).fold(f64::INFINITY, f64::min)
        };
        let turned: Vec<f64> = (0..self.columns()).map(most).collect();
        let mut out = vec![0.0; turned.len()];
        self.turn_back(&turned, &mut out);
        out
    }

    fn factor(&mut self, row_weights: &[f64], column_weights: &[f64]) -> bool {
        let band = self.factor.take().map_or_else(|| Band::new(self.columns(), self.half_width()), Factor::into_band);
        let mut band = band;
        band.clear();
        let planes = self.in_planes(row_weights);
        let n = self.fast.positions;
        let mut line = vec![0.0; n];
        for pair in &self.pairs {
            let (from, to) = (pair.fast.min(0).unsigned_abs(), n - pair.fast.max(0).unsigned_abs());
            for i in 0..self.slow.positions - pair.slow {
                line.fill(0.0);
                gather(&planes, &pair.products, i * self.row(), &mut line);
                let (row, column) = (((i + pair.slow) * n + from).saturating_add_signed(pair.fast), i * n + from);
                band.add_diagonally(row, column, &line[from..to]);
            }
        }
        for (at, weight) in self.turned(column_weights).iter().enumerate() {
            band.add(at, at, *weight);
        }
        self.factor = band.factor().ok();
        self.factor.is_some()
    }

    fn solve(&self, b: &mut [f64]) {
        if let Some(factor) = &self.factor {
            let mut turned = self.turned(b);
            factor.solve(&mut turned);
            self.turn_back(&turned, b);
        }
    }
}

wide! {
    /// Adds, for each touch, its influence times the line's values to the planes from `start` on.
    fn spread<'a>(line: &'a [f64], touches: &'a [(usize, f64)], start: usize, planes: &'a mut [f64]) -> () {
        for (at, influence) in touches {
            for (target, value) in planes[start + at..].iter_mut().zip(line) {
                *target += influence * value;
            }
        }
    }
}

wide! {
    /// Adds to each of the line's values the weighted values of the planes from `start` on.
    fn gather<'a>(planes: &'a [f64], weights: &'a [(usize, f64)], start: usize, line: &'a mut [f64]) -> () {
        for (block, line) in line.chunks_mut(LANES).enumerate() {
            let mut sums = [0.0; LANES];
            for (at, weight) in weights {
                let first = start + at + block * LANES;
                for (sum, value) in sums.iter_mut().zip(&planes[first..first + LANES]) {
                    *sum = value.mul_add(*weight, *sum);
                }
            }
            line.iter_mut().zip(sums).for_each(|(value, sum)| *value += sum);
        }
    }
}
