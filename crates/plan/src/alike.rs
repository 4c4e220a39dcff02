//! Sections of a panel that are treated alike for the same reason, told together.

use std::cmp::Ordering;

/// What a counted chance is said with; see [`crate::Chance`].
const WORDS: [&str; 2] = [" chance in ", " chances in "];
const LESS_THAN: &str = "less than ";

/// Sections treated alike for the same reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Alike {
    /// Their indices on the panel, ascending.
    pub sections: Vec<usize>,
    /// Why, once: where only the chances differ, from the least of them to the most.
    pub why: String,
}

impl Alike {
    /// "Section 3", "Sections 1 to 4, 7": numbered from 1, as on the panel's map.
    #[must_use]
    pub fn named(&self) -> String {
        let mut runs: Vec<[usize; 2]> = Vec::new();
        for number in self.sections.iter().map(|section| section + 1) {
            match runs.last_mut() {
                Some([_, last]) if *last + 1 == number => *last = number,
                _ => runs.push([number, number]),
            }
        }
        let words = |[first, last]: [usize; 2]| match last - first {
            0 => first.to_string(),
            1 => format!("{first}, {last}"),
            _ => format!("{first} to {last}"),
        };
        let plural = if self.sections.len() == 1 { "Section" } else { "Sections" };
        format!("{plural} {}", runs.into_iter().map(words).collect::<Vec<_>>().join(", "))
    }
}

/// Groups a panel's sections, each given by its treatment and why it gets no more, in the order in which their first ones come.
#[must_use]
pub fn alike<T: PartialEq>(sections: &[(T, &str)]) -> Vec<Alike> {
    let mut groups: Vec<(&T, Reason, Vec<usize>)> = Vec::new();
    for (i, (treatment, why)) in sections.iter().enumerate() {
        let reason = Reason::of(why);
        match groups.iter_mut().find(|(known, first, _)| *known == treatment && first.is_alike(&reason)) {
            Some((_, first, members)) => {
                first.widen(&reason);
                members.push(i);
            }
            None => groups.push((treatment, reason, vec![i])),
        }
    }
    groups.into_iter().map(|(_, reason, sections)| Alike { sections, why: reason.said() }).collect()
}

/// A reason, and the chance in it: what is before that, from the least to the most, and what is after it.
struct Reason<'w> {
    before: &'w str,
    chance: Option<[Said<'w>; 2]>,
    after: &'w str,
    is_of_several: bool,
}

/// A chance as it was said.
#[derive(Clone, Copy)]
struct Said<'w> {
    words: &'w str,
    value: f64,
}

impl<'w> Reason<'w> {
    fn of(why: &'w str) -> Self {
        WORDS.iter().find_map(|words| parted(why, words)).unwrap_or(Self { before: why, chance: None, after: "", is_of_several: false })
    }

    fn is_alike(&self, other: &Self) -> bool {
        (self.before, self.after, self.chance.is_some()) == (other.before, other.after, other.chance.is_some())
    }

    fn widen(&mut self, other: &Self) {
        self.is_of_several = true;
        if let (Some([least, most]), Some([other, _])) = (&mut self.chance, other.chance) {
            if other.compared(least) == Ordering::Less {
                *least = other;
            }
            if other.compared(most) == Ordering::Greater {
                *most = other;
            }
        }
    }

    fn said(&self) -> String {
        let chance = match self.chance {
            None => String::new(),
            Some([least, _]) if !self.is_of_several => least.words.to_owned(),
            // Together they come to more.
            Some([least, most]) if least.words == most.words => format!("{}, each alone,", least.words),
            Some([least, most]) => format!("{} to {}, each alone,", least.words, most.words),
        };
        format!("{}{chance}{}", self.before, self.after)
    }
}

impl Said<'_> {
    /// "Less than" a chance is less than it.
    fn compared(&self, other: &Self) -> Ordering {
        let is_less = |said: &Self| said.words.starts_with(LESS_THAN);
        self.value.total_cmp(&other.value).then(is_less(other).cmp(&is_less(self)))
    }
}

/// A reason parted at the chance that is said in it with these `words`; none where there is none.
fn parted<'w>(why: &'w str, words: &str) -> Option<Reason<'w>> {
    let (head, tail) = why.split_once(words)?;
    let is_digit = |c: char| c.is_ascii_digit();
    let count = head.trim_end_matches(is_digit).len();
    let of = tail.find(|c| !is_digit(c)).unwrap_or(tail.len());
    let value = head[count..].parse::<f64>().ok()? / tail[..of].parse::<f64>().ok()?;
    let from = head[..count].strip_suffix(LESS_THAN).map_or(count, str::len);
    let to = head.len() + words.len() + of;
    let said = Said { words: &why[from..to], value };
    Some(Reason { before: &why[..from], chance: Some([said, said]), after: &why[to..], is_of_several: false })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::Chance;

    fn told(sections: &[(u32, &str)]) -> Vec<String> {
        alike(sections).iter().map(|group| format!("{}: {}", group.named(), group.why)).collect()
    }

    #[test]
    fn sections_of_one_treatment_and_one_reason_are_told_together() {
        let sections = [(2, "goal reached"), (2, "goal reached"), (3, "goal reached"), (2, "the hours are used"), (2, "goal reached")];
        assert_eq!(
            told(&[&sections[..], &[(3, "goal reached"); 3]].concat()),
            ["Sections 1, 2, 5: goal reached", "Sections 3, 6 to 8: goal reached", "Section 4: the hours are used"]
        );
        assert!(told(&[]).is_empty());
    }

    #[test]
    fn chances_of_one_reason_are_told_from_the_least_to_the_most() {
        let whys: Vec<String> =
            [0.0118, 0.0, 0.3, 0.0016].map(|p| format!("left alone, with {} of it: too much", Chance::counted(p, 2000))).into();
        let of = |which: &[usize]| told(&which.iter().map(|&i| (0, whys[i].as_str())).collect::<Vec<_>>()).join("|");
        assert_eq!(of(&[0, 0]), "Sections 1, 2: left alone, with 1 chance in 84, each alone, of it: too much");
        assert_eq!(
            of(&[0, 1, 3]),
            "Sections 1 to 3: left alone, with less than 1 chance in 660 to 1 chance in 84, each alone, of it: too much"
        );
        assert_eq!(of(&[2, 3]), "Sections 1, 2: left alone, with 1 chance in 620 to 30 chances in 100, each alone, of it: too much");
        let bound = [(0, "1 chance in 660"), (0, "less than 1 chance in 660")];
        assert_eq!(told(&bound), ["Sections 1, 2: less than 1 chance in 660 to 1 chance in 660, each alone,"]);
    }

    #[test]
    fn other_numbers_keep_reasons_apart_and_words_without_a_chance_stay_as_they_are() {
        let gains = [(0, "it would gain 2 %, with 1 chance in 90"), (0, "it would gain 3 %, with 1 chance in 90")];
        assert_eq!(told(&gains).len(), 2);
        for words in ["a fat chance in 90", "1 chance in the end", " chance in 9", ""] {
            assert_eq!(told(&[(0, words)]), [format!("Section 1: {words}")]);
        }
    }
}
