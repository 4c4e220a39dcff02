//! What is believed of a film before any reading, where the job states nothing.
//!
//! Nothing published was found on the correlation length of film thickness over a panel, nor on how panels of one vehicle differ: the
//! ranges below are judgement, wide, and integrated over. Each says what goes wrong when it is off.

use lastmicron_numerics::kernel::Family;
use lastmicron_numerics::mixture::{Component, Prior};

/// A value with its probability.
pub(crate) type Weighted<T> = (T, f64);

/// Smoothness of the field. Judgement: sprayed film varies smoothly over a hand's breadth and less so where it was rubbed down; the middle
/// family takes half. A prior without the roughest would call a rough field safe between readings.
pub(crate) const FAMILIES: [Weighted<Family>; 3] = [(Family::Exponential, 0.15), (Family::Matern32, 0.5), (Family::Matern52, 0.35)];

/// Length over which film keeps its value, mm. Judgement: 100 to 400 mm is usual with edge trends set apart. Too long hides low places
/// between readings, too short makes every unread place a risk.
pub(crate) const LENGTHS_MM: [Weighted<f64>; 5] = [(80.0, 0.12), (140.0, 0.23), (240.0, 0.3), (400.0, 0.23), (650.0, 0.12)];

/// Standard deviation of the field within a panel, um. Judgement: 1 to 6 um; readings soon settle it.
pub(crate) const FIELD_SDS_UM: [Weighted<f64>; 7] =
    [(0.8, 0.07), (1.2, 0.13), (1.8, 0.2), (2.6, 0.22), (3.6, 0.18), (5.0, 0.12), (7.0, 0.08)];

/// Standard deviation of fine texture and of re-placing the probe, um: a noise beside the gauge's, never drawn twice alike.
/// Judgement: orange peel is of the order of 1 um peak to valley over a few mm (from memory), which is 0.2 to 0.8 um as a deviation.
pub(crate) const TEXTURES_UM: [Weighted<f64>; 3] = [(0.25, 0.4), (0.6, 0.4), (1.1, 0.2)];

/// Texture and re-placing as believed before anything is read: the root mean square of their standard deviations, um.
#[must_use]
pub fn believed_texture_um() -> f64 {
    TEXTURES_UM.iter().map(|(um, weight)| weight * um * um).sum::<f64>().sqrt()
}

/// Standard deviation of panels about the vehicle's mean, um. Judgement: panels are painted apart and hang at different angles.
pub(crate) const PANEL_SDS_UM: [Weighted<f64>; 5] = [(1.5, 0.12), (3.0, 0.28), (5.0, 0.32), (8.0, 0.2), (12.0, 0.08)];

/// Chance that a panel's film thins towards its edges. Judgement: from few to most, by how the vehicle was painted and rubbed.
pub(crate) const THIN_EDGE_CHANCES: [Weighted<f64>; 3] = [(0.15, 0.3), (0.35, 0.4), (0.6, 0.3)];

/// How much thinner the very edge is where it is thin, um: normal, mean and standard deviation. Judgement: 2 to 7 um is common practice's
/// range, no source; smaller would make unread edges look safe.
pub(crate) const THIN_EDGE_UM: (f64, f64) = (-4.5, 2.0);

/// Distances over which a thin edge fades into the panel, mm, equally likely: nobody states them. Common practice, no source: 15 to 60 mm.
pub(crate) const THIN_EDGE_SCALES_MM: [f64; 3] = [19.0, 34.0, 54.0];

/// Chance that a panel was resprayed, before any reading. Judgement: some vehicles have one or two such panels.
pub(crate) const RESPRAY_CHANCE: f64 = 0.1;

/// Film that a respray adds, um: normal, mean and standard deviation. Judgement: a refinish system of 60 to 140 um, filler apart.
pub(crate) const RESPRAY_UM: (f64, f64) = (90.0, 45.0);

/// Of what a respray added, the share that is undercoat (primer, filler, the old topcoat under it). Judgement: anything from a third to nearly
/// all; the topmost component reaches past all of it, for a topcoat cut through before it was painted over.
const RESPRAY_UNDERCOAT_SHARES: [f64; 4] = [0.36, 0.54, 0.72, 0.90];
const RESPRAY_UNDERCOAT_SHARE_SD: f64 = 0.06;

/// Chance that a reading is wild (lifted probe, dirt, a slip of the hand), and the standard deviation of such a reading, um. Judgement.
pub(crate) const WILD_CHANCE: f64 = 0.01;
/// See [`WILD_CHANCE`].
pub(crate) const WILD_SD_UM: f64 = 16.0;

/// Chance that a place without topcoat lacks some of the panel's primers too. Judgement: hidden places are often skipped by one gun.
const LACKING_CHANCE: f64 = 0.2;
/// What such a place lacks, as shares of the vehicle's undercoat, equally likely, each with [`LACKING_SHARE_SD`]. Judgement.
const LACKING_SHARES: [f64; 6] = [0.12, 0.21, 0.30, 0.39, 0.48, 0.62];
const LACKING_SHARE_SD: f64 = 0.05;
/// What a place that lacks nothing may differ by, um: it is not quite where the panel is. Judgement.
const COMPLETE_SD_UM: f64 = 0.3;

/// How far the spread of panels' undercoats may be from what is stated or usual: factors with their probabilities. It is one number for all of a
/// vehicle's panels (one gun, one booth, one day), so a wide one shows on several. Judgement: right, or off by a quarter to a third.
pub(crate) const UNDERCOAT_SPREADS: [Weighted<f64>; 3] = [(0.75, 0.3), (1.0, 0.4), (1.35, 0.3)];

/// Offset of a panel's undercoat from the vehicle's, um, where panels differ by `sd_um`.
pub(crate) fn undercoat_offset(sd_um: f64) -> Prior {
    Prior::normal(0.0, sd_um.max(1e-3))
}

/// The same before anything is known of the spread: `sd_um` as stated or usual.
pub(crate) fn undercoat_offset_of_any_spread(sd_um: f64) -> Prior {
    let component = |(factor, weight): Weighted<f64>| Component { weight, mean: 0.0, sd: (factor * sd_um).max(1e-3) };
    Prior::mixture(UNDERCOAT_SPREADS.map(component).to_vec())
}

/// Offset of a resprayed panel's undercoat, um, when the respray added `added_um` in all.
pub(crate) fn respray_undercoat_offset(sd_um: f64, added_um: f64) -> Prior {
    let added = added_um.max(0.0);
    let spread = RESPRAY_UNDERCOAT_SHARE_SD * added;
    let component = |share: f64| Component { weight: 1.0, mean: share * added, sd: f64::hypot(spread, sd_um) };
    Prior::mixture(RESPRAY_UNDERCOAT_SHARES.iter().map(|s| component(*s)).collect())
}

/// What a place without topcoat lacks of the undercoat, um.
pub(crate) fn lacking(undercoat_um: f64) -> Prior {
    let mut components = vec![Component { weight: 1.0 - LACKING_CHANCE, mean: 0.0, sd: COMPLETE_SD_UM }];
    let weight = LACKING_CHANCE / LACKING_SHARES.len() as f64;
    components.extend(LACKING_SHARES.iter().map(|share| Component {
        weight,
        mean: share * undercoat_um,
        sd: (LACKING_SHARE_SD * undercoat_um).max(COMPLETE_SD_UM),
    }));
    Prior::mixture(components)
}
