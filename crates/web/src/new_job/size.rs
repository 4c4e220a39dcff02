//! Sizes of a body as somebody says them, where they are not the usual ones.

use std::collections::HashMap;

use lastmicron_body::{Body, Dimensions, Kind, Measure};
use lastmicron_units::read_number;
use serde::Deserialize;

/// Sizes by their keys, mm, as text.
#[derive(Debug, Default, Deserialize)]
#[serde(transparent)]
pub(crate) struct Sizes(HashMap<String, String>);

impl Sizes {
    /// Those by which a vehicle is told.
    pub(super) const FIRST: [Measure; 3] = [Measure::Length, Measure::Width, Measure::Height];

    /// What was said of one; empty where nothing was.
    pub(super) fn said(&self, measure: Measure) -> &str {
        self.0.get(key(measure)).map_or("", |text| text.trim())
    }
}

/// What a size is called in an address.
pub(super) const fn key(measure: Measure) -> &'static str {
    match measure {
        Measure::Length => "length_mm",
        Measure::Width => "width_mm",
        Measure::Height => "height_mm",
        Measure::Wheelbase => "wheelbase_mm",
        Measure::FrontOverhang => "front_overhang_mm",
        Measure::Belt => "belt_mm",
        Measure::Bonnet => "bonnet_mm",
        Measure::Roof => "roof_mm",
        Measure::Wheel => "wheel_mm",
        Measure::Clearance => "clearance_mm",
    }
}

/// The body of these sizes, what was not said as usual; or why there is none, in a sentence.
pub(super) fn drawn(kind: Kind, sizes: &Sizes) -> Result<Body, String> {
    let mut dimensions = Dimensions::usual(kind);
    for measure in Measure::of(kind) {
        let said = sizes.said(measure);
        if !said.is_empty() {
            let read = read_number(said).map_err(|error| format!("{}: {error}", measure.name(kind)))?;
            dimensions = dimensions.with(measure, read.value);
        }
    }
    Body::new(kind, dimensions).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sizes(said: &[(&str, &str)]) -> Sizes {
        Sizes(said.iter().map(|(key, text)| ((*key).to_owned(), (*text).to_owned())).collect())
    }

    #[test]
    fn what_is_said_is_drawn_and_the_rest_is_usual() {
        let long = drawn(Kind::Estate, &sizes(&[("length_mm", " 4850 "), ("width_mm", ""), ("colour", "sage")])).unwrap().dimensions();
        let usual = Dimensions::usual(Kind::Estate);
        assert_eq!(long, usual.with(Measure::Length, 4850.0));
        assert_eq!(drawn(Kind::Estate, &Sizes::default()).unwrap().dimensions(), usual);
    }

    #[test]
    fn nonsense_is_told_by_the_name_of_the_size() {
        let why = |text: &str| drawn(Kind::Van, &sizes(&[("length_mm", text)])).unwrap_err();
        assert_eq!(why("long"), "the overall length: 'long' is not a number: write it like 118.5");
        assert_eq!(why("9000"), "the overall length is 9000 mm: a van has 4250 to 5750 mm");
        assert!(why("4,850").contains("may be 4.850 or 4850"), "{}", why("4,850"));
        assert!(why("NaN").starts_with("the overall length: "), "{}", why("NaN"));
    }
}
