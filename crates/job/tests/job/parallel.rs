//! Two state the same thing without having seen each other's statement.

use lastmicron_job::event::{Body, Event, Thing};
use lastmicron_job::fold::{Parallel, Standing, fold, fold_on};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::pen::{id, reading};

/// Somebody at a device of their own states something, with these statements before them.
fn says(n: usize, who: &str, over: &[usize], body: &Value) -> Event {
    let over: Vec<String> = over.iter().map(|n| id(*n).to_string()).collect();
    let mut event = without_over(n, who, body);
    event["over"] = json!(over);
    serde_json::from_value(event).unwrap()
}

/// The same as an older version said it.
fn says_as_before(n: usize, who: &str, body: &Value) -> Event {
    serde_json::from_value(without_over(n, who, body)).unwrap()
}

fn without_over(n: usize, who: &str, body: &Value) -> Value {
    let device = id(200 + who.bytes().map(usize::from).sum::<usize>() % 50);
    json!({"id": id(n).to_string(), "job": id(0).to_string(), "when": "2024-05-01T09:30:00+02:00", "device": device.to_string(), "who": who, "body": body})
}

/// A bonnet, with some fields said otherwise.
fn bonnet(otherwise: &[(&str, &str)]) -> Value {
    let mut body = json!({"kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1150"});
    otherwise.iter().for_each(|(field, value)| body[*field] = json!(value));
    body
}

fn stands(standing: &Standing) -> Value {
    let stated = standing.as_stated(&Thing::Panel("bonnet".to_owned())).unwrap();
    serde_json::to_value(&stated.body).unwrap()
}

fn member(body: &Body, name: &str) -> String {
    serde_json::to_value(body).unwrap()[name].as_str().unwrap_or("-").to_owned()
}

/// For each field that clashes, who says what, the one that holds first.
fn clashes(parallel: &Parallel) -> Vec<(&'static str, Vec<(String, String)>)> {
    let said = |clash: &lastmicron_job::fold::Clash| {
        let one = |said: &lastmicron_job::fold::Statement| (said.who.clone(), member(&said.body, clash.field.members[0]));
        (clash.field.words, clash.said.iter().map(one).collect())
    };
    parallel.clashes.iter().map(said).collect()
}

fn said(who: &str, what: &str) -> (String, String) {
    (who.to_owned(), what.to_owned())
}

const HARDNESS: &str = "how easily it marks";

/// M. states the bonnet; A. and B. have that before them.
fn first() -> Event {
    says(10, "M.", &[], &bonnet(&[]))
}

#[test]
fn of_one_field_both_values_are_kept_and_what_arrived_first_holds_until_somebody_says() {
    let (soft, hard) = (bonnet(&[("hardness", "soft")]), bonnet(&[("hardness", "hard")]));
    let mut events = vec![first(), says(11, "A.", &[10], &soft), says(12, "B.", &[10], &hard)];
    let standing = fold(&events);
    assert_eq!(stands(&standing), soft);
    assert_eq!(standing.panels[0].hardness.map(|hardness| format!("{hardness:?}")).as_deref(), Some("Soft"));
    let [parallel] = standing.parallel.as_slice() else { panic!("{:?}", standing.parallel) };
    assert_eq!(clashes(parallel), [(HARDNESS, vec![said("A.", "soft"), said("B.", "hard")])]);
    // Both have to be before whoever says which holds.
    assert_eq!(standing.stated[0].by, [id(11), id(12)]);
    events.push(says(13, "M.", &[11, 12], &hard));
    let settled = fold(&events);
    assert_eq!((stands(&settled), settled.parallel.len(), settled.stated[0].by.clone()), (hard, 0, vec![id(13)]));
}

#[test]
fn whoever_has_seen_one_of_two_settles_nothing() {
    let events = [
        first(),
        says(11, "A.", &[10], &bonnet(&[("hardness", "soft")])),
        says(12, "B.", &[10], &bonnet(&[("hardness", "hard")])),
        says(13, "M.", &[11], &bonnet(&[("hardness", "medium")])),
    ];
    let standing = fold(&events);
    assert_eq!(clashes(&standing.parallel[0]), [(HARDNESS, vec![said("B.", "hard"), said("M.", "medium")])]);
}

#[test]
fn different_fields_are_taken_together_and_that_is_noted() {
    let events = [
        first(),
        says(11, "A.", &[10], &bonnet(&[("hardness", "soft")])),
        says(12, "B.", &[10], &bonnet(&[("visibility", "0.5"), ("width_mm", "1380")])),
    ];
    let standing = fold(&events);
    assert_eq!(stands(&standing), bonnet(&[("hardness", "soft"), ("visibility", "0.5"), ("width_mm", "1380")]));
    let [parallel] = standing.parallel.as_slice() else { panic!("{:?}", standing.parallel) };
    assert_eq!(
        (clashes(parallel), parallel.statements.iter().map(|said| said.who.as_str()).collect::<Vec<_>>()),
        (vec![], vec!["A.", "B."])
    );
}

#[test]
fn a_width_of_one_and_a_height_of_another_are_no_panel() {
    let events =
        [first(), says(11, "A.", &[10], &bonnet(&[("width_mm", "1500")])), says(12, "B.", &[10], &bonnet(&[("height_mm", "900")]))];
    let standing = fold(&events);
    assert_eq!(stands(&standing), bonnet(&[("width_mm", "1500")]));
    assert_eq!(clashes(&standing.parallel[0]), [("outline", vec![said("A.", "1500"), said("B.", "1400")])]);
}

#[test]
fn what_fits_only_apart_is_not_mixed() {
    let narrow = bonnet(&[("width_mm", "600")]);
    let mut lined = bonnet(&[]);
    lined["lines"] = json!([{"points_mm": [["0", "300"], ["1400", "300"]], "radius_mm": "8"}]);
    let standing = fold(&[first(), says(11, "A.", &[10], &narrow), says(12, "B.", &[10], &lined)]);
    assert_eq!((stands(&standing), standing.unusable.len(), standing.panels[0].lines.len()), (narrow, 0, 0));
    assert_eq!(standing.parallel[0].clashes.iter().map(|clash| clash.field.words).collect::<Vec<_>>(), ["body lines"]);
}

#[test]
fn three_who_have_not_seen_each_other_are_all_told() {
    let said_of = |n, who, hardness| says(n, who, &[10], &bonnet(&[("hardness", hardness)]));
    let events = [first(), said_of(11, "A.", "soft"), said_of(12, "B.", "hard"), said_of(13, "C.", "medium")];
    let standing = fold(&events);
    let wanted = vec![said("A.", "soft"), said("B.", "hard"), said("C.", "medium")];
    assert_eq!(clashes(&standing.parallel[0]), [(HARDNESS, wanted)]);
}

#[test]
fn the_same_from_both_is_no_matter() {
    let soft = bonnet(&[("hardness", "soft")]);
    let standing = fold(&[first(), says(11, "A.", &[10], &soft), says(12, "B.", &[10], &soft)]);
    assert_eq!((stands(&standing), standing.parallel), (soft, vec![]));
}

#[test]
fn two_panels_of_one_name_clash() {
    let standing = fold(&[says(11, "A.", &[], &bonnet(&[])), says(12, "B.", &[], &bonnet(&[("width_mm", "900")]))]);
    assert_eq!((standing.panels.len(), stands(&standing)), (1, bonnet(&[])));
    assert_eq!(clashes(&standing.parallel[0]), [("outline", vec![said("A.", "1400"), said("B.", "900")])]);
}

#[test]
fn who_states_a_thing_twice_without_a_network_knows_what_they_said_themselves() {
    // The page shows what it did before: the second statement says nothing of it and means only the width.
    let events = [
        first(),
        says(11, "A.", &[10], &bonnet(&[("hardness", "soft")])),
        says(12, "A.", &[10], &bonnet(&[("width_mm", "1380")])),
        says(13, "A.", &[10], &bonnet(&[("width_mm", "1370")])),
    ];
    let standing = fold(&events);
    assert_eq!((stands(&standing), standing.parallel), (bonnet(&[("hardness", "soft"), ("width_mm", "1370")]), vec![]));
}

#[test]
fn what_older_versions_said_takes_the_place_of_all_before_it() {
    let (soft, hard) = (bonnet(&[("hardness", "soft")]), bonnet(&[("hardness", "hard")]));
    let older = [says_as_before(10, "A.", &bonnet(&[])), says_as_before(11, "A.", &soft), says_as_before(12, "B.", &hard)];
    let standing = fold(&older);
    assert_eq!((stands(&standing), standing.parallel.len()), (hard.clone(), 0));
    // What was stated over one of them is measured by it all the same.
    let mut events = older.to_vec();
    events.push(says(13, "C.", &[11], &bonnet(&[("hardness", "medium")])));
    assert_eq!(clashes(&fold(&events).parallel[0]), [(HARDNESS, vec![said("B.", "hard"), said("C.", "medium")])]);
}

#[test]
fn a_statement_that_is_struck_out_clashes_with_nothing() {
    let (soft, hard) = (bonnet(&[("hardness", "soft")]), bonnet(&[("hardness", "hard")]));
    let strike = says_as_before(20, "A.", &json!({"kind": "struck-out", "event": id(11).to_string(), "why": "the wrong car"}));
    let standing = fold(&[first(), says(11, "A.", &[10], &soft), says(12, "B.", &[10], &hard), strike.clone()]);
    assert_eq!((stands(&standing), standing.parallel.len()), (hard, 0));
    // Who had it before them and kept what it says, says that themselves.
    let both = bonnet(&[("hardness", "soft"), ("visibility", "0.5")]);
    assert_eq!(stands(&fold(&[first(), says(11, "A.", &[10], &soft), says(12, "B.", &[11], &both), strike])), both);
}

#[test]
fn what_claims_to_know_of_each_other_or_of_what_is_not_there_is_kept_all_the_same() {
    let (soft, hard) = (bonnet(&[("hardness", "soft")]), bonnet(&[("hardness", "hard")]));
    let circle = fold(&[says(11, "A.", &[12, 11, 11], &soft), says(12, "B.", &[11, 99], &hard)]);
    assert_eq!((stands(&circle), circle.panels.len()), (hard, 1));
}

#[test]
fn the_vehicle_the_gauge_and_a_spot_clash_as_panels_do() {
    let vehicle = |title: &str| json!({"kind": "vehicle-stated", "title": title});
    let gauge = |um: &str| json!({"kind": "gauge-stated", "accuracy": {"fixed_um": "1", "percent": "1"}, "repeatability_um": um});
    let spot = |x: &str| json!({"kind": "spot-marked", "spot": "spot 1", "panel": "bonnet", "x_mm": x, "y_mm": "100", "width_mm": "150", "height_mm": "150"});
    let events = [
        first(),
        says(11, "A.", &[], &vehicle("Sage coupe")),
        says(12, "B.", &[], &vehicle("The coupe")),
        says(13, "A.", &[], &gauge("0.8")),
        says(14, "B.", &[], &gauge("1.2")),
        says(15, "A.", &[], &spot("100")),
        says(16, "B.", &[], &spot("700")),
    ];
    let words: Vec<&str> = fold(&events).parallel.iter().flat_map(|one| &one.clashes).map(|clash| clash.field.words).collect();
    assert_eq!(words, ["title", "repeatability", "place"]);
}

/// What somebody does at a device: which of the statements that arrived they have seen, and what they change.
#[derive(Clone, Debug)]
struct Turn {
    who: &'static str,
    sees: prop::sample::Index,
    changes: Vec<(&'static str, &'static str)>,
}

fn turn() -> impl Strategy<Value = Turn> {
    let change = prop_oneof![
        prop::sample::select(vec!["soft", "hard", "medium"]).prop_map(|value| ("hardness", value)),
        prop::sample::select(vec!["0.5", "0.8"]).prop_map(|value| ("visibility", value)),
        prop::sample::select(vec!["1380", "1390"]).prop_map(|value| ("width_mm", value)),
    ];
    (prop::sample::select(vec!["A.", "B.", "C."]), any::<prop::sample::Index>(), prop::collection::vec(change, 0..3))
        .prop_map(|(who, sees, changes)| Turn { who, sees, changes })
}

/// Everybody states what their page shows, which is how it stood after some of all statements, with what they change.
fn stated(turns: &[Turn]) -> Vec<Event> {
    let mut events = vec![first()];
    for (n, turn) in (11..).zip(turns) {
        let seen = fold(&events[..=turn.sees.index(events.len())]);
        let mut body = stands(&seen);
        turn.changes.iter().for_each(|(field, value)| body[*field] = json!(value));
        let over: Vec<usize> = (10..n).filter(|n| seen.stated[0].by.contains(&id(*n))).collect();
        events.push(says(n, turn.who, &over, &body));
    }
    events
}

/// The values of a field that stand or are told of.
fn kept(standing: &Standing, member_name: &str) -> Vec<String> {
    let stated = &standing.stated[0];
    let clashes = standing.parallel.iter().flat_map(|one| &one.clashes).filter(|clash| clash.field.members.contains(&member_name));
    let said = clashes.flat_map(|clash| &clash.said).map(|said| member(&said.body, member_name));
    let mut all: Vec<String> = said.chain([member(&stated.body, member_name)]).collect();
    all.sort();
    all.dedup();
    all
}

/// Whether one statement knows of another, by what each says it was stated over, and by who stated it.
fn knows(events: &[Event], one: usize, other: usize) -> bool {
    let index = |id: &lastmicron_job::event::Id| events.iter().position(|event| event.id == *id).unwrap();
    let own = (0..one).rev().find(|i| (events[*i].device, &events[*i].who) == (events[one].device, &events[one].who));
    let known = events[one].over.iter().flatten().map(index).chain(own);
    known.into_iter().any(|known| known == other || knows(events, known, other))
}

proptest! {
    #[test]
    fn no_value_vanishes_that_nobody_who_knew_of_it_has_replaced(turns in prop::collection::vec(turn(), 0..7)) {
        let events = stated(&turns);
        let standing = fold(&events);
        for (i, turn) in turns.iter().enumerate().map(|(i, turn)| (i + 1, turn)) {
            let seen = stands(&fold(&events[..=turn.sees.index(i)]));
            for (field, _) in &turn.changes {
                let value = member(&events[i].body, field);
                if seen[*field] == json!(value) {
                    continue;
                }
                let may_have_replaced = |later: usize| knows(&events, later, i) && member(&events[later].body, field) != value;
                if !(0..events.len()).any(may_have_replaced) {
                    prop_assert!(kept(&standing, field).contains(&value), "{field} {value} of {}: {:?}", events[i].who, standing.parallel);
                }
            }
        }
    }

    #[test]
    fn in_whatever_order_statements_arrive_the_same_values_are_kept(turns in prop::collection::vec(turn(), 0..6), shuffle in any::<u64>()) {
        // What one device sends keeps its order, and one person has one device; of others anything may come first.
        let events = stated(&turns);
        let mut arrived: Vec<&Event> = Vec::new();
        let mut queues: Vec<Vec<&Event>> = ["A.", "B.", "C.", "M."].map(|who| events.iter().filter(|event| event.who == who).collect()).to_vec();
        let mut seed = shuffle;
        while queues.iter().any(|queue| !queue.is_empty()) {
            queues.retain(|queue| !queue.is_empty());
            let at = usize::try_from(seed % queues.len() as u64).unwrap();
            seed = seed.rotate_right(7) ^ 0x9e37;
            arrived.push(queues[at].remove(0));
        }
        let (in_order, shuffled) = (fold(&events), fold(arrived));
        for field in ["hardness", "visibility", "width_mm"] {
            prop_assert_eq!(kept(&in_order, field), kept(&shuffled, field));
        }
    }

    #[test]
    fn whoever_has_seen_all_settles_all(turns in prop::collection::vec(turn(), 0..7)) {
        let mut events = stated(&turns);
        let (body, by) = { let standing = fold(&events); (stands(&standing), standing.stated[0].by.clone()) };
        let over: Vec<usize> = (10..40).filter(|n| by.contains(&id(*n))).collect();
        events.push(says(40, "M.", &over, &body));
        let settled = fold(&events);
        prop_assert_eq!((stands(&settled), settled.parallel), (body, vec![]));
    }

    #[test]
    fn what_is_measured_later_leaves_what_is_stated(turns in prop::collection::vec(turn(), 0..5)) {
        let mut events = stated(&turns);
        let before = fold(&events);
        let read = says_as_before(50, "A.", &reading("70.1", "um"));
        let on = fold_on(&before, &[&read]);
        events.push(read);
        prop_assert_eq!(on, Some(fold(&events)));
    }
}
