//! A panel of a body: as a job states it, and what a body knows beyond that.

use lastmicron_film::gauge::Substrate;
use lastmicron_plan::CarPanel;

/// Where one stands to work a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stand {
    /// Before the vehicle, facing it: its left is on one's right.
    Front,
    /// At the vehicle's left, its front on one's left.
    Left,
    /// Behind it.
    Rear,
    /// At the vehicle's right, its front on one's right.
    Right,
    /// On a step at the vehicle's left, looking across; then the far half from the right.
    LeftStep,
}

impl Stand {
    /// Where that is, in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Front => "stand before the vehicle",
            Self::Left => "stand at its left",
            Self::Rear => "stand behind it",
            Self::Right => "stand at its right",
            Self::LeftStep => "stand on a step at its left, then at its right for the far half",
        }
    }
}

/// A panel of a body.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyPanel {
    /// The panel as a job states it: name, outline, substrate as usually found, visibility, body lines.
    ///
    /// The substrate is common practice, no source: a magnet tells.
    pub stated: CarPanel,
    /// Where one stands to work it. The outline is seen from there.
    pub stand: Stand,
    /// Edges at which the panel ends by itself: shut lines, lips of arches, folds. At the others the paint runs on, or goes under trim.
    pub free_edges: Vec<usize>,
    /// The panel of the other side that is its mirror image.
    pub mirror: Option<usize>,
}

impl BodyPanel {
    /// The panel's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.stated.panel.name
    }
}

/// What a panel usually is, beyond its outline.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nature {
    pub(crate) substrate: Substrate,
    pub(crate) visibility: f64,
}

/// Pressed steel in plain sight. Common practice, no source: bonnets and off-road bodies are now and then aluminium.
pub(crate) const STEEL: Nature = Nature { substrate: Substrate::Steel, visibility: 1.0 };
/// Moulded parts in plain sight.
pub(crate) const PLASTIC: Nature = Nature { substrate: Substrate::Plastic, visibility: 1.0 };
/// Bumpers. Judgement: the eye rests on them half as long as on a bonnet; more, and film is spent where nobody looks.
pub(crate) const BUMPER: Nature = Nature { substrate: Substrate::Plastic, visibility: 0.5 };
/// Sills and narrow rails. Judgement: as bumpers.
pub(crate) const LOW: Nature = Nature { substrate: Substrate::Steel, visibility: 0.5 };
