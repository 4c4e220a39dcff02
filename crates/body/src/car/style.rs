//! What makes a kind of body look like it, beyond its dimensions.

use crate::kind::Kind;

/// How a body ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tail {
    /// A boot with a lid.
    Boot,
    /// A tailgate, hinged at the roof.
    Gate,
    /// An open bed with a tailgate that drops.
    Bed,
    /// Two doors.
    Doors,
}

/// How its sides open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Opens {
    /// One door a side.
    Two,
    /// Two doors a side.
    Four,
    /// A door and a sliding door a side.
    Sliding,
}

/// Proportions of a kind. Judgement, all of them: what looks like one at a glance. None decides anything about paint.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    pub(crate) tail: Tail,
    pub(crate) opens: Opens,
    pub(crate) has_roof: bool,
    /// How far the windscreen goes back a millimetre up.
    pub(crate) screen_rake: f64,
    /// How far the rear window goes back a millimetre down.
    pub(crate) rear_rake: f64,
    /// How far before the rear end a tail stands at the belt, where the roof runs to it, mm.
    pub(crate) tail_gap: f64,
    /// Height of the bonnet's front edge, as a share of that of the belt above the sills.
    pub(crate) nose: f64,
    /// How much the bonnet bulges, mm.
    pub(crate) bulge: f64,
    /// How much the roof bulges along the vehicle, mm.
    pub(crate) crown: f64,
    /// Half the roof's width, as a share of the vehicle's width.
    pub(crate) roof_half: f64,
    /// How far the body tapers to its ends from above, as a share of half its width: front, rear.
    pub(crate) taper: [f64; 2],
    /// 1 for round arches, less for square ones.
    pub(crate) arch_round: f64,
}

impl Style {
    pub(crate) const fn of(kind: Kind) -> Self {
        let saloon = Self {
            tail: Tail::Boot,
            opens: Opens::Four,
            has_roof: true,
            screen_rake: 1.15,
            rear_rake: 1.1,
            tail_gap: 0.0,
            nose: 0.70,
            bulge: 30.0,
            crown: 45.0,
            roof_half: 0.36,
            taper: [0.24, 0.18],
            arch_round: 1.0,
        };
        match kind {
            Kind::Coupe => Self {
                opens: Opens::Two,
                screen_rake: 1.2,
                rear_rake: 1.75,
                nose: 0.66,
                bulge: 45.0,
                crown: 50.0,
                roof_half: 0.34,
                taper: [0.34, 0.28],
                ..saloon
            },
            Kind::Hatchback => Self {
                tail: Tail::Gate,
                screen_rake: 1.1,
                rear_rake: 0.85,
                tail_gap: 110.0,
                nose: 0.72,
                taper: [0.28, 0.20],
                crown: 60.0,
                ..saloon
            },
            Kind::Estate => Self { tail: Tail::Gate, rear_rake: 0.35, tail_gap: 70.0, crown: 40.0, taper: [0.24, 0.13], ..saloon },
            Kind::Roadster => {
                Self { opens: Opens::Two, has_roof: false, screen_rake: 0.75, nose: 0.62, bulge: 55.0, taper: [0.38, 0.38], ..saloon }
            }
            Kind::OffRoader => Self {
                tail: Tail::Gate,
                screen_rake: 0.32,
                rear_rake: 0.06,
                tail_gap: 30.0,
                nose: 0.88,
                bulge: 12.0,
                crown: 22.0,
                roof_half: 0.41,
                taper: [0.06, 0.05],
                arch_round: 0.55,
                ..saloon
            },
            Kind::Pickup => Self {
                tail: Tail::Bed,
                opens: Opens::Two,
                screen_rake: 0.72,
                rear_rake: 0.16,
                nose: 0.80,
                bulge: 20.0,
                crown: 30.0,
                roof_half: 0.38,
                taper: [0.12, 0.06],
                arch_round: 0.75,
                ..saloon
            },
            Kind::Van => Self {
                tail: Tail::Doors,
                opens: Opens::Sliding,
                screen_rake: 0.72,
                rear_rake: 0.06,
                tail_gap: 30.0,
                nose: 0.72,
                bulge: 25.0,
                crown: 28.0,
                roof_half: 0.42,
                taper: [0.20, 0.05],
                ..saloon
            },
            Kind::Saloon | Kind::Motorcycle => saloon,
        }
    }
}
