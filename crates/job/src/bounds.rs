//! Which numbers make sense where: the same for a job that is read from a folder and for one that is folded from events.

/// Which numbers make sense.
pub struct Sense {
    /// Whether a number does.
    pub holds: fn(f64) -> bool,
    /// In words.
    pub wanted: &'static str,
}

/// Largest length on a vehicle that is believed, mm. Judgement: the side of a coach is 12 m long.
pub const MOST_MM: f64 = 15_000.0;
/// Years in which a vehicle may be built.
pub const YEARS: [i32; 2] = [1880, 2100];
/// Most sets of one process at one place that are believed.
pub const MOST_SETS: u32 = 1000;
/// Most passes of one set that are believed.
pub const MOST_PASSES: u32 = 1000;
/// Most defects that anybody counts in one window.
pub const MOST_COUNTED: i32 = 1_000_000;
/// Most panels of one vehicle. Judgement: with jambs and small parts a coach has some hundred.
pub const MOST_PANELS: usize = 500;

/// More than nothing.
pub const POSITIVE: Sense = Sense { holds: |x| x > 0.0 && x <= 1e9, wanted: "above 0" };
/// A film, um.
pub const FILM_UM: Sense = Sense { holds: |x| (0.0..=10_000.0).contains(&x), wanted: "a film of 0 to 10,000 um" };
/// A chance that is neither nothing nor certain.
pub const CHANCE: Sense = Sense { holds: |x| x > 0.0 && x < 1.0, wanted: "a chance above 0 and below 1, like 0.02" };
/// A share.
pub const SHARE: Sense = Sense { holds: |x| (0.0..=1.0).contains(&x), wanted: "a share from 0 to 1, like 0.1" };
/// A share of defects left.
pub const SHARE_LEFT: Sense = Sense { holds: SHARE.holds, wanted: "a share from 0 to 1, like 0.4" };
/// A length on the vehicle, mm.
pub const LENGTH_MM: Sense = Sense { holds: |x| x > 0.0 && x <= MOST_MM, wanted: "a length above 0 and up to 15,000 mm" };
/// How far an edge or a line was kept off, mm.
pub const KEPT_OFF_MM: Sense = Sense { holds: |x| (0.0..=MOST_MM).contains(&x), wanted: "a distance from 0 to 15,000 mm" };
/// A place on the vehicle, mm.
pub const PLACE_MM: Sense = Sense { holds: |x| x.abs() <= MOST_MM, wanted: "within 15,000 mm" };

/// Mean of an undercoat, um. Judgement: the thinnest primer that is sprayed is above 5 um, and an undercoat in mil is a number from 0.4 to 5.
pub const UNDERCOAT_UM: Sense = Sense {
    holds: |x| x.abs() < f64::EPSILON || (5.0..=10_000.0).contains(&x),
    wanted: "a film in um, 0 or 5 to 10,000 (1.4 mil is 36 um)",
};
/// What a gauge's maker states of its gain, per cent.
pub const PERCENT: Sense = Sense { holds: |x| (0.0..=100.0).contains(&x), wanted: "from 0 to 100 percent" };

/// Least topcoat to leave, um. Judgement: nobody leaves less than 2 um of paint on purpose, and a floor in mil is a number from 0.3 to 2.
pub const FLOOR_UM: Sense = Sense {
    holds: |x| x.abs() < f64::EPSILON || (2.0..=10_000.0).contains(&x),
    wanted: "a film in um, 0 or 2 to 10,000 (0.8 mil is 20 um)",
};
/// Most film to take at one visit, um.
pub const SPEND_UM: Sense = Sense { holds: |x| x > 0.0 && x <= 10_000.0, wanted: "a film above 0 um" };
/// Share of the defects to remove.
pub const CORRECTION: Sense = Sense { holds: |x| x > 0.0 && x <= 1.0, wanted: "a share above 0 and up to 1, like 0.88" };
/// Hours to spend.
pub const HOURS: Sense = Sense { holds: |x| x > 0.0 && x <= 1e6, wanted: "a number of hours above 0" };

/// How much panels and sections differ in rate.
pub const SCATTER: Sense = Sense { holds: |x| (0.0..=1.0).contains(&x), wanted: "a share of the rate from 0 to 1, like 0.1" };
/// Gain at an edge.
pub const GAIN: Sense = Sense { holds: |x| (0.0..=20.0).contains(&x), wanted: "from 0 (as the middle) to 20" };
/// How much the eye cares for a panel.
pub const VISIBILITY: Sense = Sense { holds: |x| (0.0..=100.0).contains(&x), wanted: "a weight from 0 to 100, 1 as a rule" };
/// Radius of a body line, mm.
pub const RADIUS_MM: Sense =
    Sense { holds: |x| (0.1..=15_000.0).contains(&x), wanted: "a radius from 0.1 to 15,000 mm; a sharp crease has 1 or less" };

/// Film of one set, um. Judgement: coarse abrasive paper by hand takes some 10 um; above 100 nobody calls it polishing. Finishing takes some
/// tenths; a hundredth shows on no gauge, and is a rate written in mm.
pub const RATE_UM: Sense = Sense { holds: |x| (0.01..=100.0).contains(&x), wanted: "a film of 0.01 to 100 um for one set" };
/// How unsure that is, um: no more than a rate may be.
pub const RATE_SD_UM: Sense = Sense { holds: |x| (0.0..=100.0).contains(&x), wanted: "a film of 0 to 100 um" };
/// Time of one set, minutes a square metre.
pub const MINUTES: Sense = Sense { holds: |x| x > 0.0 && x <= 10_000.0, wanted: "a number of minutes above 0" };

/// Half of a machine's throw, mm.
pub const ORBIT_MM: Sense = Sense { holds: |x| (0.0..=100.0).contains(&x), wanted: "from 0 to 100 mm" };
/// A machine's orbits a minute.
pub const ORBITS_PER_MINUTE: Sense = Sense { holds: |x| (0.0..=50_000.0).contains(&x), wanted: "from 0 to 50,000 a minute" };
/// Orbit and orbits a minute of a rotary.
pub const NO_ORBIT: Sense = Sense { holds: |x| x.abs() < 1e-12, wanted: "0, or left out: a rotary has no orbit" };
/// Turns of a pad a minute: a geared pad may turn against its orbit.
pub const SPIN_RPM: Sense = Sense { holds: |x| (-50_000.0..=50_000.0).contains(&x), wanted: "at most 50,000 a minute either way" };
/// A pad's diameter, mm.
pub const DIAMETER_MM: Sense = Sense { holds: |x| (5.0..=1000.0).contains(&x), wanted: "from 5 to 1000 mm" };
/// A pad's stiffness, Pa/m. Foam and fibre have some 1e6 to 4e7; a number in kPa a mm is a millionth of one in Pa/m.
pub const STIFFNESS_PA_PER_M: Sense = Sense {
    holds: |x| (1e4..=1e10).contains(&x),
    wanted: "from 10,000 to 1e10 Pa/m: kPa for each mm of squeeze times 1,000,000, soft foam some 2.4e6",
};
/// Overlap of neighbouring strokes, as a share of the pad.
pub const OVERLAP: Sense = Sense { holds: |x| (0.0..1.0).contains(&x), wanted: "a share from 0 to below 1, like 0.5" };

/// Gloss units. Judgement: a film of index 1.7 shows 138 at 20 degrees, bare metal up to 2000.
pub const GLOSS: Sense = Sense { holds: |x| (0.0..=200.0).contains(&x), wanted: "from 0 to 200 gloss units" };
/// A film's index of refraction. Judgement: binders are 1.4 to 1.6.
pub const INDEX: Sense = Sense { holds: |x| (1.3..=1.8).contains(&x), wanted: "a refractive index from 1.3 to 1.8; paint is near 1.5" };
