//! Panels narrower than the pad that works them.

use lastmicron_polish::Pad;

use crate::car::Car;
use crate::outcome::{Finding, Plan};

/// A finding for every panel that is narrower than a pad that the plan works it with. The plan has one edge near a place, and the whole pad on the panel.
pub(super) fn narrow(car: &Car, plan: &Plan) -> Vec<Finding> {
    let of_panel = |panel: &crate::outcome::PanelPlan| {
        let narrow_mm = car.panels[panel.panel].panel.narrowest_mm();
        let steps = panel.sections.iter().flat_map(|s| &s.steps);
        let pads = steps.filter_map(|step| car.equipment.of(step.process)).map(|(_, pad, _)| pad);
        let widest = pads.max_by(|a, b| a.diameter_mm.total_cmp(&b.diameter_mm)).filter(|pad| pad.diameter_mm > narrow_mm)?;
        Some(Finding { panel: Some(panel.panel), line: None, sentence: sentence(widest, narrow_mm) })
    };
    plan.panels.iter().filter_map(of_panel).collect()
}

fn sentence(pad: &Pad, narrow_mm: f64) -> String {
    format!(
        "{} is {} mm wide and the panel {narrow_mm:.0}: with its load on the {:.0} % of it that find room, a set takes more than this plan counts; work it with a smaller pad",
        pad.name,
        pad.diameter_mm,
        100.0 * share_in_strip(narrow_mm / pad.diameter_mm)
    )
}

/// Share of a disc that lies in a strip through its middle, `width` of its diameter wide \[D\].
fn share_in_strip(width: f64) -> f64 {
    let half = width.clamp(0.0, 1.0);
    2.0 / std::f64::consts::PI * (half.asin() + half * (1.0 - half * half).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::plan;
    use crate::example::{EFFORT, car};
    use lastmicron_polish::{Drive, Equipment, Machine, PadEdge, Use};
    use lastmicron_units::Unit;

    #[test]
    fn a_disc_lies_whole_in_a_strip_of_its_width() {
        // [D] half as wide: 2 / pi (pi / 6 + root(3) / 4)
        for (width, share) in [(0.0, 0.0), (0.5, 1.0 / 3.0 + 3f64.sqrt() / (2.0 * std::f64::consts::PI)), (1.0, 1.0), (1.7, 1.0)] {
            assert!((share_in_strip(width) - share).abs() < 1e-12, "{width}");
        }
    }

    #[test]
    fn a_panel_narrower_than_its_pad_is_said() {
        // The example's sill is 160 mm wide.
        let with = |diameter_mm: f64| {
            let machine =
                Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 };
            let pad = Pad { name: "wide foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
            let used = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };
            let equipment = Equipment { machines: vec![machine], pads: vec![pad], uses: vec![Some(used); 2], ..Equipment::default() };
            let findings = plan(&Car { equipment, ..car() }, EFFORT, Unit::Micrometre).unwrap().findings;
            findings.into_iter().filter(|f| f.sentence.contains("wide foam")).map(|f| (f.panel, f.sentence)).collect::<Vec<_>>()
        };
        let said = with(180.0);
        assert!(
            said.len() == 1 && said[0].0 == Some(1) && said[0].1.starts_with("wide foam is 180 mm wide and the panel 160:"),
            "{said:?}"
        );
        assert!(with(150.0).is_empty());
    }
}
