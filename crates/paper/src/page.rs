//! Sizes of paper.

use lastmicron_draw::Room;

/// The paper to print on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Page {
    /// 210 by 297 mm.
    A4,
    /// US letter, 8.5 by 11 inches.
    Letter,
}

impl Page {
    /// The engine's name of it.
    pub(crate) const fn paper(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }

    /// Room for a panel's map between margins of 18 mm: with a heading above it a map and what is to be known of
    /// its panel always go on one page.
    pub(crate) const fn map_room(self) -> Room {
        match self {
            Self::A4 => Room { width_pt: 492.0, height_pt: 590.0 },
            Self::Letter => Room { width_pt: 508.0, height_pt: 540.0 },
        }
    }

    /// Room for the correction curve.
    pub(crate) const fn curve_room(self) -> Room {
        Room { width_pt: self.map_room().width_pt, height_pt: 215.0 }
    }

    /// Room for the drawing of a set.
    pub(crate) const fn pass_room(self) -> Room {
        self.map_room()
    }
}
