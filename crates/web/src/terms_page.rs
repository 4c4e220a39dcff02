//! What may not be passed and what is wanted: agreed with the owner, and every change of it logged.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Html;
use lastmicron_access::Deed;
use lastmicron_draw::in_unit;
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Standing, Terms};
use lastmicron_units::Unit;
use maud::{Markup, html};

use crate::asked::JobId;
use crate::dials::Dials;
use crate::failure::Failure;
use crate::field::{Answer, Field, Need, one_of};
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::sheets::{self, Sheet};
use crate::shop::Shop;
use crate::wording::{counted, minute};

const RISKS: [Answer<'static>; 5] = [
    Answer { value: "0.005", label: "1 in 200", help: "for what can't be replaced: common practice, no source" },
    Answer { value: "0.01", label: "1 in 100", help: "" },
    Answer { value: "0.02", label: "1 in 50", help: "" },
    Answer { value: "0.05", label: "1 in 20", help: "" },
    Answer { value: "0.1", label: "1 in 10", help: "only where a respray is no loss: common practice, no source" },
];

const GOALS: [Answer<'static>; 5] = [
    Answer { value: "0.6", label: "60 %", help: "" },
    Answer { value: "0.75", label: "75 %", help: "" },
    Answer { value: "0.85", label: "85 %", help: "" },
    Answer { value: "0.9", label: "90 %", help: "" },
    Answer { value: "0.95", label: "95 %", help: "" },
];

/// Answers with the page.
pub(crate) async fn terms(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(tried): Query<Dials>,
) -> Result<Html<String>, Failure> {
    let (folded, sheets) = blocking(move || {
        let folded = shop.folded(id)?;
        let sheets: Vec<Option<Sheet>> =
            folded.standing.terms.iter().map(|terms| terms.with.and_then(|with| sheets::read(&shop, with))).collect();
        Ok((folded, sheets))
    })
    .await?;
    let standing = &folded.standing;
    let is_offered = preferences.offers(Deed::Agree);
    let body = html! {
        h1 { "What is agreed with the owner" }
        div id="agreed" data-live { (agreed(standing, &sheets, preferences.unit, is_offered)) }
        @if is_offered { (form(id, standing, tried, preferences.unit)) } @else { p { "An owner of the workshop agrees on it and writes it down: let one sign in on this device." } }
    };
    Ok(Page { preferences: &preferences, title: "What is agreed", job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}

fn agreed(standing: &Standing, sheets: &[Option<Sheet>], unit: Unit, is_offered: bool) -> Markup {
    html! {
        @match standing.terms.last() {
            None => { p { "Nothing is agreed yet." @if is_offered { " Talk these four through with the owner, looking at the car: they bind the plan." } } }
            Some(holds) => {
                p { strong { (words(holds, unit)) } }
                @if standing.terms.len() > 1 {
                    details id="terms-before" {
                        summary { "Agreed before" }
                        ol reversed {
                            @for (terms, sheet) in standing.terms.iter().zip(sheets).rev().skip(1) { li { (words(terms, unit)) " " (by(terms, sheet.as_ref())) } }
                        }
                    }
                }
                p.quiet { (by(holds, sheets.last().and_then(Option::as_ref))) }
            }
        }
    }
}

/// The terms in a sentence.
pub(crate) fn words(terms: &Terms, unit: Unit) -> String {
    let spend =
        terms.limits.spend.map(|spend| format!(", take at most {} anywhere", in_unit(spend.micrometres(), unit))).unwrap_or_default();
    format!(
        "Leave at least {} of topcoat everywhere{spend}; at most 1 chance in {:.0} that some place ends below that; take out {:.0} % of the defects in {}.",
        in_unit(terms.limits.floor.micrometres(), unit),
        1.0 / terms.limits.risk,
        100.0 * terms.goal.correction,
        counted(terms.goal.hours, "hour", "hours"),
    )
}

fn by(terms: &Terms, sheet: Option<&Sheet>) -> String {
    let with = match (sheet, terms.with) {
        (Some(sheet), _) => format!("with {}", sheet.name),
        (None, Some(_)) => "with somebody whose sheet was erased".to_owned(),
        (None, None) => "with nobody named".to_owned(),
    };
    let note = if terms.note.is_empty() { String::new() } else { format!(": {}", terms.note) };
    format!("Agreed {with}, {}, written down by {}{note}", minute(&terms.when), terms.who)
}

fn form(id: Id, standing: &Standing, tried: Dials, unit: Unit) -> Markup {
    let holds = standing.terms.last();
    let number = |of: &dyn Fn(&Terms) -> Option<f64>| holds.and_then(of).map(|number| number.to_string()).unwrap_or_default();
    let film = |entered: Option<lastmicron_units::Entered>| {
        let text = entered.map(|entered| entered.to_string()).unwrap_or_default();
        text.split(' ').next().unwrap_or_default().to_owned()
    };
    let floor = film(holds.map(|terms| terms.floor));
    let spend = film(holds.and_then(|terms| terms.spend));
    let floor_unit = holds.map_or(unit, |terms| terms.floor.unit());
    let spend_unit = holds.and_then(|terms| terms.spend).map_or(floor_unit, |spend| spend.unit());
    let or = |tried: Option<f64>, agreed: String| tried.map_or(agreed, |tried| tried.to_string());
    let hours = or(tried.hours, number(&|terms| Some(terms.goal.hours)));
    let risk = or(tried.risk, number(&|terms| Some(terms.limits.risk)));
    let through = number(&|terms| terms.limits.through_risk);
    let goal = or(tried.correction, number(&|terms| Some(terms.goal.correction)));
    html! {
        form.stack data-record data-event="terms-agreed" data-then={ "/jobs/" (id) } {
            h2 { @if holds.is_some() { "Agree anew" } @else { "Agree" } }
            (Field { name: "floor", label: "Floor: the least topcoat to leave anywhere", value: &floor, help: "Film above it may be spent, film below never. It is what must last until the next painting. How much that takes depends on the paint: no number is put in for you." }.film(Need::Must, floor_unit))
            (Field { name: "spend", label: "Spend: the most to take anywhere at this visit, however much there is", value: &spend, help: "Leave something for those who polish it next. Panels that no gauge reads need it." }.film(Need::May, spend_unit))
            (one_of("risk", "Risk: the chance that some worked place, anywhere on the vehicle, ends below the floor", &with_own(&RISKS, &risk, &one_in(&risk)), &risk))
            (one_of("correction", "Goal: how much of the defects is to go", &with_own(&GOALS, &goal, &per_cent(&goal)), &goal))
            (Field { name: "through_risk", label: "Chance of going through: the most that some worked place reaches the undercoat", value: &through, help: "As a share: 0.001 is one chance in a thousand. Left empty, the floor alone binds." }.number(Need::May, ""))
            (Field { name: "hours", label: "Hours of machine work", value: &hours, help: "" }.number(Need::Must, "hours"))
            fieldset data-sheet="with" {
                legend { "Agreed with" }
                (Field { name: "name", label: "Name", value: "", help: "Kept apart from the record, which holds a hash of it." }.text(Need::May))
            }
            (Field { name: "note", label: "What was said", value: "", help: "" }.words())
            button.primary { "It is agreed" }
        }
    }
}

/// The usual answers, and the one that holds where it is another. None is chosen where nothing holds: somebody has to.
fn with_own<'a>(usual: &[Answer<'a>], holds: &'a str, label: &'a str) -> Vec<Answer<'a>> {
    let mut answers = usual.to_vec();
    if !holds.is_empty() && !usual.iter().any(|answer| answer.value == holds) {
        answers.push(Answer { value: holds, label, help: "as tried, or agreed before" });
    }
    answers
}

/// A chance as it is talked of; empty where there is none.
fn one_in(chance: &str) -> String {
    let told = |chance: f64| if chance < 0.1 { format!("1 in {:.0}", 1.0 / chance) } else { format!("1 in {}", tenths(1.0 / chance)) };
    chance.parse().map(told).unwrap_or_default()
}

/// A share as it is talked of; empty where there is none.
fn per_cent(share: &str) -> String {
    share.parse::<f64>().map(|share| format!("{} %", tenths(100.0 * share))).unwrap_or_default()
}

fn tenths(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_of_ones_own_is_worded_as_the_usual_ones_are() {
        for answer in RISKS {
            assert_eq!(one_in(answer.value), answer.label);
        }
        for answer in GOALS {
            assert_eq!(per_cent(answer.value), answer.label);
        }
        assert_eq!(["0.03", "0.002", "0.4", ""].map(one_in), ["1 in 33", "1 in 500", "1 in 2.5", ""]);
        assert_eq!(["0.72", "0.725", "1", ""].map(per_cent), ["72 %", "72.5 %", "100 %", ""]);
    }
}
