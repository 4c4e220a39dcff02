//! Fields of forms: each with its label, and what it means below it. Names are those of the event that the form says.

use lastmicron_units::Unit;
use maud::{Markup, html};

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field<'a> {
    /// Name of the event's field, dotted.
    pub(crate) name: &'a str,
    /// Its label.
    pub(crate) label: &'a str,
    /// What stands in it at first.
    pub(crate) value: &'a str,
    /// What it means.
    pub(crate) help: &'a str,
}

/// Whether a field may be left empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Need {
    /// It may.
    May,
    /// It may not.
    Must,
}

impl Field<'_> {
    fn id(&self) -> String {
        format!("field-{}", self.name.replace('.', "-"))
    }

    /// One line of text.
    pub(crate) fn text(&self, need: Need) -> Markup {
        self.labelled(
            need,
            &html! { input id=(self.id()) name=(self.name) value=(self.value) required[need == Need::Must] autocomplete="off" aria-describedby=[self.described()]; },
        )
    }

    /// Several lines.
    pub(crate) fn words(&self) -> Markup {
        self.labelled(
            Need::May,
            &html! { textarea id=(self.id()) name=(self.name) rows="3" aria-describedby=[self.described()] { (self.value) } },
        )
    }

    /// A number, with what it counts behind it.
    pub(crate) fn number(&self, need: Need, counts: &str) -> Markup {
        let input = html! {
            span.measure {
                input.number id=(self.id()) name=(self.name) value=(self.value) required[need == Need::Must] inputmode="decimal" autocomplete="off" aria-describedby=[self.described()];
                span { (counts) }
            }
        };
        self.labelled(need, &input)
    }

    /// A film: a number and its unit, as it is entered.
    pub(crate) fn film(&self, need: Need, unit: Unit) -> Markup {
        let (number, name) = (format!("{}.number", self.name), format!("{}.unit", self.name));
        let input = html! {
            span.measure {
                input.number id=(self.id()) name=(number) value=(self.value) required[need == Need::Must] inputmode="decimal" autocomplete="off" aria-describedby=[self.described()];
                select name=(name) aria-label={ "Unit of: " (self.label) } {
                    @for one in Unit::ALL { option value=(one.symbol()) selected[one == unit] { (one.symbol()) } }
                }
            }
        };
        self.labelled(need, &input)
    }

    fn described(&self) -> Option<String> {
        (!self.help.is_empty()).then(|| format!("{}-help", self.id()))
    }

    fn labelled(&self, need: Need, input: &Markup) -> Markup {
        html! {
            div.asked {
                label.field for=(self.id()) { (self.label) @if need == Need::May { span.quiet { " (may be left empty)" } } }
                (input)
                @if let Some(id) = self.described() { p.quiet id=(id) { (self.help) } }
            }
        }
    }
}

/// One of several answers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Answer<'a> {
    /// What the event says.
    pub(crate) value: &'a str,
    /// What the person reads.
    pub(crate) label: &'a str,
    /// How to tell that it is this one.
    pub(crate) help: &'a str,
}

/// One answer of several, all of them in sight.
pub(crate) fn one_of(name: &str, label: &str, answers: &[Answer<'_>], chosen: &str) -> Markup {
    html! {
        fieldset.asked data-shown-by=(name) {
            legend { (label) }
            div.choices {
                @for answer in answers {
                    label.choice {
                        input type="radio" name=(name) value=(answer.value) checked[answer.value == chosen] required;
                        span { strong { (answer.label) } @if !answer.help.is_empty() { " " span.quiet { (answer.help) } } }
                    }
                }
            }
        }
    }
}
