//! How warm a panel gets: while it is worked, while the machine is held still, and across the film.
//!
//! Friction makes mu F v; part of it goes into the panel. A sheet of metal is as warm on its back as on its face within a second, and warms as a whole
//! under the pad; a plastic one warms in its skin first, ten times as fast. Sources: H. S. Carslaw and J. C. Jaeger, "Conduction of Heat in
//! Solids", 1959, sections 2.9 and 3.8 (from memory), derived again \[D\].
//!
//! Weak: an estimate of the order, not a forecast. Friction, the share that goes into the panel and the air's cooling are guesses; heat does not
//! run sideways here, so that held still is too hot for the same friction; bonded stiffeners, edges and thin spots are hotter; an infrared thermometer reads
//! after the pad has left, and low on shiny metal. The hand on the panel, beside the pad, decides.

mod warming;

use std::f64::consts::PI;
use std::fmt;

pub use warming::{HELD_STILL_S, ROOM_C, UNSURE, Warming};

use crate::preston::{above_0, from_0};

/// Friction of a pad with polish on paint. Judgement: 0.4, the middle of what such pairs have; wet it is less, drying more.
pub const USUAL_FRICTION: f64 = 0.4;

/// Share of the friction's heat that goes into the panel. Judgement, from memory: about a half, the rest into the pad, which insulates; 1 is the bound.
pub const USUAL_SHARE: f64 = 0.5;

/// Loss to still air from one side, W/m2 K. Judgement: 10 is usual of a room, convection and radiation together; a draught has several times that.
pub const USUAL_LOSS_W_M2_K: f64 = 10.0;

/// Conductivity of paint, W/m K. Judgement, from memory: that of most polymers.
pub const PAINT_W_M_K: f64 = 0.2;

/// A surface from which to slow down, degrees C. \[S-low\] advice of practice: 110 degrees F.
pub const WARM_C: f64 = 43.0;

/// A surface from which paint may soften, degrees C. From memory: factory paint passes its glass transition at 60 to 100, refinished at 40 to 75,
/// fresh paint and old lacquer below that. No limit of standard rank was found.
pub const SOFT_C: f64 = 60.0;

/// Up to where a surface is told as a figure, degrees C. Judgement: beyond it paint is gone, and an estimate of the order has no figure to give.
const FIGURES_TO_C: f64 = 120.0;

/// What a panel is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Steel, zinc-coated or not.
    Steel,
    /// Aluminium.
    Aluminium,
    /// Plastic or composite.
    Plastic,
}

/// A panel: its material and how thick it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    material: Material,
    thickness_mm: f64,
}

/// What rubs on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rubbing {
    watts: f64,
    pad_m2: f64,
}

/// A number that no panel or pad has.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum HeatError {
    /// Thickness of the sheet.
    #[error("a sheet of {0} mm: its thickness must be a number above 0; body steel has about 0.8")]
    Thickness(f64),
    /// Friction.
    #[error("a friction of {0}: it must be a number above 0; about 0.4 is usual")]
    Friction(f64),
    /// Share of the heat.
    #[error("a share of {0} of the heat: it must be above 0 and at most 1")]
    Share(f64),
    /// Load.
    #[error("a load of {0} N: it must be a number above 0")]
    Load(f64),
    /// Speed.
    #[error("a speed of {0} m/s: it must be a number above 0")]
    Speed(f64),
    /// Diameter of the pad.
    #[error("a pad of {0} mm: its diameter must be a number above 0")]
    Pad(f64),
    /// Area worked.
    #[error("an area of {0} m2: it must be a number above 0")]
    Area(f64),
    /// The pad covers more than is worked.
    #[error("a pad of {pad_m2:.4} m2 on an area of {area_m2:.4} m2: the area worked must be the larger")]
    PadLargerThanArea {
        /// Face of the pad.
        pad_m2: f64,
        /// Area worked.
        area_m2: f64,
    },
    /// Time.
    #[error("a time of {0} s: it must be a number from 0 up")]
    Time(f64),
    /// Loss to the air.
    #[error("a loss of {0} W/m2 K: it must be a number above 0; about 10 a side in still air")]
    Loss(f64),
    /// Thickness of the film.
    #[error("a film of {0} um: it must be a number from 0 up")]
    Film(f64),
    /// Temperature.
    #[error("a panel at {0} degrees C: it must be a number")]
    Temperature(f64),
}

/// Why to stop or slow down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HeatCaution {
    /// Warm: slow down.
    Warm {
        /// The surface, degrees C.
        surface_c: f64,
    },
    /// So hot that paint may soften.
    Soft {
        /// The surface, degrees C.
        surface_c: f64,
    },
}

impl fmt::Display for HeatCaution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Warm { surface_c } => write!(
                f,
                "about {surface_c:.0} degrees C, an estimate: more than the {WARM_C} at which practice slows down; keep the machine moving, and feel the panel beside the pad"
            ),
            Self::Soft { surface_c } if *surface_c > FIGURES_TO_C => write!(
                f,
                "far above {SOFT_C} degrees C, from which paint may soften, refinished paint and old lacquer before that; stop, and let the panel cool"
            ),
            Self::Soft { surface_c } => write!(
                f,
                "about {surface_c:.0} degrees C, an estimate: paint may soften from {SOFT_C}, refinished paint and old lacquer before that; stop, and let the panel cool"
            ),
        }
    }
}

/// What a surface's temperature calls for. Fresh paint and lacquer want care before this speaks.
///
/// # Errors
/// [`HeatError::Temperature`] for what is not a number.
pub fn caution(surface_c: f64) -> Result<Option<HeatCaution>, HeatError> {
    if !surface_c.is_finite() {
        Err(HeatError::Temperature(surface_c))
    } else if surface_c >= SOFT_C {
        Ok(Some(HeatCaution::Soft { surface_c }))
    } else if surface_c > WARM_C {
        Ok(Some(HeatCaution::Warm { surface_c }))
    } else {
        Ok(None)
    }
}

impl fmt::Display for Material {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Steel => "steel",
            Self::Aluminium => "aluminium",
            Self::Plastic => "plastic",
        })
    }
}

impl Material {
    /// Density x specific heat, J/m3 K. From memory, usual handbook values: steel 7,850 x 490, aluminium 2,700 x 900, plastic (polypropylene or ABS,
    /// about) 1,050 x 1,700.
    #[must_use]
    pub const fn heat_j_m3_k(self) -> f64 {
        match self {
            Self::Steel => 7850.0 * 490.0,
            Self::Aluminium => 2700.0 * 900.0,
            Self::Plastic => 1050.0 * 1700.0,
        }
    }

    /// Conductivity, W/m K. From memory: low-carbon steel 50, sheet aluminium 160, plastic 0.2.
    #[must_use]
    pub const fn conductivity_w_m_k(self) -> f64 {
        match self {
            Self::Steel => 50.0,
            Self::Aluminium => 160.0,
            Self::Plastic => 0.2,
        }
    }

    /// Thickness of usual body panels, mm. Judgement: 0.8 of steel, 1.0 of aluminium, 3 of plastic; older steel is thicker, and slower to warm.
    #[must_use]
    pub const fn usual_thickness_mm(self) -> f64 {
        match self {
            Self::Steel => 0.8,
            Self::Aluminium => 1.0,
            Self::Plastic => 3.0,
        }
    }

    /// Rise of a thick body's surface under an even flux, K: 2 q sqrt(t / (pi k rho c)).
    ///
    /// # Errors
    /// [`HeatError::Time`].
    pub fn deep_rise_k(self, flux_w_m2: f64, seconds: f64) -> Result<f64, HeatError> {
        let seconds = from_0(seconds, HeatError::Time)?;
        Ok(2.0 * flux_w_m2 * (seconds / (PI * self.conductivity_w_m_k() * self.heat_j_m3_k())).sqrt())
    }
}

impl Sheet {
    /// A sheet by its thickness.
    ///
    /// # Errors
    /// [`HeatError::Thickness`].
    pub fn new(material: Material, thickness_mm: f64) -> Result<Self, HeatError> {
        Ok(Self { material, thickness_mm: above_0(thickness_mm, HeatError::Thickness)? })
    }

    /// A body panel of usual thickness.
    #[must_use]
    pub const fn usual(material: Material) -> Self {
        Self { material, thickness_mm: material.usual_thickness_mm() }
    }

    /// Heat that warms a square metre by a kelvin, J/m2 K.
    #[must_use]
    pub fn heat_j_m2_k(&self) -> f64 {
        self.material.heat_j_m3_k() * self.thickness_mm / 1000.0
    }

    /// Rise of the surface under a pad held still, K: a plate heated evenly on its face, nothing lost.
    ///
    /// Method: for short times the surface of a thick body; then the plate's series, which ends in the sheet warming as a whole, q t / (rho c L) +
    /// q L / (3 k).
    ///
    /// # Errors
    /// [`HeatError::Time`].
    pub fn held_still_k(&self, rubbing: &Rubbing, seconds: f64) -> Result<f64, HeatError> {
        let seconds = from_0(seconds, HeatError::Time)?;
        let (k, thickness_m, flux_w_m2) = (self.material.conductivity_w_m_k(), self.thickness_mm / 1000.0, rubbing.flux_w_m2());
        let fourier = k * seconds / (self.material.heat_j_m3_k() * thickness_m * thickness_m);
        if fourier < SHORT {
            return self.material.deep_rise_k(flux_w_m2, seconds);
        }
        let term = |n: i32| {
            let square = (f64::from(n) * PI).powi(2);
            2.0 / square * (-square * fourier).exp()
        };
        Ok(flux_w_m2 * thickness_m / k * (fourier + 1.0 / 3.0 - (1..=TERMS).map(term).sum::<f64>()))
    }

    /// Seconds for which a pad may be held still until the surface has risen by so much; at most [`LONGEST_S`].
    ///
    /// # Errors
    /// [`HeatError::Temperature`] for a rise that is no number from 0 up.
    pub fn seconds_held_still(&self, rubbing: &Rubbing, rise_k: f64) -> Result<f64, HeatError> {
        let rise_k = from_0(rise_k, HeatError::Temperature)?;
        let (mut low, mut high) = (0.0, LONGEST_S);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            *(if self.held_still_k(rubbing, middle)? < rise_k { &mut low } else { &mut high }) = middle;
        }
        Ok(high)
    }

    /// Rise while an area is worked, K, mean over it: towards the steady state, with what the air takes from `sides` of it.
    ///
    /// dT/dt = P / (C A) - h sides T / C: T = T_steady (1 - exp(-t h sides / C)) \[D\].
    ///
    /// # Errors
    /// [`HeatError`] for a time below 0, an area smaller than the pad, or no loss.
    pub fn worked_k(&self, rubbing: &Rubbing, area_m2: f64, seconds: f64, loss_w_m2_k: f64, sides: Sides) -> Result<f64, HeatError> {
        let seconds = from_0(seconds, HeatError::Time)?;
        let steady_k = rubbing.steady_k(area_m2, loss_w_m2_k, sides)?;
        Ok(steady_k * -(-seconds * loss_w_m2_k * sides.count() / self.heat_j_m2_k()).exp_m1())
    }
}

/// Fourier number below which a plate is as good as a thick body: what the back sends forth is below 1e-4 of the rise.
const SHORT: f64 = 0.1;

/// Terms of the plate's series: the last is below 1e-7 at [`SHORT`].
const TERMS: i32 = 4;

/// Longest time looked for, s. Judgement: nobody holds a machine still for an hour.
pub const LONGEST_S: f64 = 3600.0;

/// Bisections of [`LONGEST_S`]: to a microsecond.
const HALVINGS: usize = 32;

/// From which sides the air cools a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sides {
    /// Its face: the back is lined, or closed in.
    One,
    /// Face and back.
    Both,
}

impl Sides {
    const fn count(self) -> f64 {
        match self {
            Self::One => 1.0,
            Self::Both => 2.0,
        }
    }
}

impl Rubbing {
    /// Heat into the panel, by friction, load, mean speed of the pad, its diameter, and the share of the heat that goes into the panel.
    ///
    /// # Errors
    /// [`HeatError`] for what is not above 0, or a share above 1.
    pub fn new(friction: f64, load_n: f64, speed_m_s: f64, pad_diameter_mm: f64, share: f64) -> Result<Self, HeatError> {
        if above_0(share, HeatError::Share)? > 1.0 {
            return Err(HeatError::Share(share));
        }
        let rubbed = above_0(friction, HeatError::Friction)? * above_0(load_n, HeatError::Load)? * above_0(speed_m_s, HeatError::Speed)?;
        let pad_m2 = PI * (above_0(pad_diameter_mm, HeatError::Pad)? / 2000.0).powi(2);
        Ok(Self { watts: share * rubbed, pad_m2 })
    }

    /// Power into the panel, W.
    #[must_use]
    pub const fn watts(&self) -> f64 {
        self.watts
    }

    /// The same over the pad's face, W/m2.
    #[must_use]
    pub fn flux_w_m2(&self) -> f64 {
        self.watts / self.pad_m2
    }

    /// How much hotter the film's surface is than what it is on, K: q d / k.
    ///
    /// # Errors
    /// [`HeatError::Film`].
    pub fn across_film_k(&self, film_um: f64) -> Result<f64, HeatError> {
        Ok(self.flux_w_m2() * from_0(film_um, HeatError::Film)? * 1e-6 / PAINT_W_M_K)
    }

    /// Rise of an area worked without end, K, mean over it: P / (h A sides).
    ///
    /// # Errors
    /// [`HeatError`] for an area smaller than the pad, or no loss.
    pub fn steady_k(&self, area_m2: f64, loss_w_m2_k: f64, sides: Sides) -> Result<f64, HeatError> {
        let area_m2 = above_0(area_m2, HeatError::Area)?;
        if area_m2 < self.pad_m2 {
            return Err(HeatError::PadLargerThanArea { pad_m2: self.pad_m2, area_m2 });
        }
        Ok(self.watts / (above_0(loss_w_m2_k, HeatError::Loss)? * area_m2 * sides.count()))
    }
}

#[cfg(test)]
mod tests;
