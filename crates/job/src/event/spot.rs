//! Test spots.

use super::said::{Sets, said};

said! {
    /// A test spot was marked.
    SpotMarked {
        /// Its name.
        spot: String,
        /// The panel that it lies on.
        panel: String,
    } may {
        /// Lower left corner, mm.
        x_mm: String,
        /// Lower left corner, mm.
        y_mm: String,
        /// Size, mm.
        width_mm: String,
        /// Size, mm.
        height_mm: String,
    }
}

said! {
    /// A test spot was looked at.
    SpotJudged {
        /// The spot.
        spot: String,
        /// What was seen.
        seen: Seen,
    } may {
        /// `fine`, which it is when left out, `deep` or `haze`.
        of: String,
        /// Whether a solvent wipe came first, which undoes filling.
        wiped: bool,
        /// Whether the work has left new haze.
        new_haze: bool,
        /// What had been done there; where it is left out, the sets recorded on the spot before tell.
        after: Vec<Sets>,
    }
}

said! {
    /// A word, a count, or a share: one of them.
    Seen {
    } may {
        /// `all`, `most`, `half`, `few` or `none` of what was there at first.
        left: String,
        /// How many were counted.
        count: String,
        /// Share left of what was there at first.
        share_left: String,
        /// Its 95 % interval.
        share_between: [String; 2],
    }
}
