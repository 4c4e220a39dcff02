//! What a plan stands on: findings, rates, the curve of correction, assumptions; and the usual care.

use lastmicron_look::{Count, Kind};
use lastmicron_plan::{Car, Finding, Interval, Outcome};

use super::panels::sentence;
use super::words::{Say, wrapped};

/// Points of the curve that are printed.
const POINTS: usize = 6;

/// The usual care, where the hand is.
const CAUTIONS: [&str; 8] = [
    "Old paint: it may hold lead or chromate, in yellow, orange, red and primers most often. Have it tested or take it as if it did: work wet, no dry sanding, no air line, a fitted respirator, hands washed before eating, residue kept as hazardous waste.",
    "Isocyanates: two-component paint that is fresh or gets hot can give them off, and they sensitise for good. Keep it cool; stop with anybody who wheezes.",
    "Vibration: count trigger time. In the EU action is due from 2.5 m/s2 over eight hours, and 5 m/s2 is the limit (2002/44/EC); `lastmicron compute vibration` adds it up.",
    "Noise: protect hearing from 80 dB(A) on; `lastmicron compute noise` adds it up.",
    "Solvents: ventilate, keep sparks and hot lamps away, wear the gloves that the data sheet names, put used cloths into a closed metal bin.",
    "Lifts and electricity: nobody under a vehicle on a jack alone; a residual-current device where floors are wet; high-voltage vehicles for those licensed for them.",
    "Waste water: collect slurry and residue; the storm drain is hardly ever allowed.",
    "The paint: what is taken off doesn't grow back. Test spot first; read again as you go; stop where a reading is lower than this plan expects.",
];
const PREVAIL: &str = "This is the usual care, not legal advice: local law, data sheets and licensed practice come first.";

pub(super) fn text(car: &Car, outcome: &Outcome, say: Say) -> String {
    let mut text = String::new();
    if !outcome.findings.is_empty() {
        text += "\nFound on the way\n";
        for finding in &outcome.findings {
            text += &item(&found(car, finding));
        }
    }
    text += &rates(car, outcome, say);
    text += &curve(outcome, say);
    text += &rests_on(&car.counts);
    if !outcome.assumptions.is_empty() {
        text += "\nAssumed where the job states nothing\n";
        for assumption in &outcome.assumptions {
            text += &item(assumption);
        }
    }
    text + &cautions()
}

/// The usual care.
pub(crate) fn cautions() -> String {
    let items: String = CAUTIONS.into_iter().map(item).collect();
    format!("\nCautions\n{items}{}", wrapped(PREVAIL, "", ""))
}

fn item(words: &str) -> String {
    wrapped(&sentence(words), "  - ", "    ")
}

fn found(car: &Car, finding: &Finding) -> String {
    let panel = finding.panel.and_then(|panel| car.panels.get(panel)).map(|panel| panel.panel.name.clone());
    let line = finding.line.map(|line| format!("readings.csv, line {line}"));
    let place: Vec<String> = line.into_iter().chain(panel).collect();
    if place.is_empty() { finding.sentence.clone() } else { format!("{}: {}", place.join(", "), finding.sentence) }
}

fn rates(car: &Car, outcome: &Outcome, say: Say) -> String {
    if outcome.rates.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nWhat one set takes\n");
    for rate in &outcome.rates {
        let name = car.processes.get(rate.process).map_or("a process that is not known", |process| process.name.as_str());
        text += &item(&format!(
            "{name}: {} as now believed; {} before anything was measured",
            say.rate(rate.posterior_um),
            say.rate(rate.prior_um)
        ));
    }
    text
}

fn curve(outcome: &Outcome, say: Say) -> String {
    let mut text = String::from("\nDefects gone against film removed\n");
    let last = outcome.curve.len().saturating_sub(1);
    if last == 0 {
        return text + "  not known\n";
    }
    let picked: std::collections::BTreeSet<usize> = (0..POINTS).map(|i| i * last / (POINTS - 1)).collect();
    for (depth_um, gone) in picked.into_iter().filter_map(|i| outcome.curve.get(i)) {
        text += &item(&format!("{} {}: {}", say.bare(*depth_um), say.unit, say.share(*gone)));
    }
    if outcome.bend_um.is_finite() {
        let there = gone_at(&outcome.curve, outcome.bend_um).map_or_else(String::new, |gone| format!(", with {} gone", say.share(gone)));
        let bend = format!(
            "The curve bends at about {} {}{there}: beyond it the last per cent cost more film than they are worth as a rule",
            say.bare(outcome.bend_um),
            say.unit
        );
        text += &wrapped(&sentence(&bend), "  ", "  ");
    } else {
        text += "  Where the curve bends is not known.\n";
    }
    text
}

/// What was looked at of defects that a plan learns their depths from; of none a finding tells.
fn rests_on(counts: &[Count]) -> String {
    let fine = || counts.iter().filter(|count| count.kind == Kind::Fine);
    let photographs = fine().filter(|count| count.is_measured()).count();
    let by_eye = fine().count() - photographs;
    let some = |count: usize, one: &str, more: &str| match count {
        0 => None,
        1 => Some(format!("1 {one}")),
        _ => Some(format!("{count} {more}")),
    };
    let looked: Vec<String> =
        [some(by_eye, "count by eye", "counts by eye"), some(photographs, "photograph", "photographs")].into_iter().flatten().collect();
    if looked.is_empty() {
        return String::new();
    }
    wrapped(&sentence(&format!("How deep defects are rests on {}", looked.join(" and "))), "  ", "  ")
}

/// The curve at a depth, between its points.
fn gone_at(curve: &[(f64, Interval)], depth_um: f64) -> Option<Interval> {
    let pair = curve.windows(2).find_map(|pair| match pair {
        [a, b] if (a.0..=b.0).contains(&depth_um) && b.0 > a.0 => Some((a, b)),
        _ => None,
    });
    let ((at, a), (to, b)) = pair?;
    let t = (depth_um - at) / (to - at);
    let between = |a: f64, b: f64| a + t * (b - a);
    Some(Interval { mean: between(a.mean, b.mean), p05: between(a.p05, b.p05), p95: between(a.p95, b.p95) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_look::Seen;

    #[test]
    fn what_depths_rest_on_is_told_in_singular_and_plural() {
        let row = |seen: Seen, share_between: Option<[f64; 2]>, kind: Kind| Count {
            spot: "spot 1".to_owned(),
            panel: 0,
            after: vec![(0, 1)],
            seen,
            share_between,
            kind,
            wiped: true,
        };
        let photograph = row(Seen::ShareLeft(0.2), Some([0.1, 0.3]), Kind::Fine);
        let (count, haze) = (row(Seen::Count(20), None, Kind::Fine), row(Seen::Count(3), None, Kind::Haze));
        let check = |counts: &[&Count], told: &str| {
            assert_eq!(rests_on(&counts.iter().map(|count| (*count).clone()).collect::<Vec<_>>()), told);
        };
        check(&[&photograph], "  How deep defects are rests on 1 photograph.\n");
        check(&[&count, &photograph, &photograph], "  How deep defects are rests on 1 count by eye and 2 photographs.\n");
        check(&[&count, &count, &haze], "  How deep defects are rests on 2 counts by eye.\n");
        check(&[&haze], "");
    }
}
