//! What is published of paint systems, for jobs that state no undercoat.

use crate::car::{Paint, System, Undercoat};

/// Spread of panels about the vehicle's undercoat where a job states none, um.
/// Judgement: primers are dipped or sprayed in one go and the last of them rubbed down level, so panels differ less in them than in topcoat; smaller
/// would let one undercoat reading vouch for every panel.
pub(crate) const USUAL_PANEL_SD_UM: f64 = 1.6;

/// A default undercoat with its source.
pub(crate) struct Published {
    pub(crate) undercoat: Undercoat,
    pub(crate) source: &'static str,
}

/// The undercoat of a system: its published or remembered range. All of them are weak; an undercoat reading beats them.
pub(crate) fn published_undercoat(system: System) -> Published {
    let (mean_um, sd_um, source) = match system {
        // Electrocoat 18 to 25 and surfacer 35 to 40 (or 25 to 40) under base 10 to 15 and clear.
        System::BaseClear => (
            70.0,
            10.0,
            "primer-surfacer 35 to 40 um and base 10 to 15 um (Polymers 2021, 13(22), 3933), electrocoat about 20 um (from memory): weak",
        ),
        System::TriCoat => (85.0, 14.0, "as base and clear with a second colour coat of 10 to 20 um (from memory): weak"),
        System::SingleStage => {
            (45.0, 14.0, "electrocoat or dip primer about 20 um and surfacer 25 to 40 um, often less on old cars (from memory): weak")
        }
        System::Lacquer => (50.0, 20.0, "primers 8 to 38 um and surfacer, rubbed down by hand (trade page, low authority): very weak"),
        System::Unknown => (60.0, 22.0, "no system stated: anything from old single-stage to modern base and clear (judgement): very weak"),
    };
    Published { undercoat: Undercoat { mean_um, sd_um, panel_sd_um: None }, source }
}

/// The vehicle's undercoat: as stated, or the system's.
pub(crate) fn undercoat(paint: &Paint) -> Undercoat {
    paint.undercoat.unwrap_or_else(|| published_undercoat(paint.system).undercoat)
}
