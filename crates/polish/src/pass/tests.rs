use super::*;

use crate::contact::Finding;
use crate::equipment::{Drive, PadEdge};
use crate::heat::HeatCaution;
use crate::removal::USUAL_SCATTER;
use proptest::prelude::*;

fn orbital() -> Machine {
    Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 }
}

fn foam(diameter_mm: f64) -> Pad {
    Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright }
}

const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };
const RATE: Belief = Belief { mean: 1.2, sd: 0.2 };

fn pass(pad: &Pad, used: &Use) -> Result<Pass, PassError> {
    Pass::of(&orbital(), pad, used, RATE, USUAL_SCATTER, &[12.0])
}

#[test]
fn a_section_loses_the_sets_depth_in_its_middle_and_less_towards_its_sides() {
    let section = pass(&foam(140.0), &USED).unwrap().section.unwrap();
    // [D] strokes over 295 mm lie 59 mm apart where half of 140 is 70: six strokes of 295 mm and 295 mm across, four times, at 40 mm/s.
    let seconds = 4.0 * 7.0 * 295.0 / 40.0;
    assert!((section.seconds - seconds).abs() < 1e-9, "{}", section.seconds);
    // [D] all strokes reach what is 2 x 77.5 mm from every side: 140 mm in the middle, nodes 31 to 59.
    assert_eq!(section.middle(), 31..60);
    assert!((section.middle_um() - 1.2).abs() < 1e-12, "{}", section.middle_um());
    // [D] volume is kept: k F v t over the section, k from the middle's depth where strokes are 59 mm apart; ripples leave some per cent.
    let mean = 1.2 * (59.0 / 70.0) * seconds / (450.0 * 450.0 * 4.0 / (40.0 * 70.0));
    assert!((section.map.mean_um / mean - 1.0).abs() < 0.05, "{} {mean}", section.map.mean_um);
    assert!(section.map.min_um < 0.1 * section.map.mean_um, "its corners are left to the neighbours");
    assert!(section.map.max_um < 1.2 * 1.2, "{}", section.map.max_um);
}

#[test]
fn a_depth_is_as_unsure_as_rate_gain_and_scatter_together() {
    let done = pass(&foam(140.0), &USED).unwrap();
    let flat = done.depth_um(Belief { mean: 0.0, sd: 0.0 });
    // [D] 0.2 um of the rate; a tenth from panel to panel and from section to section, and the strokes.
    let differs = (0.02 + done.unevenness.powi(2)).sqrt();
    assert!((flat.mean - 1.2).abs() < 1e-12 && (flat.sd - 0.2f64.hypot(1.2 * differs)).abs() < 1e-12);
    let edge = done.depth_um(Belief { mean: 0.5, sd: 0.25 });
    assert!((edge.mean - 1.8).abs() < 1e-12 && (edge.sd - (0.09 + 0.09 + (1.8 * differs).powi(2)).sqrt()).abs() < 1e-12);
    assert!(done.depth_um(Belief { mean: -1.5, sd: 0.0 }).mean.abs() < 1e-12, "no pad adds film");
}

#[test]
fn the_pad_and_the_panel_get_what_their_pages_say() {
    let done = pass(&foam(140.0), &USED).unwrap();
    // [D] 0.2025 m2 x 1.2 um over 0.015394 m2
    assert!((done.residue.film_um - 15.785).abs() < 1e-3);
    assert_eq!((done.residue.clean_after, done.residue.change_after), (Some(2), Some(6)));
    assert_eq!(done.warming.map(|w| w.material), [Material::Steel, Material::Aluminium, Material::Plastic]);
    let pressed = pass(&foam(140.0), &Use { load_n: 150.0, ..USED }).unwrap();
    assert!(matches!(pressed.warming[2].held_still, Some(HeatCaution::Soft { .. })), "{:?}", pressed.warming[2]);
}

#[test]
fn a_range_is_a_factor_to_each_side_and_never_below_nothing() {
    // [D] a factor of e^(1.96 x 0.5) about a median of 2 has a mean of 2 e^0.125 and a share of root(e^0.25 - 1)
    let mean = 2.0 * 0.125f64.exp();
    let [low, high] = range_um(Belief { mean, sd: mean * 0.25f64.exp_m1().sqrt() });
    assert!((low - 2.0 * (-0.98f64).exp()).abs() < 1e-9 && (high - 2.0 * 0.98f64.exp()).abs() < 1e-9, "{low} {high}");
    assert!(range_um(Belief { mean: 0.0, sd: 1.0 }).iter().all(|um| um.abs() < 1e-15));
    let sure = range_um(Belief { mean: 1.2, sd: 0.0 });
    assert!(sure.iter().all(|um| (um - 1.2).abs() < 1e-12));
}

#[test]
fn a_small_pad_works_a_small_section() {
    let section = pass(&foam(25.0), &USED).unwrap().section.unwrap();
    assert!((section.side_mm - 100.0).abs() < 1e-12 && (section.middle_um() - 1.2).abs() < 1e-12);
    assert!((section.step_mm * (section.nodes - 1) as f64 - 100.0).abs() < 1e-9, "{} {}", section.step_mm, section.nodes);
}

#[test]
fn a_pad_as_wide_as_a_section_still_has_its_edge() {
    let done = pass(&foam(440.0), &USED).unwrap();
    assert_eq!(done.section, Err(NoSection::PadTooWide { diameter_mm: 440.0, span_mm: 455.0, side_mm: 450.0 }));
    assert!(done.edge.at(0.0).mean > 0.0);
}

#[test]
fn foam_squeezed_too_far_on_a_line_is_said() {
    let soft = Pad { stiffness_pa_per_m: 0.2e6, ..foam(140.0) };
    let findings = pass(&soft, &USED).unwrap().findings;
    assert!(findings.iter().any(|b| b.seat == Seat::OnLine(12.0) && matches!(b.finding, Finding::Deep { .. })), "{findings:?}");
    assert!(pass(&foam(140.0), &USED).unwrap().findings.is_empty());
}

#[test]
fn what_is_no_set_is_refused_with_its_number() {
    let said = |pad: &Pad, used: Use, rate: Belief| Pass::of(&orbital(), pad, &used, rate, USUAL_SCATTER, &[]).unwrap_err().to_string();
    assert!(said(&foam(140.0), Use { load_n: 0.0, ..USED }, RATE).starts_with("a load of 0 N"));
    assert!(said(&foam(140.0), Use { load_n: f64::NAN, ..USED }, RATE).starts_with("a load of NaN N"));
    assert!(said(&foam(140.0), Use { overlap: 0.999_999_9, ..USED }, RATE).starts_with("an overlap of 0.9999999"));
    assert!(said(&foam(f64::NAN), USED, RATE).starts_with("a pad of NaN mm"));
    assert!(said(&foam(140.0), USED, Belief { mean: 0.0, sd: 0.1 }).starts_with("a set that takes 0 um"));
    assert!(said(&foam(140.0), USED, Belief { mean: 1.0, sd: f64::NAN }).starts_with("a standard deviation of NaN um"));
    let radius = Pass::of(&orbital(), &foam(140.0), &USED, RATE, USUAL_SCATTER, &[-3.0]).unwrap_err();
    assert!(radius.to_string().starts_with("a radius of -3 mm"), "{radius}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn twice_the_set_is_twice_the_map_and_the_same_gains(depth in 0.05..20.0f64, diameter in 30.0..200.0f64, load in 5.0..120.0f64, overlap in 0.0..0.8f64, passes in 1..6u32) {
        let (pad, used) = (foam(diameter), Use { load_n: load, overlap, passes, ..USED });
        let of = |mean: f64| Pass::of(&orbital(), &pad, &used, Belief { mean, sd: 0.0 }, USUAL_SCATTER, &[]).unwrap();
        let (one, two) = (of(depth), of(2.0 * depth));
        prop_assert_eq!(&one.edge, &two.edge);
        prop_assert_eq!(&one.warming, &two.warming);
        let (one, two) = (one.section.unwrap(), two.section.unwrap());
        prop_assert!((two.map.mean_um / one.map.mean_um - 2.0).abs() < 1e-9);
        prop_assert!((one.middle_um() - depth).abs() < 1e-9 * depth);
        prop_assert!(one.map.max_um >= depth * (1.0 - 1e-9) && one.map.max_um >= one.map.mean_um && one.map.min_um >= 0.0);
    }
}
