//! Words and numbers that don't cover one another.

use kurbo::{Point, Rect};

use crate::lettering::width_pt;

/// The places taken by labels and marks that must stay readable.
#[derive(Clone, Debug, Default)]
pub(crate) struct Taken(Vec<Rect>);

impl Taken {
    /// Takes a place, free or not.
    pub(crate) fn take(&mut self, area: Rect) {
        self.0.push(area);
    }

    /// Takes a place if nothing is there.
    pub(crate) fn try_take(&mut self, area: Rect) -> bool {
        let free = self.0.iter().all(|other| area.x1 <= other.x0 || other.x1 <= area.x0 || area.y1 <= other.y0 || other.y1 <= area.y0);
        if free {
            self.0.push(area);
        }
        free
    }
}

/// The box of one line of text whose middle is at `centre`.
pub(crate) fn text_box(text: &str, letter_pt: f64, centre: Point) -> Rect {
    Rect::from_center_size(centre, (width_pt(text, letter_pt), letter_pt * 1.15))
}

/// The baseline's point for text whose middle is at `centre`: capitals and digits are about 0.72 em high.
pub(crate) fn baseline(centre: Point, letter_pt: f64) -> Point {
    Point::new(centre.x, centre.y + 0.36 * letter_pt)
}
