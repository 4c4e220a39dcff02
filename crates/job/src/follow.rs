//! Processes that must come after one another.

/// Whether the link of `i` leads round and back to it.
#[must_use]
pub fn is_circle(links: &[Option<usize>], i: usize) -> bool {
    let mut at = links.get(i).copied().flatten();
    // A chain without a circle is shorter than the number of links.
    for _ in 0..links.len() {
        if at == Some(i) {
            return true;
        }
        at = at.and_then(|at| links.get(at).copied().flatten());
    }
    false
}
