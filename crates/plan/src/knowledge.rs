//! What is known of a car: its unknowns with their priors, and its readings as rows over them.

use lastmicron_film::survey::{Observation, PanelUndercoat, Surface, Survey, Unknown};
use lastmicron_film::{Draws, FilmError, Posterior};
use lastmicron_numerics::mixture::Prior;
use lastmicron_polish::transfer::{Exposure, common_doubt_um};
use lastmicron_polish::{Belief, Scatter, Step, USUAL_SCATTER};

use crate::car::{Car, Reading};
use crate::gain::Gains;
use crate::paint;

/// A place worked before: readings and counts there share what that patch's rate differs by.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Patch {
    panel: usize,
    processes: Vec<usize>,
}

impl Patch {
    fn of(panel: usize, steps: &[Step]) -> Self {
        let mut processes: Vec<usize> = steps.iter().map(|s| s.process).collect();
        processes.sort_unstable();
        processes.dedup();
        Self { panel, processes }
    }
}

/// Scale of a Student's t with 4 degrees of freedom over its standard deviation: root of (4 - 2) / 4. \[D\] The stated sd stays the sd; the tail beyond
/// 2.2 of them is heavier than a normal law's, the middle narrower. Taking the sd as the scale would make it 1.41 times as wide as stated:
/// on simulated cars half the allowed risk and a tenth of the correction were then left unused.
const SCALE_OVER_SD: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// A stated mean and sd as a heavy-tailed prior.
pub(crate) fn believed(mean: f64, sd: f64) -> Prior {
    Prior::student4(mean, (sd * SCALE_OVER_SD).max(1e-4))
}

/// The unknowns of work: rates of processes, then factors of worked panels, then of worked patches, then how fast this paint is cut, where more than one
/// rate hangs on it. A factor is what a rate is multiplied by, less 1.
#[derive(Clone, Debug)]
pub(crate) struct WorkUnknowns {
    processes: usize,
    panels: Vec<usize>,
    patches: Vec<Patch>,
    /// Rates about which removals are linearised, um a set.
    central_um: Vec<f64>,
    /// What each rate has of how fast this paint is cut, um a standard deviation of it; nothing where fewer than two rates hang on it.
    of_paint_um: Vec<f64>,
}

impl WorkUnknowns {
    fn of(car: &Car) -> Self {
        let readings = car.readings.iter().map(|r| (r.panel, &r.after));
        let rectangles = car.worked.iter().map(|w| (w.panel, &w.after));
        let counts = car.counts.iter().map(|c| c.panel);
        let mut patches: Vec<Patch> =
            readings.chain(rectangles).filter(|(_, after)| !after.is_empty()).map(|(panel, after)| Patch::of(panel, after)).collect();
        patches.sort();
        patches.dedup();
        let mut panels: Vec<usize> = patches.iter().map(|p| p.panel).chain(counts).collect();
        panels.sort_unstable();
        panels.dedup();
        let central_um = car.processes.iter().map(|p| p.removal_um.mean).collect();
        Self { processes: car.processes.len(), panels, patches, central_um, of_paint_um: of_paint_um(car) }
    }

    /// Index of how fast this paint is cut; none where no two rates hang on it.
    fn paint(&self) -> Option<usize> {
        (!self.of_paint_um.is_empty()).then_some(self.processes + self.panels.len() + self.patches.len())
    }

    /// A process's rate, as coefficients on the unknowns.
    fn rate(&self, process: usize) -> impl Iterator<Item = (usize, f64)> + use<> {
        let of_paint = self.paint().map(|u| (u, self.of_paint_um[process])).filter(|(_, um)| *um > 0.0);
        [(process, 1.0)].into_iter().chain(of_paint)
    }

    /// A process's rate in a draw, um a set.
    pub(crate) fn rate_um(&self, film: &Draws, draw: usize, process: usize) -> f64 {
        self.rate(process).map(|(u, c)| c * film.named(draw, u)).sum()
    }

    /// Standard deviation of what each rate has of how fast this paint is cut, um; none where no two rates hang on it.
    pub(crate) fn of_paint_um(&self) -> &[f64] {
        &self.of_paint_um
    }

    fn unknowns(&self, car: &Car, scatter: Scatter) -> Vec<Unknown> {
        // What a rate has of the paint's is taken off its own doubt: together they are what the job states.
        let own_sd = |i: usize, sd: f64| self.of_paint_um.get(i).map_or(sd, |of_paint| (sd * sd - of_paint * of_paint).max(0.0).sqrt());
        let rate = |(i, p): (usize, &lastmicron_polish::Process)| Unknown {
            name: format!("rate of {}", p.name),
            prior: believed(p.removal_um.mean, own_sd(i, p.removal_um.sd)),
        };
        let factor = |name: String, sd: f64| Unknown { name, prior: Prior::normal(0.0, sd.max(1e-4)) };
        let mut unknowns: Vec<Unknown> = car.processes.iter().enumerate().map(rate).collect();
        unknowns.extend(self.panels.iter().map(|&k| factor(format!("factor of {}", car.panels[k].panel.name), scatter.panel)));
        unknowns.extend(
            self.patches.iter().map(|p| factor(format!("factor of a patch on {}", car.panels[p.panel].panel.name), scatter.section)),
        );
        unknowns.extend(self.paint().map(|_| Unknown { name: "how fast this paint is cut".to_owned(), prior: believed(0.0, 1.0) }));
        unknowns
    }

    /// Rates before anything was measured, um a set.
    pub(crate) fn central_um(&self) -> &[f64] {
        &self.central_um
    }

    /// Index of a worked panel's factor.
    pub(crate) fn panel_factor(&self, panel: usize) -> Option<usize> {
        self.panels.binary_search(&panel).ok().map(|i| self.processes + i)
    }

    fn patch_factor(&self, patch: &Patch) -> Option<usize> {
        self.patches.binary_search(patch).ok().map(|i| self.processes + self.panels.len() + i)
    }

    /// Film that `steps` took on `panel` where each process has its `gain`, as coefficients on the unknowns: rates, and factors times central
    /// rates.
    pub(crate) fn removed(&self, panel: usize, steps: &[Step], gain: impl Fn(usize) -> f64) -> Vec<(usize, f64)> {
        if steps.is_empty() {
            return Vec::new();
        }
        let of = |s: &Step| (1.0 + gain(s.process)) * f64::from(s.sets);
        let mut on: Vec<(usize, f64)> = steps.iter().flat_map(|s| self.rate(s.process).map(move |(u, c)| (u, c * of(s)))).collect();
        let central: f64 = steps.iter().map(|s| of(s) * self.central_um[s.process]).sum();
        on.extend(self.panel_factor(panel).map(|u| (u, central)));
        on.extend(self.patch_factor(&Patch::of(panel, steps)).map(|u| (u, central)));
        on
    }
}

/// What each rate has of how fast this paint is cut, um; empty where no two have any.
fn of_paint_um(car: &Car) -> Vec<f64> {
    let use_of = |i: usize| car.equipment.of(i).and_then(|(machine, pad, used)| Exposure::of(machine, pad, used).ok());
    let beliefs: Vec<(Belief, Option<Exposure>)> = car.processes.iter().enumerate().map(|(i, p)| (p.removal_um, use_of(i))).collect();
    let common = common_doubt_um(&beliefs);
    if common.iter().filter(|um| **um > 0.0).count() > 1 { common } else { Vec::new() }
}

/// What is known of a car.
pub(crate) struct Knowledge {
    pub(crate) posterior: Posterior,
    pub(crate) work: WorkUnknowns,
    pub(crate) gains: Gains,
    pub(crate) scatter: Scatter,
}

impl Knowledge {
    /// What the readings of `car` say.
    pub(crate) fn of(car: &Car, gains: Gains) -> Result<Self, FilmError> {
        let stated = car.scatter.unwrap_or(USUAL_SCATTER);
        let scatter = Scatter { section: stated.section.hypot(gains.unevenness()), ..stated };
        let work = WorkUnknowns::of(car);
        let observations = observations(car, &work, &gains);
        let undercoat = paint::undercoat(&car.paint);
        let sd_um = undercoat.panel_sd_um.unwrap_or(paint::USUAL_PANEL_SD_UM);
        let surfaces = car
            .panels
            .iter()
            .map(|p| Surface {
                panel: p.panel.clone(),
                undercoat: p.undercoat.map_or(PanelUndercoat::About { sd_um }, |own| {
                    PanelUndercoat::Own(believed(own.mean_um, f64::hypot(own.sd_um, own.panel_sd_um.unwrap_or(0.0))))
                }),
            })
            .collect();
        let posterior = Posterior::of(Survey {
            surfaces,
            undercoat: believed(undercoat.mean_um, undercoat.sd_um),
            gauges: car.gauges.clone(),
            unknowns: work.unknowns(car, scatter),
            observations,
        })?;
        Ok(Self { posterior, work, gains, scatter })
    }
}

impl Knowledge {
    /// The session that a reading taken next with the first gauge would belong to.
    pub(crate) fn last_session(&self, car: &Car) -> usize {
        let last = car.readings.iter().rfind(|r| r.gauge == 0);
        last.and_then(|r| sessions(car).binary_search(&r.session.as_str()).ok()).unwrap_or(0)
    }
}

fn sessions(car: &Car) -> Vec<&str> {
    let mut sessions: Vec<&str> = car.readings.iter().map(|r| r.session.as_str()).collect();
    sessions.sort_unstable();
    sessions.dedup();
    sessions
}

/// Readings as rows, in their order.
fn observations(car: &Car, work: &WorkUnknowns, gains: &Gains) -> Vec<Observation> {
    let sessions = sessions(car);
    let row = |r: &Reading| {
        let of = &car.panels[r.panel];
        let near = gains.nearness(of, [r.x_mm, r.y_mm], of.panel.edge_distance_mm(r.x_mm, r.y_mm));
        Observation {
            panel: r.panel,
            place_mm: [r.x_mm, r.y_mm],
            value_um: r.value.micrometres() - car.gauges[r.gauge].through_um,
            layer: r.layer,
            gauge: r.gauge,
            session: sessions.binary_search(&r.session.as_str()).unwrap_or(0),
            removed: work.removed(r.panel, &r.after, |process| gains.of_process(process, near).mean),
        }
    };
    car.readings.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::plan;
    use crate::example::{EFFORT, car};
    use crate::outcome::Rate;
    use lastmicron_polish::{Drive, Equipment, Machine, Pad, PadEdge, Use};
    use lastmicron_units::{Thickness, Unit};

    const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

    /// The example, where the first process took twice what is believed of it at four places of the bonnet, and the second was never tried.
    fn tried(uses: Vec<Option<Use>>) -> Car {
        let machine =
            Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 };
        let pad = Pad { name: "foam".to_owned(), diameter_mm: 140.0, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
        let equipment = Equipment { machines: vec![machine], pads: vec![pad], uses, stages: Vec::new() };
        let mut car = Car { equipment, ..car() };
        car.processes.iter_mut().for_each(|p| p.removal_um.sd = 0.35 * p.removal_um.mean);
        let before = car.readings[0].clone();
        for (i, um) in [66.0, 65.8, 66.1, 65.9].into_iter().enumerate() {
            let at = |taken_um: f64, after: Vec<Step>| Reading {
                x_mm: 420.0 + 25.0 * i as f64,
                y_mm: 380.0,
                value: Thickness::from_micrometres(um - taken_um).unwrap(),
                after,
                ..before.clone()
            };
            car.readings.extend([at(0.0, vec![]), at(4.0, vec![Step { process: 0, sets: 4 }])]);
        }
        car
    }

    fn untried(uses: Vec<Option<Use>>) -> Rate {
        plan(&tried(uses), EFFORT, Unit::Micrometre).unwrap().rates[1]
    }

    #[test]
    fn a_test_spot_of_one_process_teaches_the_rate_of_another_and_less_the_farther_it_is() {
        let alone = untried(vec![]).posterior_um;
        assert!((alone.mean / 1.6 - 1.0).abs() < 0.05, "nothing is learnt without uses: {alone:?}");
        let same = untried(vec![Some(USED); 2]).posterior_um;
        let heavier = untried(vec![Some(USED), Some(Use { load_n: 80.0, ..USED })]).posterior_um;
        // [D] of the doubt of 35 % a common part of root(0.35^2 - 0.2^2) = 28.7 %: 67 % of the variance; of what one takes more, so much is expected of the other
        assert!(same.mean > 1.2 * 1.6 && same.mean < 1.9 * 1.6, "{same:?}");
        assert!(heavier.mean > 1.05 * 1.6 && heavier.mean < same.mean, "{heavier:?} {same:?}");
        assert!(same.sd / same.mean < alone.sd / alone.mean, "{same:?} {alone:?}");
        let far = untried(vec![Some(USED), Some(Use { load_n: 200.0, ..USED })]).posterior_um;
        assert!((far.mean / 1.6 - 1.0).abs() < 0.05, "five times the load is too far to teach: {far:?}");
    }

    #[test]
    fn what_rates_have_in_common_leaves_what_the_job_states_of_each() {
        let mut car = tried(vec![Some(USED); 2]);
        car.readings.retain(|r| r.after.is_empty());
        let stated = plan(&car, EFFORT, Unit::Micrometre).unwrap().rates;
        for rate in stated {
            assert!((rate.posterior_um.mean / rate.prior_um.mean - 1.0).abs() < 0.05, "{rate:?}");
            assert!((rate.posterior_um.sd / rate.prior_um.sd - 1.0).abs() < 0.2, "{rate:?}");
        }
    }
}
