//! What was measured, photographed and noted.

use lastmicron_film::gauge::{Gauge, Layer};
use lastmicron_job::event::When;
use lastmicron_job::fold::{Session, Shim, Standing};

use super::done::panel_name;
use crate::document::Fact;
use crate::facts::fact;
use crate::panel_sheet::{NAME_CHARS, SENTENCE_CHARS};
use crate::printable::cut;
use crate::ranges::grouped;

/// An instant to the minute, with its offset left to the record.
pub(super) fn minute(when: &When) -> String {
    when.as_str().chars().take(16).map(|c| if c == 'T' { ' ' } else { c }).collect()
}

/// Readings, gauges and their checks.
pub(super) fn measured(standing: &Standing) -> Vec<Fact> {
    let of = |wanted: &dyn Fn(&lastmicron_plan::Reading) -> bool| standing.readings.iter().filter(|taken| wanted(&taken.reading)).count();
    let kinds = [("total film", Layer::Total), ("undercoat", Layer::Undercoat), ("topcoat", Layer::Topcoat)];
    let counts: Vec<String> = kinds
        .into_iter()
        .map(|(name, layer)| (name, of(&|r| r.layer == layer)))
        .filter(|(_, n)| *n > 0)
        .map(|(name, n)| format!("{n} of {name}"))
        .collect();
    let counts = if counts.is_empty() { String::new() } else { format!(" ({})", counts.join(", ")) };
    let after = of(&|r| !r.after.is_empty());
    let mut facts = vec![fact("Readings", format!("{}{counts}; {after} of them where sets had been done", standing.readings.len()))];
    facts.extend(standing.gauges.iter().map(|gauge| fact(&gauge_name(gauge), gauge_words(gauge))));
    facts.extend(
        standing.sessions.iter().map(|session| fact(&format!("Session {}", cut(&session.name, NAME_CHARS)), checks(standing, session))),
    );
    if standing.sessions.is_empty() {
        facts.push(fact("Gauge checks", "none are recorded: how far the gauge was off is taken from its maker's statement".to_owned()));
    }
    facts
}

/// What a gauge is called.
pub(super) fn gauge_name(gauge: &Gauge) -> String {
    if gauge.name.is_empty() { "The gauge".to_owned() } else { format!("Gauge {}", cut(&gauge.name, NAME_CHARS)) }
}

fn gauge_words(gauge: &Gauge) -> String {
    let through = if gauge.through_um > 0.0 { format!("; a clean film of {} um under the probe", gauge.through_um) } else { String::new() };
    format!("\u{b1}({} um + {} %) by its maker; repeats within {} um (sd){through}", gauge.fixed_um, gauge.percent, gauge.repeatability_um)
}

fn checks(standing: &Standing, session: &Session) -> String {
    let gauge = standing.gauges.get(session.gauge).map(|gauge| gauge_name(gauge).to_lowercase()).unwrap_or_default();
    let shims = |name: &str, shims: &[Shim]| {
        let shim = |shim: &Shim| {
            let shown: Vec<String> = shim.shown.iter().take(8).map(ToString::to_string).collect();
            format!("{} showed {}", shim.shim, if shown.is_empty() { "nothing".to_owned() } else { shown.join(", ") })
        };
        let all: Vec<String> = shims.iter().take(6).map(shim).collect();
        if all.is_empty() { format!("no check at the {name}") } else { format!("at the {name} {}", all.join("; ")) }
    };
    let [before, after] = [shims("start", &session.before), shims("end", &session.after)];
    cut(&format!("{}, {gauge}: {before}; {after}", minute(&session.began)), SENTENCE_CHARS)
}

/// Photographs, by the hash of their bytes.
pub(super) fn photographs(standing: &Standing) -> Vec<Fact> {
    let line = |photograph: &lastmicron_job::fold::Attached| {
        let panel = photograph.panel.map(|panel| panel_name(standing, panel));
        let spot = photograph.spot.and_then(|spot| standing.spots.get(spot)).map(|spot| format!("spot {}", cut(&spot.name, NAME_CHARS)));
        let note = Some(cut(photograph.note.trim(), SENTENCE_CHARS / 4)).filter(|note| !note.is_empty());
        let parts: Vec<String> = [Some(minute(&photograph.when)), panel, spot, note].into_iter().flatten().collect();
        fact(&parts.join("; "), grouped(photograph.photograph))
    };
    standing.photographs.iter().map(line).collect()
}

/// Notes taken on the job.
pub(super) fn notes(standing: &Standing) -> Vec<Fact> {
    let line = |note: &lastmicron_job::fold::Jotted| {
        let about = note.panel.map(|panel| format!("; {}", panel_name(standing, panel))).unwrap_or_default();
        fact(&format!("{}{about}", minute(&note.when)), cut(note.text.trim(), SENTENCE_CHARS))
    };
    standing.notes.iter().map(line).collect()
}
