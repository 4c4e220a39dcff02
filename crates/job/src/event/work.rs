//! What was done, and what was not.

use super::digest::Digest;
use super::id::Id;
use super::said::said;

said! {
    /// A rectangle on a panel.
    Section {
        /// The panel.
        panel: String,
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
    /// An edge that pads were kept off.
    EdgeKeptOff {
        /// Its number on the panel, from 0.
        edge: u32,
        /// How far, mm.
        mm: String,
    }
}

said! {
    /// A body line that pads were kept off, on both its sides.
    LineKeptOff {
        /// Its number on the panel, from 0.
        line: u32,
        /// How far, mm.
        mm: String,
    }
}

said! {
    /// Sets were done, on a spot or on sections.
    SetDone {
        /// The process.
        process: String,
    } may {
        /// How many; one when left out.
        sets: u32,
        /// The spot.
        spot: String,
        /// The sections.
        sections: Vec<Section>,
        /// The pad in the hand, where pads are told apart.
        pad: String,
        /// Edges that pads were kept off on all the sections, which then lie on one panel.
        keep_off: Vec<EdgeKeptOff>,
        /// Body lines that pads were kept off there.
        keep_off_lines: Vec<LineKeptOff>,
    }
}

said! {
    /// Work on a section began.
    WorkStarted {
        /// The section.
        section: Section,
    } may {
        /// The process.
        process: String,
        /// The event by which the topcoat of the panel was gone through, where it was: whoever answers for the job has said to go on all the same.
        despite: Id,
    }
}

said! {
    /// A section is done.
    WorkDone {
        /// The section.
        section: Section,
    }
}

said! {
    /// A section was left before it was done.
    WorkStopped {
        /// The section.
        section: Section,
        /// Why.
        why: String,
    }
}

said! {
    /// A panel, or a section of it, is left alone.
    LeftAlone {
        /// The panel.
        panel: String,
        /// Why.
        why: String,
    } may {
        /// The section, where it is not the whole panel.
        section: Section,
    }
}

said! {
    /// The topcoat was gone through.
    GoneThrough {
        /// The panel.
        panel: String,
        /// Place, mm.
        x_mm: String,
        /// Place, mm.
        y_mm: String,
        /// What shows, and what was done about it.
        note: String,
    }
}

said! {
    /// It was decided to go on with a panel in spite of where its topcoat had been gone through so far.
    WentOn {
        /// The panel.
        panel: String,
        /// Who decided, and why.
        why: String,
    }
}

said! {
    /// A photograph was taken.
    PhotographAttached {
        /// The hash of its bytes.
        photograph: Digest,
    } may {
        /// The panel that it shows.
        panel: String,
        /// The spot that it shows.
        spot: String,
        /// The event that it belongs to.
        event: Id,
        /// Free text.
        note: String,
    }
}

said! {
    /// A note.
    Noted {
        /// The text.
        text: String,
    } may {
        /// The panel that it is about.
        panel: String,
    }
}

said! {
    /// An event before this one in the record was a mistake, and counts no more.
    StruckOut {
        /// That event.
        event: Id,
        /// Why.
        why: String,
    }
}

said! {
    /// Where the vehicle is.
    StatusChanged {
        /// `arrived`, `on-the-floor` or `gone-home`.
        status: String,
    }
}
