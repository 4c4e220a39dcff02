//! A drawing as data.

use kurbo::{BezPath, Point};

/// How much room a drawing may take, in points of 1/72 inch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// The width it takes.
    pub width_pt: f64,
    /// The most height it may take.
    pub height_pt: f64,
}

/// What a mark means. A stylesheet addresses it by [`Class::name`]; without one the inline presentation holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Class {
    /// The panel's area before anything is drawn on it.
    Ground,
    /// The area between two levels of an estimate.
    Band,
    /// The light casing under the line of a level, so that it shows on any colour.
    ContourCasing,
    /// The line of a level.
    Contour,
    /// No estimate: hatched, never a colour.
    Missing,
    /// The panel's outline.
    Outline,
    /// A body line or crown.
    BodyLine,
    /// A section to be worked.
    Section,
    /// The pattern over a section left alone.
    LeftAlone,
    /// A band kept off with the machine.
    KeepOff,
    /// The line that ends a band kept off.
    KeepOffLimit,
    /// A place worked before.
    Worked,
    /// A place read before any work.
    Reading,
    /// A place read after work.
    ReadingAfter,
    /// The place of the least estimate.
    Lowest,
    /// The place to read next.
    Next,
    /// The light casing under it, so that it shows on any colour.
    NextCasing,
    /// The outline of a test spot.
    Spot,
    /// The light casing under it, so that it shows on any colour.
    SpotCasing,
    /// A scale's line or tick.
    Tick,
    /// An axis.
    Axis,
    /// A line of the lattice behind a curve.
    Lattice,
    /// The band of a curve.
    CurveBand,
    /// A curve.
    Curve,
    /// A line that marks a value on an axis.
    Guide,
    /// Name of a pane.
    Heading,
    /// Words about the drawing.
    Note,
    /// A number or word upon a map.
    Label,
    /// Number of a section.
    SectionNumber,
    /// What to do on a section.
    Steps,
    /// Name of an edge.
    EdgeLabel,
    /// A panel in the picture of the whole.
    Panel,
    /// The outline of the panel that is spoken of.
    Chosen,
    /// Around a small panel, unseen: a finger that lands there means it.
    Reach,
    /// The whole vehicle under its panels.
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
    /// What is not painted.
    Trim,
    /// What one looks into.
    Hollow,
    /// Words on a panel in the picture of the whole.
    PanelWords,
    /// Which side is seen.
    Side,
}

/// Where a text stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextAt {
    /// It begins at the point.
    Start,
    /// Its middle is at the point.
    Middle,
    /// It ends at the point.
    End,
}

/// One mark of a drawing; coordinates in points from the upper left, y downward.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line or an area.
    Path {
        /// What it means.
        class: Class,
        /// Its course.
        path: BezPath,
        /// Fill when the meaning is a value on a scale.
        fill: Option<[u8; 3]>,
    },
    /// Words or numbers, the baseline through `at`.
    Text {
        /// What it means.
        class: Class,
        /// Anchor on the baseline.
        at: Point,
        /// Which part of the text is at the anchor.
        anchor: TextAt,
        /// Turned about the anchor, degrees clockwise.
        turn_deg: f64,
        /// What it says.
        text: String,
    },
    /// Marks that are one thing with a name, to be pointed at.
    Named {
        /// Unique within the page that the drawing is put in.
        id: String,
        /// Which panel of the vehicle it is.
        panel: usize,
        /// The name, shown on pointing and read aloud.
        name: String,
        /// The marks.
        marks: Vec<Mark>,
    },
    /// Marks shown only inside an area.
    Clipped {
        /// Unique within the page that the drawing is put in.
        id: String,
        /// The area.
        area: BezPath,
        /// The marks.
        marks: Vec<Mark>,
    },
}

/// A drawing: its size, what it is in words, and its marks from back to front.
#[derive(Clone, Debug, PartialEq)]
pub struct Scene {
    /// Width, points.
    pub width_pt: f64,
    /// Height, points.
    pub height_pt: f64,
    /// Its name.
    pub title: String,
    /// What it shows, for somebody who does not see it.
    pub description: String,
    /// The marks.
    pub marks: Vec<Mark>,
}

impl Class {
    /// The class's name in the SVG.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ground => "ground",
            Self::Band => "band",
            Self::ContourCasing => "contour-casing",
            Self::Contour => "contour",
            Self::Missing => "missing",
            Self::Outline => "outline",
            Self::BodyLine => "body-line",
            Self::Section => "section",
            Self::LeftAlone => "left-alone",
            Self::KeepOff => "keep-off",
            Self::KeepOffLimit => "keep-off-limit",
            Self::Worked => "worked",
            Self::Reading => "reading",
            Self::ReadingAfter => "reading-after",
            Self::Lowest => "lowest",
            Self::Next => "next",
            Self::NextCasing => "next-casing",
            Self::Spot => "spot-outline",
            Self::SpotCasing => "spot-casing",
            Self::Tick => "tick",
            Self::Axis => "axis",
            Self::Lattice => "lattice",
            Self::CurveBand => "curve-band",
            Self::Curve => "curve",
            Self::Guide => "guide",
            Self::Heading => "heading",
            Self::Note => "note",
            Self::Label => "label",
            Self::SectionNumber => "section-number",
            Self::Steps => "steps",
            Self::EdgeLabel => "edge-label",
            Self::Panel => "panel",
            Self::Chosen => "chosen",
            Self::Reach => "reach",
            Self::Shell => "shell",
            Self::Glass => "glass",
            Self::Headlamp => "headlamp",
            Self::TailLamp => "tail-lamp",
            Self::Tyre => "tyre",
            Self::Rim => "rim",
            Self::Trim => "trim",
            Self::Hollow => "hollow",
            Self::PanelWords => "panel-words",
            Self::Side => "side",
        }
    }

    /// Size of the class's letters, points; 0 for what has none.
    #[must_use]
    pub const fn letter_pt(self) -> f64 {
        match self {
            Self::Side => 11.0,
            Self::PanelWords => 9.5,
            Self::Heading => 8.5,
            Self::Steps => 7.5,
            Self::Note | Self::EdgeLabel => 7.0,
            Self::Label | Self::SectionNumber => 6.5,
            _ => 0.0,
        }
    }

    /// Width of the white line about the letters of words that stand upon a drawing, points; 0 for words beside it.
    pub(crate) const fn halo_pt(self) -> f64 {
        match self {
            Self::Label | Self::SectionNumber | Self::Steps | Self::PanelWords => 2.8,
            _ => 0.0,
        }
    }

    pub(crate) const fn is_bold(self) -> bool {
        matches!(self, Self::Heading | Self::SectionNumber)
    }

    /// Presentation where no stylesheet speaks.
    pub(crate) const fn presentation(self) -> &'static str {
        match self {
            Self::Ground => r##"fill="#ffffff""##,
            Self::Band => r##"stroke="none" fill-rule="evenodd""##,
            Self::ContourCasing => r##"fill="none" stroke="#ffffff" stroke-width="1.3""##,
            Self::Contour => r##"fill="none" stroke="#000000" stroke-width="0.5""##,
            Self::Missing => r##"fill="none" stroke="#555555" stroke-width="0.5""##,
            Self::Outline => r##"fill="none" stroke="#000000" stroke-width="1.2" stroke-linejoin="round""##,
            Self::BodyLine => r##"fill="none" stroke="#000000" stroke-width="0.8" stroke-dasharray="7 2 1.5 2""##,
            Self::Section => r##"fill="none" stroke="#333333" stroke-width="0.7""##,
            Self::LeftAlone => r##"fill="none" stroke="#9a9a9a" stroke-width="0.6""##,
            Self::KeepOff => r##"fill="none" stroke="#333333" stroke-width="0.4""##,
            Self::KeepOffLimit => r##"fill="none" stroke="#000000" stroke-width="0.7" stroke-dasharray="2 1.2""##,
            Self::Worked => r##"fill="none" stroke="#000000" stroke-width="1" stroke-dasharray="3.5 1.8""##,
            Self::Reading => r##"fill="#ffffff" stroke="#000000" stroke-width="0.6""##,
            Self::ReadingAfter => r##"fill="#000000" stroke="#ffffff" stroke-width="0.5""##,
            Self::Lowest => r##"fill="none" stroke="#000000" stroke-width="1.1" stroke-linecap="round""##,
            Self::Next => r##"fill="none" stroke="#000000" stroke-width="1.8" stroke-linecap="round""##,
            Self::NextCasing => r##"fill="none" stroke="#ffffff" stroke-width="4.4" stroke-linecap="round""##,
            Self::Spot => r##"fill="none" stroke="#000000" stroke-width="1.4" stroke-linejoin="round""##,
            Self::SpotCasing => r##"fill="none" stroke="#ffffff" stroke-width="3.6" stroke-linejoin="round""##,
            Self::Tick | Self::Axis => r##"fill="none" stroke="#000000" stroke-width="0.7""##,
            Self::Lattice => r##"fill="none" stroke="#cccccc" stroke-width="0.4""##,
            Self::CurveBand => r##"fill="#c9cdd6" stroke="none""##,
            Self::Curve => r##"fill="none" stroke="#00224e" stroke-width="1.6" stroke-linejoin="round""##,
            Self::Guide => r##"fill="none" stroke="#000000" stroke-width="0.8" stroke-dasharray="4 2""##,
            Self::Heading => r##"font-size="8.5" font-weight="bold" fill="#000000""##,
            Self::Note => r##"font-size="7" fill="#000000""##,
            Self::EdgeLabel => r##"font-size="7" fill="#000000""##,
            Self::Panel => r##"fill="#f4f1ea" stroke="#1f2428" stroke-width="1" stroke-linejoin="round""##,
            Self::Chosen => r##"fill="none" stroke="#000000" stroke-width="3.2" stroke-linejoin="round" pointer-events="none""##,
            Self::Reach => r##"fill="none" stroke="none" stroke-linejoin="round" pointer-events="all""##,
            Self::Shell => r##"fill="#d5d1c7" stroke="#1f2428" stroke-width="1.2" stroke-linejoin="round" pointer-events="none""##,
            Self::Glass => r##"fill="#6f8791" stroke="#1f2428" stroke-width="0.6" stroke-linejoin="round" pointer-events="none""##,
            Self::Headlamp => r##"fill="#fbe9a9" stroke="#1f2428" stroke-width="0.8" stroke-linejoin="round" pointer-events="none""##,
            Self::TailLamp => r##"fill="#c4756a" stroke="#1f2428" stroke-width="0.8" stroke-linejoin="round" pointer-events="none""##,
            Self::Tyre => r##"fill="#22262a" stroke="none" pointer-events="none""##,
            Self::Rim => r##"fill="#b9bdc0" stroke="#1f2428" stroke-width="0.5" stroke-linejoin="round" pointer-events="none""##,
            Self::Trim => r##"fill="#4c5358" stroke="none" pointer-events="none""##,
            Self::Hollow => r##"fill="#33383c" stroke="none" pointer-events="none""##,
            Self::PanelWords => r##"font-size="9.5" fill="#000000" pointer-events="none""##,
            Self::Side => r##"font-size="11" fill="#000000""##,
            Self::Label => r##"font-size="6.5" fill="#000000""##,
            Self::SectionNumber => r##"font-size="6.5" font-weight="bold" fill="#000000""##,
            Self::Steps => r##"font-size="7.5" fill="#000000""##,
        }
    }
}

/// A path's mark.
pub(crate) fn stroke(class: Class, path: BezPath) -> Mark {
    Mark::Path { class, path, fill: None }
}

/// A text's mark, not turned.
pub(crate) fn text(class: Class, at: Point, anchor: TextAt, text: impl Into<String>) -> Mark {
    Mark::Text { class, at, anchor, turn_deg: 0.0, text: text.into() }
}
