//! The plan in brief: a line a panel.

use std::io::{self, Write};

use lastmicron_film::gauge::Layer;
use lastmicron_plan::{Car, Chance, PanelPlan, Plan};
use lastmicron_polish::Step;

use super::{Planned, estate};

/// Says what the car is, what was measured, and what the plan is.
pub(super) fn write(planned: &Planned, out: &mut dyn Write) -> io::Result<()> {
    let (car, plan) = (&planned.rehearsal.car, &planned.outcome.plan);
    writeln!(out, "{} ({}). An invented car: its true film is known, and sealed while it is planned.", estate::TITLE, estate::BUILT)?;
    writeln!(out, "{}\n", measured(car))?;
    writeln!(out, "{:<36} {:>8}  {:<44} {:>8} {:>6}  {:>10}", "THE PLAN", "readings", "sets", "leaves", "gone", "risk")?;
    for panel in &plan.panels {
        writeln!(out, "{}", line(car, panel, plan.films))?;
    }
    writeln!(out, "leaves: topcoat at the panel's thinnest worked place in um, this or more 19 times in 20\n")?;
    writeln!(out, "{}", closing(car, plan))
}

fn measured(car: &Car) -> String {
    let count = |layer: Layer| car.readings.iter().filter(|r| r.layer == layer).count();
    let spots = car.worked.len();
    format!(
        "{} panels; {} readings of the total film, {} of the undercoat; {spots} test patches with {} counts. Floor {:.0} um, allowed risk {}, goal {:.0} % in {:.0} hours.",
        car.panels.len(),
        count(Layer::Total),
        count(Layer::Undercoat),
        car.counts.len(),
        car.limits.floor.micrometres(),
        Chance::stated(car.limits.risk),
        100.0 * car.goal.correction,
        car.goal.hours
    )
}

fn line(car: &Car, panel: &PanelPlan, films: usize) -> String {
    let readings = car.readings.iter().filter(|r| r.panel == panel.panel).count();
    let (leaves, risk) = panel
        .leaves_p05_um()
        .map_or(("-".to_owned(), "-".to_owned()), |leaves| (format!("{leaves:.1}"), format!("{:#}", Chance::counted(panel.risk, films))));
    let sets = fit(&sets(car, panel), 44);
    format!("{:<36} {readings:>8}  {sets:<44} {leaves:>8} {:>4.0} %  {risk:>10}", panel.name, 100.0 * panel.gone())
}

/// `4: 2 one-step + 1 finish; 2: 1 finish; off 4 edges by 25 mm`, the commonest first, each with its number of sections.
fn sets(car: &Car, panel: &PanelPlan) -> String {
    let mut kinds: Vec<(&[Step], usize)> = Vec::new();
    for section in &panel.sections {
        match kinds.iter_mut().find(|(steps, _)| *steps == section.steps.as_slice()) {
            Some((_, count)) => *count += 1,
            None => kinds.push((&section.steps, 1)),
        }
    }
    kinds.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    let alone = kinds.len() == 1;
    let kind =
        |(steps, count): &(&[Step], usize)| if alone { steps_text(car, steps) } else { format!("{count}: {}", steps_text(car, steps)) };
    let mut text: Vec<String> = kinds.iter().map(kind).collect();
    if !panel.keep_off.is_empty() {
        let edges = panel.keep_off.len();
        let widest = panel.keep_off.iter().map(|k| k.mm).fold(0.0, f64::max);
        text.push(format!("off {edges} edge{} by {widest:.0} mm", if edges == 1 { "" } else { "s" }));
    }
    text.join("; ")
}

fn steps_text(car: &Car, steps: &[Step]) -> String {
    if steps.is_empty() {
        return "leave alone".to_owned();
    }
    let step = |s: &Step| format!("{} {}", s.sets, car.processes.get(s.process).map_or("?", |p| p.name.as_str()));
    steps.iter().map(step).collect::<Vec<_>>().join(" + ")
}

fn fit(text: &str, width: usize) -> String {
    if text.chars().count() <= width { text.to_owned() } else { format!("{}...", text.chars().take(width - 3).collect::<String>()) }
}

fn closing(car: &Car, plan: &Plan) -> String {
    let correction = plan.correction;
    format!(
        "Whole car: {:.0} % of the defects gone ({:.0} to {:.0} %, 9 times in 10) in {:.1} hours.\nThat any worked place of a measured panel ends below {:.0} um: {}. That any is worked through: {}.",
        100.0 * correction.mean,
        100.0 * correction.p05,
        100.0 * correction.p95,
        plan.hours,
        car.limits.floor.micrometres(),
        Chance::counted(plan.risk, plan.films),
        Chance::counted(plan.through_risk, plan.films)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_where_it_would_break_the_table() {
        assert_eq!(fit("abc", 5), "abc");
        assert_eq!(fit("abcdefgh", 5), "ab...");
    }
}
