//! Text that somebody typed, made fit to print.

/// What stands for a character that can't be printed.
const INSTEAD: char = '\u{25a1}';

/// Longest run without a place to break a line, characters. Judgement: what a narrow column of the form holds.
const LONGEST_RUN: usize = 16;

/// `text`, or its beginning with an ellipsis: at most `most` characters.
pub(crate) fn cut(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        None => text.to_owned(),
        Some(_) => text.chars().take(most.saturating_sub(1)).chain(['\u{2026}']).collect(),
    }
}

/// `text` with white space made plain, without characters that steer printing, and with a square for every character that the
/// typefaces lack (`covers` says which they have).
pub(crate) fn printable(text: &str, covers: &dyn Fn(char) -> bool) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{a0}' => out.push(c),
            _ if c.is_whitespace() => out.push(' '),
            // Direction overrides, joiners and other marks without a shape of their own: an archive wants every glyph to stand for
            // a character, and an override can make a text read as what it is not.
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' => {}
            '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' => {}
            '\u{e000}'..='\u{f8ff}' | '\u{fff0}'..='\u{ffff}' | '\u{e0000}'..='\u{10ffff}' => out.push(INSTEAD),
            _ if c.is_control() || !covers(c) => out.push(INSTEAD),
            _ => out.push(c),
        }
    }
    out
}

/// `text` with places to break lines within runs that no column holds.
pub(crate) fn breakable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut run = 0;
    for c in text.chars() {
        run = if c == ' ' { 0 } else { run + 1 };
        if run > LONGEST_RUN {
            out.push('\u{200b}');
            run = 1;
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn what_the_typeface_lacks_is_a_square_and_what_steers_is_gone() {
        let ascii = |c: char| c.is_ascii();
        assert_eq!(printable("a\tb\u{202e}c\u{4e2d}\u{0}\u{e001}", &ascii), "a bc\u{25a1}\u{25a1}\u{25a1}");
    }

    #[test]
    fn a_long_text_ends_in_an_ellipsis() {
        assert_eq!(cut("abcdef", 6), "abcdef");
        assert_eq!(cut("abcdefg", 6), "abcde\u{2026}");
        assert_eq!(cut("", 3), "");
    }

    proptest! {
        #[test]
        fn breaking_adds_only_places_to_break(text in ".{0,200}") {
            let broken = breakable(&text);
            prop_assert_eq!(broken.replace('\u{200b}', ""), text.replace('\u{200b}', ""));
            let longest = broken.split([' ', '\u{200b}']).map(|run| run.chars().count()).max();
            prop_assert!(longest <= Some(LONGEST_RUN));
        }
    }
}
