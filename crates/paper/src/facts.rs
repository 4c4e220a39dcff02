//! The vehicle and the totals.

use lastmicron_draw::in_unit;
use lastmicron_film::gauge::Substrate;
use lastmicron_job::Job;
use lastmicron_plan::{Chance, Outcome, System};
use lastmicron_polish::Hardness;
use lastmicron_units::Unit;

use crate::document::Fact;
use crate::panel_sheet::NAME_CHARS;
use crate::printable::cut;
use crate::ranges::{film_range, percent, percent_range};

pub(crate) fn fact(name: &str, value: String) -> Fact {
    Fact { name: name.to_owned(), value }
}

/// What the vehicle is and what is known of it.
pub(crate) fn vehicle(job: &Job, outcome: &Outcome) -> Vec<Fact> {
    let car = &job.car;
    let measured = outcome.plan.panels.iter().filter(|p| p.measured).count();
    let mut facts = vec![fact("Body", cut(&job.body, NAME_CHARS))];
    facts.extend(job.built.map(|year| fact("Built", year.to_string())));
    facts.push(fact("Under the paint", substrate(job.substrate).to_owned()));
    facts.push(fact("Paint", paint(car.paint.system).to_owned() + if car.paint.metallic { ", metallic" } else { "" }));
    facts.extend(car.paint.hardness.map(|h| fact("How easily it marks", hardness(h).to_owned())));
    facts.push(fact("Panels", format!("{}, {measured} of them measured", car.panels.len())));
    facts.push(fact("Readings", car.readings.len().to_string()));
    facts
}

/// What the plan promises and within which limits.
pub(crate) fn totals(job: &Job, outcome: &Outcome, unit: Unit) -> Vec<Fact> {
    let (plan, limits, goal) = (&outcome.plan, &job.car.limits, &job.car.goal);
    let counted = |p: f64| Chance::counted(p, plan.films);
    let mut facts = vec![
        fact("Risk: any worked place ends below the floor", format!("{} (allowed: {})", counted(plan.risk), Chance::stated(limits.risk))),
        fact("Floor: least topcoat to leave anywhere", in_unit(limits.floor.micrometres(), unit)),
        fact(
            "Correction over the vehicle",
            format!("{}, 9 times in 10; goal {}", percent_range(&plan.correction), percent(goal.correction)),
        ),
        fact("Machine work", format!("{:.1} hours of {:.1}", plan.hours, goal.hours)),
        fact("Thinnest topcoat on the vehicle now", format!("{} {unit}, 9 times in 10", film_range(&outcome.smallest_um, unit))),
    ];
    let through = match limits.through_risk {
        Some(allowed) => format!("{} (allowed: {})", counted(plan.through_risk), Chance::stated(allowed)),
        None => format!("{} (no limit stated)", counted(plan.through_risk)),
    };
    facts.insert(1, fact("Risk: any worked place reaches the undercoat", through));
    let not_counted = plan.not_counted();
    if !not_counted.is_empty() {
        facts.insert(2, fact("Not in these risks: worked without having been measured", not_counted.join(", ")));
    }
    let spend = limits.spend.map_or_else(|| "no limit stated".to_owned(), |s| in_unit(s.micrometres(), unit));
    facts.push(fact("Most to take anywhere at this visit", spend));
    facts
}

pub(crate) const fn substrate(substrate: Substrate) -> &'static str {
    match substrate {
        Substrate::Steel => "steel",
        Substrate::Galvanised => "zinc-coated steel",
        Substrate::Aluminium => "aluminium",
        Substrate::Plastic => "plastic",
        Substrate::Unknown => "not stated",
    }
}

pub(crate) const fn paint(system: System) -> &'static str {
    match system {
        System::SingleStage => "single-stage",
        System::Lacquer => "lacquer",
        System::BaseClear => "colour under clear coat",
        System::TriCoat => "two colour coats under clear coat",
        System::Unknown => "system not stated",
    }
}

pub(crate) const fn hardness(hardness: Hardness) -> &'static str {
    match hardness {
        Hardness::VerySoft => "from a dry cloth (very soft)",
        Hardness::Soft => "from careless wiping (soft)",
        Hardness::Medium => "as most paint does",
        Hardness::Hard => "hardly from wiping (hard)",
        Hardness::VeryHard => "hardly even from harsh washing (very hard)",
    }
}
