//! What was measured.

use super::said::{Film, Sets, said};

said! {
    /// A gauge was taken up.
    SessionBegan {
        /// The session's name, which its readings state.
        session: String,
    } may {
        /// The gauge, where there are several.
        gauge: String,
        /// What it showed on shims.
        checks: Vec<Check>,
        /// Free text.
        note: String,
    }
}

said! {
    /// A gauge was laid down.
    SessionEnded {
        /// The session's name.
        session: String,
    } may {
        /// What it showed on shims.
        checks: Vec<Check>,
        /// Free text.
        note: String,
    }
}

said! {
    /// Readings on one shim.
    Check {
        /// What the shim is said to be.
        shim: Film,
        /// What the gauge showed.
        shown: Vec<Film>,
    }
}

said! {
    /// A reading.
    ReadingTaken {
        /// The panel.
        panel: String,
        /// Place, mm from the panel's lower left.
        x_mm: String,
        /// Place, mm from the panel's lower left.
        y_mm: String,
        /// What the gauge showed.
        value: Film,
    } may {
        /// `total`, which it is when left out, `undercoat` (no topcoat there) or `topcoat`.
        layer: String,
        /// The gauge, where there are several.
        gauge: String,
        /// The gauge's session.
        session: String,
        /// What had been done at that very place; where it is left out, the sets recorded there before tell.
        after: Vec<Sets>,
        /// Free text.
        note: String,
    }
}

said! {
    /// A reading of a gloss meter on a spot.
    GlossRead {
        /// The spot.
        spot: String,
    } may {
        /// At 20 degrees, gloss units.
        gloss_20: String,
        /// At 60 degrees, gloss units.
        gloss_60: String,
        /// The film's index of refraction.
        index: String,
        /// What had been done there; where it is left out, the sets recorded on the spot before tell.
        after: Vec<Sets>,
    }
}
