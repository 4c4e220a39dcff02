//! Covariance kernels of isotropic stationary fields.

mod lanes;

/// The shape of a correlation, as a function of r = distance / length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Family {
    /// exp(-r): continuous, nowhere differentiable.
    Exponential,
    /// (1 + sqrt(3) r) exp(-sqrt(3) r): once differentiable.
    Matern32,
    /// (1 + sqrt(5) r + 5 r^2 / 3) exp(-sqrt(5) r): twice differentiable.
    Matern52,
    /// exp(-r^2 / 2): differentiable without end. Also called squared exponential.
    Gaussian,
}

impl Family {
    /// Every family, roughest first.
    pub const ALL: [Self; 4] = [Self::Exponential, Self::Matern32, Self::Matern52, Self::Gaussian];

    /// Correlation of two places whose distance is `r` lengths apart, in 0 to 1; 1 at `r` = 0.
    ///
    /// Source: Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), section 4.2.1, eqs 4.9 and 4.17.
    ///
    /// ```
    /// use lastmicron_numerics::kernel::Family;
    /// let exp_of_minus_1 = 0.367_879_441_171_442_3;
    /// assert!((Family::Exponential.correlation(1.0) - exp_of_minus_1).abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn correlation(self, r: f64) -> f64 {
        match self {
            Self::Exponential => (-r).exp(),
            Self::Matern32 => {
                let a = 3.0_f64.sqrt() * r;
                (1.0 + a) * (-a).exp()
            }
            Self::Matern52 => {
                let a = 5.0_f64.sqrt() * r;
                (1.0 + a + a * a / 3.0) * (-a).exp()
            }
            Self::Gaussian => (-0.5 * r * r).exp(),
        }
    }
}

/// A number that can't be a kernel's.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum KernelError {
    /// The standard deviation must be finite and above nothing.
    #[error("a kernel's standard deviation must be a finite number above 0, not {0}")]
    Sd(f64),
    /// The length must be finite and above nothing.
    #[error("a kernel's length must be a finite number of millimetres above 0, not {0}")]
    Length(f64),
}

/// Covariance of an isotropic stationary field: sd^2 times the family's correlation at distance / length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kernel {
    family: Family,
    sd: f64,
    length_mm: f64,
}

impl Kernel {
    /// A kernel; `sd` in the field's unit, `length_mm` in millimetres.
    ///
    /// # Errors
    /// [`KernelError`] unless both are finite and above 0.
    pub fn new(family: Family, sd: f64, length_mm: f64) -> Result<Self, KernelError> {
        if !(sd.is_finite() && sd > 0.0) {
            return Err(KernelError::Sd(sd));
        }
        if !(length_mm.is_finite() && length_mm > 0.0) {
            return Err(KernelError::Length(length_mm));
        }
        Ok(Self { family, sd, length_mm })
    }

    /// The shape.
    #[must_use]
    pub const fn family(&self) -> Family {
        self.family
    }

    /// Standard deviation of the field at a place, in the field's unit.
    #[must_use]
    pub const fn sd(&self) -> f64 {
        self.sd
    }

    /// The length by which distances are divided, mm.
    #[must_use]
    pub const fn length_mm(&self) -> f64 {
        self.length_mm
    }

    /// Covariance of two places `distance_mm` apart, in the field's unit squared.
    #[must_use]
    pub fn covariance(&self, distance_mm: f64) -> f64 {
        self.sd * self.sd * self.family.correlation(distance_mm / self.length_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn correlations_have_their_closed_forms_at_one_length() {
        // [C] the four formulas at r = 1, numpy 2.4
        let want = [0.367_879_441_171_442_3, 0.483_357_724_596_507_7, 0.523_994_108_831_820_3, 0.606_530_659_712_633_4];
        for (family, want) in Family::ALL.into_iter().zip(want) {
            assert!((family.correlation(1.0) - want).abs() < 1e-15, "{family:?} {}", family.correlation(1.0));
            assert!((family.correlation(0.0) - 1.0).abs() < 1e-15);
            assert!(family.correlation(0.5) > family.correlation(1.0));
        }
    }

    #[test]
    fn a_covariance_is_the_variance_times_the_correlation_at_the_distance_in_lengths() {
        let kernel = Kernel::new(Family::Exponential, 4.0, 20.0).unwrap();
        assert!((kernel.covariance(10.0) - 16.0 * (-0.5_f64).exp()).abs() < 1e-14);
    }

    #[test]
    fn a_kernel_refuses_numbers_that_make_no_sense() {
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(Kernel::new(Family::Gaussian, bad, 1.0), Err(KernelError::Sd(_))));
            assert!(matches!(Kernel::new(Family::Gaussian, 1.0, bad), Err(KernelError::Length(_))));
        }
    }
}
