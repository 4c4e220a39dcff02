//! What of a job was not done, and why.

use crate::fold::{Deed, Rectangle, Standing};

/// By name of the panel, what was stopped, left alone, begun and not ended, or never reached, each in a sentence; then what is to be said of an accepted plan
/// (`unbegun`, each with its panel's name: once the work has begun, what nobody began). What was stopped and done later was done. Before the work nothing is
/// undone but what is left alone.
#[must_use]
pub fn not_done(standing: &Standing, unbegun: &[(String, String)]) -> Vec<(String, String)> {
    let is_begun = standing.is_begun();
    let happened = standing.panels.iter().enumerate().flat_map(|(panel, of)| {
        let name = &of.panel.name;
        // Of a panel that nobody began the plan says more than that.
        let is_told = !is_begun || unbegun.iter().any(|(planned, _)| planned == name);
        of_panel(standing, panel, is_told).into_iter().map(|said| (name.clone(), said))
    });
    happened.chain(unbegun.iter().cloned()).collect()
}

fn of_panel(standing: &Standing, panel: usize, is_told: bool) -> Vec<String> {
    let mut said: Vec<(Option<Rectangle>, String)> = Vec::new();
    let mut open: Vec<Rectangle> = Vec::new();
    let mut is_gone_through = false;
    for work in &standing.work {
        match &work.deed {
            Deed::Started(on, ..) if on.panel == panel && !open.contains(on) => open.push(*on),
            Deed::Done(on) if on.panel == panel => {
                open.retain(|other| other != on);
                said.retain(|(other, _)| *other != Some(*on));
            }
            Deed::Stopped(on, reason) if on.panel == panel => {
                open.retain(|other| other != on);
                said.push((Some(*on), format!("Stopped at {} mm: {}", of_rectangle(on), why(reason))));
            }
            Deed::LeftAlone(on, section, reason) if *on == panel => {
                open.retain(|other| section.is_some_and(|section| section != *other));
                let what = section.as_ref().map_or_else(|| "Left alone".to_owned(), |s| format!("Left alone at {} mm", of_rectangle(s)));
                said.push((*section, format!("{what}: {}", why(reason))));
            }
            Deed::GoneThrough(on, ..) if *on == panel => is_gone_through = true,
            _ => {}
        }
    }
    let mut said: Vec<String> = said.into_iter().map(|(_, said)| said).collect();
    said.extend(open.iter().map(|on| format!("Begun at {} mm, and not recorded as done.", of_rectangle(on))));
    let is_worked = standing.worked.iter().any(|w| w.panel == panel && !w.after.is_empty());
    if !standing.panels.get(panel).is_none_or(|p| p.work) {
        said.push("To stay as it is: said so in the job.".to_owned());
    } else if !is_worked && !is_told && !is_gone_through && said.is_empty() {
        said.push("Never reached: no sets are recorded.".to_owned());
    }
    said
}

fn why(why: &str) -> &str {
    let why = why.trim();
    if why.is_empty() { "no reason was written down" } else { why }
}

fn of_rectangle(Rectangle { corner_mm: [x, y], size_mm: [w, h], .. }: &Rectangle) -> String {
    format!("x\u{a0}{x:.0}\u{2013}{:.0}, y\u{a0}{y:.0}\u{2013}{:.0}", x + w, y + h)
}
