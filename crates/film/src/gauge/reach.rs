//! Which gauge reads through to which substrate.

use super::{Layer, Substrate};

/// By what a gauge finds the substrate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Principle {
    /// Magnetic: the pull or flux of steel.
    Magnetic,
    /// Eddy current: the conductivity of any metal that is not magnetic.
    EddyCurrent,
    /// Both in one probe, chosen by what lies under it.
    MagneticOrEddyCurrent,
    /// Ultrasonic echoes: any substrate, and layers apart.
    Ultrasonic,
}

/// Why a gauge can't read through to a substrate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum OutOfReach {
    /// No metal.
    #[error(
        "a magnetic or eddy-current gauge can't read paint on plastic: it finds no metal under it; use an ultrasonic gauge, or leave the panel unmeasured"
    )]
    NoMetal,
    /// Not magnetic.
    #[error("a magnetic gauge can't read paint on aluminium: it finds no steel under it; use an eddy-current gauge")]
    NotMagnetic,
    /// Magnetic.
    #[error("an eddy-current gauge can't read paint on steel: steel's magnetism spoils its reading; use a magnetic gauge")]
    Magnetic,
    /// Layers.
    #[error(
        "a magnetic or eddy-current gauge can't tell the topcoat from what lies under it: it shows everything on the metal; use an ultrasonic gauge"
    )]
    Layers,
}

/// Whether a gauge of `principle` reads `layer` on `substrate`. A substrate that is not stated is not refused.
///
/// # Errors
/// [`OutOfReach`] says what stands in the way.
pub fn reads(principle: Principle, substrate: Substrate, layer: Layer) -> Result<(), OutOfReach> {
    if principle == Principle::Ultrasonic {
        return Ok(());
    }
    match (principle, substrate) {
        (_, Substrate::Plastic) => Err(OutOfReach::NoMetal),
        (Principle::Magnetic, Substrate::Aluminium) => Err(OutOfReach::NotMagnetic),
        (Principle::EddyCurrent, Substrate::Steel) => Err(OutOfReach::Magnetic),
        _ if layer == Layer::Topcoat => Err(OutOfReach::Layers),
        _ => Ok(()),
    }
}

/// Whether any gauge of the trade that gives a reading of `layer` reads on `substrate`: one that shows everything on the metal is
/// magnetic or eddy-current, one that shows the topcoat alone is ultrasonic.
///
/// # Errors
/// [`OutOfReach::NoMetal`] for a total or undercoat reading on plastic.
pub fn readable(substrate: Substrate, layer: Layer) -> Result<(), OutOfReach> {
    let principle = match layer {
        Layer::Total | Layer::Undercoat => Principle::MagneticOrEddyCurrent,
        Layer::Topcoat => Principle::Ultrasonic,
    };
    reads(principle, substrate, layer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_principle_reads_what_it_can() {
        let table = [
            (Principle::Magnetic, Substrate::Steel, Layer::Total, Ok(())),
            (Principle::Magnetic, Substrate::Galvanised, Layer::Undercoat, Ok(())),
            (Principle::Magnetic, Substrate::Aluminium, Layer::Total, Err(OutOfReach::NotMagnetic)),
            (Principle::Magnetic, Substrate::Plastic, Layer::Total, Err(OutOfReach::NoMetal)),
            (Principle::EddyCurrent, Substrate::Aluminium, Layer::Total, Ok(())),
            (Principle::EddyCurrent, Substrate::Steel, Layer::Total, Err(OutOfReach::Magnetic)),
            (Principle::MagneticOrEddyCurrent, Substrate::Aluminium, Layer::Total, Ok(())),
            (Principle::MagneticOrEddyCurrent, Substrate::Unknown, Layer::Total, Ok(())),
            (Principle::MagneticOrEddyCurrent, Substrate::Steel, Layer::Topcoat, Err(OutOfReach::Layers)),
            (Principle::Ultrasonic, Substrate::Plastic, Layer::Topcoat, Ok(())),
        ];
        for (principle, substrate, layer, expected) in table {
            assert_eq!(reads(principle, substrate, layer), expected, "{principle:?} {substrate:?} {layer:?}");
        }
    }

    #[test]
    fn a_reading_on_plastic_is_refused_unless_it_tells_layers_apart() {
        assert_eq!(readable(Substrate::Plastic, Layer::Total), Err(OutOfReach::NoMetal));
        assert_eq!(readable(Substrate::Plastic, Layer::Topcoat), Ok(()));
        assert_eq!(readable(Substrate::Aluminium, Layer::Total), Ok(()));
    }
}
