//! How often, in words.

/// Once, twice, 3 times.
pub(super) fn times(n: u32) -> String {
    match n {
        0 => "never".to_owned(),
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        _ => format!("{n} times"),
    }
}

/// One, two, 3.
pub(super) fn counted(n: u32) -> String {
    match n {
        1 => "one".to_owned(),
        2 => "two".to_owned(),
        _ => n.to_string(),
    }
}

/// One set, 2 sets.
pub(super) fn sets(n: u32) -> String {
    if n == 1 { "one set".to_owned() } else { format!("{n} sets") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn once_and_twice_have_words_of_their_own() {
        assert_eq!([0, 1, 2, 3, 12].map(times), ["never", "once", "twice", "3 times", "12 times"]);
        assert_eq!(
            (counted(1), counted(5), sets(1), sets(4)),
            ("one".to_owned(), "5".to_owned(), "one set".to_owned(), "4 sets".to_owned())
        );
    }
}
