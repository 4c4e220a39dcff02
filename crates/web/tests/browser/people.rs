//! An owner, a helper's phone, a tablet that several use, and a client who looks.

use lastmicron_job::event::Body;
use serde_json::json;

use crate::bay::{Bay, Device, in_bay};
use crate::car;

pub(crate) const OWNERS_PIN: &str = "402817";
const HELPERS_PIN: &str = "739164";

/// Makes a device known with a code.
pub(crate) async fn enters(device: &Device, code: &str, name: Option<&str>, pin: &str, called: &str, is_shared: bool) {
    device.open("/enter").await;
    device.fills("The code", code).await;
    device.presses("Go on").await;
    if let Some(name) = name {
        device.fills("Your name or initials", name).await;
    }
    device.fills("Choose a PIN", pin).await;
    device.fills("What this device is called", called).await;
    device.pictured("enter").await;
    device.presses(if is_shared { "Several of us" } else { "Only I" }).await;
    device.presses("Go on").await;
    device.waits_for("document.body.dataset.known !== undefined").await;
}

/// Presses the keys of the pad, as a glove does.
async fn presses_pin(device: &Device, who: &str, pin: &str) {
    device.waits_for("document.querySelector('#pad')?.checkVisibility()").await;
    // The page below may show the same name: it is chosen on the pad.
    device
        .runs(&format!(
            "[...document.querySelectorAll('#pad label.choice')].find((one) => one.innerText.trim() === {}).click()",
            json!(who)
        ))
        .await;
    for digit in pin.chars() {
        device.runs(&format!("document.querySelector('#pad [data-digit=\"{digit}\"]').click()")).await;
    }
    device.runs("document.querySelector('#pad .key.primary').click()").await;
}

async fn code_for(device: &Device, name: &str) -> String {
    device.open("/people").await;
    device.fills("Name or initials", name).await;
    device.presses("Add, and make a code").await;
    device.shows("It is not shown again").await;
    device.pictured("code").await;
    device.runs("return document.querySelector('.shown-code').innerText").await.as_str().unwrap().to_owned()
}

fn panels(bay: &Bay) -> Vec<(String, String)> {
    let stated = bay.events(car::job()).into_iter().filter_map(|event| match event.body {
        Body::PanelStated(panel) => Some((panel.name, event.who)),
        _ => None,
    });
    stated.skip(3).collect()
}

#[test]
fn an_owner_claims_the_app_and_a_helper_comes_in_with_a_code_until_the_phone_is_made_unknown() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let job = format!("/jobs/{}", car::job());
        let (laptop, phone) = (bay.device().await, bay.device().await);
        // Before, whoever is at this machine sees all.
        phone.open(&job).await;
        phone.shows("Sage coupe").await;
        enters(&laptop, &bay.code(), Some("M."), OWNERS_PIN, "office laptop", false).await;
        phone.open(&job).await;
        phone.shows("This device is not known here").await;
        let code = code_for(&laptop, "T.").await;
        assert!(
            laptop.runs("return parseFloat(getComputedStyle(document.querySelector('.shown-code')).fontSize) >= 36").await == json!(true)
        );
        enters(&phone, &code, None, HELPERS_PIN, "phone of T.", false).await;
        phone.open(&format!("{job}/panels")).await;
        for (label, text) in [("Name", "left jamb"), ("Width", "300"), ("Height", "900")] {
            phone.fills(label, text).await;
        }
        phone.presses("Add the panel").await;
        phone.shows("The panel is added.").await;
        assert_eq!(panels(bay), [("left jamb".to_owned(), "T.".to_owned())]);
        // What only an owner says is not offered, and whose it is stands there.
        phone.open(&format!("{job}/handover")).await;
        phone.shows("An owner says so, once it has.").await;
        assert_eq!(phone.runs("return document.querySelectorAll('[data-event=status-changed]').length").await, json!(0));
        // While a form is half typed the phone is made unknown.
        phone.open(&format!("{job}/panels")).await;
        phone.fills("Name", "right jamb").await;
        laptop.open("/people").await;
        laptop.presses("Make the phone of T. unknown").await;
        laptop.waits_for("!document.body.innerText.includes('phone of T.')").await;
        for (label, text) in [("Width", "300"), ("Height", "900")] {
            phone.fills(label, text).await;
        }
        phone.presses("Add the panel").await;
        // It waits on the phone, and goes when the phone is known again.
        phone.shows("this device is not known here").await;
        phone.shows("1 saved, 0 sent").await;
        assert_eq!(panels(bay).len(), 1);
        phone.open("/waiting").await;
        phone.shows("right jamb").await;
        laptop.presses("A code and a new PIN for T.").await;
        laptop.shows("It is not shown again").await;
        let code = laptop.runs("return document.querySelector('.shown-code').innerText").await;
        enters(&phone, code.as_str().unwrap(), None, HELPERS_PIN, "phone of T.", false).await;
        bay.has_come(|| panels(bay).len() == 2).await;
        assert_eq!(panels(bay)[1], ("right jamb".to_owned(), "T.".to_owned()));
        laptop.leaves().await;
        phone.leaves().await;
    });
}

#[test]
fn a_tablet_that_locks_keeps_what_was_typed_and_whoever_signs_in_goes_on() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let panels_page = format!("/jobs/{}/panels", car::job());
        let tablet = bay.device().await;
        enters(&tablet, &bay.code(), Some("M."), OWNERS_PIN, "bay tablet", true).await;
        let code = code_for(&tablet, "T.").await;
        // The helper chooses a PIN on the same tablet, and is at it now.
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        tablet.open(&panels_page).await;
        for (label, text) in [("Name", "left jamb"), ("Width", "300"), ("Height", "900")] {
            tablet.fills(label, text).await;
        }
        bay.is_left(16);
        tablet.presses("Add the panel").await;
        tablet.shows("Who is at the bay tablet?").await;
        tablet.pictured("locked").await;
        // Keys that a glove presses, and nothing of the page below is to be seen.
        let small = tablet
            .runs(
                "return [...document.querySelectorAll('#pad .key')].filter((key) => key.offsetHeight < 56 || key.offsetWidth < 56).length",
            )
            .await;
        assert_eq!(small, 0);
        assert_eq!(
            tablet
                .runs("return getComputedStyle(document.querySelector('dialog.over'), '::backdrop').backgroundColor.startsWith('rgba')")
                .await,
            json!(false)
        );
        if let Some(breaches) = tablet.breaches().await {
            assert_eq!(breaches, std::collections::BTreeMap::new());
        }
        presses_pin(&tablet, "T.", "000000").await;
        tablet.shows("this is not the PIN or passphrase of T.").await;
        assert_eq!(panels(bay), []);
        assert_eq!(tablet.runs("return document.querySelector('input[name=name]').value").await, "left jamb");
        presses_pin(&tablet, "T.", HELPERS_PIN).await;
        tablet.shows("The panel is added.").await;
        assert_eq!(panels(bay), [("left jamb".to_owned(), "T.".to_owned())]);
        // Half typed and left: the page hides itself, and is as it was when another has signed in.
        tablet.fills("Name", "right jamb").await;
        bay.is_left(16);
        tablet.runs("const now = Date.now.bind(Date); Date.now = () => now() + 16 * 60000; document.dispatchEvent(new Event('visibilitychange'))").await;
        presses_pin(&tablet, "M.", OWNERS_PIN).await;
        tablet.shows("M. has signed in on this device since this page was made for T.").await;
        tablet.pictured("handed-on").await;
        assert_eq!(tablet.runs("return [!document.querySelector('#pad'), document.body.dataset.who]").await, json!([true, "T."]));
        tablet.presses("Go on as M.").await;
        tablet.waits_for("!document.getElementById('handed') && document.body.dataset.who === 'M.'").await;
        assert_eq!(tablet.runs("return document.querySelector('input[name=name]').value").await, "right jamb");
        for (label, text) in [("Width", "300"), ("Height", "900")] {
            tablet.fills(label, text).await;
        }
        tablet.presses("Add the panel").await;
        bay.has_come(|| panels(bay).len() == 2).await;
        assert_eq!(panels(bay)[1], ("right jamb".to_owned(), "M.".to_owned()));
        tablet.leaves().await;
    });
}

/// A tablet that M. claimed, and on which T. is to sign in with this code; M. is at it.
async fn shared(bay: &Bay) -> (Device, String) {
    let tablet = bay.device().await;
    enters(&tablet, &bay.code(), Some("M."), OWNERS_PIN, "bay tablet", true).await;
    let code = code_for(&tablet, "T.").await;
    (tablet, code)
}

#[test]
fn a_page_over_which_another_signs_in_is_made_anew_for_them() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let (tablet, code) = shared(bay).await;
        tablet.open(&format!("/jobs/{}/handover", car::job())).await;
        tablet.shows("It has gone home").await;
        // In another tab of the same browser, which has the same cookie.
        let left = tablet.opens_another_tab().await;
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        tablet.goes_on_in(left).await;
        tablet.shows("An owner says so, once it has.").await;
        assert_eq!(
            tablet.runs("return [document.body.dataset.who, document.getElementById('here').innerText, location.pathname]").await,
            json!(["T.", "T.", format!("/jobs/{}/handover", car::job())])
        );
        assert_eq!(tablet.runs("return document.querySelectorAll('[data-event=status-changed]').length").await, json!(0));
        tablet.leaves().await;
    });
}

#[test]
fn where_something_is_half_typed_a_page_says_that_another_has_signed_in_and_waits_to_be_told() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let (tablet, code) = shared(bay).await;
        tablet.open(&format!("/jobs/{}/panels", car::job())).await;
        for (label, text) in [("Name", "left jamb"), ("Width", "300"), ("Height", "900")] {
            tablet.fills(label, text).await;
        }
        let left = tablet.opens_another_tab().await;
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        let of_helper = tablet.goes_on_in(left).await;
        tablet.shows("T. has signed in on this device since this page was made for M.").await;
        if let Some(breaches) = tablet.breaches().await {
            assert_eq!(breaches, std::collections::BTreeMap::new());
        }
        // Nothing is recorded under either name before somebody says so.
        tablet.presses("Add the panel").await;
        tablet.shows("nothing was recorded. Its top says how to go on").await;
        assert_eq!(panels(bay), []);
        // What is recorded meanwhile is asked for, and not put in. Pages that are taken along are others.
        tablet.runs("const real = window.fetch; window.shown = 0; window.fetch = async (...with_) => { const answer = await real(...with_); if (with_[0] === location.href && with_[1].signal) setTimeout(() => { window.shown += 1; }, 100); return answer; }").await;
        let left = tablet.goes_on_in(of_helper).await;
        tablet.open(&format!("/jobs/{}/panels", car::job())).await;
        for (label, text) in [("Name", "right jamb"), ("Width", "300"), ("Height", "900")] {
            tablet.fills(label, text).await;
        }
        tablet.presses("Add the panel").await;
        tablet.shows("The panel is added.").await;
        tablet.goes_on_in(left).await;
        tablet.waits_for("window.shown > 0").await;
        let page = "return [document.querySelector('input[name=name]').value, document.body.innerText.includes('right jamb'), document.body.dataset.who]";
        assert_eq!(tablet.runs(page).await, json!(["left jamb", false, "M."]));
        tablet.presses("Go on as T.").await;
        tablet.shows("right jamb").await;
        assert_eq!(tablet.runs(page).await, json!(["left jamb", true, "T."]));
        tablet.presses("Add the panel").await;
        bay.has_come(|| panels(bay).len() == 2).await;
        assert_eq!(panels(bay).iter().map(|(_, who)| who.as_str()).collect::<Vec<_>>(), ["T."; 2]);
        tablet.leaves().await;
    });
}

#[test]
fn what_is_half_typed_into_a_form_that_is_sent_and_what_it_answered_is_kept_when_another_signs_in() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let (tablet, code) = shared(bay).await;
        let job = format!("/jobs/{}", car::job());
        let table = "panel,x_mm,y_mm,reading_um\nbonnet,700,300,70.8\n";
        // Pasted; looked at, and not recorded; read in from a file; a name; a choice.
        tablet.open(&format!("{job}/readings")).await;
        tablet.fills("or paste it here", table).await;
        let pasted = tablet.opens_another_tab().await;
        tablet.open(&format!("{job}/readings")).await;
        tablet.fills("or paste it here", table).await;
        tablet.presses("Look at it").await;
        tablet.shows("1 row: 1 can be taken").await;
        let looked_at = tablet.opens_another_tab().await;
        tablet.open(&format!("{job}/readings")).await;
        tablet.runs(&format!("const dataTransfer = new DataTransfer(); dataTransfer.items.add(new File([{}], 'read.csv')); document.body.dispatchEvent(new DragEvent('drop', {{ dataTransfer, bubbles: true, cancelable: true }}))", json!(table))).await;
        tablet.waits_for("document.getElementById('text').value !== ''").await;
        let read_in = tablet.opens_another_tab().await;
        tablet.open("/people").await;
        tablet.fills("Name or initials", "J.").await;
        let named = tablet.opens_another_tab().await;
        tablet.open(&format!("{job}/links")).await;
        tablet.presses("30 days").await;
        let chosen = tablet.opens_another_tab().await;
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        let text = format!("document.getElementById('text').value === {}", json!(table));
        for (tab, is_kept) in [
            (pasted, text.as_str()),
            (looked_at.clone(), "document.body.innerText.includes('1 row: 1 can be taken')"),
            (read_in, &text),
            (named, "document.querySelector('main input[name=name]').value === 'J.'"),
            (chosen, "document.querySelector('main input[name=days][value=\"30\"]').checked"),
        ] {
            tablet.goes_on_in(tab).await;
            tablet.shows("T. has signed in on this device since this page was made for M.").await;
            assert_eq!(tablet.runs(&format!("return {is_kept}")).await, json!(true), "{is_kept}");
        }
        // What was looked at is taken under the new name.
        tablet.goes_on_in(looked_at).await;
        tablet.presses("Go on as T.").await;
        tablet.presses("Take these readings").await;
        tablet.waits_for("location.pathname.endsWith('/survey')").await;
        let taken = bay.events(car::job()).pop().unwrap();
        assert!(matches!(&taken.body, Body::ReadingTaken(reading) if reading.value.number == "70.8") && taken.who == "T.");
        tablet.leaves().await;
    });
}

#[test]
fn an_answer_that_was_asked_for_before_somebody_went_on_says_nothing_of_who_is_here_now() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let (tablet, code) = shared(bay).await;
        tablet.open(&format!("/jobs/{}/panels", car::job())).await;
        tablet.fills("Name", "left jamb").await;
        // An answer to M. is late.
        tablet.runs("const real = window.fetch; window.fetch = async (...with_) => { const answer = await real(...with_); if (with_[0] === '/lock/here' && !window.letGo) await new Promise((go) => { window.letGo = go; }); return answer; }; document.dispatchEvent(new Event('visibilitychange'))").await;
        tablet.waits_for("window.letGo").await;
        let left = tablet.opens_another_tab().await;
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        tablet.goes_on_in(left).await;
        tablet.presses("Go on as T.").await;
        tablet.waits_for("!document.getElementById('handed') && document.body.dataset.who === 'T.'").await;
        tablet.runs("document.addEventListener('answered', () => { window.answered = true; }); window.letGo()").await;
        tablet.waits_for("window.answered").await;
        assert_eq!(
            tablet.runs("return [document.getElementById('handed'), document.querySelector('input[name=name]').value]").await,
            json!([null, "left jamb"])
        );
        for (label, text) in [("Width", "300"), ("Height", "900")] {
            tablet.fills(label, text).await;
        }
        tablet.presses("Add the panel").await;
        tablet.shows("The panel is added.").await;
        assert_eq!(panels(bay), [("left jamb".to_owned(), "T.".to_owned())]);
        tablet.leaves().await;
    });
}

#[test]
fn a_page_that_comes_again_as_it_was_kept_for_another_says_so_and_is_loaded_anew_no_more() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let (tablet, code) = shared(bay).await;
        let page = format!("/jobs/{}/panels", car::job());
        tablet.open(&page).await;
        tablet.waits_for("navigator.serviceWorker.controller && await caches.match(location.href)").await;
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        bay.starts_slow_for_whoever_goes_to(&page);
        tablet.open(&page).await;
        // It asks who is here, which is answered at once.
        let says = "document.getElementById('handed')?.innerText.includes('It was loaded anew, and came again as it was kept')";
        tablet.waits_for(&format!("document.dispatchEvent(new Event('visibilitychange')) && {says}")).await;
        tablet.shows("T. has signed in on this device since this page was made for M.").await;
        // Somebody who says so has it loaded anew all the same, and once it comes it is theirs.
        bay.starts();
        tablet.presses("Make the page anew").await;
        tablet
            .waits_for(
                "document.body.dataset.kept === undefined && document.body.dataset.who === 'T.' && !document.getElementById('handed')",
            )
            .await;
        tablet.leaves().await;
    });
}

#[test]
fn what_became_of_a_record_that_was_brought_in_is_told_with_the_way_to_the_job() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        device.open("/").await;
        let brings = "const bring = (file) => { const hand = new DataTransfer(); hand.items.add(new File([file], 'a.record')); const input = document.getElementById('record'); input.files = hand.files; input.dispatchEvent(new Event('change', { bubbles: true })); };";
        device.runs(&format!("{brings} bring(await (await fetch('/jobs/{}/record')).blob())", car::job())).await;
        device.shows(&format!("0 events are new, and {} were here already. Look at the job", bay.events(car::job()).len())).await;
        assert_eq!(device.runs("return document.getElementById('refused').textContent").await, "");
        // Some refused, and sheets left out: both are told, each as what it is.
        let answer = json!({ "job": car::job().to_string(), "events": 5, "new": 2, "refused": 1, "left_out": 2, "same": false });
        device
            .runs(&format!(
                "{brings} window.fetch = async () => new Response({}, {{ headers: {{ 'x-lastmicron': 'yes' }} }}); bring('a record')",
                json!(answer.to_string())
            ))
            .await;
        device.shows("2 events are new, and 3 were here already. 2 sheets that were erased here were left out.").await;
        device.shows("1 of its events is not here: this workshop's record says something else under their ids.").await;
        device.presses("Look at the job").await;
        device.waits_for(&format!("location.pathname === '/jobs/{}'", car::job())).await;
        device.leaves().await;
    });
}

#[test]
fn a_page_that_showed_a_code_forgets_it_when_it_is_left() {
    in_bay(async |bay: &Bay| {
        let (laptop, _) = shared(bay).await;
        laptop.presses("To the people").await;
        laptop.presses("A code and a new PIN for T.").await;
        laptop.shows("It is not shown again").await;
        assert_ne!(laptop.runs("return document.querySelector('[data-once]').innerText").await, "");
        // As the browser tells a page that is left, and that it may show again to whoever goes back.
        laptop.runs("dispatchEvent(new PageTransitionEvent('pagehide', { persisted: true }))").await;
        assert_eq!(laptop.runs("return document.querySelector('[data-once]').innerHTML").await, "");
        // Told of the device from there, it is shown the people.
        laptop.presses("Films are shown in um").await;
        laptop.shows("Somebody new").await;
        assert_eq!(laptop.runs("return location.pathname").await, "/people");
        laptop.leaves().await;
    });
}

#[test]
fn whoever_is_at_a_shared_tablet_locks_it_for_the_next() {
    in_bay(async |bay: &Bay| {
        let tablet = bay.device().await;
        enters(&tablet, &bay.code(), Some("M."), OWNERS_PIN, "bay tablet", true).await;
        let code = code_for(&tablet, "T.").await;
        enters(&tablet, &code, None, HELPERS_PIN, "bay tablet", true).await;
        tablet.open("/device").await;
        tablet.presses("Lock it").await;
        tablet.shows("Who is at the bay tablet?").await;
        if let Some(breaches) = tablet.breaches().await {
            assert_eq!(breaches, std::collections::BTreeMap::new());
        }
        tablet.open("/").await;
        tablet.shows("Who is at the bay tablet?").await;
        presses_pin(&tablet, "M.", OWNERS_PIN).await;
        tablet.waits_for("document.body.dataset.who === 'M.'").await;
        tablet.shows("A vehicle has arrived").await;
        tablet.leaves().await;
    });
}

#[test]
fn a_client_sees_their_job_by_a_link_and_the_link_is_gone_from_the_address() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let (laptop, client) = (bay.device().await, bay.device().await);
        enters(&laptop, &bay.code(), Some("M."), OWNERS_PIN, "office laptop", false).await;
        laptop.open(&format!("/jobs/{}", car::job())).await;
        laptop.presses("A link for the client").await;
        laptop.presses("1 day").await;
        laptop.presses("Make a link").await;
        laptop.waits_for("document.getElementById('link')").await;
        let link = laptop.runs("return document.getElementById('link').innerText").await.as_str().unwrap().to_owned();
        client.complaints().await;
        client.open(&format!("/look{}", &link[link.find('#').unwrap()..])).await;
        client.shows("How far it is").await;
        client.shows("Sage coupe").await;
        client.pictured("look").await;
        assert_eq!(client.runs("return [location.pathname, location.hash, document.cookie].join('|')").await, "/look||");
        if let Some(breaches) = client.breaches().await {
            assert_eq!(breaches, std::collections::BTreeMap::new());
        }
        let complaints: Vec<String> = client.complaints().await.into_iter().filter(|said| !said.contains("401 (Unauthorized)")).collect();
        assert_eq!(complaints, Vec::<String>::new());
        client.open(&format!("/jobs/{}", car::job())).await;
        client.shows("This device is not known here").await;
        laptop.open("/people").await;
        laptop.pictured("people").await;
        // What goes wrong is told to whom it is, and leads back to the form.
        laptop.fills("Name or initials", "66.1").await;
        laptop.presses("Add, and make a code").await;
        laptop.shows("Not found or not done").await;
        laptop.pictured("refused").await;
        assert_eq!(laptop.runs("return document.body.dataset.who").await, "M.");
        laptop.presses("Back to the form").await;
        laptop.shows("Links to jobs").await;
        laptop.presses("Take it back").await;
        laptop.shows("Nobody looks at a job by a link").await;
        client.open("/look").await;
        client.shows("ask the workshop for a new one").await;
        laptop.leaves().await;
        client.leaves().await;
    });
}
