//! Whether a place or a rectangle lies on its panel, as near as a tape measure says.

use lastmicron_film::panel::Panel;

/// How far off its panel a place may seem to be, mm: places and sizes are rounded to whole millimetres.
pub const ROUNDING_MM: f64 = 1.0;

/// Whether a place counts as on a panel; one that rounding has put just off it does.
#[must_use]
pub fn is_place_on(panel: &Panel, [x_mm, y_mm]: [f64; 2]) -> bool {
    panel.contains(x_mm, y_mm) || panel.edge_distance_mm(x_mm, y_mm) <= ROUNDING_MM
}

/// Whether a rectangle lies within the panel's box and some of it on the panel. What was worked over an oblique edge may stick out beyond it.
#[must_use]
pub fn is_rectangle_on(panel: &Panel, corner_mm: [f64; 2], size_mm: [f64; 2]) -> bool {
    /// Places tried either way.
    const TRIED: u32 = 8;
    let most_mm = panel.size_mm();
    let within = |i: usize| corner_mm[i] >= -ROUNDING_MM && corner_mm[i] + size_mm[i] <= most_mm[i] + ROUNDING_MM;
    let along = |i: usize, step: u32| corner_mm[i] + size_mm[i] * f64::from(step) / f64::from(TRIED);
    within(0) && within(1) && (0..=TRIED).any(|i| (0..=TRIED).any(|j| panel.contains(along(0, i), along(1, j))))
}

/// Whether a place lies in a rectangle, its rim included.
#[must_use]
pub fn is_in_rectangle([x_mm, y_mm]: [f64; 2], corner_mm: [f64; 2], size_mm: [f64; 2]) -> bool {
    let within = |at: f64, low: f64, size: f64| at >= low - ROUNDING_MM && at <= low + size + ROUNDING_MM;
    within(x_mm, corner_mm[0], size_mm[0]) && within(y_mm, corner_mm[1], size_mm[1])
}
