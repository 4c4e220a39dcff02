//! Functions kept as their values at equal steps.

/// The value at a share of the way along a table of at least two entries, linear between them; 0 where there are none.
pub(crate) fn between(table: &[f64], share: f64) -> f64 {
    let intervals = table.len().saturating_sub(1);
    let place = share * intervals as f64;
    let first = (place as usize).min(intervals.saturating_sub(1));
    match table.get(first..first + 2) {
        Some(&[low, high]) => low + (place - first as f64) * (high - low),
        _ => 0.0,
    }
}
