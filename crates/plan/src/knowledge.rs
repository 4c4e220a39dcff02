//! What is known of a car: its unknowns with their priors, and its readings as rows over them.

use lastmicron_film::survey::{Observation, PanelUndercoat, Surface, Survey, Unknown};
use lastmicron_film::{Draws, FilmError, Posterior};
use lastmicron_numerics::mixture::Prior;
use lastmicron_polish::transfer::{Exposure, Tie, Transfer};
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
/// by, less 1. A process with the polish of an earlier one has its own part of a rate there, beside what is carried over.
#[derive(Clone, Debug)]
pub(crate) struct WorkUnknowns {
    processes: usize,
    panels: Vec<usize>,
    patches: Vec<Patch>,
    /// Rates about which removals are linearised, um a set.
    central_um: Vec<f64>,
    /// For a process with the polish of an earlier one, that one, and how its rate is tied to it.
    ties: Vec<Option<(usize, Tie)>>,
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
        let ties: Vec<Option<(usize, Tie)>> = (0..car.processes.len()).map(|process| tie(car, process)).collect();
        let mut central_um: Vec<f64> = Vec::with_capacity(ties.len());
        for (tie, process) in ties.iter().zip(&car.processes) {
            central_um.push(tie.map_or(process.removal_um.mean, |(other, tie)| tie.slope * central_um[other] + tie.own_um.mean));
        }
        Self { processes: car.processes.len(), panels, patches, central_um, ties }
    }

    /// A process's rate, as coefficients on the unknowns: its own part, and what is carried over from others in turn.
    fn rate(&self, process: usize) -> Vec<(usize, f64)> {
        let mut on = vec![(process, 1.0)];
        let (mut at, mut slope) = (process, 1.0);
        while let Some((other, tie)) = self.ties[at] {
            slope *= tie.slope;
            on.push((other, slope));
            at = other;
        }
        on
    }

    /// A process's rate in a draw, um a set.
    pub(crate) fn rate_um(&self, film: &Draws, draw: usize, process: usize) -> f64 {
        film.named(draw, process) + self.ties[process].map_or(0.0, |(other, tie)| tie.slope * self.rate_um(film, draw, other))
    }

    fn unknowns(&self, car: &Car, scatter: Scatter) -> Vec<Unknown> {
        let rate = |(i, p): (usize, &lastmicron_polish::Process)| {
            let own = self.ties[i].map_or(p.removal_um, |(_, tie)| tie.own_um);
            Unknown { name: format!("rate of {}", p.name), prior: believed(own.mean, own.sd) }
        };
        let factor = |name: String, sd: f64| Unknown { name, prior: Prior::normal(0.0, sd.max(1e-4)) };
        let mut unknowns: Vec<Unknown> = car.processes.iter().enumerate().map(rate).collect();
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
        let mut on: Vec<(usize, f64)> =
            steps.iter().flat_map(|s| self.rate(s.process).into_iter().map(move |(u, c)| (u, c * of(s)))).collect();
        let central: f64 = steps.iter().map(|s| of(s) * self.central_um[s.process]).sum();
        on.extend(self.panel_factor(panel).map(|u| (u, central)));
        on.extend(self.patch_factor(&Patch::of(panel, steps)).map(|u| (u, central)));
        on
    }
}

/// How a process's rate is tied to that of the nearest before it with the same polish, by F v t / A.
fn tie(car: &Car, process: usize) -> Option<(usize, Tie)> {
    let (other, transfer) = carried_from(car, process)?;
    Some((other, transfer.tie(car.processes[process].removal_um, car.processes[other].removal_um.mean)))
}

/// The process before this one with the same polish whose use is nearest to its own, and the way from it.
pub(crate) fn carried_from(car: &Car, process: usize) -> Option<(usize, Transfer)> {
    let exposure = |process: usize| car.equipment.of(process).and_then(|(machine, pad, used)| Exposure::of(machine, pad, used).ok());
    let own = exposure(process)?;
    let way = |other: usize| Some((other, exposure(other)?.to(&own)));
    car.equipment.before_with_same_polish(process).filter_map(way).min_by(|a, b| a.1.log_sd.total_cmp(&b.1.log_sd))
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

impl Knowledge {
    /// A reading that is not among those of `car`, as a row.
    pub(crate) fn one_more(&self, car: &Car, reading: &Reading) -> Observation {
        observation(car, &self.work, &self.gains, &sessions(car), reading)
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
    car.readings.iter().map(|r| observation(car, work, gains, &sessions, r)).collect()
}

/// A reading as a row. Its session is numbered beyond all of `sessions` where it is none of them.
fn observation(car: &Car, work: &WorkUnknowns, gains: &Gains, sessions: &[&str], r: &Reading) -> Observation {
    let of = &car.panels[r.panel];
    let near = gains.nearness(of, [r.x_mm, r.y_mm], of.panel.edge_distance_mm(r.x_mm, r.y_mm));
    Observation {
        panel: r.panel,
        place_mm: [r.x_mm, r.y_mm],
        value_um: r.value.micrometres() - car.gauges[r.gauge].through_um,
        layer: r.layer,
        gauge: r.gauge,
        session: sessions.binary_search(&r.session.as_str()).unwrap_or(sessions.len()),
        removed: work.removed(r.panel, &r.after, |process| gains.of_process(process, near).mean),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::plan;
    use crate::example::{EFFORT, car, foam, orbital};
    use crate::outcome::Rate;
    use lastmicron_polish::{Belief, Equipment, Use};
    use lastmicron_units::{Thickness, Unit};

    const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

    /// The example, where the first process took twice what is believed of it at four places of the bonnet, and the second was never tried.
    fn tried(uses: Vec<Option<Use>>, polishes: [&str; 2]) -> Car {
        let polishes = polishes.map(|name| Some(name.to_owned())).to_vec();
        let equipment = Equipment { machines: vec![orbital()], pads: vec![foam(140.0)], uses, stages: Vec::new(), polishes };
        let mut car = Car { equipment, ..car() };
        car.processes[1].removal_um = Belief { mean: 1.0, sd: 0.5 };
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

    fn rates(car: &Car) -> Vec<Rate> {
        plan(car, EFFORT, Unit::Micrometre).unwrap().rates
    }

    #[test]
    fn a_test_spot_teaches_what_the_same_polish_takes_under_another_use() {
        let under = |load_n: f64| tried(vec![Some(USED), Some(Use { load_n, ..USED })], ["mild", "mild"]);
        let ratio = |load_n: f64| {
            let rates = rates(&under(load_n));
            let [tried, untried] = [rates[0].posterior_um, rates[1].posterior_um];
            assert!(tried.mean > 0.6, "it took twice the 0.5 um that was believed: {tried:?}");
            (untried.mean / tried.mean, untried.sd / untried.mean, tried.sd / tried.mean)
        };
        // The same use is the same rate to a tenth; at twice the load twice as much is taken, less surely: 0.3 ln 2 is 21 %.
        let (same, sd, of_tried) = ratio(40.0);
        assert!((same - 1.0).abs() < 0.1 && sd >= of_tried && sd < of_tried + 0.04, "{same} {sd} {of_tried}");
        let (twice, sd, of_tried) = ratio(80.0);
        assert!(twice > 1.5 && twice < 2.1, "{twice}");
        assert!(sd > of_tried && sd < 0.35, "{sd} {of_tried}");
    }

    #[test]
    fn another_polish_is_taught_nothing() {
        let other = rates(&tried(vec![Some(USED); 2], ["mild", "coarse"]))[1].posterior_um;
        let without = rates(&tried(vec![], ["mild", "mild"]))[1].posterior_um;
        for rate in [other, without] {
            assert!((rate.mean - 1.0).abs() < 0.06 && (rate.sd - 0.5).abs() < 0.1, "{rate:?}");
        }
    }
}
