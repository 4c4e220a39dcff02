//! Where the contact's model leaves its range.

use std::fmt;

use crate::contact::{Bend, ContactError, Finding, Hold, Surface, press, press_on_bend};
use crate::equipment::{Pad, Use};
use crate::near::{MOST_OVERHANG, TURNS_DEG};

/// What the pad stands on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seat {
    /// Flat on the panel.
    Flat,
    /// With as much of it over an edge as a hand lets.
    OverEdge,
    /// With its middle on a line of this radius, mm.
    OnLine(f64),
}

impl fmt::Display for Seat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Flat => write!(f, "flat on the panel"),
            Self::OverEdge => write!(f, "over an edge"),
            Self::OnLine(radius_mm) => write!(f, "on a line of radius {radius_mm} mm"),
        }
    }
}

/// What the contact's model finds, and what the pad stands on there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadFinding {
    /// What the pad stands on.
    pub seat: Seat,
    /// What to beware of.
    pub finding: Finding,
}

/// Findings on the flat, over an edge as far as a hand lets, and on lines that turn the panel as far as any is thought to: the foam is squeezed most
/// there.
///
/// # Errors
/// [`ContactError`] for a pad, load or radius that is none.
pub fn pad_findings(pad: &Pad, used: &Use, line_radii_mm: &[f64]) -> Result<Vec<PadFinding>, ContactError> {
    let on = |seat: Seat, findings: &[Finding]| findings.iter().map(|&finding| PadFinding { seat, finding }).collect::<Vec<_>>();
    let edge = Surface::Edge { overhang_mm: 0.5 * MOST_OVERHANG * pad.diameter_mm, hold: Hold::SelfAligning };
    let mut findings = on(Seat::Flat, press(pad, used.load_n, Surface::Flat)?.findings());
    findings.extend(on(Seat::OverEdge, press(pad, used.load_n, edge)?.findings()));
    let turn_deg = TURNS_DEG.into_iter().fold(0.0, f64::max);
    for &radius_mm in line_radii_mm {
        let over = press_on_bend(pad, used.load_n, Bend { radius_mm, turn_deg }, 0.0)?;
        findings.extend(on(Seat::OnLine(radius_mm), over.finding().as_slice()));
    }
    Ok(findings)
}
