//! What goes wrong beside the app's pages, on stderr: told once, until it is something else.

use std::io::{self, Write};

use lastmicron_store::StoreError;

/// What was told last of one thing that is done again and again.
#[derive(Debug)]
pub(crate) struct Trouble {
    what: &'static str,
    last: Option<String>,
}

impl Trouble {
    /// Of something that is not done when there is trouble, in words: "no backup was made".
    pub(crate) const fn of(what: &'static str) -> Self {
        Self { what, last: None }
    }

    /// Tells it where it is another than before.
    pub(crate) fn tell(&mut self, error: Option<&StoreError>) {
        let now = error.map(ToString::to_string);
        if let Some(why) = now.as_ref().filter(|_| now != self.last) {
            // There is nowhere to say that stderr is gone.
            let _ = writeln!(io::stderr(), "lastmicron: {}: {why}", self.what);
        }
        self.last = now;
    }
}
