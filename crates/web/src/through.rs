//! Where the topcoat was gone through, told on every page that says something of that panel's film: what is told of its film is of all other places.

use lastmicron_job::fold::{Deed, Standing, Work};
use maud::{Markup, html};

use crate::field::{Field, Need};
use crate::preference::Preferences;

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
            p.stop { (words.trim_end_matches('.')) ". No estimate learns from that: what is told here of film and chances is of other places. Work nothing near it by them." }
        }
    }
}

/// The way to say that work on a panel goes on in spite of it, for whoever may.
pub(crate) fn decided(panel: &str, preferences: &Preferences) -> Markup {
    if !preferences.offers(lastmicron_access::Deed::Agree) {
        return html! { p.quiet { "An owner of the workshop says whether this panel is gone on with." } };
    }
    html! {
        details id="go-on" {
            summary { "It was decided to go on with this panel" }
            p.caution { "What was found there may hold elsewhere on it too: read before more is done. Nothing near the place is worked even then." }
            form.stack data-record data-event="went-on" data-said="It is recorded. The panel may be planned and worked again." {
                input type="hidden" name="panel" value=(panel);
                (Field { name: "why", label: "Who decided, and why", value: "", help: "" }.of("went-on").text(Need::Must))
                button.second.wide { "Go on in spite of it" }
            }
        }
    }
}
