//! The sealed truth, opened: where the bench rule would have gone too far, and what the plan left there.

use std::io::{self, Write};

use lastmicron_plan::Car;
use lastmicron_rehearsal::{Aftermath, PanelAftermath, PanelTruth, bench_rule, oracle, orders_of, work};

use super::{DemoError, Planned};

/// Works the plan and the bench rule on the truth, and says where each ended below the floor.
pub(super) fn write(planned: &Planned, out: &mut dyn Write) -> Result<(), DemoError> {
    let Planned { rehearsal, outcome } = planned;
    let by_plan = work(rehearsal, &orders_of(&outcome.plan))?;
    let by_bench = work(rehearsal, &bench_rule(&rehearsal.car))?;
    writeln!(out, "\nTHE SEALED TRUTH, OPENED")?;
    bench(&rehearsal.car, &rehearsal.truth.panels, &by_plan, &by_bench, out)?;
    plan(&rehearsal.car, &by_plan, out)?;
    let best = oracle(rehearsal);
    writeln!(
        out,
        "Defects gone: plan {:.0} %, bench rule {:.0} %, somebody who knew the truth {:.0} %. Film taken: {:.1}, {:.1} and {:.1} um.",
        100.0 * by_plan.correction,
        100.0 * by_bench.correction,
        100.0 * best.correction,
        by_plan.film_um,
        by_bench.film_um,
        best.film_um
    )?;
    Ok(())
}

fn bench(car: &Car, truth: &[PanelTruth], by_plan: &Aftermath, by_bench: &Aftermath, out: &mut dyn Write) -> io::Result<()> {
    let floor_um = car.limits.floor.micrometres();
    writeln!(
        out,
        "The bench rule (lowest reading, less the usual undercoat, less the floor; the same process everywhere) on the same car:"
    )?;
    let mut any = false;
    for (k, after) in by_bench.panels.iter().enumerate() {
        if let Some((at, below_um)) = below(after, floor_um) {
            any = true;
            let node = truth[k].node_at(at[0], at[1]);
            let (there_um, left_um) = (truth[k].topcoat_um[node], by_plan.panels[k].left_um[node]);
            let by_plan = if left_um < there_um { "the plan left" } else { "the plan stayed off and left" };
            writeln!(
                out,
                "  {:<36} {below_um:>4.1} um below the floor at {:.0}, {:.0} mm{}; there {by_plan} {}",
                car.panels[k].panel.name,
                at[0],
                at[1],
                if below_um > floor_um { ", through to the undercoat" } else { "" },
                beside_floor(left_um - floor_um)
            )?;
        }
    }
    if !any {
        writeln!(out, "  nowhere below the floor: on this car it would have gone well")?;
    }
    Ok(())
}

fn plan(car: &Car, by_plan: &Aftermath, out: &mut dyn Write) -> io::Result<()> {
    let floor_um = car.limits.floor.micrometres();
    let name = |k: usize| car.panels[k].panel.name.as_str();
    let measured = || by_plan.panels.iter().enumerate().filter(|(_, p)| p.measured);
    let worst: Vec<_> = measured().filter_map(|(k, p)| below(p, floor_um).map(|(at, um)| (k, at, um))).collect();
    for (k, at, below_um) in &worst {
        writeln!(out, "The plan went below the floor on the {} at {:.0}, {:.0} mm, by {below_um:.1} um.", name(*k), at[0], at[1])?;
    }
    let lowest = measured().filter_map(|(k, p)| p.lowest.map(|l| (k, l))).min_by(|a, b| a.1.topcoat_um.total_cmp(&b.1.topcoat_um));
    if let (true, Some((k, l))) = (worst.is_empty(), lowest) {
        let above_um = l.topcoat_um - floor_um;
        writeln!(
            out,
            "The plan went below it nowhere. It came nearest on the {} at {:.0}, {:.0} mm: {above_um:.1} um to spare.",
            name(k),
            l.x_mm,
            l.y_mm
        )?;
    }
    for (k, l) in by_plan.panels.iter().enumerate().filter(|(_, p)| !p.measured).filter_map(|(k, p)| p.lowest.map(|l| (k, l))) {
        writeln!(
            out,
            "The {} can't be measured and is outside the stated risk; the plan left {}.",
            name(k),
            beside_floor(l.topcoat_um - floor_um)
        )?;
    }
    Ok(())
}

/// The lowest worked place and how far below the floor it is, when it is.
fn below(after: &PanelAftermath, floor_um: f64) -> Option<([f64; 2], f64)> {
    let lowest = after.lowest?;
    (lowest.topcoat_um < floor_um).then_some(([lowest.x_mm, lowest.y_mm], floor_um - lowest.topcoat_um))
}

fn beside_floor(above_um: f64) -> String {
    if above_um < 0.0 { format!("{:.1} um below it", -above_um) } else { format!("{above_um:.1} um above it") }
}
