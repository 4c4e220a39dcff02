//! Where the panel was worked, and the tape along the line.

use lastmicron_raster::Plane;
use rand_pcg::Pcg64;

use super::Size;
use super::lamp::Lamp;
use crate::chance::{Range, happens, normal, whole_between};

/// Standard deviation of the line's angle to the picture's sides, radians, and of its distance from the lamp, by the picture's width. Judgement: a hand-held camera, aimed
/// at the line.
const TURNED: f64 = 0.12;
const BESIDE: f64 = 0.02;

/// Chance that tape lies along the line, half its width in pixels, and its light of 255 with the standard deviation of its grain.
const TAPED: f64 = 0.5;
const TAPE_HALF_PX: Range = Range::between(8.0, 25.0);
const TAPE_LIGHT: f64 = 165.0;
const TAPE_GRAIN: f64 = 4.0;

/// Where a panel was worked.
#[derive(Clone, Copy, Debug)]
pub(super) enum Worked {
    Nowhere,
    Everywhere,
    Beyond(Edge),
}

impl Worked {
    pub(super) fn takes(&self, place: [f64; 2]) -> bool {
        match self {
            Self::Nowhere => false,
            Self::Everywhere => true,
            Self::Beyond(edge) => edge.away(place) > 0.0,
        }
    }
}

/// The line where work ends.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    point: [f64; 2],
    /// To the worked side, of length 1.
    across: [f64; 2],
}

impl Edge {
    pub(super) fn draw(lamp: &Lamp, size: Size, chance: &mut Pcg64) -> Self {
        let quarters = whole_between(chance, [0, 3]) as f64;
        let (sine, cosine) = normal(chance, quarters * std::f64::consts::FRAC_PI_2, TURNED).sin_cos();
        let across = [-sine, cosine];
        let beside = normal(chance, 0.0, BESIDE) * size.width as f64;
        Self { point: [0, 1].map(|axis| lamp.middle[axis] + beside * across[axis]), across }
    }

    /// How far a place is from the line, pixels: above 0 on the worked side.
    fn away(&self, place: [f64; 2]) -> f64 {
        (place[0] - self.point[0]) * self.across[0] + (place[1] - self.point[1]) * self.across[1]
    }

    /// Two points of it, as far apart as the picture is wide.
    pub(super) fn points(&self, size: Size) -> [[f64; 2]; 2] {
        let [x, y] = self.point;
        let half = 0.5 * size.width as f64;
        [-half, half].map(|along| [x + along * self.across[1], y - along * self.across[0]])
    }

    /// A point of the untouched side, well away from it.
    pub(super) fn untouched(&self, size: Size) -> [f64; 2] {
        [0, 1].map(|axis| self.point[axis] - 0.2 * size.height as f64 * self.across[axis])
    }
}

/// A strip of masking tape along the line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tape {
    edge: Edge,
    half_px: f64,
}

impl Tape {
    pub(super) fn draw(edge: Edge, scale: f64, chance: &mut Pcg64) -> Option<Self> {
        let half_px = scale * TAPE_HALF_PX.draw(chance);
        happens(chance, TAPED).then_some(Self { edge, half_px })
    }

    /// Covers what lies under it.
    pub(super) fn cover(&self, light: &mut Plane, chance: &mut Pcg64) {
        for y in 0..light.height() {
            for (x, value) in light.row_mut(y).iter_mut().enumerate() {
                if self.edge.away([x as f64, y as f64]).abs() < self.half_px {
                    *value = normal(chance, TAPE_LIGHT, TAPE_GRAIN) as f32;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_has_both_points_and_the_untouched_one_is_not_worked() {
        let edge = Edge { point: [50.0, 40.0], across: [0.6, 0.8] };
        let size = Size { width: 200, height: 100 };
        let [a, b] = edge.points(size);
        assert!(edge.away(a).abs() < 1e-9 && edge.away(b).abs() < 1e-9);
        assert!(((a[0] - b[0]).hypot(a[1] - b[1]) - 200.0).abs() < 1e-9);
        assert!((edge.away(edge.untouched(size)) + 20.0).abs() < 1e-9); // [D] a fifth of the height
        assert!(Worked::Beyond(edge).takes([56.0, 48.0]) && !Worked::Beyond(edge).takes(edge.untouched(size)));
    }
}
