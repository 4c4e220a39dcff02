//! What was seen on a spot.

use lastmicron_job::fold::{Judged, Standing};
use lastmicron_look::{Kind, Seen};
use maud::{Markup, html};

use super::said::times;
use crate::history_page::strike;

/// Every look at a spot, each of which can be struck out.
pub(super) fn looks(at: usize, standing: &Standing) -> Markup {
    let of: Vec<&Judged> = standing.judged.iter().filter(|judged| judged.spot == at).collect();
    html! {
        @if !of.is_empty() {
            details id={ "looks-" (at) } {
                summary { "Looked at " (times(u32::try_from(of.len()).unwrap_or(u32::MAX))) }
                ol { @for judged in of { li { (look(judged, standing)) (strike(judged.event)) } } }
            }
        }
    }
}

fn look(judged: &Judged, standing: &Standing) -> String {
    let count = &judged.count;
    let after: Vec<String> = count
        .after
        .iter()
        .map(|(process, sets)| format!("{sets} {}", standing.processes.get(*process).map_or("", |process| &process.name)))
        .collect();
    let after = if after.is_empty() { "before any set".to_owned() } else { format!("after {}", after.join(", then ")) };
    let seen = match count.seen {
        Seen::Count(count) => format!("{count} counted"),
        Seen::ShareLeft(share) => format!("about {:.0} % left", 100.0 * share),
    };
    let of = match count.kind {
        Kind::Fine => "",
        Kind::Deep => " of the deep ones",
        Kind::Haze => " of the haze",
    };
    let wiped = if count.wiped { ", wiped" } else { ", not wiped: filling may hide some" };
    let haze = if judged.new_haze == Some(true) { ", new haze" } else { "" };
    format!("{after}: {seen}{of}{wiped}{haze} ({})", judged.who)
}
