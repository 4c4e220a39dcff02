//! The lamp, and what of a scratch it lights up.

use rand_pcg::Pcg64;

use super::scenes::Scene;

/// A small lamp as the paint mirrors it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lamp {
    /// The middle of its image, pixels.
    pub(super) middle: [f64; 2],
    /// Standard deviation of its image, pixels.
    pub(super) size_px: f64,
    /// Standard deviation of the sine of the angle between a scratch that is lit and the circle round the lamp.
    pub(super) spread: f64,
    /// Distance over which scratches show less by e, pixels.
    pub(super) reach_px: f64,
}

impl Lamp {
    pub(super) fn draw(scene: &Scene, middle: [f64; 2], scale: f64, chance: &mut Pcg64) -> Self {
        Self {
            middle,
            size_px: scale * scene.lamp_px.draw(chance),
            spread: scene.spread.draw(chance),
            reach_px: scale * scene.reach_px.draw(chance),
        }
    }

    /// How far a place is, pixels.
    pub(super) fn distance(&self, place: [f64; 2]) -> f64 {
        (place[0] - self.middle[0]).hypot(place[1] - self.middle[1])
    }

    /// How brightly a part of a scratch shows, 0 to 1, where it runs along the unit vector `along`.
    pub(super) fn lights(&self, place: [f64; 2], along: [f64; 2]) -> f64 {
        let distance = self.distance(place);
        let towards = along[0] * (place[0] - self.middle[0]) + along[1] * (place[1] - self.middle[1]);
        let sine = if distance > 0.0 { towards / distance } else { 0.0 };
        (-0.5 * (sine / self.spread).powi(2) - distance / self.reach_px).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scratches_show_where_they_run_round_the_lamp_and_near_it() {
        let lamp = Lamp { middle: [10.0, 20.0], size_px: 3.0, spread: 0.2, reach_px: 50.0 };
        let shows = |place, along, expected: f64| assert!((lamp.lights(place, along) - expected).abs() < 1e-12, "{place:?} {along:?}");
        // [D] at the reach a scratch round the lamp has exp(-1); at a sine of 0.2 exp(-1/2) of that; towards the lamp exp(-25/2).
        shows([60.0, 20.0], [0.0, 1.0], (-1.0_f64).exp());
        shows([60.0, 20.0], [0.2, 0.96_f64.sqrt()], (-1.5_f64).exp());
        shows([10.0, 70.0], [0.0, -1.0], (-13.5_f64).exp());
        shows([10.0, 20.0], [0.6, 0.8], 1.0);
    }
}
