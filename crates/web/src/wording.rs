//! How pages say what many of them say: a sentence's capital, an instant, a chance.

use lastmicron_job::event::When;

/// With a capital, as a sentence or a heading has it.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The date and the minute, by the device's clock.
pub(crate) fn minute(when: &When) -> String {
    when.as_str().chars().take(16).collect::<String>().replace('T', " ")
}

/// A chance that was counted over so many drawn films.
pub(crate) fn chance(chance: f64, films: usize) -> String {
    if chance > 0.0 { format!("1 chance in {:.0}", 1.0 / chance) } else { format!("less than 1 chance in {}", films / 3) }
}
