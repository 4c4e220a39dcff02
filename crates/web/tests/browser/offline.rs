//! The network gone, and come back.

use std::collections::BTreeSet;
use std::time::{Duration, Instant};

use lastmicron_job::event::{Body, Event, Id};
use lastmicron_job::fold::fold;
use serde_json::json;

use crate::bay::{Bay, Device, in_bay};
use crate::car;
use crate::lost::numbers;

pub(crate) const ENTER: char = '\u{e007}';

/// The smallest picture there is: a PNG of one grey pixel.
const PIXEL: &str = "137,80,78,71,13,10,26,10,0,0,0,13,73,72,68,82,0,0,0,1,0,0,0,1,8,0,0,0,0,58,126,155,85,0,0,0,10,73,68,65,84,120,156,99,104,0,0,0,130,0,129,119,205,114,182,0,0,0,0,73,69,78,68,174,66,96,130";

fn pixel() -> Vec<u8> {
    PIXEL.split(',').map(|byte| byte.parse().unwrap()).collect()
}

/// What waits has gone.
const ALL_SENT: &str = "document.getElementById('outbox').hidden && document.getElementById('stood').textContent === ''";

fn job(end: &str) -> String {
    format!("/jobs/{}{end}", car::job())
}

/// Events that came to the record since there were so many: each once.
fn since(bay: &Bay, before: usize) -> Vec<Event> {
    let events = bay.events(car::job());
    let ids: BTreeSet<Id> = events.iter().map(|event| event.id).collect();
    assert_eq!(ids.len(), events.len(), "an event is there twice");
    events[before..].to_vec()
}

/// A module of the app, by what its name begins with.
fn module(name: &str) -> String {
    format!("await import(performance.getEntriesByType('resource').map((one) => one.name).find((one) => one.includes('/{name}-')))")
}

async fn taps_a_place(device: &Device, share: [f64; 2]) {
    device.taps("#map svg", share).await;
    device.shows("Read instead at").await;
}

#[test]
fn hashes_come_out_as_the_standard_has_them_with_and_without_the_browsers_own() {
    in_bay(async |bay: &Bay| {
        let device = bay.device().await;
        device.open("/").await;
        // FIPS 180-4 and its published examples: one block, two blocks, a million letters.
        let hashed = device
            .runs(&format!(
                "const {{ sha256, sha256Here, canonical }} = {}; const bytes = (text) => new TextEncoder().encode(text);
                 const texts = ['abc', 'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq', 'a'.repeat(1000000), ''];
                 const own = texts.map((text) => sha256Here(bytes(text)));
                 const browsers = await Promise.all(texts.map((text) => sha256(bytes(text))));
                 return [own, browsers, canonical({{ b: [true, 2, 'é\\n'], a: {{ d: null, c: 'x' }} }})]",
                module("sha256")
            ))
            .await;
        let wanted = json!([
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        ]);
        assert_eq!(hashed, json!([wanted, wanted, "{\"a\":{\"c\":\"x\"},\"b\":[true,2,\"é\\n\"]}"]));
        device.leaves().await;
    });
}

#[test]
fn survey_spot_and_work_go_on_without_the_network_and_each_is_recorded_once() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/plan")).await;
        device.presses("Accept this plan").await;
        device.shows("Accept it as it is now").await;
        device.open(&job("")).await;
        device.takes_along().await;
        let before = bay.events(car::job()).len();
        bay.stops();

        // Cold: a tab that has shown nothing yet.
        device.takes_another_tab().await;
        device.open("/").await;
        device.shows("Sage coupe").await;
        device.presses("Sage coupe").await;
        device.shows("Not connected: this is how it stood at").await;
        device.open(&job("/survey/bonnet")).await;
        device.waits_for("document.querySelector('#place').dataset.x").await;
        device.enters(&format!("70.3{ENTER}")).await;
        device.shows("saved on this device").await;
        device.shows("Mark the next place on the map.").await;
        // Nothing is read at a place that was computed for another film.
        device.enters(&format!("71.1{ENTER}")).await;
        device.shows("Mark the place on the map first.").await;
        device.enters("\u{e00c}").await;
        taps_a_place(&device, [0.5, 0.4]).await;
        for key in ["7", "1", ".", "2"] {
            device.presses(key).await;
        }
        device.presses("Take it").await;
        device.shows("2 saved, 0 sent").await;
        device.shows("2 recorded here since").await;
        // What is not to be expected is asked about all the same.
        taps_a_place(&device, [0.3, 0.3]).await;
        device.enters(&format!("7.03{ENTER}")).await;
        device.shows("7.03 um is not what was to be expected").await;
        device.presses("Read it again").await;

        device.open(&job("/spots")).await;
        device.shows("2 saved, 0 sent").await;
        device.presses("Something else on this spot").await;
        device.presses("One set of finish is done").await;
        device.shows("3 saved, 0 sent").await;
        device.open(&job("/plan")).await;
        device.shows("3 recorded here since").await;
        device.open(&job("/work")).await;
        device.presses("Start this section").await;
        device.shows("Recorded on this device and not sent yet: work started").await;
        device.presses("A set of").await;
        device.shows("5 saved, 0 sent").await;

        // The battery is dead; then the page is loaded anew, still without the network.
        let device = bay.dies_and_is_started_again(device).await;
        device.open(&job("/work")).await;
        device.shows("5 saved, 0 sent").await;
        device.shows("not sent yet: work started, set done").await;
        assert_eq!(since(bay, before), Vec::<Event>::new());

        bay.starts();
        device.waits_for(ALL_SENT).await;
        let kinds: Vec<&str> = since(bay, before)
            .iter()
            .map(|event| match &event.body {
                Body::ReadingTaken(_) => "reading",
                Body::SetDone(done) if done.spot.is_some() => "set on the spot",
                Body::SetDone(_) => "set",
                Body::WorkStarted(_) => "start",
                _ => "another",
            })
            .collect();
        assert_eq!(kinds, ["reading", "reading", "set on the spot", "start", "set"]);
        assert!(since(bay, before).iter().all(|event| event.who == "M."));
        assert!(fold(&bay.events(car::job())).unusable.is_empty());
        device.shows("M. is on the").await;
        device.leaves().await;
    });
}

#[test]
fn a_form_that_stayed_while_it_was_sent_is_made_anew_after_that() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let (device, other) = (bay.device().await, bay.device().await);
        device.open_as("M.", "bright", &job("/plan")).await;
        // As while it is being sent: what others record is shown around it, and the form itself stays.
        device.runs("document.querySelector('form[data-event=plan-accepted]').dataset.touched = 'yes'").await;
        other.open_as("J.", "bright", &job("/plan")).await;
        other.presses("Accept this plan").await;
        device.shows("by J.; since then 0 readings").await;
        device.shows("Accept this plan").await;
        let script = format!(
            "const done = arguments[arguments.length - 1]; (async () => {{ delete document.querySelector('form[data-event=plan-accepted]').dataset.touched; const {{ refresh }} = {}; await refresh(); done(); }})()",
            module("live")
        );
        device.runs_to_its_end(&script).await;
        device.shows("Accept it as it is now").await;
        device.leaves().await;
        other.leaves().await;
    });
}

/// Has a page state a panel, as a form of it does.
async fn states(device: &Device, name: &str) {
    let panel = json!({ "kind": "panel-stated", "name": name, "width_mm": "300", "height_mm": "900" });
    let script = format!(
        "const done = arguments[arguments.length - 1]; const {{ job }} = document.body.dataset; (async () => {{ const {{ event, handIn }} = {}; await handIn(job, [event(job, {panel})]); done(); }})()",
        module("record")
    );
    device.runs_to_its_end(&script).await;
}

/// Holds each answer of the page that is looked at, asked for to show it anew, until it is let go; pages that are taken along pass. `made` counts what was asked for.
const HOLDS: &str = "const holds = () => {
    const real = window.fetch;
    let isLetGo = false;
    Object.assign(window, { held: [], made: 0 });
    window.letGo = () => { isLetGo = true; window.held.forEach((go) => go()); };
    window.fetch = async (...with_) => {
        const isOfPage = with_[0] === location.href && with_[1].signal;
        if (isOfPage) window.made += 1;
        const answer = await real(...with_);
        if (isOfPage && !isLetGo) await new Promise((go) => { window.held.push(go); });
        return answer;
    };
};";

#[test]
fn a_page_that_is_to_be_made_anew_when_its_line_opens_is_made_once() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/panels")).await;
        device.shows("Add the panel").await;
        // What comes together is shown at once, and each page that is shown is counted.
        let told = "const later = window.setTimeout; window.setTimeout = (what, ms, ...with_) => later(what, ms === 50 ? 0 : ms, ...with_); window.shown = 0; document.addEventListener('refreshed', () => { window.shown += 1; });";
        device.runs(&format!("{HOLDS} holds(); {told}")).await;
        states(&device, "left jamb").await;
        device.waits_for("window.held.length === 1").await;
        // Another waits for the first to be there; meanwhile the line is gone, and opens.
        states(&device, "right jamb").await;
        bay.stops();
        device.shows("Not connected: this is how it stood at").await;
        bay.starts();
        device.waits_for("document.getElementById('stood').textContent.startsWith('This is how it stood at')").await;
        device.runs("window.letGo()").await;
        device.shows("right jamb").await;
        device.waits_for("window.shown === 2").await;
        assert_eq!(device.runs("return window.made").await, json!(2));
        device.leaves().await;
    });
}

#[test]
fn a_page_that_takes_long_to_be_made_is_not_said_to_be_not_connected() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/panels")).await;
        device.shows("Add the panel").await;
        bay.stops();
        device.shows("Not connected: this is how it stood at").await;
        // Pages are slow from now on; the line is not.
        device.runs(&format!("{HOLDS} holds()")).await;
        bay.starts();
        device
            .waits_for("window.held.length > 0 && document.getElementById('stood').textContent.startsWith('This is how it stood at')")
            .await;
        device.runs("window.letGo()").await;
        device.waits_for("document.getElementById('stood').textContent === ''").await;
        device.leaves().await;
    });
}

#[test]
fn a_page_rests_for_ten_seconds_at_most_and_not_after_its_line_was_gone() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/panels")).await;
        device.shows("Add the panel").await;
        // Every page takes an hour by this clock, and no rest of a page comes to its end by itself.
        device
            .runs("let hours = 0; performance.now = () => 3600000 * (hours += 1); window.rests = []; const real = window.setTimeout; window.setTimeout = (what, ms, ...with_) => { if (ms !== 10000 && ms < 3600000 || ms === undefined) return real(what, ms, ...with_); window.rests.push(ms); return 0; }")
            .await;
        states(&device, "left jamb").await;
        device.waits_for("window.rests.length > 0").await;
        states(&device, "right jamb").await;
        bay.stops();
        bay.starts();
        device.shows("left jamb").await;
        device.shows("right jamb").await;
        assert_eq!(device.runs("return window.rests.every((ms) => ms === 10000)").await, json!(true));
        device.leaves().await;
    });
}

#[test]
fn a_gateway_that_answers_200_is_no_receipt_and_its_page_takes_no_pages_place() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let before = numbers(bay).len();
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/survey/bonnet")).await;
        device.takes_along().await;
        device.waits_for("document.querySelector('#place').dataset.x").await;
        bay.is_behind_a_gateway();
        device.enters(&format!("70.3{ENTER}")).await;
        device.shows("saved on this device").await;
        device.open("/waiting").await;
        device.shows("1 saved, 0 sent").await;
        device.presses("Send now").await;
        device.shows("everything stays here").await;
        device.open(&job("/survey/bonnet")).await;
        device.shows("Not connected: this is how it stood at").await;
        device.shows("1 saved, 0 sent").await;
        assert_eq!(numbers(bay).len(), before);
        bay.starts();
        device.waits_for(ALL_SENT).await;
        assert_eq!(numbers(bay)[before..], ["70.3"]);
        device.leaves().await;
    });
}

#[test]
fn what_is_refused_is_looked_at_saved_to_a_file_and_put_aside_and_nothing_else_waits_for_it() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let taken = bay.events(car::job()).pop().unwrap();
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("")).await;
        // Another event under an id that is taken.
        let told = device
            .runs(&format!(
                "const {{ event, handIn }} = {}; const job = document.body.dataset.job;
                 return handIn(job, [{{ ...event(job, {{ kind: 'noted', text: 'runs on the sill' }}), id: '{}' }}]).then(() => 'taken', (failed) => failed.message)",
                module("record"),
                taken.id
            ))
            .await;
        assert!(told.as_str().unwrap().contains("another event has the id"), "{told}");
        device.shows("1 saved, 0 sent, 1 refused").await;
        device.open("/waiting").await;
        device.shows("noted: text runs on the sill").await;
        device.shows("Refused: another event has the id").await;
        assert!(device.breaches().await.unwrap_or_default().is_empty());
        // Others go past it.
        device.open(&job("/panels")).await;
        for (label, text) in [("Name", "left jamb"), ("Width", "300"), ("Height", "900")] {
            device.fills(label, text).await;
        }
        device.presses("Add the panel").await;
        device.shows("The panel is added.").await;
        device.open("/waiting").await;
        device.runs("const real = URL.createObjectURL; URL.createObjectURL = (blob) => { blob.text().then((text) => { window.saved = text; }); return real.call(URL, blob); }").await;
        device.presses("Save to a file").await;
        device.waits_for("window.saved").await;
        let saved = device.runs("return JSON.parse(window.saved)").await;
        assert_eq!((&saved[0]["id"], &saved[0]["body"]["text"]), (&json!(taken.id.to_string()), &json!("runs on the sill")));
        let brought = device.runs("return fetch('/records', { method: 'POST', body: window.saved }).then((answer) => answer.json())").await;
        assert!(brought["detail"].as_str().unwrap().contains("no events in it that are not refused"), "{brought}");
        device.presses("Put aside").await;
        device.waits_for("document.querySelector('#aside li') && document.getElementById('outbox').hidden").await;
        device.open("/waiting").await;
        device.shows("Put aside").await;
        device.shows("runs on the sill").await;
        device.leaves().await;
    });
}

#[test]
fn a_photograph_taken_without_the_network_comes_after_the_events_and_is_the_same() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/spots")).await;
        device.waits_for("document.querySelector('input[name=photograph]')").await;
        bay.stops();
        // Some parts long: what follows the picture is not looked at.
        device.runs(&format!("const bytes = new Uint8Array(700000); bytes.set([{PIXEL}]); const hand = new DataTransfer(); hand.items.add(new File([bytes], 'lamp.png', {{ type: 'image/png' }})); const input = document.querySelector('input[name=photograph]'); input.files = hand.files; input.dispatchEvent(new Event('input', {{ bubbles: true }}))")).await;
        device.presses("Something else on this spot").await;
        device.presses("Keep the photograph").await;
        device.shows("1 saved, 0 sent, 1 photograph waiting").await;
        bay.starts();
        device.waits_for("document.getElementById('outbox').hidden").await;
        let Body::PhotographAttached(attached) = bay.events(car::job()).pop().unwrap().body else { panic!("no photograph") };
        let kept = bay.kept(attached.photograph).unwrap();
        assert!(kept.len() == 700_000 && kept.starts_with(&pixel()));
        device.leaves().await;
    });
}

#[test]
fn a_photograph_whose_first_parts_a_power_cut_spoilt_is_sent_anew() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/spots")).await;
        bay.stops();
        let mut bytes = pixel();
        bytes.resize(700_000, 0);
        let digest = lastmicron_record::sha256(&bytes);
        device
            .runs(&format!(
                "const {{ keepBytes }} = {}; const bytes = new Uint8Array(700000); bytes.set([{PIXEL}]); await keepBytes('{digest}', '{}', bytes.buffer)",
                module("outbox"),
                car::job()
            ))
            .await;
        bay.has_part(digest, &[0; 256 * 1024]);
        bay.starts();
        device.runs("dispatchEvent(new Event('online'))").await;
        device.waits_for("document.getElementById('outbox').hidden").await;
        assert_eq!(bay.kept(digest), Some(bytes));
        device.leaves().await;
    });
}

/// How many readings and photographs waited: 40 and 3 unless the environment says otherwise (`5000,300`).
const WAITED: &str = "LASTMICRON_WAITED";
/// Readings of a car, on its three panels. Judgement: a car that is read closely.
const OF_A_CAR: usize = 500;
/// Bytes of each photograph that waited: what a phone makes of one that is to be sent on.
const OF_ONE: usize = 400_000;

#[test]
fn what_waited_for_days_goes_over_a_weak_line_and_each_is_there_once() {
    let asked = std::env::var(WAITED).unwrap_or_else(|_| "40,3".to_owned());
    let (readings, photographs) = asked.split_once(',').map(|(n, of)| (n.parse::<usize>().unwrap(), of.parse::<usize>().unwrap())).unwrap();
    in_bay(async |bay: &Bay| {
        let (jobs, events): (Vec<Id>, Vec<_>) = car::as_many(readings.div_ceil(OF_A_CAR).max(2)).into_iter().unzip();
        bay.record(events.concat());
        let before: Vec<usize> = jobs.iter().map(|job| bay.events(*job).len()).collect();
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/spots")).await;
        bay.stops();
        let (outbox, record, sha256) = (module("outbox"), module("record"), module("sha256"));
        let named = jobs.iter().map(|job| format!("'{job}'")).collect::<Vec<_>>().join(",");
        // In parts, as it was entered: a script has half a minute.
        for from in (0..readings).step_by(250) {
            let to = readings.min(from + 250);
            device
                .runs(&format!(
                    "const {{ keep }} = {outbox}; const {{ event }} = {record};
                     const jobs = [{named}];
                     const events = [];
                     for (let i = {from}; i < {to}; i += 1) {{
                         const k = Math.floor(i / jobs.length);
                         const place = {{ panel: ['bonnet', 'roof', 'left door'][k % 3], x_mm: String(25 + (k * 53) % 850), y_mm: String(25 + (k * 31) % 550) }};
                         events.push(event(jobs[i % jobs.length], {{ kind: 'reading-taken', ...place, value: {{ number: '70.3', unit: 'um' }} }}));
                     }}
                     await keep(events, 0)"
                ))
                .await;
        }
        for from in (0..photographs).step_by(10) {
            let to = photographs.min(from + 10);
            device
                .runs(&format!(
                    "const {{ keepBytes }} = {outbox}; const {{ sha256 }} = {sha256};
                     for (let i = {from}; i < {to}; i += 1) {{
                         const bytes = new Uint8Array({OF_ONE}); bytes.set([{PIXEL}]); new DataView(bytes.buffer).setUint32({OF_ONE} - 4, i);
                         await keepBytes(await sha256(bytes), '{}', bytes.buffer);
                     }}",
                    car::job()
                ))
                .await;
        }
        // 2 Mbit/s each way.
        device.has_a_line_of(250_000).await;
        bay.starts();
        let began = Instant::now();
        device.runs("dispatchEvent(new Event('online'))").await;
        device.sends_all(Duration::from_secs(1800)).await;
        println!(
            "{readings} readings and {photographs} photographs of {OF_ONE} bytes were there {:.0} s later",
            began.elapsed().as_secs_f64()
        );
        let came = jobs.iter().zip(&before).map(|(job, before)| bay.events(*job).len() - before).sum::<usize>();
        assert_eq!((came, bay.photographs()), (readings, photographs));
        device.leaves().await;
    });
}

#[test]
fn two_phones_that_were_away_send_what_they_have_in_any_order() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let before = numbers(bay).len();
        let (specialist, helper) = (bay.device().await, bay.device().await);
        for (device, who, panel) in [(&specialist, "M.", "bonnet"), (&helper, "T.", "roof")] {
            device.open_as(who, "bright", &job(&format!("/survey/{panel}"))).await;
            device.waits_for("document.querySelector('#place').dataset.x").await;
        }
        bay.stops();
        for (device, numbers) in [(&specialist, ["70.1", "70.4"]), (&helper, ["74.1", "74.6"])] {
            device.enters(&format!("{}{ENTER}", numbers[0])).await;
            device.shows("1 saved, 0 sent").await;
            taps_a_place(device, [0.5, 0.4]).await;
            device.enters(&format!("{}{ENTER}", numbers[1])).await;
            device.shows("2 saved, 0 sent").await;
        }
        bay.starts();
        for device in [&helper, &specialist] {
            device.waits_for(ALL_SENT).await;
        }
        let mut came = numbers(bay)[before..].to_vec();
        came.sort();
        assert_eq!(came, ["70.1", "70.4", "74.1", "74.6"]);
        since(bay, before);
        specialist.shows("Read here: 8").await;
        helper.shows("Read here: 6").await;
        specialist.leaves().await;
        helper.leaves().await;
    });
}

#[test]
fn a_panel_stated_anew_on_two_phones_that_were_away_is_told_and_settled_by_a_person() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let (specialist, helper) = (bay.device().await, bay.device().await);
        for (device, who) in [(&specialist, "M."), (&helper, "T.")] {
            device.open_as(who, "bright", &job("/panels")).await;
            device.presses("bonnet").await;
        }
        bay.stops();
        for (device, cares) in [(&specialist, "0.5"), (&helper, "0.7")] {
            device.fills("How much the eye cares", cares).await;
            device.presses("Record the panel").await;
            device.shows("1 saved, 0 sent").await;
        }
        bay.starts();
        for device in [&specialist, &helper] {
            device.waits_for(ALL_SENT).await;
            device.shows("M. said 0.5").await;
            device.shows("T. said 0.7").await;
        }
        assert_eq!(fold(&bay.events(car::job())).parallel.len(), 1);
        // Nothing is chosen for anybody.
        helper.presses("This holds").await;
        helper.presses("0.7 T.").await;
        helper.presses("This holds").await;
        helper.shows("Recorded: it is settled.").await;
        specialist.waits_for("!document.body.textContent.includes('T. said 0.7')").await;
        let settled = bay.events(car::job()).pop().unwrap();
        let Body::PanelStated(said) = &settled.body else { panic!("no panel") };
        assert_eq!((said.visibility.as_deref(), said.width_mm.as_deref()), (Some("0.7"), Some("1100")));
        assert_eq!((settled.who.as_str(), settled.over.map(|over| over.len())), ("T.", Some(2)));
        assert_eq!(fold(&bay.events(car::job())).parallel, []);
        specialist.leaves().await;
        helper.leaves().await;
    });
}

#[test]
fn a_page_that_was_left_before_the_database_was_there_keeps_nobody_from_it() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        device.open("/device").await;
        device.waits_for("navigator.serviceWorker.controller").await;
        // The browser takes its time to make what is asked for: another tab does.
        let takes_its_time = "const done = arguments[arguments.length - 1];
            dispatchEvent(new Event('pagehide'));
            indexedDB.deleteDatabase('lastmicron').onsuccess = () => {
                const asked = indexedDB.open('lastmicron', 1);
                asked.onupgradeneeded = () => {
                    const made = asked.result.createObjectStore('rows');
                    const again = () => { made.get(1).onsuccess = again; };
                    again();
                    done();
                };
            };";
        device.runs_to_its_end(takes_its_time).await;
        let slow = device.opens_another_tab().await;
        // Whoever taps at once is on the next page, and the browser has put away one that asked.
        device.open_as("M.", "bright", &job("/panels")).await;
        device.presses("bonnet").await;
        device.closes(slow).await;
        bay.stops();
        device.fills("How much the eye cares", "0.5").await;
        device.presses("Record the panel").await;
        device.shows("1 saved, 0 sent").await;
        device.leaves().await;
    });
}

#[test]
fn a_later_version_takes_over_when_nothing_waits_and_not_before() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let device = bay.device().await;
        device.open_as("M.", "bright", &job("/survey/bonnet")).await;
        device.waits_for("navigator.serviceWorker.controller && document.querySelector('#place').dataset.x").await;
        // A worker that still answers for a page is not replaced: what it takes along is there first.
        device.takes_along().await;
        bay.stops();
        device.enters(&format!("70.3{ENTER}")).await;
        device.shows("1 saved, 0 sent").await;
        // It stays: nobody sends it from this page any more.
        device.runs("const real = window.fetch; window.fetch = (address, given) => (String(address).includes('/events') && !window.letGo ? Promise.reject(new TypeError('held')) : real(address, given));").await;
        bay.starts_later_version();
        device
            .runs("setInterval(async () => { window.waits = (await navigator.serviceWorker.getRegistration()).waiting !== null; }, 100)")
            .await;
        device.runs("navigator.serviceWorker.getRegistration().then((registration) => registration.update()).then(() => null)").await;
        device.waits_for("window.waits").await;
        device
            .runs("window.changes = 0; navigator.serviceWorker.addEventListener('controllerchange', () => { window.changes += 1; })")
            .await;
        device.runs("document.dispatchEvent(new Event('connected'))").await;
        device.shows("1 saved, 0 sent").await;
        assert_eq!(device.runs("return [window.waits, window.changes]").await, json!([true, 0]));
        device.runs("window.letGo = true; document.dispatchEvent(new Event('connected'))").await;
        device.waits_for("window.changes === 1").await;
        device.leaves().await;
    });
}
