//! The vehicle, its paint and its panels.

use super::digest::Digest;
use super::said::said;

said! {
    /// The vehicle.
    VehicleStated {
        /// What the job is called.
        title: String,
    } may {
        /// A body from the library of outlines; "custom" where it is left out.
        body: String,
        /// Year built.
        built: String,
        /// Default for panels.
        substrate: String,
        /// The hash of the sheet that names the owner: kept apart, so that it can be erased while the record stays whole.
        owner: Digest,
        /// What is known of earlier work.
        history: String,
        /// What must stay as it is.
        originality: String,
    }
}

said! {
    /// The paint.
    PaintStated {
    } may {
        /// How it is built up.
        system: String,
        /// What lies under the topcoat.
        undercoat: UndercoatSaid,
        /// How easily it marks.
        hardness: String,
        /// Flake in single-stage paint.
        metallic: bool,
    }
}

said! {
    /// All under the topcoat, um.
    UndercoatSaid {
        /// Mean, um.
        mean_um: String,
        /// How sure that is, um.
        sd_um: String,
    } may {
        /// Spread of panels about it, um.
        panel_sd_um: String,
    }
}

said! {
    /// A panel; stated again under its name, it is what was said last.
    PanelStated {
        /// Its name.
        name: String,
    } may {
        /// Width of a rectangle, mm.
        width_mm: String,
        /// Height of a rectangle, mm.
        height_mm: String,
        /// Corners, mm, in place of width and height.
        outline_mm: Vec<[String; 2]>,
        /// What it is made of.
        substrate: String,
        /// Where it differs from the vehicle.
        undercoat: UndercoatSaid,
        /// Where it differs from the vehicle.
        hardness: String,
        /// Where it differs from the vehicle.
        metallic: bool,
        /// How much the eye cares.
        visibility: String,
        /// False for what must stay as it is.
        work: bool,
        /// Body lines across it.
        lines: Vec<LineSaid>,
    }
}

said! {
    /// A body line.
    LineSaid {
        /// Its course, mm.
        points_mm: Vec<[String; 2]>,
        /// Radius of the bend, mm.
        radius_mm: String,
    }
}
