//! How warm usual panels get.

use crate::equipment::{Pad, Use};
use crate::heat::{HeatCaution, HeatError, Material, Rubbing, Sheet, Sides, USUAL_FRICTION, USUAL_LOSS_W_M2_K, USUAL_SHARE, caution};
use crate::pass::section::SECTION_MM;
use crate::transfer::Exposure;

/// How long a machine is thought to be held still, s. Judgement: a look aside, a cord to be freed.
pub const HELD_STILL_S: f64 = 10.0;

/// The panel before work, degrees C. Judgement: a room to work in; in the sun a panel begins far above it.
pub const ROOM_C: f64 = 20.0;

/// A usual panel of one material.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Warming {
    /// What it is made of.
    pub material: Material,
    /// Rise over a section at the end of a set, K, mean over it.
    pub worked_k: f64,
    /// Rise under a pad held still for [`HELD_STILL_S`], K: an upper bound.
    pub held_still_k: f64,
    /// What the surface at the end of a set calls for, from [`ROOM_C`].
    pub worked: Option<HeatCaution>,
    /// What it calls for under a pad held still.
    pub held_still: Option<HeatCaution>,
}

pub(super) fn of(pad: &Pad, used: &Use, exposure: &Exposure, seconds: f64) -> Result<Vec<Warming>, HeatError> {
    let rubbing = Rubbing::new(USUAL_FRICTION, used.load_n, exposure.speed_m_s, pad.diameter_mm, USUAL_SHARE)?;
    let area_m2 = (SECTION_MM / 1000.0).powi(2);
    let warming = |material: Material| {
        let sheet = Sheet::usual(material);
        let worked_k = sheet.worked_k(&rubbing, area_m2, seconds, USUAL_LOSS_W_M2_K, Sides::Both)?;
        let held_still_k = sheet.held_still_k(&rubbing, HELD_STILL_S)?;
        let [worked, held_still] = [caution(ROOM_C + worked_k)?, caution(ROOM_C + held_still_k)?];
        Ok(Warming { material, worked_k, held_still_k, worked, held_still })
    };
    [Material::Steel, Material::Aluminium, Material::Plastic].into_iter().map(warming).collect()
}
