//! The picture of the whole: panels and what stands between them, seen from five sides.

/// A side from which the whole is seen. Millimetres from the lower left of that view, the ground at nought; x to the right, y upward.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum View {
    /// From its left: the front on the left.
    Left,
    /// From its right: the front on the right.
    Right,
    /// From before it: its left on the right.
    Front,
    /// From behind it.
    Rear,
    /// From above: the front on the left, its left below.
    Above,
}

impl View {
    /// All five.
    pub const ALL: [Self; 5] = [Self::Left, Self::Right, Self::Front, Self::Rear, Self::Above];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Front => "front",
            Self::Rear => "rear",
            Self::Above => "above",
        }
    }
}

/// What a shape is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// The panel of this number, in the body's order.
    Panel(usize),
    /// The outline of the whole, under its panels.
    Shell,
    /// Windows.
    Glass,
    /// Headlamps.
    Headlamp,
    /// Tail lamps.
    TailLamp,
    /// Tyres.
    Tyre,
    /// Rims and bright metal.
    Rim,
    /// Grilles, frames, engines, seats: what is not painted.
    Trim,
    /// What one looks into: arches, a bed, a cockpit.
    Hollow,
}

/// A shape of the picture. Shapes come from back to front.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// In which view.
    pub view: View,
    /// What it is.
    pub part: Part,
    /// Its corners, mm.
    pub outline_mm: Vec<[f64; 2]>,
}
