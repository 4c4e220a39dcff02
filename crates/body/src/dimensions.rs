//! The handful of dimensions that a body is drawn from.

use crate::error::BodyError;
use crate::kind::Kind;

/// One dimension of a body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Measure {
    /// Overall, bumpers included.
    Length,
    /// Overall, mirrors folded; a motorcycle's over the handlebar.
    Width,
    /// Overall, from the ground.
    Height,
    /// From axle to axle.
    Wheelbase,
    /// From the front end to the front axle.
    FrontOverhang,
    /// From the ground to the lower edge of the side windows; a motorcycle's seat.
    Belt,
    /// From the front end to the foot of the windscreen; a motorcycle's tank.
    Bonnet,
    /// Length of the roof where it ends before the tail; a roadster's cockpit, a motorcycle's tank.
    Roof,
    /// Outer diameter of the tyres.
    Wheel,
    /// From the ground to the sills; to a motorcycle's engine.
    Clearance,
}

impl Measure {
    /// All of them, in the order in which they are asked for.
    pub const ALL: [Self; 10] = [
        Self::Length,
        Self::Width,
        Self::Height,
        Self::Wheelbase,
        Self::FrontOverhang,
        Self::Belt,
        Self::Bonnet,
        Self::Roof,
        Self::Wheel,
        Self::Clearance,
    ];

    /// Those that a body of this kind is drawn from. Where the roof runs to the tail, its length follows from the others.
    #[must_use]
    pub fn of(kind: Kind) -> Vec<Self> {
        let runs_to_tail = matches!(kind, Kind::Hatchback | Kind::Estate | Kind::OffRoader | Kind::Van);
        Self::ALL.into_iter().filter(|measure| *measure != Self::Roof || !runs_to_tail).collect()
    }

    /// What it is called on a body of this kind.
    #[must_use]
    pub const fn name(self, kind: Kind) -> &'static str {
        match (self, kind) {
            (Self::Length, _) => "the overall length",
            (Self::Width, _) => "the overall width",
            (Self::Height, _) => "the overall height",
            (Self::Wheelbase, _) => "the wheelbase",
            (Self::FrontOverhang, _) => "the front overhang",
            (Self::Belt, Kind::Motorcycle) => "the height of the seat",
            (Self::Belt, _) => "the height of the belt line",
            (Self::Bonnet, Kind::Motorcycle) => "the distance from the front end to the tank",
            (Self::Bonnet, _) => "the distance from the front end to the windscreen",
            (Self::Roof, Kind::Motorcycle) => "the length of the tank",
            (Self::Roof, Kind::Roadster) => "the length of the cockpit",
            (Self::Roof, _) => "the length of the roof",
            (Self::Wheel, _) => "the diameter of the wheels",
            (Self::Clearance, _) => "the ground clearance",
        }
    }

    /// Least and most, in times what is usual.
    ///
    /// Judgement: most vehicles of a kind lie within. Wider, and more combinations make no body; narrower, and real vehicles are refused.
    const fn shares(self) -> [f64; 2] {
        match self {
            Self::Length | Self::Width | Self::Wheelbase => [0.85, 1.15],
            Self::Height | Self::Belt | Self::Wheel => [0.88, 1.12],
            Self::Bonnet => [0.85, 1.2],
            Self::FrontOverhang | Self::Roof => [0.75, 1.3],
            Self::Clearance => [0.6, 1.5],
        }
    }
}

/// Dimensions of a body, millimetres. Those that its kind is not drawn from ([`Measure::of`]) are nought and not looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dimensions([f64; 10]);

impl Dimensions {
    /// Those of an ordinary vehicle of the kind. Common practice, no source: nobody's vehicle, about the middle of its kind.
    #[must_use]
    pub const fn usual(kind: Kind) -> Self {
        // Length, width, height, wheelbase, front overhang, belt, bonnet, roof, wheel, clearance.
        Self(match kind {
            Kind::Coupe => [4350.0, 1720.0, 1310.0, 2500.0, 820.0, 880.0, 1560.0, 900.0, 630.0, 160.0],
            Kind::Saloon => [4650.0, 1780.0, 1440.0, 2720.0, 860.0, 930.0, 1450.0, 1400.0, 640.0, 160.0],
            Kind::Hatchback => [4120.0, 1750.0, 1470.0, 2550.0, 800.0, 930.0, 1230.0, 0.0, 630.0, 160.0],
            Kind::Estate => [4720.0, 1790.0, 1470.0, 2740.0, 880.0, 930.0, 1430.0, 0.0, 640.0, 160.0],
            Kind::Roadster => [3950.0, 1660.0, 1190.0, 2320.0, 760.0, 815.0, 1480.0, 1120.0, 610.0, 150.0],
            Kind::OffRoader => [4350.0, 1820.0, 1860.0, 2600.0, 740.0, 1180.0, 1370.0, 0.0, 780.0, 240.0],
            Kind::Pickup => [5200.0, 1850.0, 1780.0, 3200.0, 880.0, 1130.0, 1480.0, 1000.0, 760.0, 240.0],
            Kind::Van => [5000.0, 1920.0, 2000.0, 3000.0, 880.0, 1150.0, 920.0, 0.0, 670.0, 190.0],
            Kind::Motorcycle => [2220.0, 780.0, 1120.0, 1440.0, 345.0, 800.0, 640.0, 560.0, 630.0, 160.0],
        })
    }

    /// One of them.
    #[must_use]
    pub const fn get(&self, measure: Measure) -> f64 {
        self.0[measure as usize]
    }

    /// The same with one of them set.
    #[must_use]
    pub const fn with(mut self, measure: Measure, mm: f64) -> Self {
        self.0[measure as usize] = mm;
        self
    }

    /// Least and most of one of them on this kind.
    #[must_use]
    pub fn bounds_mm(kind: Kind, measure: Measure) -> [f64; 2] {
        let usual = Self::usual(kind).get(measure);
        measure.shares().map(|share| (usual * share / 5.0).round() * 5.0)
    }

    /// # Errors
    /// The first dimension that is beyond its bounds, or no number.
    pub(crate) fn checked(self, kind: Kind) -> Result<Self, BodyError> {
        for measure in Measure::of(kind) {
            let value_mm = self.get(measure);
            let [least_mm, most_mm] = Self::bounds_mm(kind, measure);
            if !(least_mm..=most_mm).contains(&value_mm) {
                return Err(BodyError::Beyond { kind, measure, value_mm, least_mm, most_mm });
            }
        }
        // Drawn in whole millimetres.
        Ok(Self(self.0.map(f64::round)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_usual_lies_within_its_bounds() {
        for kind in Kind::ALL {
            assert!(Dimensions::usual(kind).checked(kind).is_ok(), "{}", kind.name());
        }
    }

    #[test]
    fn what_is_beyond_is_told_with_the_bounds() {
        let long = Dimensions::usual(Kind::Van).with(Measure::Length, 9000.0).checked(Kind::Van);
        assert_eq!(long.unwrap_err().to_string(), "the overall length is 9000 mm: a van has 4250 to 5750 mm");
        let none = Dimensions::usual(Kind::Motorcycle).with(Measure::Belt, f64::NAN).checked(Kind::Motorcycle);
        assert_eq!(none.unwrap_err().to_string(), "the height of the seat is NaN mm: a motorcycle has 705 to 895 mm");
    }
}
