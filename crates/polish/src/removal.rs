//! Film that a process takes at a distance from an edge.

use crate::process::{Belief, EdgeGain, Scatter};

/// Differences in rate where a job states none. Judgement: a tenth from panel to panel (shape, heat, hand) and a tenth from section to
/// section (pad's age, polish, pressure); smaller would call every section alike and hide the unlucky one.
pub const USUAL_SCATTER: Scatter = Scatter { panel: 0.1, section: 0.1 };

/// Gain at an edge where a job states none. Judgement: a soft pad half over an edge presses there with about one and a half times its mean
/// pressure (elastic foundation, a quarter of the pad overhanging), over about an inch.
pub const USUAL_EDGE_GAIN: EdgeGain = EdgeGain { gain: Belief { mean: 0.5, sd: 0.25 }, reach_mm: 25.0 };

impl EdgeGain {
    /// Share of the gain at the very edge that is left at `distance_mm` from it: exp(-distance / (reach / 2)).
    #[must_use]
    pub fn fall_off(&self, distance_mm: f64) -> f64 {
        if self.reach_mm > 0.0 { (-2.0 * distance_mm / self.reach_mm).exp() } else { 0.0 }
    }

    /// Distance, mm, beyond which less than a share more than in the middle is taken, in the mean; 0 where that is so at the very edge.
    #[must_use]
    pub fn beyond_mm(&self, more: f64) -> f64 {
        if self.gain.mean > more && more > 0.0 { 0.5 * self.reach_mm * (self.gain.mean / more).ln() } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_the_reach_leaves_one_over_e() {
        let edge = EdgeGain { gain: Belief { mean: 0.6, sd: 0.2 }, reach_mm: 30.0 };
        assert!((edge.fall_off(15.0) - (-1f64).exp()).abs() < 1e-15);
        assert!((edge.fall_off(0.0) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn beyond_the_distance_for_a_tenth_more_a_tenth_more_is_taken() {
        let edge = EdgeGain { gain: Belief { mean: 0.6, sd: 0.2 }, reach_mm: 30.0 };
        // [D] 15 ln 6
        assert!((edge.beyond_mm(0.1) - 26.876).abs() < 1e-3);
        assert!((0.6 * edge.fall_off(edge.beyond_mm(0.1)) - 0.1).abs() < 1e-12);
        assert!(edge.beyond_mm(0.7).abs() < 1e-15 && edge.beyond_mm(0.6).abs() < 1e-15);
    }
}
