//! What states a thing now, in its own words. Forms that state it anew are laid over it, so that what they don't show stays.

use lastmicron_job::event::{Id, Thing};
use serde_json::{Value, json};

use crate::shop::Folded;

/// The body of one event that would state a thing as it is stated now, and the statements that it comes from; nothing where none does.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Stated {
    body: Option<Value>,
    by: Vec<Id>,
}

impl Stated {
    /// A thing as it stands.
    pub(crate) fn of(folded: &Folded, thing: &Thing) -> Self {
        let stated = folded.standing.as_stated(thing);
        let body = stated.and_then(|stated| serde_json::to_value(&stated.body).ok());
        Self { body, by: stated.map(|stated| stated.by.clone()).unwrap_or_default() }
    }

    /// The text that was stated under a dotted name, like `accuracy.percent`; empty where there is none.
    pub(crate) fn text(&self, at: &str) -> &str {
        let body = self.body.as_ref();
        body.and_then(|body| at.split('.').try_fold(body, |value, key| value.get(key))).and_then(Value::as_str).unwrap_or_default()
    }

    /// What the fields of a form are laid over.
    pub(crate) fn base(&self) -> Option<String> {
        self.body.as_ref().map(Value::to_string)
    }

    /// The kind of event that states it.
    pub(crate) fn kind(&self) -> &str {
        self.text("kind")
    }

    /// What the form's event says that whoever fills it in has before them.
    pub(crate) fn over(&self) -> String {
        let by: Vec<String> = self.by.iter().map(Id::to_string).collect();
        json!(by).to_string()
    }
}
