use lastmicron_job::event::Event;
use lastmicron_job::fold::fold;
use lastmicron_record::{Entry, Sealed};
use serde_json::{Value, json};

use super::*;

fn id(n: u64) -> Id {
    Id::made_at(1_714_550_000_000 + n, [7; 10])
}

/// Two sections side by side on a bonnet, each with two sets of a process and one of another; and one on a roof.
fn planned() -> Planned {
    let section = |x: f64| {
        json!({
            "x_mm": x, "y_mm": 0.0, "width_mm": 400.0, "height_mm": 500.0,
            "steps": [{ "process": "one-step", "sets": 2 }, { "process": "finish", "sets": 1 }],
            "removal_um": { "mean": 2.0, "sd": 0.5 }, "topcoat_after_um": { "p05": 20.0, "p50": 24.0 },
            "correction": { "mean": 0.7, "p05": 0.6, "p95": 0.8 }, "risk": 0.001, "minutes": 9.0, "why": "enough film",
        })
    };
    let panel = |name: &str, sections: Vec<Value>| json!({ "name": name, "measured": true, "work": true, "keep_off": [], "keep_off_lines": [], "risk": 0.001, "sections": sections, "notes": [] });
    Planned::of(json!({
        "risk": 0.01, "correction": { "mean": 0.7, "p05": 0.6, "p95": 0.8 }, "hours": 3.0, "pad_work": [],
        "panels": [panel("bonnet", vec![section(0.0), section(400.0)]), panel("roof", vec![section(0.0)])],
    }))
    .unwrap()
}

/// The bodies, one a second, told by the people named before each.
fn folded(said: &[(&str, Value)]) -> Folded {
    let process = |name: &str, mean: &str| json!({ "kind": "process-stated", "name": name, "removal_um": { "mean": mean, "sd": "0.4" }, "minutes_per_m2": "22" });
    let panel = |name: &str| json!({ "kind": "panel-stated", "name": name, "width_mm": "800", "height_mm": "500" });
    let stated = [process("finish", "0.5"), process("one-step", "1.1"), panel("bonnet"), panel("roof")];
    let all = stated.iter().map(|body| ("M.", body.clone())).chain(said.iter().cloned());
    let mut entries: Vec<Entry> = Vec::new();
    for (n, (who, body)) in (1..).zip(all) {
        let event = json!({ "id": id(n), "job": id(0), "when": "2024-05-01T09:30:00+02:00", "device": id(999), "who": who, "body": body });
        let sealed = Sealed::seal(serde_json::from_value::<Event>(event).unwrap()).unwrap();
        let previous = entries.last().map_or(Entry::NOTHING, |entry| entry.hash);
        entries.push(Entry::after(previous, n, "2024-05-01T12:00:00Z".parse().unwrap(), &sealed).unwrap());
    }
    let unusable = fold(entries.iter().map(|entry| &entry.event)).unusable;
    assert!(unusable.is_empty(), "{unusable:?}");
    Folded::of(&entries).unwrap()
}

fn section(panel: &str, x: u32) -> Value {
    json!({ "panel": panel, "x_mm": x.to_string(), "y_mm": "0", "width_mm": "400", "height_mm": "500" })
}

fn accepted() -> (&'static str, Value) {
    ("M.", json!({ "kind": "plan-accepted", "plan": "ab".repeat(32), "risk": "0.01", "correction": "0.700", "hours": "3.0" }))
}

fn started(who: &'static str, x: u32) -> (&'static str, Value) {
    (who, json!({ "kind": "work-started", "section": section("bonnet", x) }))
}

fn set(process: &str, x: u32) -> (&'static str, Value) {
    ("M.", json!({ "kind": "set-done", "process": process, "sets": 1, "sections": [section("bonnet", x)] }))
}

fn done(x: u32) -> (&'static str, Value) {
    ("M.", json!({ "kind": "work-done", "section": section("bonnet", x) }))
}

fn through(x: u32) -> (&'static str, Value) {
    ("T.", json!({ "kind": "gone-through", "panel": "bonnet", "x_mm": x.to_string(), "y_mm": "250", "note": "primer shows" }))
}

fn states(said: &[(&str, Value)]) -> Vec<State> {
    Order::of(&planned(), &folded(said)).places.into_iter().map(|place| place.state).collect()
}

fn held(said: &[(&str, Value)]) -> Vec<bool> {
    Order::of(&planned(), &folded(said)).places.iter().map(|place| place.held.is_some()).collect()
}

#[test]
fn two_people_are_given_two_sections() {
    let order = Order::of(&planned(), &folded(&[accepted(), started("M.", 0)]));
    assert_eq!((order.next_for("M."), order.next_for("T.")), (Some(0), Some(1)));
    assert_eq!(order.in_hand().map(|(place, who)| (place.number, who)).collect::<Vec<_>>(), [(1, "M.")]);
}

#[test]
fn sets_count_for_the_plan_by_which_they_were_done() {
    let said = [accepted(), started("M.", 0), set("one-step", 0), set("one-step", 0), done(0)];
    let order = Order::of(&planned(), &folded(&said));
    assert_eq!((&order.places[0].done[..], &order.places[0].state), (&[2, 0][..], &State::Done("M.".to_owned())));
    // The plan made anew counts them itself: by it the section waits, with all of its sets to be done.
    let order = Order::of(&planned(), &folded(&[&said[..], &[accepted()]].concat()));
    assert_eq!((&order.places[0].done[..], &order.places[0].state), (&[0, 0][..], &State::Waits));
}

#[test]
fn where_the_topcoat_was_gone_through_nothing_more_is_done_and_the_rest_of_its_panel_is_held() {
    let gone = [accepted(), started("M.", 0), through(100)];
    assert_eq!(states(&gone), [State::Through, State::Waits, State::Waits]);
    assert_eq!(held(&gone), [false, true, false]);
    // The first of what is folded is number 1: four are stated before these.
    let by = id(4 + gone.len() as u64);
    let despite = |by: Id| ("T.", json!({ "kind": "work-started", "section": section("bonnet", 400), "despite": by }));
    // Neither a start, nor a stop, nor a new plan takes that back; only a start that says which event it answers.
    let after = [&gone[..], &[started("M.", 0), started("M.", 400), accepted()]].concat();
    assert_eq!((&states(&after)[0], held(&after)), (&State::Through, vec![false, true, false]));
    assert!(held(&[&gone[..], &[despite(id(1))]].concat())[1]);
    let on = [&gone[..], &[despite(by)]].concat();
    assert_eq!((&states(&on)[1], held(&on)), (&State::Begun("T.".to_owned()), vec![false, false, false]));
    // Somebody who is on the panel is held too, and what comes later holds anew.
    assert!(held(&[&[accepted(), started("T.", 400)], &gone[2..]].concat())[1]);
    assert!(held(&[&on[..], &[through(50)]].concat())[1]);
    // One decision answers all that was found so far.
    let went_on = ("M.", json!({ "kind": "went-on", "panel": "bonnet", "why": "the owner knows" }));
    let decided = [&gone[..], &[through(50), went_on]].concat();
    assert_eq!((&states(&decided)[0], held(&decided)), (&State::Through, vec![false; 3]));
    assert!(held(&[&decided[..], &[through(60)]].concat())[1]);
    // A section that comes as near to the place as no plan would work it is worked no more either.
    assert_eq!(states(&[accepted(), through(350)])[..2], [State::Through, State::Through]);
    assert_eq!(states(&[accepted(), through(250)])[..2], [State::Through, State::Waits]);
    // What is done stays done.
    assert_eq!(states(&[accepted(), done(400), through(100)])[1], State::Done("M.".to_owned()));
    // Nobody is sent there.
    let order = Order::of(&planned(), &folded(&gone));
    assert_eq!(order.next_for("M.").map(|at| order.places[at].planned), Some(1));
    assert!(order.places[1].is_halted() && !order.places[1].waits());
}

#[test]
fn a_section_keeps_its_number_when_a_panel_is_no_longer_stated() {
    let strike = ("M.", json!({ "kind": "struck-out", "event": id(3), "why": "twice" }));
    let order = Order::of(&planned(), &folded(&[accepted(), strike]));
    assert_eq!(order.places.iter().map(|place| (place.number, place.panel)).collect::<Vec<_>>(), [(1, None), (2, None), (3, Some(0))]);
    assert!(order.places[0].is_halted());
}

#[test]
fn what_was_stopped_or_left_alone_stays_so_until_somebody_starts_it() {
    let stop = ("M.", json!({ "kind": "work-stopped", "section": section("bonnet", 0), "why": "heat" }));
    let left = ("M.", json!({ "kind": "left-alone", "panel": "roof", "why": "the owner's wish" }));
    let said = [accepted(), started("M.", 0), stop, left, accepted()];
    let now = states(&said);
    assert!(matches!(&now[0], State::Stopped(_, why) if why == "heat"));
    assert_eq!(now[1..], [State::Waits, State::LeftAlone("the owner's wish".to_owned())]);
    let order = Order::of(&planned(), &folded(&said));
    assert_eq!(order.places.iter().map(Place::is_halted).collect::<Vec<_>>(), [true, false, true]);
    assert_eq!(states(&[&said[..], &[started("M.", 0)]].concat())[0], State::Begun("M.".to_owned()));
}
