//! Which bodies there are.

/// A kind of body.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Two doors, a fixed roof, a boot.
    Coupe,
    /// Four doors and a boot.
    Saloon,
    /// Four doors and a short tail with a tailgate.
    Hatchback,
    /// Four doors, the roof carried to the tail.
    Estate,
    /// Two doors and no roof.
    Roadster,
    /// Four doors, upright, high off the ground.
    OffRoader,
    /// A cab of two doors and an open bed.
    Pickup,
    /// Doors at the front, sliding doors, closed sides.
    Van,
    /// Two wheels, without a fairing.
    Motorcycle,
}

impl Kind {
    /// All of them, in the order in which they are offered.
    pub const ALL: [Self; 9] = [
        Self::Coupe,
        Self::Saloon,
        Self::Hatchback,
        Self::Estate,
        Self::Roadster,
        Self::OffRoader,
        Self::Pickup,
        Self::Van,
        Self::Motorcycle,
    ];

    /// The word for it, as a job states it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Coupe => "coupe",
            Self::Saloon => "saloon",
            Self::Hatchback => "hatchback",
            Self::Estate => "estate",
            Self::Roadster => "roadster",
            Self::OffRoader => "off-roader",
            Self::Pickup => "pickup",
            Self::Van => "van",
            Self::Motorcycle => "motorcycle",
        }
    }

    /// The kind of that name; none when there is no such body.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_is_found_by_its_name_and_no_other() {
        for kind in Kind::ALL {
            assert_eq!(Kind::named(kind.name()), Some(kind));
        }
        assert_eq!(Kind::named("custom"), None);
        assert_eq!(Kind::named("Coupe"), None);
    }
}
