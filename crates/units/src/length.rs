//! Units in which a person states a film thickness.

/// A unit of film thickness.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// Micrometre.
    Micrometre,
    /// Thousandth of an inch: 25.4 um exactly.
    Mil,
    /// Millimetre.
    Millimetre,
}

impl Unit {
    /// Micrometres in one of this unit (exact by definition of the inch).
    #[must_use]
    pub const fn micrometres(self) -> f64 {
        match self {
            Self::Micrometre => 1.0,
            Self::Mil => 25.4,
            Self::Millimetre => 1000.0,
        }
    }
}
