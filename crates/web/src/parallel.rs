//! What people stated without having seen each other's statement: told, and settled by one who has seen both.

use lastmicron_job::event::{Event, Field, Id, Thing};
use lastmicron_job::fold::{Clash, Parallel, Standing, Statement};
use maud::{Markup, html};
use serde_json::{Map, Value};

use crate::shop::Folded;
use crate::stated::Stated;
use crate::wording::{capital, minute};

/// Longest value that is told whole, characters. Judgement: a corner list of a panel is hundreds, and tells nobody anything.
const TOLD_WHOLE: usize = 60;

/// On the job's first page: all of it, and where to say what holds.
pub(crate) fn told(id: Id, standing: &Standing) -> Markup {
    html! {
        @if !standing.parallel.is_empty() {
            section id="parallel" {
                h2 { "Stated by two who had not seen each other" }
                @for one in &standing.parallel {
                    (words(one))
                    p { a href=(page_of(id, &one.thing)) { @if one.clashes.is_empty() { "Look at it" } @else { "Say which holds" } } }
                }
            }
        }
    }
}

/// On a thing's page: what of such things was stated so, each with a form that settles it.
pub(crate) fn settled(folded: &Folded, is_here: impl Fn(&Thing) -> bool) -> Markup {
    let here = folded.standing.parallel.iter().filter(|one| is_here(&one.thing));
    html! {
        @for (at, one) in here.enumerate() {
            section.card { (words(one)) (form(folded, one, at)) }
        }
    }
}

/// Who else stated what an event states, without having seen each other's statement, and nobody has settled it; none where nobody has.
pub(crate) fn stated_beside(event: &Event, standing: &Standing) -> Option<String> {
    let said_by =
        |one: &&Parallel| one.statements.iter().chain(one.clashes.iter().flat_map(|clash| &clash.said)).any(|said| said.event == event.id);
    let one = standing.parallel.iter().find(said_by)?;
    let all = one.statements.iter().chain(one.clashes.iter().flat_map(|clash| &clash.said));
    Some(people(all.filter(|said| said.event != event.id)))
}

/// On the plan's page: what it counts on that is not settled.
pub(crate) fn planned_from(id: Id, standing: &Standing) -> Markup {
    let clashes = || standing.parallel.iter().flat_map(|one| one.clashes.iter().map(move |clash| (one, clash)));
    html! {
        @for (one, clash) in clashes().filter(|(one, clash)| bears_on_a_plan(&one.thing, clash.field)) {
            @if let Some(holding) = clash.said.first() {
                p.caution {
                    "Not settled: " (name(&one.thing)) ", " (clash.field.words) ". This is made from what " (holding.who) " said (" (value(holding, clash.field)) "). "
                    a href=(page_of(id, &one.thing)) { "Say which holds" }
                }
            }
        }
    }
}

fn bears_on_a_plan(thing: &Thing, field: Field) -> bool {
    *thing != Thing::Vehicle || field.members == ["substrate"]
}

/// In a sentence for each field, or one for all that was taken together.
fn words(one: &Parallel) -> Markup {
    let thing = capital(&name(&one.thing));
    html! {
        @if one.clashes.is_empty() {
            p {
                strong { (thing) } ": " (people(one.statements.iter())) " stated it without having seen each other's statement, and changed different things. Both are taken together."
            }
        }
        @for clash in &one.clashes {
            p.caution {
                strong { (thing) ", " (clash.field.words) ": " }
                @for (at, said) in clash.said.iter().enumerate() {
                    @if at > 0 { "; " } (said.who) " said " (value(said, clash.field)) " (" (minute(&said.when)) ")"
                }
                ". They had not seen each other's statement. "
                @if let Some(holding) = clash.said.first() { "What " (holding.who) " said holds until somebody says which is right." }
            }
        }
    }
}

/// A form that states the thing anew, with all statements before whoever presses.
fn form(folded: &Folded, one: &Parallel, at: usize) -> Markup {
    let stated = Stated::of(folded, &one.thing);
    html! {
        form.stack data-record data-event=(stated.kind()) data-base=[stated.base()] data-over=(stated.over()) data-settles data-said="Recorded: it is settled." {
            @for (field, clash) in one.clashes.iter().enumerate() {
                fieldset {
                    legend { "Which is right: " (clash.field.words) "?" }
                    @for said in &clash.said { (choice(&format!("holds-{at}-{field}"), clash, said)) }
                }
            }
            button.primary { @if one.clashes.is_empty() { "It is right so" } @else { "This holds" } }
        }
    }
}

fn choice(group: &str, clash: &Clash, said: &Statement) -> Markup {
    html! {
        label.choice {
            input type="radio" name=(group) required data-lay=(lay(said, clash.field));
            span { strong { (value(said, clash.field)) } " " span.quiet { (said.who) ", " (minute(&said.when)) } }
        }
    }
}

/// The members of a field as they were stated, `null` for those that were not.
fn lay(said: &Statement, field: Field) -> String {
    let body = serde_json::to_value(&said.body).unwrap_or_default();
    let members = field.members.iter().map(|member| ((*member).to_owned(), body.get(member).cloned().unwrap_or_default()));
    Value::Object(members.collect::<Map<String, Value>>()).to_string()
}

/// What somebody said of a field.
fn value(said: &Statement, field: Field) -> String {
    let body = serde_json::to_value(&said.body).unwrap_or_default();
    let parts: Vec<String> = field.members.iter().filter_map(|member| body.get(member)).map(plain).collect();
    let all = parts.join(" by ");
    match all.chars().count() {
        0 => "nothing".to_owned(),
        count if count > TOLD_WHOLE => format!("{}...", all.chars().take(TOLD_WHOLE).collect::<String>()),
        _ => all,
    }
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Bool(is_so) => (if *is_so { "yes" } else { "no" }).to_owned(),
        Value::Array(all) => all.iter().map(plain).collect::<Vec<_>>().join(", "),
        Value::Object(members) => {
            members.iter().map(|(key, value)| format!("{} {}", key.replace('_', " "), plain(value))).collect::<Vec<_>>().join(", ")
        }
        Value::Number(number) => number.to_string(),
        Value::Null => String::new(),
    }
}

/// Everybody who stated it, once each.
fn people<'s>(statements: impl Iterator<Item = &'s Statement>) -> String {
    let mut who: Vec<&str> = Vec::new();
    for said in statements {
        if !who.contains(&said.who.as_str()) {
            who.push(&said.who);
        }
    }
    who.join(" and ")
}

/// What a thing is called in a sentence.
fn name(thing: &Thing) -> String {
    match thing {
        Thing::Vehicle => "the vehicle".to_owned(),
        Thing::Paint => "the paint".to_owned(),
        Thing::Scatter => "how much panels and sections differ".to_owned(),
        Thing::Edge => "extra removal near edges".to_owned(),
        Thing::Gauge(name) if name.is_empty() => "the usual gauge".to_owned(),
        Thing::Gauge(name) => format!("the gauge {name}"),
        Thing::Machine(name) => format!("the machine {name}"),
        Thing::Pad(name) => format!("the pad {name}"),
        Thing::Process(name) => format!("the process {name}"),
        Thing::Panel(name) => format!("the panel {name}"),
        Thing::Spot(name) => format!("the test spot {name}"),
    }
}

/// Where a thing is looked at and stated anew.
fn page_of(id: Id, thing: &Thing) -> String {
    let page = match thing {
        Thing::Vehicle | Thing::Paint => "vehicle",
        Thing::Panel(_) => "panels",
        Thing::Spot(_) => "spots",
        Thing::Scatter | Thing::Edge | Thing::Gauge(_) | Thing::Machine(_) | Thing::Pad(_) | Thing::Process(_) => "workshop",
    };
    format!("/jobs/{id}/{page}")
}
