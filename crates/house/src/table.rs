//! The trial's table.

use std::fmt::Write as _;

use lastmicron_rehearsal::{Score, Tally, tally};

use crate::trial::Tried;

/// One line a family and limit, and one over all, as fixed-width text.
#[must_use]
pub fn table(tried: &[Tried]) -> String {
    let mut groups: Vec<(String, Vec<Score>)> = Vec::new();
    for car in tried {
        let key = format!("{} at {} %", car.family, 100.0 * car.risk);
        match groups.iter_mut().find(|(k, _)| *k == key) {
            Some((_, scores)) => scores.push(car.score),
            None => groups.push((key, vec![car.score])),
        }
    }
    groups.sort_by(|a, b| a.0.cmp(&b.0));
    groups.push(("all".to_owned(), tried.iter().map(|t| t.score).collect()));
    let mut text = heading();
    for (name, scores) in &groups {
        if let Some(tally) = tally(scores) {
            text.push_str(&line(name, &tally));
        }
    }
    text
}

fn heading() -> String {
    let columns = [
        "cars",
        "breaches",
        "allowed",
        "stated",
        "+-sd",
        "bench",
        "gone",
        "promised",
        "oracle",
        "share",
        "film um",
        "oracle um",
        "bench gone",
    ];
    let mut text = format!("{:<26}", "family at limit");
    for column in columns {
        let _ = write!(text, " {column:>10}");
    }
    text.push('\n');
    text
}

fn line(name: &str, t: &Tally) -> String {
    let mut text = format!(
        "{name:<26} {:>10} {:>10} {:>10.2} {:>10.2} {:>10.2} {:>10}",
        t.cars, t.breaches, t.allowed, t.stated, t.stated_sd, t.bench_breaches
    );
    let share = t.correction / t.oracle_correction;
    for figure in [t.correction, t.promised, t.oracle_correction, share] {
        let _ = write!(text, " {figure:>10.3}");
    }
    let _ = writeln!(text, " {:>10.2} {:>10.2} {:>10.3}", t.film_um, t.oracle_film_um, t.bench_correction);
    text
}
