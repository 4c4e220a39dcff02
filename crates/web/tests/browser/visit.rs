//! One visit, from an empty shop on, by somebody who has never seen the app: only what the pages say is pressed.

use lastmicron_job::event::Body;
use lastmicron_job::fold::{Status, fold};

use crate::bay::{Bay, in_bay};

#[test]
fn from_an_empty_shop_to_work_by_an_accepted_plan() {
    in_bay(async |bay: &Bay| {
        let device = bay.device().await;
        device.open("/").await;
        device.shows("No job is here yet").await;
        device.presses("A vehicle has arrived").await;
        device.presses("Roadster").await;
        device.fills("What to call the job", "Sea-blue roadster").await;
        device.fills("Year built", "1966").await;
        device.fills("Name", "A. Owner").await;
        device.presses("Single-stage").await;
        device.presses("The vehicle is here").await;
        // Nobody was asked yet who is at the device.
        device.fills("Name or initials", "M.").await;
        device.presses("Go on").await;
        device.shows("Next").await;
        let job = bay.jobs()[0];
        device.presses("Begin the survey").await;
        device.presses("bonnet").await;
        for number in ["70.4", "71.8", "69.9", "72.3", "70.1", "71.0"] {
            device.enters(&format!("{number}\u{e007}")).await;
            device
                .waits_for(&format!("document.querySelector('.readings li:first-child .entered')?.innerText.startsWith('{number}')"))
                .await;
        }
        device.presses("Job").await;
        device.presses("Agree on floor, risk and goal").await;
        device.fills("Floor", "18").await;
        device.fills("Spend", "4").await;
        device.presses("1 in 50").await;
        device.presses("75 %").await;
        device.fills("Hours", "10").await;
        device.presses("It is agreed").await;
        device.shows("Leave at least 18.0 um of topcoat everywhere, take at most 4.0 um anywhere; at most 1 chance in 50").await;
        device.presses("Job").await;
        device.presses("Try a test spot").await;
        device.shows("On the bonnet").await;
        device.taps("#map svg path.outline", [0.4, 0.5]).await;
        device.presses("Mark it").await;
        device.shows("Done here: nothing yet").await;
        device.presses("Read in the spot").await;
        device.shows("Read at").await;
        device.enters("71.2\u{e007}").await;
        device.shows("Read here: 7").await;
        device.presses("Test spot").await;
        device.fills("Scratches in the square", "40").await;
        device.presses("After a solvent wipe").await;
        device.presses("Record the count").await;
        device.presses("One set of finish is done").await;
        device.shows("finish \u{d7} 1").await;
        device.fills("Scratches in the square", "21").await;
        device.presses("After a solvent wipe").await;
        device.presses("Record the count").await;
        device.shows("Looked at twice").await;
        device.shows("One more set of finish gains").await;
        device.presses("Plan").await;
        device.shows("defects gone").await;
        device.presses("A lower goal").await;
        device.shows("Against what is agreed").await;
        device.presses("Back to what is agreed").await;
        device.presses("Accept this plan").await;
        device.shows("Accept it as it is now").await;
        device.presses("Work").await;
        device.presses("Start this section").await;
        device.shows("You are on it, as M.").await;
        device.presses("A set of").await;
        device.shows("1 of").await;
        device.presses("Stop").await;
        device.presses("heat").await;
        device.waits_for("location.pathname.includes('/survey/')").await;
        device.presses("Hand over").await;
        device.shows("mm: heat").await;
        device.shows("sections that the plan works were not begun").await;
        device.shows("Where the next person begins").await;
        device.presses("It has gone home").await;
        device.shows("The record").await;
        device.presses("Job").await;
        device.shows("The vehicle has gone home").await;
        device.presses("Hand over").await;
        device.waits_for("document.querySelector('a[href$=\"/handover.pdf\"]')").await;
        let pdf = device.runs("return document.querySelector('a[href$=\"/handover.pdf\"]').pathname").await;
        device.presses("Check a document").await;
        device.shows("The document, a PDF").await;
        device.runs(&format!("return fetch({pdf}).then((answer) => answer.blob()).then((blob) => {{ const hand = new DataTransfer(); hand.items.add(new File([blob], 'handover.pdf', {{ type: 'application/pdf' }})); const input = document.getElementById('document'); input.files = hand.files; input.dispatchEvent(new Event('change', {{ bubbles: true }})); }})")).await;
        device.shows("It is the record that is kept here, to its last event.").await;
        let events = bay.events(job);
        let standing = fold(&events);
        assert!(standing.unusable.is_empty(), "{:?}", standing.unusable);
        assert_eq!((standing.status(), standing.plans.len(), standing.readings.len()), (Status::GoneHome, 1, 7));
        let said = serde_json::to_string(&events).unwrap();
        assert!(!said.contains("A. Owner"), "a name is in the record");
        assert!(events.iter().any(|event| matches!(&event.body, Body::VehicleStated(stated) if stated.owner.is_some())));
        assert_eq!(device.complaints().await, Vec::<String>::new());
        device.leaves().await;
    });
}
