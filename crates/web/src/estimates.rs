//! What is computed for the pages, each once for the same job: surveys of panels, and plans.

use std::sync::Arc;

use lastmicron_film::gauge::Gauge;
use lastmicron_job::event::Id;
use lastmicron_job::fold::Standing;
use lastmicron_plan::survey::{Expected, PanelSurvey, expected, survey, survey_panel};
use lastmicron_plan::taken::{Taken, taken};
use lastmicron_plan::{Car, Effort, Goal, Limits, Outcome, PlanError, Reading, Trial, plan, trial};
use lastmicron_polish::{Belief, Process, Step};
use lastmicron_units::{Thickness, Unit};

use crate::remembered::Remembered;

/// Films drawn for a survey. Measured in docs/method/survey.md: a panel is answered in 140 ms with as many; the words of a panel rest on 250 films to
/// judge by, so that a chance of 1 in 50 is told from one of 1 in 25.
const SURVEY: Effort = Effort { draws: 250, seed: 1 };

/// Films drawn for a plan while dials are turned: the answer must stand within a second of a turn (docs/bench.md). What a turn changes is told against a plan
/// of as many; the plan that is accepted rests on those of the command.
const SKETCH: Effort = Effort { draws: 250, seed: 1 };

/// Films drawn for a test spot, where nothing is searched for.
const TRIAL: Effort = Effort { draws: 500, seed: 1 };

/// What a test spot's numbers come from: the vehicle, and what was done on the spot.
type TriedOn = (Car, Vec<Step>);

/// Where the dials stand, as the bits of their numbers: what was seen at one stand is there when somebody turns back to it.
type Asked = [u64; 3];

/// What is remembered, by job, and by unit where it holds sentences: a phone in um and a laptop in mil each keep theirs.
#[derive(Debug, Default)]
pub(crate) struct Estimates {
    panels: Remembered<(Id, usize, Unit), Car, Arc<PanelSurvey>>,
    surveys: Remembered<(Id, Unit), Car, Arc<Vec<PanelSurvey>>>,
    expected: Remembered<(Id, usize), (Car, Reading), Expected>,
    sketches: Remembered<(Id, Unit, Asked), Car, Arc<Outcome>>,
    plans: Remembered<(Id, Unit), Car, Arc<Outcome>>,
    taken: Remembered<Id, Car, Arc<Taken>>,
    trials: Remembered<(Id, usize), TriedOn, Arc<Trial>>,
}

impl Estimates {
    /// What is known of one panel; none where there is no such panel.
    pub(crate) fn panel(&self, job: Id, car: Car, panel: usize, unit: Unit) -> Result<Option<Arc<PanelSurvey>>, PlanError> {
        if panel >= car.panels.len() {
            return Ok(None);
        }
        self.panels
            .get((job, panel, unit), car, |car| {
                let found = survey_panel(car, panel, SURVEY, unit)?;
                found.map(Arc::new).ok_or(PlanError::NoReadings)
            })
            .map(Some)
    }

    /// What is known of every panel.
    pub(crate) fn survey(&self, job: Id, car: Car, unit: Unit) -> Result<Arc<Vec<PanelSurvey>>, PlanError> {
        self.surveys.get((job, unit), car, |car| Ok(Arc::new(survey(car, SURVEY, unit)?)))
    }

    /// What the next reading may be expected to show.
    pub(crate) fn expected(&self, job: Id, car: Car, reading: Reading) -> Result<Expected, PlanError> {
        self.expected.get((job, reading.panel), (car, reading), |(car, reading)| expected(car, reading, SURVEY))
    }

    /// What a test spot has come to after what was done on it.
    pub(crate) fn trial(&self, job: Id, spot: usize, car: Car, after: Vec<Step>) -> Result<Arc<Trial>, PlanError> {
        self.trials.get((job, spot), (car, after), |(car, after)| Ok(Arc::new(trial(car, after, TRIAL)?)))
    }

    /// What was taken of the vehicle and what is left, from as many films as the plan that was accepted.
    pub(crate) fn taken(&self, job: Id, car: Car) -> Result<Arc<Taken>, PlanError> {
        self.taken.get(job, car, |car| Ok(Arc::new(taken(car, Effort::default())?)))
    }

    /// A plan while dials are turned.
    pub(crate) fn sketch(&self, job: Id, car: Car, unit: Unit) -> Result<Arc<Outcome>, PlanError> {
        let asked = [car.goal.correction, car.goal.hours, car.limits.risk].map(f64::to_bits);
        self.sketches.get((job, unit, asked), car, |car| Ok(Arc::new(plan(car, SKETCH, unit)?)))
    }

    /// The plan, as the command makes it.
    pub(crate) fn plan(&self, job: Id, car: Car, unit: Unit) -> Result<Arc<Outcome>, PlanError> {
        self.plans.get((job, unit), car, |car| Ok(Arc::new(plan(car, Effort::default(), unit)?)))
    }
}

/// The vehicle as far as a survey needs it. A survey may come before anything is agreed: then what is lacking stands in, and nothing is said that rests on it.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ToSurvey {
    /// The vehicle.
    pub(crate) car: Car,
    /// Whether gauge, processes and terms are all stated, so that what a panel bears may be told.
    pub(crate) is_whole: bool,
}

impl ToSurvey {
    pub(crate) fn of(standing: &Standing) -> Self {
        if let Ok(job) = standing.job() {
            return Self { car: job.car, is_whole: true };
        }
        let or = |stated: &[Process]| if stated.is_empty() { vec![stand_in_process()] } else { stated.to_vec() };
        let terms = standing.terms.last();
        let gauges = if standing.gauges.is_empty() { vec![stand_in_gauge()] } else { standing.gauges.clone() };
        let car = Car {
            panels: standing.panels.clone(),
            paint: standing.paint,
            gauges,
            processes: or(&standing.processes),
            equipment: standing.equipment.clone(),
            scatter: standing.scatter,
            edge: standing.edge,
            limits: terms.map_or_else(stand_in_limits, |terms| terms.limits),
            goal: terms.map_or(Goal { correction: 0.8, hours: 10.0 }, |terms| terms.goal),
            readings: standing.readings.iter().map(|taken| taken.reading.clone()).collect(),
            worked: standing.worked.clone(),
            counts: standing.judged.iter().map(|judged| judged.count.clone()).collect(),
        };
        Self { car, is_whole: false }
    }
}

/// Common practice, no source: what makers state of an ordinary gauge.
const fn stand_in_gauge() -> Gauge {
    Gauge { name: String::new(), fixed_um: 1.0, percent: 1.0, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 }
}

fn stand_in_process() -> Process {
    Process {
        name: "(no process stated)".to_owned(),
        removal_um: Belief { mean: 1.0, sd: 0.5 },
        minutes_per_m2: 25.0,
        followed_by: None,
        marks: None,
    }
}

/// No floor: where to read next then goes by the film alone.
const fn stand_in_limits() -> Limits {
    Limits { floor: Thickness::NOTHING, risk: 0.02, spend: None, through_risk: None }
}
