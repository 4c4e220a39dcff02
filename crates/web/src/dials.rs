//! Goal, risk and hours, turned by steps to see what they cost.

use lastmicron_job::Job;
use lastmicron_job::event::Id;
use maud::{Markup, html};
use serde::Deserialize;

use crate::wording::chance;

/// Where dials stand; left out where they stand as agreed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
pub(crate) struct Dials {
    pub(crate) correction: Option<f64>,
    pub(crate) risk: Option<f64>,
    pub(crate) hours: Option<f64>,
}

/// Steps of the goal, a share. Judgement: what is told apart in talk.
const GOAL_STEP: f64 = 0.05;

/// Chances that the dial of risk goes through.
const RISKS: [f64; 8] = [0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.4];

impl Dials {
    fn goal(self, job: &Job) -> f64 {
        turned(self.correction, job.car.goal.correction).clamp(0.05, 1.0)
    }

    fn risk(self, job: &Job) -> f64 {
        turned(self.risk, job.car.limits.risk).clamp(1e-4, 0.5)
    }

    fn hours(self, job: &Job) -> f64 {
        turned(self.hours, job.car.goal.hours).clamp(0.5, 1000.0)
    }

    /// Whether any stands elsewhere than agreed.
    pub(crate) fn are_turned(self, job: &Job) -> bool {
        let is_other = |a: f64, b: f64| (a - b).abs() > 1e-9;
        is_other(self.goal(job), job.car.goal.correction)
            || is_other(self.risk(job), job.car.limits.risk)
            || is_other(self.hours(job), job.car.goal.hours)
    }

    /// The job as if that were agreed.
    pub(crate) fn turn(self, job: Job) -> Job {
        let mut turned = job;
        let (correction, risk, hours) = (self.goal(&turned), self.risk(&turned), self.hours(&turned));
        turned.car.goal.correction = correction;
        turned.car.goal.hours = hours;
        turned.car.limits.risk = risk;
        turned
    }

    /// As a part of an address.
    pub(crate) fn query(self) -> String {
        let part = |name: &str, value: Option<f64>| value.map(|value| format!("{name}={}", rounded(value)));
        let parts: Vec<String> =
            [part("correction", self.correction), part("risk", self.risk), part("hours", self.hours)].into_iter().flatten().collect();
        if parts.is_empty() { String::new() } else { format!("?{}", parts.join("&")) }
    }

    /// The dials: each a number between two steps.
    pub(crate) fn turned(self, job: &Job, id: Id) -> Markup {
        let goal = self.goal(job);
        let risk = self.risk(job);
        let hours = self.hours(job);
        let lower = RISKS.iter().rev().copied().find(|one| *one < risk - 1e-9);
        let higher = RISKS.iter().copied().find(|one| *one > risk + 1e-9);
        let hour = if hours < 4.0 { 0.5 } else { 1.0 };
        let dial = |name: &str, value: String, [less, more]: [Option<Self>; 2], [fewer, greater]: [&str; 2]| {
            let step = |to: Option<Self>, sign: &str, label: &str| {
                html! {
                    @match to {
                        Some(to) => { a.key href={ "/jobs/" (id) "/plan" (to.query()) } aria-label=(label) { (sign) } }
                        None => { span.key.off { (sign) } }
                    }
                }
            };
            html! { div.dial role="group" aria-label=(name) { span.name { (name) } (step(less, "\u{2212}", fewer)) strong { (value) } (step(more, "+", greater)) } }
        };
        let at_goal = |goal: f64| Self { correction: Some(goal), ..self };
        let at_risk = |risk: f64| Self { risk: Some(risk), ..self };
        let at_hours = |hours: f64| Self { hours: Some(hours), ..self };
        html! {
            div.dials {
                (dial("goal", format!("{:.0} %", 100.0 * goal), [(goal > GOAL_STEP + 0.01).then(|| at_goal(goal - GOAL_STEP)), (goal < 0.99).then(|| at_goal((goal + GOAL_STEP).min(1.0)))], ["A lower goal", "A higher goal"]))
                (dial("risk", chance(risk), [lower.map(at_risk), higher.map(at_risk)], ["Less risk", "More risk"]))
                (dial("hours", format!("{}", rounded(hours)), [(hours > hour + 0.1).then(|| at_hours(hours - hour)), Some(at_hours(hours + hour))], ["Fewer hours", "More hours"]))
            }
        }
    }
}

/// Where a dial stands: as agreed where it was not turned, or to what is no number.
fn turned(to: Option<f64>, agreed: f64) -> f64 {
    to.filter(|to| to.is_finite()).unwrap_or(agreed)
}

/// Without the noise of adding steps.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
