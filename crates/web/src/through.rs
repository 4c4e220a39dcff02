//! Where the topcoat was gone through, told on every page that says something of that panel's film: what is told of its film is of all other places.

use lastmicron_job::fold::{Deed, Standing, Work};
use maud::{Markup, html};

/// A sentence for each place on the panel, or on any.
pub(crate) fn told(standing: &Standing, panel: Option<usize>) -> Vec<String> {
    let name = |panel: usize| standing.panels.get(panel).map_or("", |panel| panel.panel.name.as_str());
    let of = |work: &Work| match &work.deed {
        Deed::GoneThrough(on, [x, y], note) if panel.is_none_or(|panel| panel == *on) => {
            Some(format!("The topcoat of the {} was gone through at {x:.0} mm across, {y:.0} mm up ({}): {note}", name(*on), work.who))
        }
        _ => None,
    };
    standing.work.iter().filter_map(of).collect()
}

/// The same, and that figures are of all other places.
pub(crate) fn warned(standing: &Standing, panel: Option<usize>) -> Markup {
    html! {
        @for words in told(standing, panel) {
            p.stop { (words.trim_end_matches('.')) ". What is told here of film and chances is of all other places." }
        }
    }
}
