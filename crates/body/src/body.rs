//! A body: its panels and its picture.

use lastmicron_film::gauge::Substrate;
use lastmicron_plan::CarPanel;

use crate::dimensions::{Dimensions, Measure};
use crate::error::BodyError;
use crate::kind::Kind;
use crate::panel::BodyPanel;
use crate::shape::{Shape, View};
use crate::{car, motorcycle};

/// A body drawn from its dimensions.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    kind: Kind,
    dimensions: Dimensions,
    panels: Vec<BodyPanel>,
    shapes: Vec<Shape>,
}

impl Body {
    /// The body of that kind and those dimensions.
    ///
    /// # Errors
    /// A dimension beyond what the kind has, or dimensions that leave no room for one of its parts.
    pub fn new(kind: Kind, dimensions: Dimensions) -> Result<Self, BodyError> {
        let dimensions = dimensions.checked(kind)?;
        let draft = match kind {
            Kind::Motorcycle => motorcycle::drawn(dimensions)?,
            _ => car::drawn(kind, dimensions)?,
        };
        let (panels, shapes) = draft.finished();
        Ok(Self { kind, dimensions, panels, shapes })
    }

    /// What kind it is.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.kind
    }

    /// What it was drawn from, in whole millimetres.
    #[must_use]
    pub const fn dimensions(&self) -> Dimensions {
        self.dimensions
    }

    /// Its panels in the order in which one walks round it: from the front along the left to the rear, back along the right, then the roof.
    #[must_use]
    pub fn panels(&self) -> &[BodyPanel] {
        &self.panels
    }

    /// The panels for a new job, with `metal` where they are pressed.
    #[must_use]
    pub fn stated_panels(&self, metal: Substrate) -> Vec<CarPanel> {
        let mut stated: Vec<CarPanel> = self.panels.iter().map(|panel| panel.stated.clone()).collect();
        for panel in stated.iter_mut().map(|stated| &mut stated.panel).filter(|panel| panel.substrate == Substrate::Steel) {
            panel.substrate = metal;
        }
        stated
    }

    /// The picture of the whole, from back to front.
    #[must_use]
    pub fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// Width and height of a view, mm.
    #[must_use]
    pub const fn size_mm(&self, view: View) -> [f64; 2] {
        let length = self.dimensions.get(Measure::Length);
        let width = self.dimensions.get(Measure::Width);
        let height = self.dimensions.get(Measure::Height);
        match view {
            View::Left | View::Right => [length, height],
            View::Front | View::Rear => [width, height],
            View::Above => [length, width],
        }
    }
}
