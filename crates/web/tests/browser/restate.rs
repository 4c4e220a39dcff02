//! What is stated anew, as a person records it.

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
