//! What the readings explain of the field over one tile.

use pulp::{Arch, Simd, WithSimd};

use super::shape::{self, NODES, NODES_X, SIDE, Shape};
use crate::gp::Conditioned;
use crate::gp::estimate::{ROWS, VECTORS, products};

/// K^-1, whole and in panels of four rows as columns of four.
pub(super) struct Panels {
    n: usize,
    /// The field's.
    variance: f64,
    /// Lower half, row-major.
    precision: Vec<f64>,
    panels: Vec<[f64; ROWS]>,
}

/// Three numbers at each place: what the readings add to the mean, what they tell of the level, and what they explain of the variance.
pub(in crate::gp) struct Explained {
    pub(in crate::gp) weighted: Vec<f64>,
    pub(in crate::gp) ones: Vec<f64>,
    pub(in crate::gp) variance: Vec<f64>,
}

impl Panels {
    pub(super) fn new(n: usize, variance: f64, precision: Vec<f64>) -> Self {
        let entry = |i: usize, k: usize| if i < n { precision[i.max(k) * n + i.min(k)] } else { 0.0 };
        let panels = (0..n)
            .step_by(ROWS)
            .flat_map(|i| (0..n).map(move |k| (i, k)))
            .map(|(i, k)| std::array::from_fn(|row| entry(i + row, k)))
            .collect();
        Self { n, variance, precision, panels }
    }

    /// Over the tile that the readings are `from_mm` from the centre of; `near` are those whose covariances aren't smooth in it, ascending.
    pub(super) fn explained(&self, shape: &Shape, given: &Conditioned, from_mm: &[[f64; 2]], near: &[usize]) -> Explained {
        Arch::new().dispatch(Tile { panels: self, shape, given, from_mm, near })
    }

    /// Rows and columns of K^-1 for some readings, in panels whose form of d is d' K^-1 d: what is off the diagonal is doubled below it.
    fn among(&self, near: &[usize]) -> Vec<[f64; ROWS]> {
        let entry = |i: usize, k: usize| match near.get(i) {
            Some(row) if k <= i => self.precision[row * self.n + near[k]] * if k == i { 1.0 } else { 2.0 },
            _ => 0.0,
        };
        (0..near.len())
            .step_by(ROWS)
            .flat_map(|i| (0..(i + ROWS).min(near.len())).map(move |k| (i, k)))
            .map(|(i, k)| std::array::from_fn(|row| entry(i + row, k)))
            .collect()
    }
}

struct Tile<'a> {
    panels: &'a Panels,
    shape: &'a Shape,
    given: &'a Conditioned,
    from_mm: &'a [[f64; 2]],
    near: &'a [usize],
}

impl WithSimd for Tile<'_> {
    type Output = Explained;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Explained {
        let Self { panels, shape, given, from_mm, near } = self;
        let (family, length_mm) = (given.kernel.family(), given.kernel.length_mm());
        let covariances = at_nodes(shape, given, from_mm);
        let weights = weights(simd, panels, &covariances);
        let mut explained = vec![0.0; shape.slots()];
        subtract_form(shape, &gram(&covariances, &weights), &mut explained);

        let mut sums = Explained { weighted: vec![0.0; shape.slots()], ones: vec![0.0; shape.slots()], variance: explained };
        let blocks = shape.slots().div_ceil(VECTORS * S::F64_LANES);
        let mut differences = vec![[simd.splat_f64s(0.0); VECTORS]; blocks * near.len()];
        let mut correlations = vec![0.0; shape.slots()];
        let mut near_rows = near.iter().enumerate().peekable();
        for (reading, at) in from_mm.iter().enumerate() {
            let of_reading = reading * NODES..(reading + 1) * NODES;
            shape::correlate(shape, family, length_mm, *at, &mut correlations);
            let scaled = [given.weights()[reading], given.ones()[reading], 2.0].map(|factor| factor * panels.variance);
            add_products(simd, shape, &correlations, &weights[of_reading.clone()], scaled, &mut sums);
            if let Some((row, _)) = near_rows.next_if(|(_, near)| **near == reading) {
                let rows = Rows { row, of: near.len(), differences: &mut differences };
                difference(simd, shape, &correlations, &covariances[of_reading], panels.variance, rows);
            }
        }
        add_near(simd, &panels.among(near), near.len(), &differences, &mut sums.variance);
        let within = |slots: Vec<f64>| slots.chunks_exact(shape.stride).flat_map(|row| &row[..shape.size[0]]).copied().collect();
        Explained { weighted: within(sums.weighted), ones: within(sums.ones), variance: within(sums.variance) }
    }
}

/// Covariances of every reading with the tile's nodes, a row a reading.
#[inline(always)]
fn at_nodes(shape: &Shape, given: &Conditioned, from_mm: &[[f64; 2]]) -> Vec<f64> {
    let variance = given.kernel.sd() * given.kernel.sd();
    let mut covariances = vec![0.0; from_mm.len() * NODES];
    for (row, from) in covariances.chunks_exact_mut(NODES).zip(from_mm) {
        shape::correlate_nodes(shape, given.kernel.family(), given.kernel.length_mm(), *from, row);
        row.iter_mut().for_each(|value| *value *= variance);
    }
    covariances
}

/// K^-1 times the covariances with the nodes, a row a reading.
#[inline(always)]
fn weights<S: Simd>(simd: S, panels: &Panels, covariances: &[f64]) -> Vec<f64> {
    let n = panels.n;
    let block = VECTORS * S::F64_LANES;
    let mut weights = vec![0.0; n * NODES];
    let mut columns = vec![0.0; n * block];
    for first in (0..NODES).step_by(block) {
        for (to, from) in columns.chunks_exact_mut(block).zip(covariances.chunks_exact(NODES)) {
            to.copy_from_slice(&from[first..first + block]);
        }
        let (vectors, _) = S::as_simd_f64s(&columns);
        let (vectors, _) = vectors.as_chunks::<VECTORS>();
        for (rows, panel) in weights.chunks_mut(ROWS * NODES).zip(panels.panels.chunks_exact(n)) {
            let sums = products(simd, panel, vectors);
            for (row, sums) in rows.chunks_exact_mut(NODES).zip(sums) {
                for (to, sum) in row[first..first + block].chunks_exact_mut(S::F64_LANES).zip(sums) {
                    simd.partial_store_f64s(to, sum);
                }
            }
        }
    }
    weights
}

/// Products of the covariances with the weights, summed over the readings: one row and one column a node.
#[inline(always)]
fn gram(covariances: &[f64], weights: &[f64]) -> Vec<[f64; NODES]> {
    let mut gram = vec![[0.0; NODES]; NODES];
    for (covariances, weights) in covariances.chunks_exact(4 * NODES).zip(weights.chunks_exact(4 * NODES)) {
        let (weights, _) = weights.as_chunks::<NODES>();
        let (covariances, _) = covariances.as_chunks::<NODES>();
        if let ([a, b, c, d], [e, f, g, h]) = (weights, covariances) {
            for (k, row) in gram.iter_mut().enumerate() {
                for i in 0..NODES {
                    row[i] = e[k].mul_add(a[i], f[k].mul_add(b[i], g[k].mul_add(c[i], h[k].mul_add(d[i], row[i]))));
                }
            }
        }
    }
    let done = covariances.len() / (4 * NODES) * 4 * NODES;
    for (covariances, weights) in covariances[done..].chunks_exact(NODES).zip(weights[done..].chunks_exact(NODES)) {
        for (row, covariance) in gram.iter_mut().zip(covariances) {
            for (entry, weight) in row.iter_mut().zip(weights) {
                *entry = covariance.mul_add(*weight, *entry);
            }
        }
    }
    gram
}

/// Takes the quadratic form `gram` of the polynomials at each place from `values`.
#[inline(always)]
fn subtract_form(shape: &Shape, gram: &[[f64; NODES]], values: &mut [f64]) {
    for (row, along_y) in values.chunks_exact_mut(shape.stride).zip(&shape.along_y) {
        // The form of this row: along x alone.
        let mut form = [[0.0; NODES_X]; NODES_X];
        for (b, y) in along_y.iter().enumerate() {
            for (a, form) in form.iter_mut().enumerate() {
                let (parts, _) = gram[b * NODES_X + a].as_chunks::<NODES_X>();
                for (part, other_y) in parts.iter().zip(along_y) {
                    let both = y * other_y;
                    for (entry, part) in form.iter_mut().zip(part) {
                        *entry = both.mul_add(*part, *entry);
                    }
                }
            }
        }
        let mut sums = [0.0; SIDE];
        for (form, x) in form.iter().zip(&shape.along_x) {
            let mut inner = [0.0; SIDE];
            for (entry, other_x) in form.iter().zip(&shape.along_x) {
                for (inner, other_x) in inner.iter_mut().zip(other_x) {
                    *inner = entry.mul_add(*other_x, *inner);
                }
            }
            for ((sum, inner), x) in sums.iter_mut().zip(&inner).zip(x) {
                *sum = inner.mul_add(*x, *sum);
            }
        }
        row.iter_mut().zip(&sums).for_each(|(value, sum)| *value -= sum);
    }
}

/// One reading's part of the three sums: its correlations times a number, a number, and a number times its weights.
#[inline(always)]
fn add_products<S: Simd>(simd: S, shape: &Shape, correlations: &[f64], weights: &[f64], factors: [f64; 3], sums: &mut Explained) {
    let across_tile = shape.stride / S::F64_LANES;
    let [weight, one, scale] = factors.map(|factor| simd.splat_f64s(factor));
    let (correlations, _) = S::as_simd_f64s(correlations);
    let (weighted, _) = S::as_mut_simd_f64s(&mut sums.weighted);
    let (ones, _) = S::as_mut_simd_f64s(&mut sums.ones);
    let (explained, _) = S::as_mut_simd_f64s(&mut sums.variance);
    for vector in 0..across_tile {
        let columns = shape::columns(simd, shape, weights, vector).map(|column| simd.mul_f64s(column, scale));
        let rows =
            weighted.chunks_exact_mut(across_tile).zip(ones.chunks_exact_mut(across_tile)).zip(explained.chunks_exact_mut(across_tile));
        for (((weighted, ones), explained), (correlations, along_y)) in rows.zip(correlations.chunks_exact(across_tile).zip(&shape.along_y))
        {
            let correlation = correlations[vector];
            weighted[vector] = simd.mul_add_e_f64s(weight, correlation, weighted[vector]);
            ones[vector] = simd.mul_add_e_f64s(one, correlation, ones[vector]);
            explained[vector] = simd.mul_add_e_f64s(shape::across(simd, &columns, along_y), correlation, explained[vector]);
        }
    }
}

/// The near readings' differences, in blocks of places, a row a reading.
struct Rows<'a, V> {
    row: usize,
    of: usize,
    differences: &'a mut [[V; VECTORS]],
}

/// A near reading's covariances less those taken between the nodes.
#[inline(always)]
fn difference<S: Simd>(simd: S, shape: &Shape, correlations: &[f64], at_nodes: &[f64], variance: f64, rows: Rows<'_, S::f64s>) {
    let across_tile = shape.stride / S::F64_LANES;
    let (correlations, _) = S::as_simd_f64s(correlations);
    let variance = simd.splat_f64s(variance);
    for vector in 0..across_tile {
        let columns = shape::columns(simd, shape, at_nodes, vector);
        for (row, along_y) in shape.along_y.iter().enumerate() {
            let at = row * across_tile + vector;
            let between = shape::across(simd, &columns, along_y);
            let difference = simd.sub_f64s(simd.mul_f64s(variance, correlations[at]), between);
            rows.differences[at / VECTORS * rows.of + rows.row][at % VECTORS] = difference;
        }
    }
}

/// Adds d' K^-1 d of the near readings' differences d.
#[inline(always)]
fn add_near<S: Simd>(simd: S, panels: &[[f64; ROWS]], near: usize, differences: &[[S::f64s; VECTORS]], values: &mut [f64]) {
    if near == 0 {
        return;
    }
    let (values, _) = S::as_mut_simd_f64s(values);
    for (differences, values) in differences.chunks_exact(near).zip(values.chunks_mut(VECTORS)) {
        let mut total = [simd.splat_f64s(0.0); VECTORS];
        let mut rest = panels;
        for first in (0..near).step_by(ROWS) {
            let (panel, after) = rest.split_at((first + ROWS).min(near));
            rest = after;
            for (sums, own) in products(simd, panel, differences).into_iter().zip(&differences[first..]) {
                for ((total, sum), own) in total.iter_mut().zip(sums).zip(own) {
                    *total = simd.mul_add_e_f64s(sum, *own, *total);
                }
            }
        }
        for (value, total) in values.iter_mut().zip(total) {
            *value = simd.add_f64s(*value, total);
        }
    }
}
