//! What is said of photographs that are not as they should be, and of which nothing can be said: each is a good one with one thing changed.

use lastmicron_look::scratches::{Finding, Frame, Line, Measured, Part, Photograph, Trouble, pair, split};
use lastmicron_raster::{Mask, Plane, smooth};
use lastmicron_rehearsal::Range;
use lastmicron_rehearsal::photograph::{self, Exposed, scenes};

const MEGAPIXELS: f64 = 1.5;
/// Of a panel whose lamp has nothing else near it.
const SEED: u64 = 5;

fn good() -> photograph::Split {
    photograph::split(&scenes::usual()[0], MEGAPIXELS, SEED).unwrap()
}

fn exposed(light: Plane) -> Exposed {
    let clipped = Mask::above(&light, 254.0);
    Exposed { light, clipped }
}

fn frame(exposed: &Exposed) -> Frame<'_> {
    Frame { light: &exposed.light, clipped: &exposed.clipped }
}

/// The good photograph's light with each pixel changed, given where it is.
fn with(change: impl Fn([f64; 2], f32) -> f32) -> Exposed {
    let light = good().exposed.light;
    let width = light.width();
    let changed = light.values().iter().enumerate().map(|(at, light)| change([(at % width) as f64, (at / width) as f64], *light));
    exposed(Plane::new(width, light.height(), changed.map(|light| light.clamp(0.0, 255.0)).collect()).unwrap())
}

/// Grain, the same each time: from -4 to 4.
fn grain([x, y]: [f64; 2]) -> f32 {
    let hash = ((x * 4099.0 + y) as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    ((hash ^ (hash >> 29)).wrapping_mul(0xBF58_476D_1CE4_E5B9) >> 40) as f32 / (1_u32 << 21) as f32 - 4.0
}

fn measured(exposed: &Exposed) -> Result<Measured, Trouble> {
    let good = good();
    split(frame(exposed), &Line::new(good.line[0], good.line[1], good.untouched).unwrap())
}

fn findings(exposed: &Exposed) -> Vec<Finding> {
    measured(exposed).unwrap().findings
}

/// How far a place is from the lamp of the good photograph.
fn from_lamp() -> impl Fn([f64; 2]) -> f64 {
    let [u, v] = measured(&good().exposed).unwrap().compared[0].lamp;
    move |[x, y]| (x - u).hypot(y - v)
}

#[test]
fn a_good_photograph_has_nothing_to_mind() {
    assert_eq!(findings(&good().exposed), []);
}

#[test]
fn a_photograph_on_its_side_says_the_same() {
    let good = good();
    let turned = |plane: &Plane| {
        let (width, height) = (plane.width(), plane.height());
        Plane::new(height, width, (0..width * height).map(|at| plane.row(height - 1 - at % height)[at / height]).collect()).unwrap()
    };
    let height = good.exposed.light.height() as f64;
    let place = |[x, y]: [f64; 2]| [height - 1.0 - y, x];
    let line = Line::new(place(good.line[0]), place(good.line[1]), place(good.untouched)).unwrap();
    let (lying, upright) = (measured(&good.exposed).unwrap(), split(frame(&exposed(turned(&good.exposed.light))), &line).unwrap());
    for (lying, upright) in [(lying.gone, upright.gone), (lying.visible, upright.visible)] {
        assert!((lying.estimate - upright.estimate).abs() < 0.1 * (lying.high - lying.low), "{lying:?} {upright:?}");
    }
}

#[test]
fn what_can_be_done_better_is_said() {
    let from_lamp = from_lamp();
    let blurred = exposed(smooth(&good().exposed.light, 2.2).unwrap());
    assert!(
        findings(&blurred).iter().any(|finding| matches!(finding, Finding::Blurred { photograph: Photograph::Only, .. })),
        "{:?}",
        findings(&blurred)
    );
    let dark = with(|_, light| light * light / 255.0);
    assert!(
        findings(&dark).iter().any(|finding| matches!(finding, Finding::Dark { photograph: Photograph::Only, .. })),
        "{:?}",
        findings(&dark)
    );
    let glare = with(|place, light| if (from_lamp(place) - 300.0).abs() < 40.0 { 255.0 } else { light });
    let told = findings(&glare);
    assert!(
        told.iter().any(|finding| matches!(finding, Finding::Overexposed { photograph: Photograph::Only, share } if *share > 0.02)),
        "{told:?}"
    );
    let good = good();
    let line = Line::new(good.line[0], good.line[1], good.untouched).unwrap();
    let lit = with(|place, light| if line.away(place) > 0.0 { light } else { 1.4 * light });
    assert!(findings(&lit).iter().any(|finding| matches!(finding, Finding::Unlike { .. })), "{:?}", findings(&lit));
}

#[test]
fn sides_that_are_exchanged_are_told() {
    let good = good();
    let [x, y] = good.line.map(|[x, y]| [x - good.untouched[0], y - good.untouched[1]])[0];
    let worked = [good.untouched[0] + 2.0 * x, good.untouched[1] + 2.0 * y];
    let line = Line::new(good.line[0], good.line[1], worked).unwrap();
    assert!(split(frame(&good.exposed), &line).unwrap().findings.contains(&Finding::Swapped));
}

#[test]
fn of_what_shows_no_scratches_nothing_is_said() {
    for scene in scenes::all() {
        let clean = photograph::Scene { light_per_um: Range::exactly(0.0), ..scene };
        assert_eq!(said(&clean, 1), Err(Trouble::Unclear), "{}", clean.name);
    }
}

/// What is said of a drawn panel.
fn said(scene: &photograph::Scene, seed: u64) -> Result<Measured, Trouble> {
    let drawn = photograph::split(scene, MEGAPIXELS, seed).unwrap();
    split(frame(&drawn.exposed), &Line::new(drawn.line[0], drawn.line[1], drawn.untouched).unwrap())
}

#[test]
fn of_a_dozen_scratches_next_to_nothing_is_said() {
    for scene in scenes::all() {
        let few = photograph::Scene { per_megapixel: Range::exactly(100.0), ..scene };
        match said(&few, 2) {
            Ok(measured) => assert!(measured.findings.contains(&Finding::TooFew), "{} {measured:?}", few.name),
            Err(trouble) => assert_eq!(trouble, Trouble::Unclear, "{}", few.name),
        }
    }
}

#[test]
fn why_nothing_can_be_said_is_told() {
    let (only, from_lamp) = (Photograph::Only, from_lamp());
    let told = |exposed: Exposed| measured(&exposed).map(|measured| measured.gone);
    assert_eq!(told(with(|place, _| 30.0 + grain(place))), Err(Trouble::NoLamp(only)));
    assert_eq!(told(with(|_, light| (light + 215.0).min(255.0))), Err(Trouble::Overexposed(only)));
    let glow = |place: [f64; 2]| (-0.5 * (from_lamp(place) / 30.0).powi(2)).exp() as f32;
    assert_eq!(told(with(|place, _| 250.0 * glow(place))), Err(Trouble::TooDark(only)));
    assert_eq!(told(with(|place, _| (30.0 + 200.0 * glow(place)).round())), Err(Trouble::Smooth(only)));
    let second = |[x, y]: [f64; 2], light: f32| light.max(600.0 * glow([x - 300.0, y]));
    assert_eq!(told(with(second)), Err(Trouble::SeveralLamps(only)));
    let good = good();
    let height = good.exposed.light.height() as f64;
    let beyond = Line::new([0.0, 1.5 * height], [1.0, 1.5 * height], [0.0, 0.0]).unwrap();
    assert_eq!(split(frame(&good.exposed), &beyond).map(|measured| measured.gone), Err(Trouble::TooLittle(Part::Worked)));
}

#[test]
fn a_pair_says_which_photograph_is_meant() {
    let drawn = photograph::pair(&scenes::usual()[0], MEGAPIXELS, SEED).unwrap();
    let other = photograph::pair(&scenes::usual()[0], MEGAPIXELS, SEED + 1).unwrap();
    let blurred = exposed(smooth(&drawn.after.light, 2.2).unwrap());
    let findings = |after: &Exposed| pair(frame(&drawn.before), frame(after)).unwrap().findings;
    assert_eq!(findings(&drawn.after), []);
    assert!(findings(&blurred).iter().any(|finding| matches!(finding, Finding::Blurred { photograph: Photograph::After, .. })));
    assert_eq!(findings(&other.after).first(), Some(&Finding::Unregistered));
    let none = exposed(Plane::filled(drawn.after.light.width(), drawn.after.light.height(), 30.0).unwrap());
    assert_eq!(pair(frame(&drawn.before), frame(&none)).map(|measured| measured.gone), Err(Trouble::NoLamp(Photograph::After)));
    let small = exposed(Plane::filled(300, 200, 30.0).unwrap());
    assert_eq!(pair(frame(&drawn.before), frame(&small)).map(|measured| measured.gone), Err(Trouble::Sizes));
}
