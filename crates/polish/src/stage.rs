//! Working in stages: one set as a sequence, such as fast passes that take off the oxidised surface, a clean pad, slow passes.

use std::fmt;

use crate::equipment::{Machine, Pad, Use};
use crate::loading::{Loading, LoadingError, Residue};
use crate::transfer::{Exposure, UseError};

/// One stage of a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stage {
    /// Passes at one arm speed.
    Passes {
        /// How many.
        passes: u32,
        /// Speed of the arm, mm/s.
        arm_speed_mm_s: f64,
    },
    /// The pad is cleaned on the machine.
    CleanPad,
    /// A clean and dry pad is put on.
    ChangePad,
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Passes { passes: 1, arm_speed_mm_s } => write!(f, "1 pass at {arm_speed_mm_s} mm/s"),
            Self::Passes { passes, arm_speed_mm_s } => write!(f, "{passes} passes at {arm_speed_mm_s} mm/s"),
            Self::CleanPad => write!(f, "clean the pad"),
            Self::ChangePad => write!(f, "put on a clean pad"),
        }
    }
}

/// What is due after some sets, where the stages of each don't see to it.
#[must_use]
pub fn due_beyond(residue: Residue, stages: &[Stage]) -> Residue {
    let sees_to = |wanted: &[Stage]| stages.iter().any(|stage| wanted.contains(stage));
    Residue {
        clean_after: residue.clean_after.filter(|_| !sees_to(&[Stage::CleanPad, Stage::ChangePad])),
        change_after: residue.change_after.filter(|_| !sees_to(&[Stage::ChangePad])),
        ..residue
    }
}

/// A sequence that can't be worked.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum StageError {
    /// No stage has passes.
    #[error("no stage has passes: a set must remove something")]
    NoPasses,
    /// A stage that is none.
    #[error(transparent)]
    Use(#[from] UseError),
    /// Loading that is none.
    #[error(transparent)]
    Loading(#[from] LoadingError),
}

/// All passes of a set, and the arm speed (mm/s) at which so many would take as long: what its use has. None where no stage has passes.
#[must_use]
pub fn together(stages: &[Stage]) -> Option<(u32, f64)> {
    let (mut all, mut time) = (0_u32, 0.0);
    for stage in stages {
        if let Stage::Passes { passes, arm_speed_mm_s } = *stage {
            all = all.saturating_add(passes);
            time += f64::from(passes) / arm_speed_mm_s;
        }
    }
    (all > 0).then(|| (all, f64::from(all) / time))
}

/// Share of a set's removal that each stage takes, in order: by the time that it has a place under the pad, all else being alike.
///
/// # Errors
/// [`StageError`] for a use or a stage that removes nothing.
pub fn shares(machine: &Machine, pad: &Pad, used: &Use, stages: &[Stage]) -> Result<Vec<f64>, StageError> {
    let mut taken = Vec::with_capacity(stages.len());
    for stage in stages {
        taken.push(match *stage {
            Stage::Passes { passes, arm_speed_mm_s } => Exposure::of(machine, pad, &Use { passes, arm_speed_mm_s, ..*used })?.pa_m(),
            Stage::CleanPad | Stage::ChangePad => 0.0,
        });
    }
    let whole: f64 = taken.iter().sum();
    if whole > 0.0 { Ok(taken.iter().map(|part| part / whole).collect()) } else { Err(StageError::NoPasses) }
}

/// How full the pad is after each stage, when a set takes a depth over an area by these shares.
///
/// # Errors
/// [`StageError::Loading`] for a pad, area or depth that is none.
pub fn loadings(
    before: Loading,
    pad: &Pad,
    stages: &[Stage],
    shares: &[f64],
    area_m2: f64,
    depth_um: f64,
) -> Result<Vec<Loading>, StageError> {
    let mut loading = before;
    let mut after = Vec::with_capacity(stages.len());
    for (stage, share) in stages.iter().zip(shares) {
        loading = match stage {
            Stage::Passes { .. } => loading.after(area_m2, depth_um * share)?,
            Stage::CleanPad => loading.cleaned(),
            Stage::ChangePad => Loading::clean(pad.diameter_mm)?,
        };
        after.push(loading);
    }
    Ok(after)
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::equipment::{Drive, PadEdge};

    fn machine() -> Machine {
        Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4800.0, spin_rpm: 120.0 }
    }

    fn pad() -> Pad {
        Pad { name: "foam".to_owned(), diameter_mm: 140.0, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright }
    }

    const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

    const TWO_STAGES: [Stage; 3] =
        [Stage::Passes { passes: 2, arm_speed_mm_s: 120.0 }, Stage::CleanPad, Stage::Passes { passes: 4, arm_speed_mm_s: 30.0 }];

    #[test]
    fn a_stage_takes_by_its_passes_over_its_arm_speed() {
        // [D] 2 / 120 to 4 / 30: one ninth to eight ninths
        let shares = shares(&machine(), &pad(), &USED, &TWO_STAGES).unwrap();
        for (got, wanted) in shares.iter().zip([1.0 / 9.0, 0.0, 8.0 / 9.0]) {
            assert!((got - wanted).abs() < 1e-12, "{shares:?}");
        }
    }

    #[test]
    fn stages_together_take_as_much_as_their_use() {
        // [D] 2 / 120 + 4 / 30 = 0.15 s/mm: six passes at 40 mm/s
        let (passes, arm_speed_mm_s) = together(&TWO_STAGES).unwrap();
        assert!(passes == 6 && (arm_speed_mm_s - 40.0).abs() < 1e-12);
        assert_eq!(together(&[Stage::CleanPad]), None);
        let exposure = |passes, arm_speed_mm_s| Exposure::of(&machine(), &pad(), &Use { passes, arm_speed_mm_s, ..USED }).unwrap();
        let (apart, whole) = (exposure(2, 120.0).pa_m() + exposure(4, 30.0).pa_m(), exposure(passes, arm_speed_mm_s).pa_m());
        assert!((apart / whole - 1.0).abs() < 1e-12);
    }

    #[test]
    fn the_pad_is_clean_again_between_the_stages() {
        let shares = shares(&machine(), &pad(), &USED, &TWO_STAGES).unwrap();
        let after = loadings(Loading::clean(140.0).unwrap(), &pad(), &TWO_STAGES, &shares, 0.2025, 0.9).unwrap();
        // [D] 0.1 um, then 0.8, of 13.154 um a micrometre
        let cleaned: Vec<f64> = after.iter().map(Loading::since_cleaned_um).collect();
        for (got, wanted) in cleaned.iter().zip([1.3154, 0.0, 10.5236]) {
            assert!((got - wanted).abs() < 1e-3, "{cleaned:?}");
        }
        assert!((after[2].since_washed_um() - 11.839).abs() < 1e-3);
        let changed = loadings(after[2], &pad(), &[Stage::ChangePad], &[0.0], 0.2025, 0.9).unwrap();
        assert_eq!(changed[0], Loading::clean(140.0).unwrap());
    }

    #[test]
    fn a_sequence_that_removes_nothing_is_refused() {
        assert_eq!(shares(&machine(), &pad(), &USED, &[Stage::CleanPad]), Err(StageError::NoPasses));
        let none = shares(&machine(), &pad(), &USED, &[Stage::Passes { passes: 0, arm_speed_mm_s: 40.0 }]);
        assert_eq!(none, Err(StageError::Use(UseError::Passes)));
    }
}
