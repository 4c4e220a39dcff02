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

pub(super) fn text(measured: &Measured, halves: Halves, overlay: Option<&Path>) -> String {
    let [untouched, worked] = halves.words();
    let mut text = wrapped(&format!("{} of the scratch length is gone {}.", percent(measured.gone), between(measured.gone)), "", "");
    let visible = format!(
        "{} of what is seen of the scratches is gone {}: their length times their brightness. Scratches that are left may be shallower and dimmer, so that more of what is seen is gone than of the length; a filler or wax dims them too: wipe with solvent first.",
        percent(measured.visible),
        between(measured.visible)
    );
    text += &wrapped(&visible, "", "");
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
    let next = "To teach a plan what these sets take, print the photograph as a row of the job's defects.csv: the same command with --row SPOT,PANEL,AFTER, like --row 'spot 1,boot lid,finish:2'.";
    text + &format!("\n{}", wrapped(next, "", ""))
}

fn percent(share: Share) -> String {
    format!("{:.0} %", 100.0 * share.estimate)
}

fn between(share: Share) -> String {
    format!("({:.0} to {:.0} %, 19 times in 20)", 100.0 * share.low, 100.0 * share.high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;
    use lastmicron_look::scratches::Finding;

    #[test]
    fn shares_are_told_with_their_intervals_and_what_to_mind() {
        let measured = Measured {
            gone: Share { estimate: 0.86, low: 0.81, high: 0.9 },
            visible: Share { estimate: 0.91, low: 0.87, high: 0.94 },
            untouched: 0.0123,
            worked: 0.0017,
            findings: vec![Finding::Overexposed { share: 0.04 }, Finding::TooFew],
            compared: vec![],
        };
        let told = text(&measured, Halves::OfOne, Some(Path::new("seen.png")));
        assert!(told.lines().all(|line| line.chars().count() <= 80));
        expect![[r#"
            86 % of the scratch length is gone (81 to 90 %, 19 times in 20).
            91 % of what is seen of the scratches is gone (87 to 94 %, 19 times in 20):
            their length times their brightness. Scratches that are left may be shallower
            and dimmer, so that more of what is seen is gone than of the length; a filler or
            wax dims them too: wipe with solvent first.

            Mind
              - 4 % of what could be compared is overexposed and left out: expose shorter.
              - too few scratches are seen to say much: more of them near the lamp, a
                sharper or a closer photograph would help.

            seen.png shows scratches that stand out one by one, orange on the untouched half
            and blue on the worked half; a cross on the lamp; darkened what was not
            compared. Check that they are scratches. The shares count the fainter ones too.

            To teach a plan what these sets take, print the photograph as a row of the job's
            defects.csv: the same command with --row SPOT,PANEL,AFTER, like --row 'spot
            1,boot lid,finish:2'.
        "#]]
        .assert_eq(&told);
    }
}
