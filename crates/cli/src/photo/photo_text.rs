//! Shares for a person.

use std::path::Path;

use lastmicron_look::scratches::{Measured, Share};

use crate::plan_text::wrapped;

/// Where the untouched paint is that worked paint was compared with.
#[derive(Clone, Copy, Debug)]
pub(super) enum Halves {
    /// On the other half of one photograph.
    OfOne,
    /// In the photograph before.
    OfTwo,
}

impl Halves {
    /// The untouched and the worked paint in words.
    const fn words(self) -> [&'static str; 2] {
        match self {
            Self::OfOne => ["on the untouched half", "on the worked half"],
            Self::OfTwo => ["before", "after"],
        }
    }
}

/// Why more of the light is gone than of the length.
const MORE_IS_SEEN_TO_GO: &str =
    " Scratches that are left are shallower and dimmer than they were, so that more of what is seen is gone than of the length.";

/// What the intervals were tried on, and what is not in them.
const IN_PROPORTION: &str = "19 times in 20 is for light in proportion, as in linear files and in the drawn photographs that it was tried on; what a phone does to a picture (sharpening, noise reduction, tone curve) is not in it.";

/// Whether what is seen is gone the more, as the shares are printed.
fn is_dimmer(measured: &Measured) -> bool {
    whole_percent(measured.visible) > whole_percent(measured.gone)
}

fn whole_percent(share: Share) -> f64 {
    (100.0 * share.estimate).round()
}

pub(super) fn text(measured: &Measured, halves: Halves, overlay: Option<&Path>) -> String {
    let [untouched, worked] = halves.words();
    let mut text = wrapped(&format!("{} of the scratch length is gone {}.", percent(measured.gone), between(measured.gone)), "", "");
    let visible = format!(
        "{} of what is seen of the scratches is gone {}: their length times their brightness.{} A filler or wax dims them too: wipe with solvent first.",
        percent(measured.visible),
        between(measured.visible),
        if is_dimmer(measured) { MORE_IS_SEEN_TO_GO } else { "" }
    );
    text += &wrapped(&visible, "", "");
    text += &wrapped(IN_PROPORTION, "", "");
    if !measured.findings.is_empty() {
        text += "\nMind\n";
        text.extend(measured.findings.iter().map(|finding| wrapped(&format!("{finding}."), "  - ", "    ")));
    }
    if let Some(path) = overlay {
        let drawn = format!(
            "{} shows scratches that stand out one by one, orange {untouched} and blue {worked}; a cross on the lamp; darkened what was not compared. Check that they are scratches. The shares count the fainter ones too.",
            path.display()
        );
        text += &format!("\n{}", wrapped(&drawn, "", ""));
    }
    let next = "To teach a plan what these sets take, print the photograph as a row of the job's defects.csv: the same command with --row SPOT,PANEL,AFTER, like --row 'spot 1,boot lid,finish:2'. The row takes the share of the length: a plan asks how many scratches are gone, and one that is only dimmer is still there.";
    text + &format!("\n{}", wrapped(next, "", ""))
}

fn percent(share: Share) -> String {
    format!("{:.0} %", whole_percent(share))
}

fn between(share: Share) -> String {
    format!("({:.0} to {:.0} %, 19 times in 20)", 100.0 * share.low, 100.0 * share.high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;
    use lastmicron_look::scratches::Finding;

    fn measured(gone: f64, visible: f64) -> Measured {
        let share = |estimate: f64| Share { estimate, low: estimate - 0.05, high: estimate + 0.04 };
        Measured {
            gone: share(gone),
            visible: share(visible),
            untouched: 0.0123,
            worked: 0.0017,
            findings: vec![Finding::Overexposed { share: 0.04 }, Finding::TooFew],
            compared: vec![],
        }
    }

    #[test]
    fn shares_are_told_with_their_intervals_and_what_to_mind() {
        let told = text(&measured(0.86, 0.91), Halves::OfOne, Some(Path::new("seen.png")));
        assert!(told.lines().all(|line| line.chars().count() <= 80));
        expect![[r#"
            86 % of the scratch length is gone (81 to 90 %, 19 times in 20).
            91 % of what is seen of the scratches is gone (86 to 95 %, 19 times in 20):
            their length times their brightness. Scratches that are left are shallower and
            dimmer than they were, so that more of what is seen is gone than of the length.
            A filler or wax dims them too: wipe with solvent first.
            19 times in 20 is for light in proportion, as in linear files and in the drawn
            photographs that it was tried on; what a phone does to a picture (sharpening,
            noise reduction, tone curve) is not in it.

            Mind
              - 4 % of what could be compared is overexposed and left out: expose shorter.
              - too few scratches are seen to say much: more of them near the lamp, a
                sharper or a closer photograph would help.

            seen.png shows scratches that stand out one by one, orange on the untouched half
            and blue on the worked half; a cross on the lamp; darkened what was not
            compared. Check that they are scratches. The shares count the fainter ones too.

            To teach a plan what these sets take, print the photograph as a row of the job's
            defects.csv: the same command with --row SPOT,PANEL,AFTER, like --row 'spot
            1,boot lid,finish:2'. The row takes the share of the length: a plan asks how
            many scratches are gone, and one that is only dimmer is still there.
        "#]]
        .assert_eq(&told);
    }

    #[test]
    fn more_of_what_is_seen_is_gone_than_of_the_length_only_where_it_is() {
        for (gone, visible, is_said) in [(0.86, 0.91, true), (0.86, 0.86, false), (0.861, 0.864, false), (0.4, 0.31, false)] {
            let told = text(&measured(gone, visible), Halves::OfTwo, None).split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(told.contains("more of what is seen is gone than of the length"), is_said, "{gone} {visible}");
            assert!(told.contains("A filler or wax dims them too"));
        }
    }
}
