//! Kinds of paint, scratches and camera: four that are usual, and four in which less is seen.
//!
//! The figures are no real panel's. Judgement: scratches from plain to hardly seen, on paint from black to nearly white, by a phone's camera. Were they plainer, any measurement
//! would do well; were they fainter, none could.

use crate::chance::Range;

/// A kind of photograph. Light is 0 to 255; lengths are pixels of a picture 2000 pixels wide.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// A short name.
    pub name: &'static str,
    /// Scratches in a million pixels.
    pub per_megapixel: Range,
    /// Median length of a scratch.
    pub length_px: Range,
    /// Scale of the depths (a Weibull law), um.
    pub depth_um: Range,
    /// Its shape.
    pub depth_shape: Range,
    /// What is taken where the panel was worked, by the depths' scale.
    pub taken: Range,
    /// Light across a scratch lit in full, summed over its section, for each um of depth: light x pixels, whatever the picture's width.
    pub light_per_um: Range,
    /// Standard deviation of a scratch's section in focus, pixels whatever the picture's width; at least 0.65.
    pub width_px: Range,
    /// Standard deviation of the sine of the angle between a scratch that is lit and the circle round the lamp.
    pub spread: Range,
    /// Distance from the lamp over which scratches show less by e.
    pub reach_px: Range,
    /// Standard deviation of the lamp's image.
    pub lamp_px: Range,
    /// Light of the paint far from the lamp.
    pub paint: Range,
    /// What the lamp's glow adds next to it.
    pub glow: Range,
    /// Standard deviation of what orange peel does to the paint's light, as a share of it.
    pub peel: Range,
    /// Smoothing length of orange peel; at least 4 pixels of the picture itself.
    pub peel_px: Range,
    /// Light of a flake that glints, if its image were one pixel.
    pub flake: Range,
    /// Standard deviation of the blur out of focus, pixels whatever the picture's width; none below 0.5.
    pub blur_px: Range,
    /// Variance of shot noise by light.
    pub shot: Range,
    /// Standard deviation of noise in the dark.
    pub read: Range,
    /// Red, green and blue by the light.
    pub tint: [f64; 3],
}

/// All kinds, the usual ones first.
#[must_use]
pub fn all() -> Vec<Scene> {
    usual().into_iter().chain(harsh()).collect()
}

/// The four in which scratches are plain to see.
#[must_use]
pub fn usual() -> Vec<Scene> {
    vec![dark_solid(), bright_solid(), metallic(), orange_peel()]
}

/// The four in which less is seen of them.
#[must_use]
pub fn harsh() -> Vec<Scene> {
    vec![faint_on_bright(), flake_with_peel(), sparse(), soft_focus()]
}

fn dark_solid() -> Scene {
    Scene {
        name: "dark solid",
        per_megapixel: Range::between(2000.0, 6000.0),
        length_px: Range::between(60.0, 140.0),
        depth_um: Range::between(0.6, 1.2),
        depth_shape: Range::between(0.9, 1.5),
        taken: Range::between(0.0, 3.0),
        light_per_um: Range::between(120.0, 220.0),
        width_px: Range::between(0.8, 1.2),
        spread: Range::between(0.12, 0.25),
        reach_px: Range::between(350.0, 700.0),
        lamp_px: Range::between(25.0, 60.0),
        paint: Range::between(8.0, 25.0),
        glow: Range::between(10.0, 35.0),
        peel: Range::exactly(0.0),
        peel_px: Range::between(20.0, 60.0),
        flake: Range::exactly(0.0),
        blur_px: Range::between(0.0, 0.7),
        shot: Range::between(0.05, 0.2),
        read: Range::between(1.0, 3.0),
        tint: [0.95, 0.97, 1.0],
    }
}

fn bright_solid() -> Scene {
    Scene {
        name: "bright solid",
        light_per_um: Range::between(60.0, 120.0),
        paint: Range::between(90.0, 150.0),
        glow: Range::between(20.0, 40.0),
        shot: Range::between(0.1, 0.3),
        tint: [1.0, 0.9, 0.75],
        ..dark_solid()
    }
}

fn metallic() -> Scene {
    Scene {
        name: "metallic",
        light_per_um: Range::between(120.0, 200.0),
        paint: Range::between(30.0, 60.0),
        flake: Range::between(20.0, 60.0),
        ..dark_solid()
    }
}

fn orange_peel() -> Scene {
    Scene { name: "orange peel", peel: Range::between(0.05, 0.2), ..dark_solid() }
}

fn faint_on_bright() -> Scene {
    Scene {
        name: "faint on bright",
        per_megapixel: Range::between(1500.0, 5000.0),
        light_per_um: Range::between(30.0, 70.0),
        blur_px: Range::between(0.4, 1.4),
        ..bright_solid()
    }
}

fn flake_with_peel() -> Scene {
    Scene {
        name: "flake with peel",
        per_megapixel: Range::between(1500.0, 5000.0),
        light_per_um: Range::between(80.0, 180.0),
        peel: Range::between(0.05, 0.2),
        flake: Range::between(20.0, 80.0),
        blur_px: Range::between(0.3, 1.2),
        ..metallic()
    }
}

fn sparse() -> Scene {
    Scene {
        name: "sparse",
        per_megapixel: Range::between(500.0, 1500.0),
        length_px: Range::between(50.0, 120.0),
        light_per_um: Range::between(100.0, 220.0),
        paint: Range::between(8.0, 40.0),
        peel: Range::between(0.0, 0.15),
        blur_px: Range::between(0.0, 1.0),
        ..dark_solid()
    }
}

fn soft_focus() -> Scene {
    Scene { name: "soft focus", blur_px: Range::between(1.0, 1.8), ..dark_solid() }
}
