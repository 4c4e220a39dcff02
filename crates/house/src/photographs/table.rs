//! How far off measurements were, as a table.

use std::fmt::Write as _;

use super::{Judged, Kind, What};

/// How far off the measurements of a group were. Shares, 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tally {
    /// How many photographs, or pairs.
    pub count: usize,
    /// Mean of how far off the estimates were, either way.
    pub mean_error: f64,
    /// Mean of how far above the truth they were.
    pub bias: f64,
    /// The farthest off.
    pub worst: f64,
    /// Share of the 95 % intervals that hold the truth.
    pub held: f64,
    /// Mean width of the intervals.
    pub width: f64,
}

/// One line of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What was photographed.
    pub kind: Kind,
    /// Which share.
    pub what: What,
    /// Name of the scene; none for all of them.
    pub scene: Option<String>,
    /// How far off.
    pub tally: Tally,
}

/// How far off these were; none of none. What could not be measured counts as an error of 1, without an interval.
#[must_use]
pub fn tally<'j>(judged: impl IntoIterator<Item = &'j Judged>, what: What) -> Option<Tally> {
    let mut tally = Tally { count: 0, mean_error: 0.0, bias: 0.0, worst: 0.0, held: 0.0, width: 0.0 };
    for judged in judged {
        let truth = what.of(judged.truth);
        let (error, is_held, width) = match &judged.found {
            Err(_) => (1.0, false, 0.0),
            Ok([gone, visible]) => {
                let share = match what {
                    What::Gone => gone,
                    What::Visible => visible,
                };
                (share.estimate - truth, (share.low..=share.high).contains(&truth), share.high - share.low)
            }
        };
        tally.count += 1;
        tally.mean_error += error.abs();
        tally.bias += error;
        tally.worst = tally.worst.max(error.abs());
        tally.held += f64::from(u8::from(is_held));
        tally.width += width;
    }
    let Tally { count, mean_error, bias, worst, held, width } = tally;
    let mean = |sum: f64| sum / count as f64;
    (count > 0).then(|| Tally { count, mean_error: mean(mean_error), bias: mean(bias), worst, held: mean(held), width: mean(width) })
}

/// By kind and share: a line a scene, as they come up, and one of all.
#[must_use]
pub fn lines(judged: &[Judged]) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut scenes: Vec<&str> = Vec::new();
    for Judged { scene, .. } in judged {
        if !scenes.contains(&scene.as_str()) {
            scenes.push(scene);
        }
    }
    for (kind, what) in [(Kind::Split, What::Gone), (Kind::Split, What::Visible), (Kind::Pair, What::Gone), (Kind::Pair, What::Visible)] {
        for scene in scenes.iter().map(|scene| Some(*scene)).chain([None]) {
            let of_it = judged.iter().filter(|j| j.kind == kind && scene.is_none_or(|scene| j.scene == scene));
            if let Some(tally) = tally(of_it, what) {
                lines.push(Line { kind, what, scene: scene.map(str::to_owned), tally });
            }
        }
    }
    lines
}

/// The lines as Markdown, and below them what could not be measured, and why.
#[must_use]
pub fn table(judged: &[Judged]) -> String {
    let mut text = String::from("| of | share | scene | n | mean error | bias | worst | intervals hold | width by mean error |\n");
    text.push_str("|---|---|---|---|---|---|---|---|---|\n");
    for Line { kind, what, scene, tally } in lines(judged) {
        let kind = match kind {
            Kind::Split => "split",
            Kind::Pair => "pair",
        };
        let what = match what {
            What::Gone => "gone",
            What::Visible => "visible",
        };
        let scene = scene.as_deref().unwrap_or("all");
        let Tally { count, mean_error, bias, worst, held, width } = tally;
        let by_error = if mean_error > 0.0 { format!("{:.1}", width / mean_error) } else { "-".to_owned() };
        let _ = writeln!(
            text,
            "| {kind} | {what} | {scene} | {count} | {mean_error:.3} | {bias:+.3} | {worst:.3} | {:.0} % | {by_error} |",
            100.0 * held
        );
    }
    let troubles = judged.iter().filter_map(|j| j.found.as_ref().err().map(|trouble| (j, trouble)));
    for (i, (judged, trouble)) in troubles.enumerate() {
        let gap = if i == 0 { "\n" } else { "" };
        let _ = writeln!(text, "{gap}{} ({}) could not be measured: {trouble}", judged.name, judged.scene);
    }
    text
}

#[cfg(test)]
mod tests {
    use lastmicron_look::scratches::{Estimate, Photograph, Trouble};

    use super::super::Truth;
    use super::*;

    fn judged(scene: &str, gone: [f64; 3], visible: [f64; 3]) -> Judged {
        let share = |[low, estimate, high]: [f64; 3]| Estimate { estimate, low, high };
        let found = Ok([share(gone), share(visible)]);
        Judged { kind: Kind::Split, scene: scene.to_owned(), name: "split 0".to_owned(), truth: Truth { gone: 0.5, visible: 0.75 }, found }
    }

    #[test]
    fn errors_are_counted_both_ways_and_intervals_by_whether_they_hold() {
        let both = [judged("a", [0.25, 0.375, 0.5], [0.75, 0.75, 0.75]), judged("b", [0.625, 0.75, 0.875], [0.0, 0.5, 0.625])];
        // [D] errors -0.125 and 0.25; 0 and -0.25
        let gone = Tally { count: 2, mean_error: 0.1875, bias: 0.0625, worst: 0.25, held: 0.5, width: 0.25 };
        let visible = Tally { count: 2, mean_error: 0.125, bias: -0.125, worst: 0.25, held: 0.5, width: 0.3125 };
        assert_eq!([tally(&both, What::Gone), tally(&both, What::Visible)], [Some(gone), Some(visible)]);
        assert_eq!(tally([], What::Gone), None);
    }

    #[test]
    fn what_could_not_be_measured_counts_in_full_and_is_named() {
        let mut lost = judged("b", [0.0; 3], [0.0; 3]);
        lost.found = Err(Trouble::NoLamp(Photograph::Only));
        let text = table(&[judged("a", [0.25, 0.375, 0.5], [0.75, 0.75, 0.75]), lost]);
        assert!(text.contains("| split | gone | a | 1 | 0.125 | -0.125 | 0.125 | 100 % | 2.0 |"), "{text}");
        assert!(text.contains("| split | visible | a | 1 | 0.000 | +0.000 | 0.000 | 100 % | - |"), "{text}");
        assert!(text.contains("| split | gone | b | 1 | 1.000 | +1.000 | 1.000 | 0 % | 0.0 |"), "{text}");
        assert!(text.contains("| split | gone | all | 2 | 0.562 |") || text.contains("| split | gone | all | 2 | 0.563 |"), "{text}");
        assert!(text.contains("\nsplit 0 (b) could not be measured: no lamp is seen"), "{text}");
    }
}
