//! Answers that are slow or lost, and keys that come meanwhile.

use lastmicron_job::event::Body;

use crate::bay::{Bay, Device, in_bay};
use crate::car;

/// Answers to events: recorded, but not heard of before `fetch` is let go of; or recorded and lost on the way, `lost` times.
const SLOW: &str = "
    const real = window.fetch;
    window.fetch = async (address, with_) => {
        const answer = await real(address, with_);
        if (String(address).includes('/events')) await new Promise((go) => { window.letGo = go; });
        return answer;
    };";
const LOSSY: &str = "
    const real = window.fetch;
    window.fetch = async (address, with_) => {
        const answer = await real(address, with_);
        if (String(address).includes('/events') && window.lost > 0) { window.lost -= 1; throw new TypeError('lost'); }
        return answer;
    };";

/// A browser that keeps nothing for a page.
const KEEPS_NOTHING: &str = "IDBDatabase.prototype.transaction = () => { throw new Error('nothing is kept'); };";

/// What waited on the device has gone.
const GONE: &str = "document.getElementById('outbox').hidden";

pub(crate) fn numbers(bay: &Bay) -> Vec<String> {
    let events = bay.events(car::job());
    events
        .into_iter()
        .filter_map(|event| match event.body {
            Body::ReadingTaken(taken) => Some(taken.value.number),
            _ => None,
        })
        .collect()
}

async fn on_the_bonnet(bay: &Bay) -> Device {
    let device = bay.device().await;
    device.open_as("M.", "bright", &format!("/jobs/{}/survey/bonnet", car::job())).await;
    device.waits_for("document.querySelector('#place').dataset.x").await;
    device
}

#[test]
fn a_number_that_comes_while_another_is_taken_is_left_out_whole_and_told() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let before = numbers(bay).len();
        let device = on_the_bonnet(bay).await;
        device.runs(SLOW).await;
        device.types("70.3\u{e007}").await;
        device.waits_for("window.letGo").await;
        device.types("16").await;
        device.runs("window.letGo()").await;
        device.shows("Read here: 7").await;
        // The rest of that number comes when the next may be taken: its tail must not become a number.
        device.enters("3.2\u{e007}").await;
        device.shows("163.2 came while another was being taken, and was not taken: read it again.").await;
        device.enters("71.1\u{e007}").await;
        device.waits_for("window.letGo").await;
        device.runs("window.letGo()").await;
        device.shows("Read here: 8").await;
        assert_eq!(numbers(bay)[before..], ["70.3", "71.1"]);
        device.leaves().await;
    });
}

#[test]
fn a_reading_whose_answer_is_lost_is_recorded_once() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let before = numbers(bay).len();
        let device = on_the_bonnet(bay).await;
        device.runs(LOSSY).await;
        // Asked again by itself.
        device.runs("window.lost = 1").await;
        device.types("70.3\u{e007}").await;
        device.shows("70.3 um taken").await;
        // Lost more often than that, on a device that keeps it: it waits there, is sent again by itself, and the work goes on.
        device.waits_for("document.querySelector('#place').dataset.x").await;
        device.runs("window.lost = 4").await;
        device.enters("71.4\u{e007}").await;
        device.shows("71.4 um taken").await;
        device.shows("saved on this device").await;
        device.waits_for(GONE).await;
        device.shows("Read here: 8").await;
        device.waits_for("document.querySelector('#place').dataset.x").await;
        assert_eq!(numbers(bay)[before..], ["70.3", "71.4"]);
        // On one that keeps nothing the person asks again, and what the gauge sent since is not joined to it.
        device.runs(KEEPS_NOTHING).await;
        device.runs("window.lost = 3").await;
        device.enters("71.1\u{e007}").await;
        device.shows("it is not known whether this was recorded").await;
        device.enters("72.2\u{e007}").await;
        device.shows("72.2 came while another was being taken").await;
        device.enters("\u{e007}").await;
        device.shows("and once only").await;
        assert_eq!(numbers(bay)[before..], ["70.3", "71.4", "71.1"]);
        device.enters("70.9\u{e007}").await;
        device.shows("70.9 um taken").await;
        assert_eq!(numbers(bay)[before..], ["70.3", "71.4", "71.1", "70.9"]);
        device.leaves().await;
    });
}

#[test]
fn a_form_whose_answer_is_lost_is_recorded_once_and_a_finger_that_touches_twice_too() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        let panels = |bay: &Bay| bay.events(car::job()).iter().filter(|event| matches!(event.body, Body::PanelStated(_))).count();
        let before = panels(bay);
        device.open_as("M.", "bright", &format!("/jobs/{}/panels", car::job())).await;
        device.runs(LOSSY).await;
        device.runs(KEEPS_NOTHING).await;
        device.runs("window.lost = 3").await;
        for (label, text) in [("Name", "left jamb"), ("Width", "300"), ("Height", "900")] {
            device.fills(label, text).await;
        }
        device.presses("Add the panel").await;
        device.shows("it is not known whether this was recorded").await;
        // What is told is put away by a touch.
        device.taps("#refused", [0.5, 0.5]).await;
        device.presses("Add the panel").await;
        device.shows("The panel is added.").await;
        assert_eq!(panels(bay), before + 1);
        device.open(&format!("/jobs/{}", car::job())).await;
        device
            .runs("const form = [...document.querySelectorAll('form')].find((one) => one.innerText.includes('It is on the floor')); form.requestSubmit(); setTimeout(() => form.requestSubmit(), 300)")
            .await;
        device.waits_for("document.querySelector('#place .here')?.innerText.includes('It is on the floor')").await;
        tokio::time::sleep(std::time::Duration::from_millis(500)).await;
        let moved = bay.events(car::job()).iter().filter(|event| matches!(event.body, Body::StatusChanged(_))).count();
        assert_eq!(moved, 1);
        device.leaves().await;
    });
}
