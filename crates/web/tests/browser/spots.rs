//! A test spot, marked with one hand.

use lastmicron_job::event::{Body, Event};
use serde_json::json;

use crate::bay::{Bay, Device, in_bay};
use crate::car;

/// The last spot that was marked: name, panel, corner and size, mm.
fn marked(events: &[Event]) -> [String; 6] {
    let last =
        events.iter().rev().find_map(|event| if let Body::SpotMarked(said) = &event.body { Some(said.clone()) } else { None }).unwrap();
    let mm = |of: Option<String>| of.unwrap_or_default();
    [last.spot, last.panel, mm(last.x_mm), mm(last.y_mm), mm(last.width_mm), mm(last.height_mm)]
}

async fn value(device: &Device, name: &str) -> String {
    let value =
        device.runs(&format!("return document.querySelector('form[data-event=spot-marked]').elements[{}].value", json!(name))).await;
    value.as_str().unwrap().to_owned()
}

#[test]
fn a_spot_is_marked_by_a_tap_on_the_map_and_stays_within_the_panel() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &format!("/jobs/{}/spots?panel=bonnet", car::job())).await;
        assert_eq!(device.runs("return document.querySelectorAll('#map .elsewhere').length").await, 0);
        // On the bonnet's very rim: its corner is held within 1100 by 900 mm.
        device.taps("#map svg path.outline", [0.999, 0.5]).await;
        device.shows("150 by 150 mm, from 950 mm across and ").await;
        assert_eq!(value(&device, "x_mm").await, "950");
        let up: f64 = value(&device, "y_mm").await.parse().unwrap();
        assert!((up - 375.0).abs() < 12.0, "{up}");
        // What the fields say lies on the map where it was tapped, and goes with what is typed.
        let middle = "const box = document.querySelector('#map .elsewhere .line').getBoundingClientRect(), of = document.querySelector('#map svg path.outline').getBoundingClientRect(); return [(box.x + box.width / 2 - of.x) / of.width, (of.bottom - box.y - box.height / 2) / of.height]";
        let near = |found: &serde_json::Value, x: f64, y: f64| {
            (found[0].as_f64().unwrap() - x).abs() < 0.02 && (found[1].as_f64().unwrap() - y).abs() < 0.02
        };
        let found = device.runs(middle).await;
        assert!(near(&found, 1025.0 / 1100.0, (up + 75.0) / 900.0), "{found}");
        device.pictured("spot-tapped-360-bright").await;
        device.fills("Its lower left corner: across", "100").await;
        device.fills("and up", "200").await;
        let found = device.runs(middle).await;
        assert!(near(&found, 175.0 / 1100.0, 275.0 / 900.0), "{found}");
        device.presses("Mark it").await;
        device.shows("spot 2 on the bonnet").await;
        assert_eq!(marked(&bay.events(car::job())), ["spot 2", "bonnet", "100", "200", "150", "150"]);
        // The next on the page is to read it, and the form offers another name.
        device.shows("Next: read it, before the first set").await;
        assert_eq!(value(&device, "spot").await, "spot 3");
        // It lies on the map from now on where it was marked.
        device.open(&format!("/jobs/{}/spots?panel=bonnet", car::job())).await;
        let found = device.runs(&middle.replace(".elsewhere .line", ".spot-outline")).await;
        assert!(near(&found, 175.0 / 1100.0, 275.0 / 900.0), "{found}");
        assert_eq!(device.complaints().await, Vec::<String>::new());
        device.leaves().await;
    });
}

#[test]
fn the_name_that_is_proposed_follows_what_others_mark_and_one_that_was_typed_stays() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let path = format!("/jobs/{}/spots", car::job());
        let (marks, waits, typed) = (bay.device().await, bay.device().await, bay.device().await);
        for (device, who) in [(&marks, "M."), (&waits, "T."), (&typed, "J.")] {
            device.open_as(who, "bright", &path).await;
            device.presses("Mark another test spot").await;
            device.fills("Its lower left corner: across", "120").await;
        }
        typed.fills("Name", "by the aerial").await;
        marks.fills("and up", "130").await;
        marks.presses("Mark it").await;
        for device in [&waits, &typed] {
            device.shows("spot 2 on the roof").await;
            assert_eq!(value(device, "x_mm").await, "120", "what was typed is carried over");
        }
        assert_eq!((value(&waits, "spot").await.as_str(), value(&typed, "spot").await.as_str()), ("spot 3", "by the aerial"));
        waits.fills("and up", "500").await;
        waits.presses("Mark it").await;
        waits.shows("spot 3 on the roof").await;
        typed.shows("spot 3 on the roof").await;
        assert_eq!(value(&typed, "spot").await, "by the aerial");
        for device in [marks, waits, typed] {
            device.leaves().await;
        }
    });
}

#[test]
fn a_spot_in_each_state_is_fit_for_a_gloved_hand() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        let path = format!("/jobs/{}/spots", car::job());
        device.open_as("M.", "dark", &format!("{path}?panel=bonnet")).await;
        device.fills("Its lower left corner: across", "400").await;
        device.fills("and up", "375").await;
        device.presses("Mark it").await;
        device.shows("Next: read it, before the first set").await;
        crate::screens::holds(&device, "spot-to-read").await;
        device.presses("Read in the spot").await;
        device.shows("Read at 475 mm across, 450 mm up").await;
        device.enters("70.9\u{e007}").await;
        device.shows("Read here: 7").await;
        device.open(&path).await;
        device.shows("Next: count the defects before the first set").await;
        device.presses("Something else on this spot").await;
        crate::screens::holds(&device, "spot-to-count").await;
        device.fills("Scratches in the square", "41").await;
        device.presses("After a solvent wipe").await;
        device.presses("Record the count").await;
        device.shows("Next: work one set, mildest first").await;
        crate::screens::holds(&device, "spot-to-work").await;
        device.presses("One set of finish is done").await;
        device.shows("Next: wipe it, then look under the lamp").await;
        crate::screens::holds(&device, "spot-to-look-at").await;
        device.fills("Scratches in the square", "30").await;
        device.presses("After a solvent wipe").await;
        device.presses("Record the count").await;
        device.shows("Next: enough, or one more set?").await;
        crate::screens::holds(&device, "spot-to-decide").await;
        device.leaves().await;
    });
}
