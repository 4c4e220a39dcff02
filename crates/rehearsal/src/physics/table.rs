//! Values in equal steps along a line.

/// Values from `from_mm` on, each `step_mm` from the next; linear between them.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Table {
    pub(super) from_mm: f64,
    pub(super) step_mm: f64,
    pub(super) values: Vec<f64>,
}

impl Table {
    /// The value at a place; nothing outside.
    pub(super) fn within(&self, at_mm: f64) -> f64 {
        let place = (at_mm - self.from_mm) / self.step_mm;
        if place < 0.0 || place > (self.values.len() - 1) as f64 { 0.0 } else { self.between(place) }
    }

    /// The value at a place; that of the nearest end outside.
    pub(super) fn at(&self, at_mm: f64) -> f64 {
        self.between(((at_mm - self.from_mm) / self.step_mm).clamp(0.0, (self.values.len() - 1) as f64))
    }

    fn between(&self, place: f64) -> f64 {
        let low = place.floor() as usize;
        let high = (low + 1).min(self.values.len() - 1);
        self.values[low] + (place - low as f64) * (self.values[high] - self.values[low])
    }
}
