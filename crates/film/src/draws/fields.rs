//! Unconditioned fields that draws share, and which of them each panel has in each draw.

use lastmicron_numerics::circulant::Circulant;
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::Draws;
use super::hypotheses::Hypothesis;
use crate::grid::STEP_MM;
use crate::hyper::Field;
use crate::panel_system::Lags;
use crate::posterior::{FilmError, Posterior};

/// Unconditioned fields of one family and length, on a lattice that every panel's grid fits in.
pub(super) struct FieldGroup {
    pub(super) lags: Lags,
    nx: usize,
    nodes: usize,
    fields: Vec<f32>,
}

impl Posterior {
    /// Unconditioned fields for every group in use, as many as the larger half and the panels need.
    pub(super) fn draw_fields(&self, hypotheses: &[Hypothesis], seed: u64) -> Result<Vec<FieldGroup>, FilmError> {
        let nx = self.systems.iter().map(|(_, s)| s.grid.nx).max().unwrap_or(1);
        let ny = self.systems.iter().map(|(_, s)| s.grid.ny).max().unwrap_or(1);
        let nodes = nx * ny;
        let mut one_a_group = self.hyper.fields.clone();
        one_a_group.dedup_by_key(|field| field.group);
        one_a_group
            .into_par_iter()
            .map(|Field { family, length_mm, group, .. }| {
                let draws = hypotheses.iter().filter(|h| h.group == group).map(|h| h.position + 1).max().unwrap_or(0);
                let mut fields = vec![0.0; fields_needed(draws, self.systems.len()) * nodes];
                if !fields.is_empty() {
                    let circulant = Circulant::new(family, length_mm, nx, ny, STEP_MM)?;
                    fields.par_chunks_exact_mut(2 * nodes).enumerate().for_each(|(pair, both)| {
                        let mut rng = Pcg64Mcg::seed_from_u64(seed ^ ((group as u64) << 40) ^ ((pair as u64) << 8) ^ 0x66);
                        let (a, b) = both.split_at_mut(nodes);
                        circulant.draw_pair(&mut rng, a, b);
                    });
                }
                Ok(FieldGroup { lags: Lags::new(family, length_mm, nx, ny), nx, nodes, fields })
            })
            .collect()
    }
}

/// Fields that a group needs for `draws` draws in the larger half: no fewer than each of the panels and one more, lest two panels share one, and
/// an even number, for they are drawn in pairs. None where it has no draws.
fn fields_needed(draws: usize, panels: usize) -> usize {
    if draws == 0 { 0 } else { draws.max(panels + 1).next_multiple_of(2) }
}

/// Number, among `fields` of a group, of the field that panel `panel` of `panels` has in the draw at `position` of its half. With no fewer
/// fields than panels, panels of one draw have different ones; the second half's lie between the first's where there are enough.
fn field_number(fields: usize, panels: usize, panel: usize, position: usize, second_half: bool) -> usize {
    let stride = (fields / (panels + 1)).max(1);
    let turn = if second_half { stride / 2 } else { 0 };
    (position + panel * stride + turn) % fields
}

impl Draws<'_> {
    /// The group's field that panel `i` of the measured ones has in this draw; the halves take opposite signs.
    pub(super) fn unconditioned(&self, i: usize, draw: usize, sd_um: f32, out: &mut [f32]) {
        let (h, grid) = (&self.hypotheses[draw], &self.posterior.systems[i].1.grid);
        let group = &self.groups[h.group];
        let (fields, panels) = (group.fields.len() / group.nodes, self.posterior.systems.len());
        let number = field_number(fields, panels, i, h.position, h.second_half);
        let amplitude = if h.second_half { -sd_um } else { sd_um };
        let field = &group.fields[number * group.nodes..(number + 1) * group.nodes];
        for (row, values) in out.chunks_exact_mut(grid.nx).zip(field.chunks_exact(group.nx)) {
            row.iter_mut().zip(values).for_each(|(out, v)| *out = amplitude * v);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::{Gauge, Layer, Substrate};
    use crate::panel::Panel;
    use crate::survey::{Observation, PanelUndercoat, Surface, Survey};
    use lastmicron_numerics::mixture::Prior;
    use std::collections::BTreeSet;

    #[test]
    fn panels_of_one_draw_have_different_fields_however_few_the_draws() {
        for (draws, panels) in (1..=70).flat_map(|draws| (1..=16).map(move |panels| (draws, panels))) {
            let fields = fields_needed(draws, panels);
            assert!(fields >= draws && fields.is_multiple_of(2));
            for (position, second_half) in (0..draws).flat_map(|position| [(position, false), (position, true)]) {
                let numbers: BTreeSet<usize> =
                    (0..panels).map(|panel| field_number(fields, panels, panel, position, second_half)).collect();
                let last = numbers.last().copied().unwrap();
                assert!(numbers.len() == panels && last < fields, "{draws} draws, {panels} panels, {position}: {numbers:?} of {fields}");
            }
        }
    }

    #[test]
    fn draws_of_one_panel_and_half_have_different_fields() {
        for (draws, panels) in (1..=70).flat_map(|draws| (1..=16).map(move |panels| (draws, panels))) {
            let fields = fields_needed(draws, panels);
            let numbers: BTreeSet<usize> = (0..draws).map(|position| field_number(fields, panels, panels - 1, position, true)).collect();
            assert_eq!(numbers.len(), draws, "{draws} draws, {panels} panels");
        }
    }

    #[test]
    fn a_group_without_draws_needs_no_fields() {
        assert_eq!((fields_needed(0, 7), fields_needed(1, 7), fields_needed(9, 7), fields_needed(1, 8)), (0, 8, 10, 10));
    }

    /// `panels` alike, read at one place each.
    fn survey(panels: usize) -> Survey {
        let gauge = Gauge { name: String::new(), fixed_um: 1.0, percent: 1.0, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 };
        let surface = |k: usize| Surface {
            panel: Panel::rectangle(&format!("panel {k}"), 300.0, 200.0, Substrate::Steel),
            undercoat: PanelUndercoat::About { sd_um: 1.6 },
        };
        let observation = |panel: usize| Observation {
            panel,
            place_mm: [150.0, 100.0],
            value_um: 60.0,
            layer: Layer::Total,
            gauge: 0,
            session: 0,
            removed: vec![],
        };
        Survey {
            surfaces: (0..panels).map(surface).collect(),
            undercoat: Prior::normal(30.0, 3.0),
            gauges: vec![gauge],
            unknowns: vec![],
            observations: (0..panels).map(observation).collect(),
        }
    }

    #[test]
    fn in_the_only_draw_of_each_half_no_two_panels_have_the_same_field() {
        let posterior = Posterior::of(survey(9)).unwrap();
        let draws = posterior.draw(1, 5).unwrap();
        for draw in 0..draws.count() {
            let field = |i: usize| {
                let mut out = vec![0.0; posterior.systems[i].1.grid.nodes()];
                draws.unconditioned(i, draw, 1.0, &mut out);
                out.iter().map(|v| v.to_bits()).collect::<Vec<u32>>()
            };
            assert_eq!((0..9).map(field).collect::<BTreeSet<_>>().len(), 9, "draw {draw}");
        }
    }
}
