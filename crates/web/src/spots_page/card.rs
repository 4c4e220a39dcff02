//! One test spot: what comes next on it, large, and all else that can be done below.

use lastmicron_draw::{in_unit, in_unit_bare, steps_in_words};
use lastmicron_film::gauge::Substrate;
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Judged, Spot, Standing};
use lastmicron_job::on_panel::is_in_rectangle;
use lastmicron_look::{Kind, Seen};
use lastmicron_plan::survey::{SectionVerdict, Word};
use lastmicron_plan::{OneMore, Trial};
use lastmicron_units::Unit;
use maud::{Markup, html};

use super::Shown;
use super::course::{Again, Course, Next, State};
use super::looks::looks;
use super::readings::{Several, Told, in_words, read, several_of, told_of};
use super::said::{sets, times};
use crate::asked::panel_address;
use crate::field::{Answer, Field, Need, one_of};
use crate::wording::capital;

/// Nearer to a spot's rim than this nothing is counted, mm. Judgement: a pad overlaps the tape unevenly there.
const RIM_MM: f64 = 25.0;

/// The widest square that is counted in, mm. Judgement: on paint with fine scratches it holds more than anybody counts twice alike.
const WIDEST_MM: f64 = 100.0;

/// Readings of a place where no number of them tells what one set takes. Judgement: one shows how much film there is.
const AT_LEAST: u32 = 1;

/// What was left under the lamp, from most to none.
const LEFT: [Answer<'static>; 5] = [
    Answer { value: "all", label: "All", help: "no difference is seen" },
    Answer { value: "most", label: "Most", help: "more than half" },
    Answer { value: "half", label: "Half", help: "" },
    Answer { value: "few", label: "Few", help: "less than a third" },
    Answer { value: "none", label: "None", help: "one has to search" },
];

/// One spot as it stands.
struct Card<'s> {
    id: Id,
    at: usize,
    spot: &'s Spot,
    standing: &'s Standing,
    trial: Option<&'s Trial>,
    /// Share of the defects that is to go; none before anything is agreed.
    goal: Option<f64>,
    told: Option<Told>,
    unit: Unit,
}

/// One spot.
pub(super) fn card(id: Id, (at, spot): (usize, &Spot), shown: &Shown, unit: Unit) -> Markup {
    let standing = &*shown.folded.standing;
    let trial = shown.estimated.as_ref().and_then(|estimated| estimated.trials.get(&at)).map(AsRef::as_ref);
    let goal = standing.terms.last().map(|terms| terms.goal.correction);
    let card = Card { id, at, spot, standing, trial, goal, told: told_of(spot, standing, trial), unit };
    let course = card.course();
    html! {
        section.spot id={ "spot-" (at) } {
            h2 { (spot.name) " " span.quiet { "on the " (card.panel()) } }
            (steps(course))
            @match stop(spot, shown) {
                Some(why) => { section.next { h3 { "Stop: work nothing more here" } p.stop { (capital(&why)) "." } } (card.reached()) (looks(at, standing)) }
                None => {
                    @if let Some(why) = caution(spot, course.next(), shown) { p.stop { (why) } }
                    (card.next(course.next()))
                    (card.reached())
                    (looks(at, standing))
                    (card.others(course.next()))
                }
            }
        }
    }
}

/// Why nothing more is worked on a spot; none where a set may be.
fn stop(spot: &Spot, shown: &Shown) -> Option<String> {
    let of = shown.folded.standing.panels.get(spot.panel).filter(|of| !of.may_be_worked())?;
    of.gone_through_in_words().or_else(|| Some("it stays as it is".to_owned()))
}

/// What speaks against a set on a spot by what is known so far. Its section is what counts: a thin corner elsewhere condemns no spot.
fn caution(spot: &Spot, next: Next, shown: &Shown) -> Option<String> {
    let on = spot.rectangle.filter(|_| shown.is_whole && matches!(next, Next::Set | Next::Decide))?;
    let place_mm = [0, 1].map(|axis| on.corner_mm[axis] + on.size_mm[axis] / 2.0);
    let holds = |section: &&SectionVerdict| is_in_rectangle(place_mm, [section.x_mm, section.y_mm], [section.width_mm, section.height_mm]);
    let survey = shown.surveys.get(spot.panel)?;
    survey.sections.iter().find(holds).filter(|section| section.word == Word::LeaveAlone)?;
    Some(
        "By what was read so far the section round it bears not even one set of the mildest: read here first, or try another panel."
            .to_owned(),
    )
}

/// The order of steps, and where the spot is in it.
fn steps(course: Course) -> Markup {
    let mark = |state: State| match state {
        State::Done => "\u{2713} ",
        State::Next => "\u{2192} ",
        State::Waits | State::LeftOut => "",
    };
    html! {
        ol.course aria-label="Order of steps" {
            @for (name, state) in course.steps() {
                li aria-current=[(state == State::Next).then_some("step")] { (mark(state)) (name) @if state == State::LeftOut { " (left out)" } }
            }
        }
    }
}

impl Card<'_> {
    fn panel(&self) -> &str {
        self.standing.panels.get(self.spot.panel).map_or("", |panel| panel.panel.name.as_str())
    }

    fn process(&self, at: usize) -> &str {
        self.standing.processes.get(at).map_or("", |process| process.name.as_str())
    }

    fn judged(&self) -> impl Iterator<Item = &Judged> {
        self.standing.judged.iter().filter(|judged| judged.spot == self.at)
    }

    /// The processes, mildest first.
    fn mildest_first(&self) -> Vec<usize> {
        let takes = |at: &usize| self.standing.processes[*at].removal_um.mean;
        let mut all: Vec<usize> = (0..self.standing.processes.len()).collect();
        all.sort_by(|one, other| takes(one).total_cmp(&takes(other)));
        all
    }

    /// Sets and readings by which the gauge in hand tells what the mildest process takes.
    fn several(&self) -> Option<Option<Several>> {
        several_of(*self.mildest_first().first()?, self.standing, self.trial)
    }

    fn course(&self) -> Course {
        let substrate = self.standing.panels.get(self.spot.panel).map(|panel| panel.panel.substrate);
        let is_readable = self.spot.rectangle.is_some() && substrate != Some(Substrate::Plastic);
        let wanted = match self.several() {
            Some(Some(Several { sets: 1, readings })) => readings,
            _ => AT_LEAST,
        };
        let now: Vec<(usize, u32)> = self.spot.done.iter().map(|step| (step.process, step.sets)).collect();
        Course {
            is_read: !is_readable || read(self.spot, self.standing, &[]) >= wanted,
            // Deep ones and haze follow laws of their own: only the fine ones open a spot.
            is_counted: self.judged().any(|judged| judged.count.after.is_empty() && judged.count.kind == Kind::Fine),
            is_worked: !self.spot.done.is_empty(),
            is_looked_at: self.judged().any(|judged| judged.count.after == now && judged.count.kind == Kind::Fine && judged.count.wiped),
            again: match self.told {
                _ if !is_readable => Again::NoUse,
                Some(Told::Enough | Told::TooFewBefore(0)) => Again::Done,
                Some(Told::More(_) | Told::TooFewBefore(_)) => Again::Wanted,
                Some(Told::TooLittle(_)) => Again::NoUse,
                None if read(self.spot, self.standing, &self.spot.done) > 0 => Again::Done,
                None => Again::Wanted,
            },
        }
    }

    /// What comes next, large.
    fn next(&self, next: Next) -> Markup {
        html! {
            section.next {
                @match next {
                    Next::Read => {
                        h3 { "Next: read it, before the first set" }
                        p { (self.how_often()) }
                        (self.reads("primary"))
                    }
                    Next::Count => {
                        h3 { "Next: count the defects before the first set" }
                        p { "Wipe it with solvent, then count the scratches under the lamp, in a square of " strong { (format!("{:.0} mm", square_mm(self.spot))) } " in the middle of the spot. Mark its corners on the tape: the same square is counted after each set." }
                        (self.count("primary", "More than you can count? Take a smaller square, and keep to it."))
                    }
                    Next::Set => { h3 { "Next: work one set, mildest first" } (self.sets("primary")) }
                    Next::Look => {
                        h3 { "Next: wipe it, then look under the lamp" }
                        @if !self.is_opened() { p.quiet { "It was not counted before its first set: of that set it says nothing. What you see now is what the next is told by." } }
                        @if self.is_counting() { (self.count("primary", "In the same square as before.")) } @else { (self.lamp("primary")) }
                    }
                    Next::ReadAgain => {
                        h3 { "Next: read it again" }
                        @match self.told { Some(told) => { p { (self.in_words(told)) } } None => { p { "At the same place as before the set, and as often." } } }
                        (self.reads("primary"))
                    }
                    Next::Decide => {
                        @if self.is_enough() {
                            h3 { "Next: it is enough" }
                            p { "What was agreed is reached here, as far as one can tell. Look again tomorrow: what filled may sink. A milder way may reach it too: try that on another spot." }
                            p { a.primary href={ "/jobs/" (self.id) "/plan" } { "To the plan" } }
                        } @else {
                            h3 { "Next: enough, or one more set?" }
                            (self.sets("primary"))
                            p { a.button href={ "/jobs/" (self.id) "/plan" } { "It is enough: to the plan" } }
                        }
                    }
                }
            }
        }
    }

    /// What can be done beside the next; each form stands on the page once, so that what is typed into it is kept when the next is another.
    fn others(&self, next: Next) -> Markup {
        let has_sets = next == Next::Set || (next == Next::Decide && !self.is_enough());
        let has_count = next == Next::Count || (next == Next::Look && self.is_counting());
        let has_lamp = next == Next::Look && !self.is_counting();
        html! {
            details id={ "others-" (self.at) } {
                summary { "Something else on this spot" }
                div.stack {
                    @if !matches!(next, Next::Read | Next::ReadAgain) { div { h3 { "Read it" } (self.reads("second")) } }
                    @if !has_sets { div { h3 { "A set was worked" } (self.sets("second")) } }
                    @if !has_lamp { div { h3 { "Looked at under the lamp" } (self.lamp("second")) } }
                    @if !has_count { div { h3 { "Counted" } (self.count("second", "In the same square each time.")) } }
                    div { h3 { "The deep ones, counted apart" } (self.deep()) }
                    div { h3 { "A photograph" } (self.photograph()) }
                }
            }
        }
    }

    /// Whether anything tells what its first set took out.
    fn is_opened(&self) -> bool {
        self.judged().any(|judged| judged.count.kind == Kind::Fine)
    }

    /// Whether the spot is counted, not judged by shares.
    fn is_counting(&self) -> bool {
        self.judged().any(|judged| judged.count.kind == Kind::Fine && matches!(judged.count.seen, Seen::Count(_)))
    }

    fn is_enough(&self) -> bool {
        let gone = self.trial.filter(|_| !self.spot.done.is_empty()).map(|trial| trial.gone.mean);
        gone.zip(self.goal).is_some_and(|(gone, goal)| gone >= goal)
    }

    /// How often to read before the first set.
    fn how_often(&self) -> String {
        let mildest = self.mildest_first().first().map_or("", |at| self.process(*at)).to_owned();
        let has = read(self.spot, self.standing, &[]);
        let so_far = if has > 0 { format!(" It was read {} so far.", times(has)) } else { String::new() };
        match self.several() {
            Some(Some(Several { sets: 1, readings })) => {
                format!("Read one place {}: with as many after a set, the gauge tells what it took.{so_far}", times(readings))
            }
            Some(Some(Several { sets: several, readings })) => format!(
                "Read one place {}: with as many after {} of {mildest}, the gauge tells what they took. Of one set it can\u{2019}t. Once is enough if you trust the count.{so_far}",
                times(readings),
                sets(several)
            ),
            Some(None) => {
                "Read it once, to know how much there is. What the mildest sets take is too little for this gauge: the count tells."
                    .to_owned()
            }
            None => format!("Read one place several times: what is read after a set is compared with it.{so_far}"),
        }
    }

    fn in_words(&self, told: Told) -> String {
        in_words(told, self.spot.done.last().map_or("", |last| self.process(last.process)))
    }

    fn reads(&self, button: &str) -> Markup {
        let middle = self.spot.rectangle.map(|on| [0, 1].map(|axis| on.corner_mm[axis] + on.size_mm[axis] / 2.0)).or(self.spot.corner_mm);
        html! {
            @match middle {
                Some([x, y]) => {
                    p { a class=(button) href={ (panel_address(self.id, "survey", self.panel())) "?x_mm=" (format!("{x:.0}")) "&y_mm=" (format!("{y:.0}")) } { "Read in the spot" } }
                    p.quiet { "Its middle is held there; for repeats press \u{201c}Again at the last place\u{201d}." }
                }
                None => { p.quiet { "It was marked without its place: mark another to read it." } }
            }
        }
    }

    /// A set of each process, the mildest's button as it is said.
    fn sets(&self, mildest: &str) -> Markup {
        let more = |process: usize| self.trial.and_then(|trial| trial.one_more.iter().find(|more| more.process == process));
        html! {
            @if self.standing.processes.is_empty() { p { "No process is stated yet. " } p { a.primary href={ "/jobs/" (self.id) "/workshop" } { "State a process" } } }
            @for (nth, process) in self.mildest_first().into_iter().enumerate() {
                form.one-set data-record data-event="set-done" data-said="The set is recorded. Wipe, and look under the lamp." {
                    input type="hidden" name="process" value=(self.process(process));
                    input type="hidden" name="sets" data-as="whole" value="1";
                    input type="hidden" name="spot" value=(self.spot.name);
                    @if let Some(more) = more(process) { p { (one_more(more, self)) } }
                    button class=(if nth == 0 { mildest } else { "second" }) { "One set of " (self.process(process)) " is done" }
                }
            }
        }
    }

    /// The share left, in a word.
    fn lamp(&self, button: &str) -> Markup {
        html! {
            form.stack data-record data-event="spot-judged" data-said="What you saw is recorded." {
                input type="hidden" name="spot" value=(self.spot.name);
                (one_of("seen.left", "Of the defects there at first are left", &LEFT, ""))
                (wiped()) (hazed())
                button class=(button) { "Record what you saw" }
            }
        }
    }

    fn count(&self, button: &str, help: &str) -> Markup {
        html! {
            form.stack data-record data-event="spot-judged" data-said="The count is recorded." {
                input type="hidden" name="spot" value=(self.spot.name);
                input type="hidden" name="of" value="fine";
                (Field { name: "seen.count", label: "Scratches in the square", value: "", help }.of(&format!("count-{}", self.at)).number(Need::Must, ""))
                (wiped())
                @if !self.spot.done.is_empty() { (hazed()) }
                button class=(button) { "Record the count" }
            }
        }
    }

    fn deep(&self) -> Markup {
        html! {
            form.stack data-record data-event="spot-judged" data-said="The count is recorded." {
                input type="hidden" name="spot" value=(self.spot.name);
                input type="hidden" name="of" value="deep";
                (Field { name: "seen.count", label: "The deep ones", value: "", help: "Those that catch a nail, in the same square each time." }.of(&format!("deep-{}", self.at)).number(Need::Must, ""))
                (wiped())
                button.second { "Record the deep ones" }
            }
        }
    }

    fn photograph(&self) -> Markup {
        html! {
            form.stack data-record data-event="photograph-attached" data-said="The photograph is kept." {
                input type="hidden" name="spot" value=(self.spot.name);
                label.field for={ "photograph-" (self.at) } { "Under the lamp" }
                input id={ "photograph-" (self.at) } type="file" name="photograph" accept="image/jpeg,image/png,image/webp" capture="environment" required;
                button.second { "Keep the photograph" }
            }
        }
    }

    /// What was done here and what it has come to.
    fn reached(&self) -> Markup {
        let (spot, unit) = (self.spot, self.unit);
        html! {
            p { "Done here: " strong { @if spot.done.is_empty() { "nothing yet" } @else { (steps_in_words(&spot.done, &self.standing.processes)) } } }
            @if let Some(trial) = self.trial.filter(|_| !spot.done.is_empty()) {
                dl.totals {
                    div { dt { "defects gone" } dd { strong { (format!("{:.0} %", 100.0 * trial.gone.mean)) } span { (format!("{:.0} to {:.0} %, 9 times in 10", 100.0 * trial.gone.p05, 100.0 * trial.gone.p95)) } } }
                    div { dt { "film taken" } dd { strong { (in_unit(trial.taken_um.mean, unit)) } span { "give or take " (in_unit_bare(trial.taken_um.sd, unit)) } } }
                }
            }
            @if let Some(told) = self.told { p { (self.in_words(told)) } }
        }
    }
}

/// One more set in a sentence: "one more set of finish gains 3 % (1 to 6) for 1.2 um, and leaves haze".
fn one_more(more: &OneMore, card: &Card<'_>) -> String {
    let name = card.process(more.process);
    let per_cent = |share: f64| format!("{:.0}", 100.0 * share);
    let is_its = |judged: &Judged| judged.count.after.last().is_some_and(|(process, _)| *process == more.process);
    let haze = if card.judged().any(|judged| judged.new_haze == Some(true) && is_its(judged)) { ", and leaves haze" } else { "" };
    let set = if card.spot.done.is_empty() { "One set" } else { "One more set" };
    let takes = in_unit(more.takes_um.mean, card.unit);
    if more.gains.mean <= 0.0 {
        return format!("{set} of {name} makes it no better for {takes}{haze}.");
    }
    let [mean, low, high] = [more.gains.mean, more.gains.p05, more.gains.p95].map(per_cent);
    format!("{set} of {name} gains {mean} % ({low} to {high}) for {takes}{haze}.")
}

/// The square to count in, mm: as wide as the spot leaves free of its rim, or half of a small spot.
fn square_mm(spot: &Spot) -> f64 {
    let side = spot.rectangle.map_or(f64::INFINITY, |on| on.size_mm[0].min(on.size_mm[1]));
    (side - 2.0 * RIM_MM).max(side / 2.0).min(WIDEST_MM)
}

fn wiped() -> Markup {
    html! { label.choice { input type="checkbox" name="wiped"; span { strong { "After a solvent wipe" } " " span.quiet { "which undoes filling. Air the bay, wear gloves, keep the solvent from flames." } } } }
}

fn hazed() -> Markup {
    html! { label.choice { input type="checkbox" name="new_haze"; span { strong { "There is new haze" } } } }
}
