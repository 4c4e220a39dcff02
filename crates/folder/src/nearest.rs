//! The known word that somebody may have meant.

/// Least likeness (Jaro-Winkler, 0 to 1) at which a word is offered.
///
/// Judgement: `flor_um` and `floor_um` stand at 0.97, `finsh` and `finish` at 0.96, `onestep` and `one-step` at 0.97; lower, and unrelated short words come up.
const LEAST_LIKENESS: f64 = 0.78;

/// The known word that is most like `word`, if one is like it at all.
#[must_use]
pub fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<String> {
    // A long word is compared by its beginning: the measure takes time as the square of the length.
    let word: String = word.chars().take(100).flat_map(char::to_lowercase).collect();
    let likeness = |candidate: &str| strsim::jaro_winkler(&word, &candidate.to_lowercase());
    let best = known.into_iter().map(|candidate| (likeness(candidate), candidate)).max_by(|a, b| a.0.total_cmp(&b.0));
    best.filter(|(likeness, _)| *likeness >= LEAST_LIKENESS).map(|(_, candidate)| candidate.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_pen_finds_its_word() {
        let known = ["finish", "one-step", "cut", "floor_um", "risk"];
        for (word, meant) in [
            ("finsh", "finish"),
            ("onestep", "one-step"),
            ("flor_um", "floor_um"),
            ("Risk", "risk"),
            ("cutt", "cut"),
            ("floor", "floor_um"),
        ] {
            assert_eq!(nearest(word, known).as_deref(), Some(meant), "{word}");
        }
    }

    #[test]
    fn a_word_like_none_finds_none() {
        assert_eq!(nearest("zzz", ["finish", "cut"]), None);
        assert_eq!(nearest("finish", []), None);
    }
}
