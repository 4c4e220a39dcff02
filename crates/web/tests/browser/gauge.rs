//! A gauge that acts as a keyboard.

use lastmicron_job::event::Body;

use crate::bay::{Bay, in_bay};
use crate::car;

#[test]
fn numbers_sent_by_a_gauge_are_taken_and_the_next_place_appears_without_touching_the_screen() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let before = bay.events(car::job()).len();
        let device = bay.device().await;
        device.open_as("M.", "dark", &format!("/jobs/{}/survey/bonnet", car::job())).await;
        device.waits_for("document.querySelector('#place').dataset.x").await;
        let place =
            device.runs("return document.querySelector('#place').dataset.x + ',' + document.querySelector('#place').dataset.y").await;
        device.types("70.3").await;
        device.waits_for("document.getElementById('echo').textContent === '70.3'").await;
        device.types("\u{e007}").await;
        device.shows("Read here: 7").await;
        device
            .waits_for(&format!(
                "document.querySelector('#place').dataset.x + ',' + document.querySelector('#place').dataset.y !== {place}"
            ))
            .await;
        let Body::ReadingTaken(taken) = &bay.events(car::job())[before].body else { panic!("no reading") };
        assert_eq!((taken.value.number.as_str(), taken.value.unit.as_str(), taken.session.as_deref()), ("70.3", "um", Some("a")));
        assert_eq!(format!("\"{},{}\"", taken.x_mm, taken.y_mm), place.to_string());
        // What is not to be expected is asked about, and a gauge that goes on sending confirms nothing.
        device.enters("7.03\u{e007}").await;
        device.waits_for("document.getElementById('asked').open").await;
        device.shows("7.03 um?").await;
        device.types("\u{e007}").await;
        device.waits_for("!document.getElementById('asked').open").await;
        assert_eq!(bay.events(car::job()).len(), before + 1);
        // A comma is never guessed to be a point, but may be said to be one.
        device.enters("70,9\u{e007}").await;
        device.presses("It was 70.9 um").await;
        device.shows("Read here: 8").await;
        // Undone at once.
        device.presses("Undo").await;
        device.shows("Read here: 7").await;
        assert!(matches!(bay.events(car::job()).last().unwrap().body, Body::StruckOut(_)));
        assert_eq!(device.complaints().await, Vec::<String>::new());
        device.leaves().await;
    });
}

#[test]
fn a_reading_can_be_taken_elsewhere_by_a_tap_and_by_number_on_the_own_pad() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &format!("/jobs/{}/survey/left%20door", car::job())).await;
        device.taps("#map svg", [0.5, 0.4]).await;
        device.shows("Read instead at").await;
        for key in ["6", "6", ".", "1"] {
            device.presses(key).await;
        }
        device.presses("Take it").await;
        device.shows("Read here: 5").await;
        device.presses("Again at the last place").await;
        device.shows("Once more at").await;
        device.enters("66.4\u{e007}").await;
        device.shows("Read here: 6").await;
        let places: Vec<(String, String)> = bay
            .events(car::job())
            .into_iter()
            .rev()
            .take(2)
            .filter_map(|event| match event.body {
                Body::ReadingTaken(taken) => Some((taken.x_mm, taken.y_mm)),
                _ => None,
            })
            .collect();
        assert_eq!(places[0], places[1]);
        device.leaves().await;
    });
}

#[test]
fn an_undercoat_reading_is_filed_where_somebody_said_that_there_is_no_topcoat() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &format!("/jobs/{}/survey/left%20door", car::job())).await;
        device.taps("#undercoat", [0.5, 0.5]).await;
        device.enters("31.4\u{e007}").await;
        device.shows("Mark on the map where there is no topcoat").await;
        device.taps("#map svg", [0.5, 0.4]).await;
        device.shows("Read instead at").await;
        device.presses("Take it").await;
        device.shows("Read here: 5").await;
        let event = bay.events(car::job()).pop().unwrap();
        assert!(
            matches!(event.body, Body::ReadingTaken(taken) if taken.layer.as_deref() == Some("undercoat") && taken.value.number == "31.4")
        );
        device.leaves().await;
    });
}
