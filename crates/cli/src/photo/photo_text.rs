//! Shares for a person.

use std::path::Path;

use lastmicron_look::scratches::{Estimate, Finding, Measured};

use super::row::TakenOf;
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

fn whole_percent(share: Estimate) -> f64 {
    (100.0 * share.estimate).round()
}

pub(super) fn text(measured: &Measured, halves: Halves, overlay: Option<&Path>) -> String {
    let [untouched, worked] = halves.words();
    let (first, others): (Vec<&Finding>, Vec<&Finding>) = measured.findings.iter().partition(|finding| puts_shares_in_doubt(finding));
    let mut text: String = first.iter().map(|finding| wrapped(&format!("Mind first: {finding}."), "", "") + "\n").collect();
    text += &if measured.findings.contains(&Finding::TooFew) { too_few(measured) } else { shares(measured) };
    text += &wrapped(IN_PROPORTION, "", "");
    if !others.is_empty() {
        text += "\nMind\n";
        text.extend(others.iter().map(|finding| wrapped(&format!("{finding}."), "  - ", "    ")));
    }
    if let Some(path) = overlay {
        let drawn = format!(
            "{} shows scratches that stand out one by one, orange {untouched} and blue {worked}; a cross on the lamp; darkened what was not compared. Check that they are scratches. The shares count the fainter ones too.",
            path.display()
        );
        text += &format!("\n{}", wrapped(&drawn, "", ""));
    }
    if let Some((_, why)) = TakenOf::refusal(&measured.findings) {
        return text + &format!("\n{}", wrapped(&format!("This gives no row of defects.csv: {why}."), "", ""));
    }
    let next = "To teach a plan what these sets take, print the photograph as a row of the job's defects.csv: the same command with --row SPOT,PANEL,AFTER, like --row 'spot 1,boot lid,finish:2'. The row takes the share of the length: a plan asks how many scratches are gone, and one that is only dimmer is still there.";
    text + &format!("\n{}", wrapped(next, "", ""))
}

fn shares(measured: &Measured) -> String {
    let gone = format!("{} of the scratch length is gone ({}).", percent(measured.gone), between(measured.gone));
    let visible = format!(
        "{} of what is seen of the scratches is gone ({}): their length times their brightness.{} A filler or wax dims them too: wipe with solvent first.",
        percent(measured.visible),
        between(measured.visible),
        if is_dimmer(measured) { MORE_IS_SEEN_TO_GO } else { "" }
    );
    wrapped(&gone, "", "") + &wrapped(&visible, "", "")
}

/// Whether the shares may be of something else than is meant.
const fn puts_shares_in_doubt(finding: &Finding) -> bool {
    matches!(finding, Finding::Swapped | Finding::Alike | Finding::Unregistered)
}

/// Of so wide an interval its middle says nothing.
fn too_few(measured: &Measured) -> String {
    let said = format!(
        "How much is gone can't be said: of the scratch length {}, and of what is seen of the scratches {}.",
        between(measured.gone),
        between(measured.visible)
    );
    wrapped(&said, "", "")
}

/// A share is never said to be all or nothing: the photograph can't show that.
fn percent(share: Estimate) -> String {
    match share.estimate {
        estimate if estimate > 0.999 => "over 99.9 %".into(),
        estimate if estimate < 0.001 => "under 0.1 %".into(),
        estimate => format!("{:.*} %", decimals(share), 100.0 * estimate),
    }
}

fn between(share: Estimate) -> String {
    let decimals = decimals(share);
    format!("{:.decimals$} to {:.decimals$} %, 19 times in 20", 100.0 * share.low, 100.0 * share.high)
}

/// Whole numbers where they tell the bounds apart, and from all and nothing.
fn decimals(share: Estimate) -> usize {
    let whole = |part: f64| (100.0 * part).round();
    let is_told = whole(share.low) < whole(share.high) && (1.0..=99.0).contains(&whole(share.estimate));
    if is_told { 0 } else { 1 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;
    use lastmicron_look::scratches::Photograph;

    fn measured(gone: f64, visible: f64) -> Measured {
        let share = |estimate: f64| Estimate { estimate, low: estimate - 0.05, high: estimate + 0.04 };
        Measured {
            gone: share(gone),
            visible: share(visible),
            untouched: Estimate { estimate: 0.0123, low: 0.01, high: 0.016 },
            worked: Estimate { estimate: 0.0017, low: 0.001, high: 0.003 },
            findings: vec![Finding::Overexposed { photograph: Photograph::Only, share: 0.04 }, Finding::Misfit],
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
              - 4 % of what could be compared in the photograph is overexposed and left out:
                expose shorter.
              - what is seen does not fit scratches of one kind under one lamp: the
                intervals are widened, but may still be too narrow. One small lamp, a flat
                part of one panel and the camera's least processed file fit best.

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

    #[test]
    fn nothing_is_said_to_be_all_gone_and_no_bounds_are_alike() {
        for ([low, estimate, high], said) in [
            ([0.9981, 0.9994, 0.9996], "over 99.9 % of the scratch length is gone (99.8 to 100.0 %"),
            ([0.99, 0.9961, 0.9996], "99.6 % of the scratch length is gone (99.0 to 100.0 %"),
            ([0.0, 0.0004, 0.002], "under 0.1 % of the scratch length is gone (0.0 to 0.2 %"),
            ([0.962, 0.9634, 0.9645], "96.3 % of the scratch length is gone (96.2 to 96.5 %"),
        ] {
            let told = text(&Measured { gone: Estimate { low, estimate, high }, ..measured(0.5, 0.5) }, Halves::OfOne, None);
            assert!(told.replace('\n', " ").contains(said), "{told}");
        }
    }

    #[test]
    fn of_too_few_scratches_only_the_bounds_are_said() {
        let gone = Estimate { low: 0.11, estimate: 0.97, high: 0.9996 };
        let told = text(&Measured { gone, visible: gone, findings: vec![Finding::TooFew], ..measured(0.5, 0.5) }, Halves::OfOne, None);
        expect![[r#"
            How much is gone can't be said: of the scratch length 11 to 100 %, 19 times in
            20, and of what is seen of the scratches 11 to 100 %, 19 times in 20."#]]
        .assert_eq(told.split("\n19 times").next().unwrap());
    }
}
