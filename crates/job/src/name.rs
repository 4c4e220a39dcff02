//! What may be a name.

/// Longest name, in characters.
const LONGEST: usize = 100;

/// Why a text can't be the name of a panel, a gauge, a machine, a pad or a spot; nothing where it can.
#[must_use]
pub fn unusable(name: &str) -> Option<&'static str> {
    if name.trim().is_empty() {
        return Some("it is empty");
    }
    (name.chars().count() > LONGEST || name.chars().any(char::is_control)).then_some("use one line of at most 100 characters")
}

/// Why a text can't be the name of a process; nothing where it can.
#[must_use]
pub fn unusable_for_process(name: &str) -> Option<&'static str> {
    let divides = || name.contains([':', '+']).then_some("':' and '+' stand between processes and sets in the column 'after'");
    unusable(name).or_else(divides)
}
