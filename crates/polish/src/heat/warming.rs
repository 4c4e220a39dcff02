//! How warm a usual panel gets under one use of a machine and a pad.

use std::f64::consts::PI;

use super::{HeatCaution, HeatError, Material, Rubbing, Sheet, Sides, USUAL_FRICTION, USUAL_LOSS_W_M2_K, USUAL_SHARE, caution};
use crate::equipment::{Pad, Use};
use crate::transfer::Exposure;

/// Side of a section, mm. Common practice, no source: some 450 mm square, what one application of polish keeps wet.
pub const SECTION_MM: f64 = 450.0;

/// How long a machine is thought to be held still, s. Judgement: a look aside, a cord to be freed.
pub const HELD_STILL_S: f64 = 10.0;

/// The panel before work, degrees C. Judgement: a room to work in; in the sun a panel begins far above it.
pub const ROOM_C: f64 = 20.0;

/// A rise may be as little as its estimate over this, or as much as its estimate times this. Judgement: friction from 0.25 to 0.5, a third to all of the
/// heat into the panel, still air or a draught; smaller would claim a forecast.
pub const UNSURE: f64 = 2.0;

/// How warm a usual panel of one material gets, from [`ROOM_C`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warming {
    /// What it is made of.
    pub material: Material,
    /// Rise over a section at the end of its sets, one after the other, K, mean over it.
    pub worked_k: f64,
    /// Rise under a pad held still for [`HELD_STILL_S`], K: an upper bound.
    pub held_still_k: f64,
    /// What the surface at the end of the sets calls for.
    pub worked: Option<HeatCaution>,
    /// What it calls for under a pad held still.
    pub held_still: Option<HeatCaution>,
}

impl Warming {
    /// Of a section of [`SECTION_MM`] square worked for so many sets on end, under the method's usual friction, share and still air on both sides. A pad
    /// larger than a section works over its neighbours too: the area is then the pad's.
    ///
    /// # Errors
    /// [`HeatError`] for a pad or load that is none.
    pub fn of(material: Material, pad: &Pad, used: &Use, exposure: &Exposure, sets: u32) -> Result<Self, HeatError> {
        let rubbing = Rubbing::new(USUAL_FRICTION, used.load_n, exposure.speed_m_s, pad.diameter_mm, USUAL_SHARE)?;
        let pad_m2 = PI * (pad.diameter_mm / 2000.0).powi(2);
        let area_m2 = (SECTION_MM / 1000.0).powi(2).max(pad_m2);
        let seconds = f64::from(sets) * exposure.covered_s * area_m2 / pad_m2;
        let sheet = Sheet::usual(material);
        let worked_k = sheet.worked_k(&rubbing, area_m2, seconds, USUAL_LOSS_W_M2_K, Sides::Both)?;
        let held_still_k = sheet.held_still_k(&rubbing, HELD_STILL_S)?;
        let [worked, held_still] = [caution(ROOM_C + worked_k)?, caution(ROOM_C + held_still_k)?];
        Ok(Self { material, worked_k, held_still_k, worked, held_still })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equipment::{Drive, Machine, PadEdge};

    const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

    fn warming(material: Material, diameter_mm: f64, sets: u32) -> Warming {
        let machine =
            Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 };
        let pad = Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
        let exposure = Exposure::of(&machine, &pad, &USED).unwrap();
        Warming::of(material, &pad, &USED, &exposure, sets).unwrap()
    }

    #[test]
    fn a_section_warms_towards_what_the_air_takes_from_both_sides() {
        // [D] half of 0.4 x 40 N x 3.2987 m/s is 26.39 W over 0.2025 m2, cooled by 20 W/m2 K: 6.52 K in the end; a set takes 4 x 450 x 450 / (40 x 70) =
        // 289 s of a sheet with a time constant of 3077 / 20 = 154 s.
        let one = warming(Material::Steel, 140.0, 1);
        assert!((one.worked_k - 6.516 * (1.0 - (-289.286_f64 / 153.86).exp())).abs() < 0.01, "{one:?}");
        let many = warming(Material::Steel, 140.0, 20);
        assert!((many.worked_k - 6.516).abs() < 0.01 && many.worked.is_none(), "{many:?}");
    }

    #[test]
    fn plastic_warms_in_its_skin_under_a_pad_held_still() {
        let [steel, plastic] = [Material::Steel, Material::Plastic].map(|material| warming(material, 140.0, 1));
        // [D] 26.39 W over 0.015394 m2 warms 3077 J/m2 K by 0.557 K/s; the skin of plastic by 2 q sqrt(10 s / (pi 0.2 1.785e6)), 10.2 K
        assert!((steel.held_still_k - 5.57).abs() < 0.02, "{steel:?}");
        assert!((plastic.held_still_k - 10.24).abs() < 0.05 && plastic.held_still_k > 1.5 * steel.held_still_k, "{plastic:?}");
        assert_eq!(plastic.held_still, None);
        let small = warming(Material::Plastic, 75.0, 1);
        assert!(matches!(small.held_still, Some(HeatCaution::Warm { .. })), "the same power on a quarter of the area: {small:?}");
    }

    #[test]
    fn a_pad_larger_than_a_section_warms_what_it_covers() {
        let large = warming(Material::Aluminium, 600.0, 1);
        assert!(large.worked_k > 0.0 && large.worked_k < 5.0, "{large:?}");
    }
}
