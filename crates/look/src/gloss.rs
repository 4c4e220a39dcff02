//! What a surface of a given index can show on a gloss meter, and what roughness takes from it.
//!
//! Every angle is that of incidence, in degrees from the surface's normal. Gloss units are shares, in per cent, of what polished
//! glass of index 1.567 reflects at the same angle.

mod reading;
mod words;

use std::f64::consts::PI;

pub use reading::{Change, Estimate, Haze, INDEX_GIVE, Level, METER_UNITS, REPEAT_UNITS, Reading, Spot, State, USUAL_INDEX, judge};

/// Index of the glass that stands for 100 gloss units. ISO 2813:1997: "a refractive index, measured at a wavelength of 587,6 nm, of 1,567".
pub const STANDARD_INDEX: f64 = 1.567;

/// Angle, degrees, at which haze and most gloss is judged beside the sensitive 20.
const MIDDLE_ANGLE_DEG: f64 = 60.0;

/// The sensitive angle, degrees.
const STEEP_ANGLE_DEG: f64 = 20.0;

/// Gloss at 60 degrees up to which haze is not judged, gloss units. ASTM D4039 4.2.
const LEAST_GLOSS_FOR_HAZE: f64 = 70.0;

/// Highest index taken. Judgement: clear coats are 1.45 to 1.6, diamond is 2.42; beyond 4 only semiconductors are left.
const MOST_INDEX: f64 = 4.0;

/// Why there is no gloss.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum GlossError {
    /// An index that no transparent film has.
    #[error("a refractive index of {0}: it must lie between 1 and 4; paint is near 1.5")]
    Index(f64),
    /// An angle from which nothing is seen.
    #[error("an angle of {0} degrees: it must be at least 0 and below 90; gloss is read at 20, 60 and 85")]
    Angle(f64),
    /// A roughness below 0.
    #[error("a roughness of {0} nm: it must be a finite number from 0 upwards")]
    Roughness(f64),
    /// A wavelength that is not light.
    #[error("a wavelength of {0} nm: it must lie between 100 and 100000")]
    Wavelength(f64),
    /// Too dull for haze.
    #[error("a gloss of {0} at 60 degrees: haze by the difference of 60 and 20 degrees is judged above 70 only")]
    TooDull(f64),
}

/// What a smooth surface reflects.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reflectance {
    /// Of light polarised across the plane of incidence.
    pub across: f64,
    /// Of light polarised in the plane of incidence.
    pub along: f64,
}

impl Reflectance {
    /// Of unpolarised light.
    #[must_use]
    pub fn mean(self) -> f64 {
        f64::midpoint(self.across, self.along)
    }
}

/// Share of light that a smooth surface of `index` reflects at `angle_deg`: Fresnel's equations.
///
/// # Errors
/// [`GlossError`] when the index is not between 1 and 4, or the angle not from 0 to below 90.
pub fn reflectance(index: f64, angle_deg: f64) -> Result<Reflectance, GlossError> {
    if !(1.0..=MOST_INDEX).contains(&index) {
        return Err(GlossError::Index(index));
    }
    let cosine = cosine(angle_deg)?;
    let sine2 = 1.0 - cosine * cosine;
    let q = (index * index - sine2).sqrt();
    let n2 = index * index;
    Ok(Reflectance { across: ((cosine - q) / (cosine + q)).powi(2), along: ((n2 * cosine - q) / (n2 * cosine + q)).powi(2) })
}

/// Gloss units of a smooth surface of `index` at `angle_deg`: the most that its top can show.
///
/// Source: ISO 2813:1997 and ASTM D523, by Fresnel's equations.
///
/// # Errors
/// As [`reflectance`].
pub fn gloss_units(index: f64, angle_deg: f64) -> Result<f64, GlossError> {
    Ok(100.0 * reflectance(index, angle_deg)?.mean() / reflectance(STANDARD_INDEX, angle_deg)?.mean())
}

/// Share of specular light that is left when the surface is rough by `rms_nm`: exp(-(4 pi rms cos(angle) / wavelength)^2).
///
/// Source: Bennett and Porteus, "Relation between surface roughness and specular reflectance at normal incidence", 1961, at an angle
/// as in Beckmann and Spizzichino, "The Scattering of Electromagnetic Waves from Rough Surfaces", 1963. Valid for roughness much
/// smaller than the wavelength and gentle slopes.
///
/// # Errors
/// [`GlossError`] for a roughness below 0, an angle outside 0 to 90, or a wavelength that is not light.
pub fn share_left(rms_nm: f64, angle_deg: f64, wavelength_nm: f64) -> Result<f64, GlossError> {
    if !(rms_nm.is_finite() && rms_nm >= 0.0) {
        return Err(GlossError::Roughness(rms_nm));
    }
    if !(100.0..=1e5).contains(&wavelength_nm) {
        return Err(GlossError::Wavelength(wavelength_nm));
    }
    Ok((-(4.0 * PI * rms_nm * cosine(angle_deg)? / wavelength_nm).powi(2)).exp())
}

/// Haze: gloss at 60 degrees less gloss at 20.
///
/// Source: ASTM D4039 3.2.3 and 4.2. A smooth surface has some too: subtract [`haze_baseline`].
///
/// # Errors
/// [`GlossError::TooDull`] unless the gloss at 60 degrees is above 70.
pub fn haze(gloss_60: f64, gloss_20: f64) -> Result<f64, GlossError> {
    if gloss_60 > LEAST_GLOSS_FOR_HAZE { Ok(gloss_60 - gloss_20) } else { Err(GlossError::TooDull(gloss_60)) }
}

/// Haze that a perfectly smooth surface of `index` shows: not scatter, only that its gloss at 20 degrees depends more on its index.
///
/// # Errors
/// As [`gloss_units`].
pub fn haze_baseline(index: f64) -> Result<f64, GlossError> {
    Ok(gloss_units(index, MIDDLE_ANGLE_DEG)? - gloss_units(index, STEEP_ANGLE_DEG)?)
}

fn cosine(angle_deg: f64) -> Result<f64, GlossError> {
    if (0.0..90.0).contains(&angle_deg) { Ok(angle_deg.to_radians().cos()) } else { Err(GlossError::Angle(angle_deg)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} {want}");
    }

    #[test]
    fn the_standard_glass_reflects_what_fresnel_says() {
        // [C] angle, across, along, mean
        let table =
            [(20.0, 0.057_016, 0.041_140, 0.049_078), (60.0, 0.199_159, 0.000_953, 0.100_056), (85.0, 0.749_223, 0.489_073, 0.619_148)];
        for (angle, across, along, mean) in table {
            let got = reflectance(STANDARD_INDEX, angle).unwrap();
            close(got.across, across, 0.51e-6);
            close(got.along, along, 0.51e-6);
            close(got.mean(), mean, 0.51e-6);
        }
        close(reflectance(STANDARD_INDEX, 45.0).unwrap().mean(), 0.059_708, 0.51e-6);
        close(reflectance(STANDARD_INDEX, 75.0).unwrap().mean(), 0.264_574, 0.51e-6);
    }

    #[test]
    fn gloss_depends_on_the_index_and_most_at_20_degrees() {
        // [C]; the row of 1.40 agrees with D523's table [M]
        let table = [
            (1.40, 57.05, 71.94, 96.64),
            (1.42, 61.84, 75.48, 97.20),
            (1.44, 66.75, 78.97, 97.71),
            (1.46, 71.75, 82.41, 98.18),
            (1.48, 76.86, 85.80, 98.60),
            (1.49, 79.44, 87.47, 98.79),
            (1.50, 82.05, 89.14, 98.97),
            (1.51, 84.67, 90.79, 99.15),
            (1.52, 87.32, 92.43, 99.32),
            (1.54, 92.67, 95.68, 99.63),
            (1.567, 100.0, 100.0, 100.0),
            (1.60, 109.12, 105.18, 100.39),
            (1.70, 137.61, 120.27, 101.22),
        ];
        for (index, at_20, at_60, at_85) in table {
            for (angle, units) in [(20.0, at_20), (60.0, at_60), (85.0, at_85)] {
                close(gloss_units(index, angle).unwrap(), units, 0.51e-2);
            }
        }
    }

    #[test]
    fn light_straight_on_and_at_brewsters_angle_has_its_closed_form() {
        // [D] ((n - 1) / (n + 1))^2; no light polarised along at atan(n) = 56.3099 degrees
        close(reflectance(1.5, 0.0).unwrap().mean(), 0.04, 1e-15);
        close(reflectance(1.5, 56.3099).unwrap().along, 0.0, 1e-12);
        close(f64::atan(1.5).to_degrees(), 56.3099, 0.5e-4);
        close(gloss_units(1.0, 20.0).unwrap(), 0.0, 1e-12);
    }

    #[test]
    fn roughness_dulls_the_steep_angle_first() {
        // [C] at 550 nm
        let table =
            [(20.0, [0.831_62, 0.949_14, 0.998_42]), (50.0, [0.315_88, 0.721_61, 0.990_14]), (100.0, [0.009_96, 0.271_15, 0.961_12])];
        for (rms_nm, shares) in table {
            for (angle, share) in [20.0, 60.0, 85.0].into_iter().zip(shares) {
                close(share_left(rms_nm, angle, 550.0).unwrap(), share, 0.51e-5);
            }
        }
    }

    #[test]
    fn a_smooth_surface_has_haze_of_its_own() {
        // [S] 95 less 88; baselines [D] from the table of gloss
        close(haze(95.0, 88.0).unwrap(), 7.0, 1e-12);
        close(haze_baseline(1.50).unwrap(), 7.09, 0.51e-2);
        close(haze_baseline(1.52).unwrap(), 5.11, 0.51e-2);
        assert_eq!(haze(70.0, 60.0), Err(GlossError::TooDull(70.0)));
    }

    #[test]
    fn what_no_gloss_meter_meets_is_refused() {
        assert_eq!(reflectance(0.9, 20.0), Err(GlossError::Index(0.9)));
        assert_eq!(gloss_units(1.5, 90.0), Err(GlossError::Angle(90.0)));
        assert!(gloss_units(f64::NAN, 20.0).is_err() && gloss_units(1.5, f64::NAN).is_err());
        assert_eq!(share_left(-1.0, 20.0, 550.0), Err(GlossError::Roughness(-1.0)));
        assert_eq!(share_left(1.0, 20.0, 0.0), Err(GlossError::Wavelength(0.0)));
    }
}
