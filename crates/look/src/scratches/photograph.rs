//! Which photograph is meant.

use std::fmt;

/// One of the photographs that were looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Photograph {
    /// There is only one.
    Only,
    /// That of the paint before it was worked.
    Before,
    /// That of the paint after it was worked.
    After,
}

impl fmt::Display for Photograph {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Only => "the photograph",
            Self::Before => "the photograph before",
            Self::After => "the photograph after",
        })
    }
}
