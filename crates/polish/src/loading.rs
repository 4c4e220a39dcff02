//! How full of residue a pad is: when to clean it, when to change it, how many a car takes.
//!
//! What a pad has taken off, it carries: volume of film removed over the pad's face, as a film of so many um on it. A pad that is full cuts less,
//! runs hotter and leaves marks, on soft paint first.
//!
//! Weak: film that was wiped or blown off is still counted until the pad is cleaned; polish itself, which is most of what cakes, goes with the
//! sets and is not in it. The thresholds are common practice and judgement, no source: look at the pad.

use std::f64::consts::PI;

use crate::preston::{above_0, from_0};

/// Loading from which a pad is cleaned on the machine (brushed or blown out). Common practice, no source: after every section or two; Judgement: a section
/// of 450 mm square from which a micrometre went puts 13 um on a pad of 140 mm, so that 20 is one to two of them. Smaller costs minutes, larger marks.
pub const CLEAN_UM: f64 = 20.0;

/// Loading, over all since it was last washed, from which a pad is changed for a clean and dry one. Common practice, no source: every panel or two;
/// Judgement: some five sections as above, since cleaning on the machine leaves part of it.
pub const CHANGE_UM: f64 = 80.0;

/// Pads of one kind that are rotated where they are washed and dried on the way. Common practice, no source: two or three.
pub const ROTATED: u32 = 3;

/// A number that is no pad or no work.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LoadingError {
    /// Diameter of the pad.
    #[error("a pad of {0} mm: its diameter must be a number above 0")]
    Pad(f64),
    /// Area worked.
    #[error("an area of {0} m2: it must be a number from 0 up")]
    Area(f64),
    /// Depth removed.
    #[error("a depth of {0} um: it must be a number from 0 up")]
    Depth(f64),
}

/// What a pad is due for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Due {
    /// Nothing yet.
    Nothing,
    /// Cleaning on the machine.
    Clean,
    /// Changing for a clean and dry one.
    Change,
}

/// Residue on a pad, as a film on its face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loading {
    pad_m2: f64,
    since_cleaned_um: f64,
    since_washed_um: f64,
}

/// Pads that a job takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PadCount {
    /// Where pads are rotated, washed and dried on the way.
    pub rotated: u32,
    /// Where every change takes a fresh one: also how often a clean one is put on.
    pub fresh: u32,
}

impl Loading {
    /// A clean pad, by its diameter.
    ///
    /// # Errors
    /// [`LoadingError::Pad`].
    pub fn clean(pad_diameter_mm: f64) -> Result<Self, LoadingError> {
        let pad_m2 = PI * (above_0(pad_diameter_mm, LoadingError::Pad)? / 2000.0).powi(2);
        Ok(Self { pad_m2, since_cleaned_um: 0.0, since_washed_um: 0.0 })
    }

    /// The pad after it took a depth, mean over an area: area x depth / the pad's face more on it.
    ///
    /// ```
    /// let pad = lastmicron_polish::loading::Loading::clean(140.0).unwrap().after(0.2025, 1.0).unwrap();
    /// assert!((pad.since_washed_um() - 13.15).abs() < 0.01);
    /// ```
    ///
    /// # Errors
    /// [`LoadingError`] for an area or depth that is no number from 0 up.
    pub fn after(&self, area_m2: f64, depth_um: f64) -> Result<Self, LoadingError> {
        let more_um = from_0(area_m2, LoadingError::Area)? * from_0(depth_um, LoadingError::Depth)? / self.pad_m2;
        Ok(Self { since_cleaned_um: self.since_cleaned_um + more_um, since_washed_um: self.since_washed_um + more_um, ..*self })
    }

    /// The pad after it was brushed or blown out on the machine.
    #[must_use]
    pub const fn cleaned(&self) -> Self {
        Self { since_cleaned_um: 0.0, ..*self }
    }

    /// Residue taken up since the pad was last cleaned on the machine, um.
    #[must_use]
    pub const fn since_cleaned_um(&self) -> f64 {
        self.since_cleaned_um
    }

    /// Residue taken up since the pad was last washed, um.
    #[must_use]
    pub const fn since_washed_um(&self) -> f64 {
        self.since_washed_um
    }

    /// What the pad is due for.
    #[must_use]
    pub fn due(&self) -> Due {
        if self.since_washed_um >= CHANGE_UM {
            Due::Change
        } else if self.since_cleaned_um >= CLEAN_UM {
            Due::Clean
        } else {
            Due::Nothing
        }
    }
}

/// Sections after which a pad is due, when each puts the same film on it: the first after which the film is at `limit_um`; `None` when nothing is
/// taken, or so little that it is never due within a million sections.
#[must_use]
pub fn sections_until(limit_um: f64, each_um: f64) -> Option<u32> {
    // A billionth of a section is rounding.
    let sections = (limit_um / each_um - 1e-9).ceil().max(1.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number within the bounds")]
    (sections <= 1e6).then_some(sections as u32)
}

/// What one set on a section leaves on a clean pad, and how often that may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residue {
    /// Film on its face, um.
    pub film_um: f64,
    /// Sections after which it is cleaned on the machine; none where it never is.
    pub clean_after: Option<u32>,
    /// Sections after which it is changed.
    pub change_after: Option<u32>,
}

impl Residue {
    /// Of a pad that takes a depth, mean over a section's area.
    ///
    /// # Errors
    /// [`LoadingError`] for a pad, area or depth that is none.
    pub fn of(pad_diameter_mm: f64, section_m2: f64, depth_um: f64) -> Result<Self, LoadingError> {
        let film_um = Loading::clean(pad_diameter_mm)?.after(section_m2, depth_um)?.since_cleaned_um;
        Ok(Self { film_um, clean_after: sections_until(CLEAN_UM, film_um), change_after: sections_until(CHANGE_UM, film_um) })
    }
}

/// Pads of one size that a job takes when they take so much volume off in all: a mean depth over an area. A whole soft car may need many.
///
/// # Errors
/// [`LoadingError`] for a pad, area or depth that is none.
pub fn pads(pad_diameter_mm: f64, area_m2: f64, depth_um: f64) -> Result<PadCount, LoadingError> {
    let loading_um = Loading::clean(pad_diameter_mm)?.after(area_m2, depth_um)?.since_washed_um();
    let fresh = (loading_um / CHANGE_UM).ceil().clamp(0.0, f64::from(u32::MAX));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number within the bounds")]
    let fresh = fresh as u32;
    Ok(PadCount { rotated: fresh.min(ROTATED), fresh })
}

#[cfg(test)]
mod tests {
    use super::*;

    use proptest::prelude::*;

    #[test]
    fn residue_is_the_volume_over_the_pads_face() {
        // [D] 1 um of 0.25 m2 on 125 mm: 0.25 / 0.012272 = 20.37 um
        let pad = Loading::clean(125.0).unwrap().after(0.25, 1.0).unwrap();
        assert!((pad.since_washed_um() - 20.372).abs() < 1e-3);
        assert_eq!(pad.due(), Due::Clean);
    }

    #[test]
    fn a_pad_is_cleaned_every_section_or_two_and_changed_after_some() {
        let mut pad = Loading::clean(140.0).unwrap();
        let mut dues = Vec::new();
        for _ in 0..7 {
            pad = pad.after(0.2025, 1.0).unwrap();
            dues.push(pad.due());
            if pad.due() == Due::Clean {
                pad = pad.cleaned();
            }
        }
        use Due::{Change, Clean, Nothing};
        assert_eq!(dues, [Nothing, Clean, Nothing, Clean, Nothing, Clean, Change]);
        assert!(pad.since_cleaned_um() < pad.since_washed_um());
    }

    #[test]
    fn a_car_takes_more_pads_the_more_comes_off_and_a_few_where_they_are_washed() {
        // [D] 8 m2 x 2 um on 140 mm: 1,039 um of residue
        assert_eq!(pads(140.0, 8.0, 2.0), Ok(PadCount { rotated: 3, fresh: 13 }));
        assert_eq!(pads(140.0, 0.5, 1.0), Ok(PadCount { rotated: 1, fresh: 1 }));
        assert_eq!(pads(140.0, 0.0, 1.0), Ok(PadCount { rotated: 0, fresh: 0 }));
    }

    #[test]
    fn what_is_no_pad_or_no_work_is_refused_with_its_number() {
        assert_eq!(Loading::clean(0.0), Err(LoadingError::Pad(0.0)));
        assert_eq!(pads(140.0, -1.0, 1.0), Err(LoadingError::Area(-1.0)));
        assert!(pads(140.0, 1.0, f64::NAN).unwrap_err().to_string().starts_with("a depth of NaN um"));
    }

    #[test]
    fn a_usual_section_leaves_what_its_page_says() {
        // [D] 0.2025 m2 x 1.2 um over 0.015394 m2
        let residue = Residue::of(140.0, 0.2025, 1.2).unwrap();
        assert!((residue.film_um - 15.785).abs() < 1e-3);
        assert_eq!((residue.clean_after, residue.change_after), (Some(2), Some(6)));
        assert_eq!(Residue::of(140.0, 0.2025, 0.0).unwrap().clean_after, None);
    }

    proptest! {
        #[test]
        fn a_pad_is_due_after_the_sections_said_and_not_before(each in 0.05..200.0f64) {
            let clean = Loading { pad_m2: 1.0, since_cleaned_um: 0.0, since_washed_um: 0.0 };
            let after = |sections: u32| clean.after(1.0, each * f64::from(sections)).unwrap();
            let (clean_after, change_after) = (sections_until(CLEAN_UM, each).unwrap(), sections_until(CHANGE_UM, each).unwrap());
            prop_assert!(after(clean_after).due() != Due::Nothing && after(change_after).due() == Due::Change);
            prop_assert!(clean_after == 1 || after(clean_after - 1).due() == Due::Nothing);
            prop_assert!(change_after == 1 || after(change_after - 1).due() != Due::Change);
            prop_assert_eq!(sections_until(CLEAN_UM, 0.0), None);
        }

        #[test]
        fn residue_adds_up_in_any_pieces(first in 0.0..2.0f64, second in 0.0..2.0f64, depth in 0.0..5.0f64) {
            let clean = Loading::clean(125.0).unwrap();
            let apart = clean.after(first, depth).unwrap().after(second, depth).unwrap();
            let together = clean.after(first + second, depth).unwrap();
            prop_assert!((apart.since_washed_um() - together.since_washed_um()).abs() < 1e-9);
        }
    }
}
