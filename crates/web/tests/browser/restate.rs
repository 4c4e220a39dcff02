//! What is stated anew, and readings from a file, as a person records them.

use lastmicron_job::event::Body;

use crate::bay::{Bay, in_bay};
use crate::car;

#[test]
fn a_panel_stated_anew_keeps_what_its_form_does_not_show() {
    in_bay(async |bay: &Bay| {
        bay.record(car::arrived());
        let device = bay.device().await;
        device.open_as("M.", "bright", &format!("/jobs/{}/panels", car::job())).await;
        device.presses("bonnet").await;
        device.presses("It may be worked").await;
        device.fills("How much the eye cares", "0.5").await;
        device.presses("Record the panel").await;
        device.shows("The panel is recorded.").await;
        let Body::PanelStated(said) = bay.events(car::job()).pop().unwrap().body else { panic!("no panel") };
        assert_eq!((said.name.as_str(), said.width_mm.as_deref(), said.height_mm.as_deref()), ("bonnet", Some("1100"), Some("900")));
        assert_eq!((said.work, said.visibility.as_deref()), (Some(false), Some("0.5")));
        assert_eq!(device.complaints().await, Vec::<String>::new());
        device.leaves().await;
    });
}

#[test]
fn of_a_file_only_what_is_new_is_taken_until_more_is_ticked() {
    in_bay(async |bay: &Bay| {
        bay.record(car::tried_on());
        let before = bay.events(car::job()).len();
        let device = bay.device().await;
        // The record holds the first; the second is new.
        let table = "panel,x_mm,y_mm,reading_um\nbonnet,150,150,70.2\nbonnet,700,300,70.8\n";
        let looks = async || {
            device.open_as("M.", "bright", &format!("/jobs/{}/readings", car::job())).await;
            device.fills("or paste it here", table).await;
            device.presses("Look at it").await;
        };
        looks().await;
        device.shows("2 rows: 1 can be taken, 1 already in the record").await;
        device.presses("Take the 1 that can be taken").await;
        device.waits_for("location.pathname.endsWith('/survey')").await;
        assert_eq!(bay.events(car::job()).len(), before + 1);
        looks().await;
        device.shows("2 rows: 0 can be taken, 2 already in the record").await;
        device.presses("Take what is ticked").await;
        device.shows("Nothing is ticked").await;
        device.presses("Already in the record").await;
        device.presses("line 2").await;
        device.presses("Take what is ticked").await;
        device.waits_for("location.pathname.endsWith('/survey')").await;
        let Body::ReadingTaken(taken) = bay.events(car::job()).pop().unwrap().body else { panic!("no reading") };
        assert_eq!((bay.events(car::job()).len(), taken.value.number.as_str()), (before + 2, "70.2"));
        device.leaves().await;
    });
}
