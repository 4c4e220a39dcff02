//! What to beware of in a contact: where the model leaves its range, and where the pad does not lie as it seems to.

use std::fmt;

use super::face::RIM_THICKNESS;
use super::{Lie, Surface};
use crate::equipment::{Pad, PadEdge};

/// Thickness of a pad's foam where none is stated, mm. Judgement: 25 is usual of pads from 75 mm up (from memory: with foam of about 60 kPa it has
/// 2.4e6 Pa/m); smaller warns too often, larger too late.
pub const USUAL_THICKNESS_MM: f64 = 25.0;

/// Squeeze, as a share of the thickness, from which foam stiffens. Judgement, from memory: cells collapse from about a half on.
const MOST_SQUEEZE: f64 = 0.5;

/// Half-width over radius of curvature from which x^2 / (2 radius) is no circle: at a half it is 7 % short.
const MOST_SLOPE: f64 = 0.5;

/// Something to beware of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Finding {
    /// Squeezed so far that foam is no longer in proportion.
    Deep {
        /// Deepest squeeze, mm.
        indent_mm: f64,
        /// Thickness assumed there, mm.
        thickness_mm: f64,
    },
    /// The contact is so wide for the curve that its parabola is no circle.
    Steep {
        /// Half-width of the contact, mm.
        half_width_mm: f64,
        /// Radius of the line or crown, mm.
        radius_mm: f64,
    },
    /// The whole face touches, so that the contact ends at the pad's rim.
    WholeFace,
    /// The far side lifts: the pad rides on the edge.
    Lifts {
        /// How much of the pad, from its far rim on, does not touch, mm.
        lifted_mm: f64,
    },
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Deep { indent_mm, thickness_mm } => write!(
                f,
                "the foam is squeezed by {indent_mm:.1} mm, more than half of the {thickness_mm} mm it is assumed to be thick there: it stiffens, so that the peak is higher than this"
            ),
            Self::Steep { half_width_mm, radius_mm } => write!(
                f,
                "the contact reaches {half_width_mm:.1} mm to each side of a curve of radius {radius_mm} mm: the panel falls away faster than the parabola that stands for it, so that the contact is narrower and the peak higher than this"
            ),
            Self::WholeFace => write!(f, "the whole face touches: the contact ends at the pad's rim, not where the pressure does"),
            Self::Lifts { lifted_mm } => {
                write!(f, "the far {lifted_mm:.0} mm of the pad lift off and the edge carries the load: more overhang soon tips it over")
            }
        }
    }
}

/// A squeeze that reaches out to the pad's rim, where it is more than half of the foam there.
pub(super) fn deep(pad_edge: PadEdge, indent_mm: f64) -> Option<Finding> {
    let thickness_mm = match pad_edge {
        PadEdge::Upright => USUAL_THICKNESS_MM,
        PadEdge::Tapered => USUAL_THICKNESS_MM * RIM_THICKNESS,
    };
    (indent_mm > MOST_SQUEEZE * thickness_mm).then_some(Finding::Deep { indent_mm, thickness_mm })
}

pub(super) fn of(pad: &Pad, surface: Surface, lie: &Lie) -> Vec<Finding> {
    let mut findings: Vec<Finding> = deep(pad.edge, lie.indent_mm).into_iter().collect();
    let half_width_mm = 0.5 * (lie.to_mm - lie.from_mm);
    let pad_radius_mm = 0.5 * pad.diameter_mm;
    match surface {
        Surface::Flat => {}
        Surface::Edge { .. } => {
            let lifted_mm = pad_radius_mm + lie.from_mm;
            if lifted_mm > 0.0 {
                findings.push(Finding::Lifts { lifted_mm });
            }
        }
        Surface::Ridge { radius_mm } | Surface::Dome { radius_mm } => {
            if half_width_mm > MOST_SLOPE * radius_mm {
                findings.push(Finding::Steep { half_width_mm, radius_mm });
            }
            if half_width_mm >= pad_radius_mm {
                findings.push(Finding::WholeFace);
            }
        }
    }
    findings
}
