//! Many photographs whose truth is known, measured.

mod drawn;
mod folder;
mod table;

pub use drawn::{DrawnError, drawn};
pub use folder::{FolderError, folder};
pub use table::{Line, Tally, lines, table, tally};

use lastmicron_look::scratches::{Estimate, Measured, Trouble};

/// What was photographed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// One photograph of a half worked panel.
    Split,
    /// Two of one panel, before and after.
    Pair,
}

/// Which share was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// Of scratches' length.
    Gone,
    /// Of their light.
    Visible,
}

/// What is gone, as a share of scratches' length and of their light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    /// Of their length.
    pub gone: f64,
    /// Of their light.
    pub visible: f64,
}

/// One photograph, or a pair, and what was made of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// What was photographed.
    pub kind: Kind,
    /// Name of the scene.
    pub scene: String,
    /// What it is called where it was read or drawn.
    pub name: String,
    /// What is gone.
    pub truth: Truth,
    /// What was measured, length first; or why nothing was.
    pub found: Result<[Estimate; 2], Trouble>,
}

impl Judged {
    fn new(kind: Kind, scene: &str, name: String, truth: Truth, measured: Result<Measured, Trouble>) -> Self {
        Self { kind, scene: scene.to_owned(), name, truth, found: measured.map(|measured| [measured.gone, measured.visible]) }
    }
}

impl What {
    fn of(self, truth: Truth) -> f64 {
        match self {
            Self::Gone => truth.gone,
            Self::Visible => truth.visible,
        }
    }
}
