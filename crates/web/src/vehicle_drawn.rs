//! The picture of the vehicle, each panel of which leads somewhere.

use lastmicron_body::{Body, Dimensions, Kind};
use lastmicron_draw::{OnPanel, Room, vehicle_picture};
use lastmicron_job::fold::Standing;
use maud::{Markup, PreEscaped, html};

/// Room of the picture, points: shown as wide as the screen.
const PICTURE: Room = Room { width_pt: 420.0, height_pt: 620.0 };

/// The vehicle's picture, with words on the panels that `on` names; a tap on a panel leads to `to` and its name. Nothing for a vehicle whose body is no
/// drawn one.
pub(crate) fn vehicle(standing: &Standing, on: &[(String, String)], chosen: Option<usize>, to: &str) -> Markup {
    let kind = standing.vehicle.as_ref().and_then(|vehicle| Kind::named(&vehicle.body));
    let Some(body) = kind.and_then(|kind| Body::new(kind, Dimensions::usual(kind)).ok()) else { return html! {} };
    let is_of_job = |name: &str| standing.panels.iter().any(|panel| panel.panel.name == name);
    let words = |name: &str| on.iter().find(|(panel, _)| panel == name).map(|(_, words)| words.clone()).unwrap_or_default();
    let on_panels: Vec<OnPanel> = body.panels().iter().map(|panel| OnPanel { words: words(panel.name()), fill: None }).collect();
    let of_body = chosen
        .and_then(|chosen| standing.panels.get(chosen))
        .and_then(|panel| body.panels().iter().position(|p| p.name() == panel.panel.name));
    let names: Vec<Option<&str>> = body.panels().iter().map(|panel| Some(panel.name()).filter(|name| is_of_job(name))).collect();
    let svg = vehicle_picture(&body, &on_panels, of_body, PICTURE).svg();
    html! { div.vehicle data-to=(to) data-panels=(serde_json::json!(names)) { (PreEscaped(svg)) } }
}
