//! How much room words take, without knowing the font.

/// Widths in ems that common sans-serif faces do not exceed. Judgement: those of the widest face in daily use (DejaVu Sans regular,
/// digits 0.636), so that words fit with any; too small and words run over lines, too large and codes stand where words would fit.
fn width_em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '\u{a0}' | '(' | ')' | 'f' | 't' | 'r' | '-' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 1.0,
        '+' | '\u{d7}' | '<' | '>' | '=' | '\u{b1}' | '\u{2013}' | '\u{2212}' => 0.84,
        'A'..='Z' => 0.77,
        ' '..='~' => 0.64,
        '\u{300}'..='\u{36f}' => 0.0,
        '\u{a0}'..='\u{2fff}' => 0.8,
        _ => 1.05,
    }
}

/// A bound of the width of `text` set in letters of `letter_pt`.
pub(crate) fn width_pt(text: &str, letter_pt: f64) -> f64 {
    text.chars().map(width_em).sum::<f64>() * letter_pt
}

/// `text`, or as much of its beginning as `room_pt` holds with an ellipsis.
pub(crate) fn shortened(text: &str, letter_pt: f64, room_pt: f64) -> String {
    if width_pt(text, letter_pt) <= room_pt {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = width_em('\u{2026}') * letter_pt;
    for c in text.chars() {
        used += width_em(c) * letter_pt;
        if used > room_pt {
            break;
        }
        kept.push(c);
    }
    kept.push('\u{2026}');
    kept
}

/// `text` broken at spaces into lines no wider than `room_pt`; a word wider than that is shortened.
pub(crate) fn wrapped(text: &str, letter_pt: f64, room_pt: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let word = shortened(word, letter_pt, room_pt);
        match lines.last_mut() {
            Some(line) if width_pt(line, letter_pt) + width_pt(&word, letter_pt) + 0.42 * letter_pt <= room_pt => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn wrapped_lines_fit_and_lose_no_word_that_fits(words in prop::collection::vec("[a-z]{1,8}", 0..20), room in 60.0..300.0_f64) {
            let text = words.join(" ");
            let lines = wrapped(&text, 7.0, room);
            prop_assert!(lines.iter().all(|line| width_pt(line, 7.0) <= room + 1e-9));
            prop_assert_eq!(lines.join(" "), text);
        }

        #[test]
        fn a_shortened_text_fits(text in ".{0,80}", room in 20.0..200.0_f64) {
            prop_assert!(width_pt(&shortened(&text, 7.0, room), 7.0) <= room + 1e-9);
        }
    }
}
