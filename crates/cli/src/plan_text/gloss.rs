//! What gloss readings say, spot by spot.

use lastmicron_look::gloss::{Spot, State};
use lastmicron_plan::Car;
use lastmicron_polish::Step;

use super::panels::{sentence, steps};
use super::words::wrapped;

/// Nothing where nothing was read.
pub(super) fn text(car: &Car, spots: &[Spot]) -> String {
    if spots.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nGloss\n");
    text += &wrapped(
        "Beside the most that the top of a smooth coat can show. Ranges hold 19 times in 20. A gain may be scratches filled: wipe with solvent before reading.",
        "  ",
        "  ",
    );
    for spot in spots {
        let panel = car.panels.get(spot.panel).map_or("a panel that is not known", |panel| panel.panel.name.as_str());
        let (index, give) = (spot.index.value, spot.index.high - spot.index.value);
        let taken = if give > 0.0 { format!("not stated, {index:.2} give or take {give:.2}") } else { format!("{index:.3}") };
        text += &wrapped(&format!("{}, {panel} (index of the film: {taken})", spot.name), "  ", "    ");
        for state in &spot.states {
            text += &wrapped(&sentence(&told(car, state)), "  - ", "    ");
            if let Some(change) = state.change {
                text += &wrapped(&sentence(&format!("Since the reading before: {change}")), "    ", "    ");
            }
        }
    }
    text
}

fn told(car: &Car, state: &State) -> String {
    let done: Vec<Step> = state.after.iter().map(|(process, sets)| Step { process: *process, sets: *sets }).collect();
    let when = if done.is_empty() { "before work".to_owned() } else { format!("after {}", steps(car, &done)) };
    let levels = [state.gloss_20, state.gloss_60];
    let mut parts: Vec<String> = levels.into_iter().flatten().map(|level| level.to_string()).collect();
    match state.haze {
        Some(haze) => parts.push(haze.to_string()),
        None if levels.iter().all(Option::is_some) => parts.push("too dull for haze, which is judged above 70 at 60 degrees".to_owned()),
        None => {}
    }
    format!("{when}: {}", parts.join("; "))
}
