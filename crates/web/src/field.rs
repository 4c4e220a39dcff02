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

/// A field of one form of several on a page that ask the same.
#[derive(Clone, Copy, Debug)]
pub(crate) struct InForm<'a> {
    field: Field<'a>,
    form: &'a str,
}

impl<'a> Field<'a> {
    /// The same in one form of several: `form` tells it from the others, so that each label has its own field.
    pub(crate) const fn of(self, form: &'a str) -> InForm<'a> {
        InForm { field: self, form }
    }

    /// One line of text.
    pub(crate) fn text(&self, need: Need) -> Markup {
        self.of("field").text(need)
    }

    /// Several lines.
    pub(crate) fn words(&self) -> Markup {
        self.of("field").words()
    }

    /// A number, with what it counts behind it.
    pub(crate) fn number(&self, need: Need, counts: &str) -> Markup {
        self.of("field").number(need, counts)
    }

    /// A film: a number and its unit, as it is entered.
    pub(crate) fn film(&self, need: Need, unit: Unit) -> Markup {
        self.of("field").film(need, unit)
    }
}

impl InForm<'_> {
    fn id(&self) -> String {
        format!("{}-{}", self.form, self.field.name.replace('.', "-"))
    }

    /// One line of text.
    pub(crate) fn text(&self, need: Need) -> Markup {
        let Field { name, value, .. } = self.field;
        self.labelled(
            need,
            &html! { input id=(self.id()) name=(name) value=(value) required[need == Need::Must] autocomplete="off" aria-describedby=[self.described()]; },
        )
    }

    /// One line of text that is proposed: until somebody types another it follows what the page proposes.
    pub(crate) fn proposed(&self) -> Markup {
        let Field { name, value, .. } = self.field;
        self.labelled(
            Need::Must,
            &html! { input id=(self.id()) name=(name) value=(value) data-proposed required autocomplete="off" aria-describedby=[self.described()]; },
        )
    }

    fn words(&self) -> Markup {
        let Field { name, value, .. } = self.field;
        self.labelled(Need::May, &html! { textarea id=(self.id()) name=(name) rows="3" aria-describedby=[self.described()] { (value) } })
    }

    /// A number, with what it counts behind it.
    pub(crate) fn number(&self, need: Need, counts: &str) -> Markup {
        let Field { name, value, .. } = self.field;
        let input = html! {
            span.measure {
                input.number id=(self.id()) name=(name) value=(value) required[need == Need::Must] inputmode="decimal" autocomplete="off" aria-describedby=[self.described()];
                span { (counts) }
            }
        };
        self.labelled(need, &input)
    }

    fn film(&self, need: Need, unit: Unit) -> Markup {
        let Field { name, label, value, .. } = self.field;
        let (number, of) = (format!("{name}.number"), format!("{name}.unit"));
        let input = html! {
            span.measure {
                input.number id=(self.id()) name=(number) value=(value) required[need == Need::Must] inputmode="decimal" autocomplete="off" aria-describedby=[self.described()];
                select name=(of) aria-label={ "Unit of: " (label) } {
                    @for one in Unit::ALL { option value=(one.symbol()) selected[one == unit] { (one.symbol()) } }
                }
            }
        };
        self.labelled(need, &input)
    }

    fn described(&self) -> Option<String> {
        (!self.field.help.is_empty()).then(|| format!("{}-help", self.id()))
    }

    fn labelled(&self, need: Need, input: &Markup) -> Markup {
        html! {
            div.asked {
                label.field for=(self.id()) { (self.field.label) @if need == Need::May { span.quiet { " (may be left empty)" } } }
                (input)
                @if let Some(id) = self.described() { p.quiet id=(id) { (self.field.help) } }
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
