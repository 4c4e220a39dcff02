//! How warm a usual panel gets under one use of a machine and a pad.

use std::f64::consts::PI;

use super::{HeatCaution, HeatError, Material, Rubbing, Sheet, Sides, USUAL_FRICTION, USUAL_LOSS_W_M2_K, USUAL_SHARE, caution};
use crate::equipment::{Pad, Use};
use crate::transfer::Exposure;

/// How long a machine is thought to be held still, s. Judgement: a look aside, a cord to be freed.
pub const HELD_STILL_S: f64 = 10.0;

/// The panel before work, degrees C. Judgement: a room to work in; in the sun a panel begins far above it.
pub const ROOM_C: f64 = 20.0;

/// A rise may be as little as its estimate over this, or as much as its estimate times this. Judgement: friction from 0.25 to 0.5, from a quarter to all of
/// the heat into the panel, still air or a draught: a factor of two and a half either way, and thin places; smaller would claim a forecast.
pub const UNSURE: f64 = 3.0;

/// How warm a usual panel of one material gets, from [`ROOM_C`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warming {
    /// What it is made of.
    pub material: Material,
    /// Sets on end that a section gets.
    pub sets: u32,
    /// Rise over a section at the end of its sets, K, mean over it.
    pub worked_k: f64,
    /// What a pad held still for [`HELD_STILL_S`] adds under it, K.
    pub held_still_k: f64,
    /// What the surface calls for at the end of the sets, at the hot end of the estimate.
    pub worked: Option<HeatCaution>,
    /// What it calls for where the machine is then held still, at the hot end.
    pub held_still: Option<HeatCaution>,
}

impl Warming {
    /// Of a section ([`Pad::section_mm`]) worked for so many sets on end, under the method's usual friction, share and still air on both sides.
    ///
    /// # Errors
    /// [`HeatError`] for a pad or load that is none.
    pub fn of(material: Material, pad: &Pad, used: &Use, exposure: &Exposure, sets: u32) -> Result<Self, HeatError> {
        let rubbing = Rubbing::new(USUAL_FRICTION, used.load_n, exposure.speed_m_s, pad.diameter_mm, USUAL_SHARE)?;
        let pad_m2 = PI * (pad.diameter_mm / 2000.0).powi(2);
        let area_m2 = (pad.section_mm() / 1000.0).powi(2).max(pad_m2);
        let seconds = f64::from(sets) * exposure.covered_s * area_m2 / pad_m2;
        let sheet = Sheet::usual(material);
        let worked_k = sheet.worked_k(&rubbing, area_m2, seconds, USUAL_LOSS_W_M2_K, Sides::Both)?;
        let held_still_k = sheet.held_still_k(&rubbing, HELD_STILL_S)?;
        let at_worst = |rise_k: f64| caution(ROOM_C + UNSURE * rise_k);
        let [worked, held_still] = [at_worst(worked_k)?, at_worst(worked_k + held_still_k)?];
        Ok(Self { material, sets, worked_k, held_still_k, worked, held_still })
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
        // [D] at three times 6.52 + 5.57 K above 20 degrees C
        assert!(matches!(many.held_still, Some(HeatCaution::Warm { surface_c }) if (surface_c - 56.3).abs() < 0.3), "{many:?}");
    }

    #[test]
    fn plastic_warms_in_its_skin_under_a_pad_held_still() {
        let [steel, plastic] = [Material::Steel, Material::Plastic].map(|material| warming(material, 140.0, 1));
        // [D] 26.39 W over 0.015394 m2 warms 3077 J/m2 K by 0.557 K/s; the skin of plastic by 2 q sqrt(10 s / (pi 0.2 1.785e6)), 10.2 K
        assert!((steel.held_still_k - 5.57).abs() < 0.02, "{steel:?}");
        assert!((plastic.held_still_k - 10.24).abs() < 0.05 && plastic.held_still_k > 1.5 * steel.held_still_k, "{plastic:?}");
        assert!(matches!(plastic.held_still, Some(HeatCaution::Soft { .. })), "{plastic:?}");
    }

    #[test]
    fn a_small_pad_warms_the_small_place_that_it_works() {
        // [D] 40 N on 25 mm and 100 mm square: 26.39 W over 0.01 m2, cooled by 20 W/m2 K, ends at 132 K; a set takes 4 x 100 x 100 / (40 x 12.5) = 80 s of a
        // time constant of 154 s
        let small = warming(Material::Steel, 25.0, 1);
        assert!((small.worked_k / (131.95 * (1.0 - (-80.0_f64 / 153.86).exp())) - 1.0).abs() < 0.01, "{small:?}");
        assert!(matches!(small.worked, Some(HeatCaution::Soft { .. })));
    }

    #[test]
    fn a_pad_larger_than_a_section_warms_what_it_covers() {
        let large = warming(Material::Aluminium, 600.0, 1);
        assert!(large.worked_k > 0.0 && large.worked_k < 5.0, "{large:?}");
    }
}
