//! What is known of a car: its unknowns with their priors, and its readings as rows over them.

use lastmicron_film::survey::{Observation, PanelUndercoat, Surface, Survey, Unknown};
use lastmicron_film::{FilmError, Posterior};
use lastmicron_numerics::mixture::Prior;
use lastmicron_polish::{Scatter, Step, USUAL_SCATTER};

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

/// The unknowns of work: rates of processes, then factors of worked panels, then of worked patches. A factor is what a rate is multiplied
/// by, less 1.
#[derive(Clone, Debug)]
pub(crate) struct WorkUnknowns {
    processes: usize,
    panels: Vec<usize>,
    patches: Vec<Patch>,
    /// Rates about which removals are linearised, um a set.
    central_um: Vec<f64>,
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
        Self { processes: car.processes.len(), panels, patches, central_um }
    }

    fn unknowns(&self, car: &Car, scatter: Scatter) -> Vec<Unknown> {
        let rate = |p: &lastmicron_polish::Process| Unknown {
            name: format!("rate of {}", p.name),
            prior: believed(p.removal_um.mean, p.removal_um.sd),
        };
        let factor = |name: String, sd: f64| Unknown { name, prior: Prior::normal(0.0, sd.max(1e-4)) };
        let mut unknowns: Vec<Unknown> = car.processes.iter().map(rate).collect();
        unknowns.extend(self.panels.iter().map(|&k| factor(format!("factor of {}", car.panels[k].panel.name), scatter.panel)));
        unknowns.extend(
            self.patches.iter().map(|p| factor(format!("factor of a patch on {}", car.panels[p.panel].panel.name), scatter.section)),
        );
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
        let mut on: Vec<(usize, f64)> = steps.iter().map(|s| (s.process, of(s))).collect();
        let central: f64 = steps.iter().map(|s| of(s) * self.central_um[s.process]).sum();
        on.extend(self.panel_factor(panel).map(|u| (u, central)));
        on.extend(self.patch_factor(&Patch::of(panel, steps)).map(|u| (u, central)));
        on
    }
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
