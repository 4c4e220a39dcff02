//! One SVG map for each panel.

use std::fs;
use std::path::Path;

use lastmicron_draw::{Room, Scales, panel_map};
use lastmicron_plan::{Car, Outcome};
use lastmicron_units::Unit;

use crate::failure::Failure;
use crate::files;

/// Width that fills half a screen, and a height that need not be scrolled.
const ROOM: Room = Room { width_pt: 760.0, height_pt: 900.0 };

/// Writes `01-bonnet.svg` and so on into a folder, which is made if it isn't there.
pub(crate) fn write(folder: &Path, car: &Car, outcome: &Outcome, unit: Unit) -> Result<(), Failure> {
    fs::create_dir_all(folder).map_err(|error| Failure::failed(format!("{}: {error}", folder.display())))?;
    let scales = Scales::of(outcome, unit);
    for (i, panel) in car.panels.iter().enumerate() {
        let name = format!("{:02}-{}.svg", i + 1, file_name(&panel.panel.name));
        files::write(&folder.join(name), panel_map(car, outcome, i, &scales, ROOM).svg().as_bytes())?;
    }
    Ok(())
}

/// A panel's name as part of a file's: letters and digits stay, the rest becomes a hyphen.
fn file_name(name: &str) -> String {
    name.chars().take(60).map(|c| if c.is_alphanumeric() { c } else { '-' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_can_lead_nowhere_else() {
        assert_eq!(file_name("door, left"), "door--left");
        assert_eq!(file_name("../../etc"), "------etc");
        assert_eq!(file_name("T\u{fc}r"), "T\u{fc}r");
    }
}
