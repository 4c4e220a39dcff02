//! Defects counted in one marked window, before and after sets.

/// What was counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Fine scratches and swirls.
    Fine,
    /// Deep scratches, counted apart.
    Deep,
    /// Haze.
    Haze,
}

/// How many were seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// A count.
    Count(u32),
    /// A share left of what was there at first, 0 to 1, for defects too many to count.
    ShareLeft(f64),
}

/// One look at a spot. Counts of a spot are of the same defects: survivors of survivors. A share with bounds is of the untouched paint.
#[derive(Clone, Debug, PartialEq)]
pub struct Count {
    /// The spot's name.
    pub spot: String,
    /// Index of the panel it lies on.
    pub panel: usize,
    /// What had been done, as (process index, sets); empty before any work.
    pub after: Vec<(usize, u32)>,
    /// What was seen.
    pub seen: Seen,
    /// The 95 % interval of the share left, when stated; of a count it says nothing.
    pub share_between: Option<[f64; 2]>,
    /// What was counted.
    pub kind: Kind,
    /// Whether it was judged after a solvent wipe.
    pub wiped: bool,
}

impl Count {
    /// Whether this is a share with bounds, as a photograph is measured: of untouched paint, every time anew.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        matches!((self.seen, self.share_between), (Seen::ShareLeft(_), Some(_)))
    }
}
