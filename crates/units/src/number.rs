//! A number as a person writes it, with a decimal point or, where it can mean nothing else, a decimal comma.

/// A text that is no number, or that two people would read as different ones.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NumberError {
    /// Nothing is written.
    #[error("no number is written")]
    Empty,
    /// Not a number at all, or not a finite one.
    #[error("'{0}' is not a number: write it like 118.5")]
    NotANumber(String),
    /// A comma that may divide decimals or thousands.
    #[error(
        "'{text}' may be {whole}.{rest} or {whole}{rest}: write one of the two, with a point for decimals and nothing between thousands"
    )]
    Ambiguous {
        /// What was written.
        text: String,
        /// Digits before the comma, with the sign.
        whole: String,
        /// Digits after it.
        rest: String,
    },
    /// Points, commas, spaces or apostrophes that group digits.
    #[error("'{0}' groups its digits: write it with a point for decimals and nothing between thousands, like 1234.5")]
    Grouped(String),
}

/// Decimals kept of a number's writing: a double has no more to say below 1.
const MOST_DECIMALS: usize = 17;

/// A number and how many decimals it was written with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written {
    /// Its value: finite.
    pub value: f64,
    /// Decimals written.
    pub decimals: usize,
}

/// Reads a number as a person writes it.
///
/// A point divides decimals. A single comma does so too where it can't divide thousands: after a leading zero (`0,047`), with other than three digits behind
/// it (`47,5`), or with more than three before it (`1234,567`). `1,234` may be either and is refused, as are digits in groups (`1.234,5`, `1 234`).
///
/// # Errors
/// [`NumberError`] for what is no finite number, or may be two.
pub fn read_number(text: &str) -> Result<Written, NumberError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(NumberError::Empty);
    }
    let plain = text.replace('\u{2212}', "-");
    let digits = plain.strip_prefix(['-', '+']).unwrap_or(&plain);
    if is_grouped(digits) {
        return Err(NumberError::Grouped(text.to_owned()));
    }
    let pointed = match digits.split_once(',') {
        Some((whole, rest)) if may_be_thousands(whole, rest) => {
            let sign = &plain[..plain.len() - digits.len()];
            return Err(NumberError::Ambiguous { text: text.to_owned(), whole: format!("{sign}{whole}"), rest: rest.to_owned() });
        }
        // A comma with nothing behind it is a slip, where `5.` is how some programs write 5.
        Some((_, "")) => return Err(NumberError::NotANumber(text.to_owned())),
        Some(_) => plain.replacen(',', ".", 1),
        None => plain,
    };
    let shaped = pointed.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'.' | b'-' | b'+' | b'e' | b'E'));
    match pointed.parse::<f64>() {
        Ok(value) if shaped && value.is_finite() => Ok(Written { value, decimals: decimals(&pointed) }),
        _ => Err(NumberError::NotANumber(text.to_owned())),
    }
}

/// Whether nothing but digits and separators is there, and more than one separator or one that only groups.
fn is_grouped(digits: &str) -> bool {
    let is_separator = |c: char| matches!(c, '.' | ',' | '\'' | '\u{2019}' | '_') || c.is_whitespace();
    let separators: Vec<char> = digits.chars().filter(|c| is_separator(*c)).collect();
    let only_digits = digits.chars().all(|c| c.is_ascii_digit() || is_separator(c));
    let between_digits = digits.starts_with(|c: char| c.is_ascii_digit()) && digits.ends_with(|c: char| c.is_ascii_digit());
    only_digits && between_digits && !matches!(separators.as_slice(), [] | ['.' | ','])
}

fn may_be_thousands(whole: &str, rest: &str) -> bool {
    let all_digits = |s: &str| s.bytes().all(|byte| byte.is_ascii_digit());
    all_digits(whole) && all_digits(rest) && (1..=3).contains(&whole.len()) && !whole.starts_with('0') && rest.len() == 3
}

/// Decimals that show the number in full without an exponent; more than [`MOST_DECIMALS`] are never shown.
fn decimals(pointed: &str) -> usize {
    let (mantissa, exponent) = pointed.split_once(['e', 'E']).unwrap_or((pointed, "0"));
    let written = mantissa.split_once('.').map_or(0, |(_, rest)| rest.len());
    let shift = exponent.parse::<i64>().unwrap_or(0);
    let shown = i64::try_from(written).unwrap_or(i64::MAX).saturating_sub(shift);
    usize::try_from(shown).map_or(0, |shown| shown.min(MOST_DECIMALS))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, value: f64, decimals: usize) {
        assert_eq!(read_number(text), Ok(Written { value, decimals }), "{text}");
    }

    #[test]
    fn a_point_divides_decimals() {
        check("47", 47.0, 0);
        check(" 2.10 ", 2.1, 2);
        check("1.234", 1.234, 3);
        check(".5", 0.5, 1);
        check("5.", 5.0, 0);
        check("-0.5", -0.5, 1);
        check("+3", 3.0, 0);
        check("\u{2212}4.25", -4.25, 2);
        check("1.185e2", 118.5, 1);
        check("5E-1", 0.5, 1);
        check("2.5e+3", 2500.0, 0);
        check(&format!("0.{}5", "0".repeat(70_000)), 0.0, 17);
    }

    #[test]
    fn a_comma_divides_decimals_where_it_cannot_divide_thousands() {
        check("0,047", 0.047, 3);
        check("-0,047", -0.047, 3);
        check("47,5", 47.5, 1);
        check("47,25", 47.25, 2);
        check("1,2345", 1.2345, 4);
        check("1234,567", 1234.567, 3);
        check(",5", 0.5, 1);
    }

    #[test]
    fn a_comma_that_may_divide_thousands_is_refused_with_both_readings() {
        for (text, whole, rest) in
            [("1,234", "1", "234"), ("12,345", "12", "345"), ("123,456", "123", "456"), ("-1,234", "-1", "234"), ("1,000", "1", "000")]
        {
            let error = read_number(text).unwrap_err();
            assert_eq!(error, NumberError::Ambiguous { text: text.to_owned(), whole: whole.to_owned(), rest: rest.to_owned() });
        }
        assert_eq!(
            read_number("1,234").unwrap_err().to_string(),
            "'1,234' may be 1.234 or 1234: write one of the two, with a point for decimals and nothing between thousands"
        );
    }

    #[test]
    fn digits_in_groups_are_refused() {
        for text in
            ["1.234,5", "1,234.5", "1,234,567", "1.234.567", "1 234", "1\u{a0}234", "1\u{202f}234.5", "1'234", "1\u{2019}234", "1_234"]
        {
            assert_eq!(read_number(text), Err(NumberError::Grouped(text.to_owned())));
        }
        assert_eq!(
            read_number("1.234,5").unwrap_err().to_string(),
            "'1.234,5' groups its digits: write it with a point for decimals and nothing between thousands, like 1234.5"
        );
    }

    #[test]
    fn what_is_no_finite_number_is_refused() {
        for text in [
            "abc",
            "nan",
            "NaN",
            "inf",
            "-infinity",
            "1e999",
            "0x10",
            "-",
            ".",
            ",",
            "5,",
            "1e",
            "--1",
            "1,5e,2",
            "\u{661}\u{662}",
            "4.5.",
            "3,-5",
        ] {
            assert_eq!(read_number(text), Err(NumberError::NotANumber(text.to_owned())), "{text}");
        }
        assert_eq!(read_number("  "), Err(NumberError::Empty));
        assert_eq!(read_number("abc").unwrap_err().to_string(), "'abc' is not a number: write it like 118.5");
        assert_eq!(NumberError::Empty.to_string(), "no number is written");
    }
}
