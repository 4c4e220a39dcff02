//! What a record says once it is folded.

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_job::event::Event;
use lastmicron_job::fold::{Deed, Lacking, Standing, Status, Unusable, fold, fold_on, unusable_next};
use lastmicron_job::not_done;
use lastmicron_look::Seen;
use lastmicron_plan::{GoneThrough, KeepOff, KeptOff, System};
use lastmicron_polish::Step;
use serde_json::{Value, json};

use crate::pen::{event, events, folded, id, opening, reading};

/// Why each event that can't be used can't.
fn reasons(standing: &Standing) -> Vec<String> {
    standing.unusable.iter().map(|unusable| unusable.why.to_string()).collect()
}

fn sound(rest: impl IntoIterator<Item = Value>) -> Standing {
    let standing = folded(rest);
    assert_eq!(reasons(&standing), Vec::<String>::new());
    standing
}

fn spot() -> Value {
    json!({"kind": "spot-marked", "spot": "spot 1", "panel": "bonnet", "x_mm": "350", "y_mm": "250", "width_mm": "180", "height_mm": "180"})
}

fn set_on_spot(process: &str) -> Value {
    json!({"kind": "set-done", "process": process, "spot": "spot 1"})
}

fn set_on(process: &str, sets: u32, [x, y, w, h]: [&str; 4]) -> Value {
    json!({"kind": "set-done", "process": process, "sets": sets, "sections": [{"panel": "bonnet", "x_mm": x, "y_mm": y, "width_mm": w, "height_mm": h}]})
}

fn judged(seen: Value) -> Value {
    json!({"kind": "spot-judged", "spot": "spot 1", "seen": seen, "wiped": true})
}

#[test]
fn a_reading_where_two_sections_meet_counts_with_one_of_them() {
    let meet = [set_on("finish", 3, ["0", "0", "400", "600"]), set_on("finish", 2, ["400", "0", "400", "600"])];
    let after = |upon: Option<Value>| {
        let standing = sound(meet.clone().into_iter().chain(upon).chain([reading("60.0", "um")]));
        standing.readings[0].reading.after.clone()
    };
    assert_eq!(after(None), [Step { process: 0, sets: 2 }]);
    // One upon both is counted too.
    let upon = set_on("cut", 1, ["300", "200", "200", "200"]);
    assert_eq!(after(Some(upon)), [Step { process: 0, sets: 2 }, Step { process: 1, sets: 1 }]);
}

#[test]
fn what_was_said_is_the_job() {
    let standing = sound([reading("63.2", "um"), reading("2.50", "mil")]);
    let job = standing.job().unwrap();
    assert_eq!(
        (job.title.as_str(), job.body.as_str(), job.built, job.substrate),
        ("Sage roadster", "roadster", Some(1971), Substrate::Steel)
    );
    assert_eq!(job.car.paint.system, System::SingleStage);
    assert_eq!(job.car.panels.iter().map(|panel| panel.panel.substrate).collect::<Vec<_>>(), [Substrate::Steel, Substrate::Aluminium]);
    assert_eq!(job.car.processes[1].followed_by, Some(0));
    // [D] 0.8 x 25.4 and 2.5 x 25.4.
    assert!((job.car.limits.floor.micrometres() - 20.32).abs() < 1e-12);
    assert!((job.car.readings[1].value.micrometres() - 63.5).abs() < 1e-12);
    assert_eq!(standing.readings[1].entered.to_string(), "2.50 mil");
    assert_eq!((job.car.readings[0].session.as_str(), job.car.readings[0].layer, job.car.readings[0].line), ("survey", Layer::Total, None));
    assert_eq!((standing.readings[0].who.as_str(), standing.readings[0].when.as_str()), ("J.", "2024-05-01T09:30:00+02:00"));
}

#[test]
fn a_job_lacks_all_that_nobody_has_stated() {
    use Lacking::{Gauge, Panels, Processes, Terms, Vehicle};
    assert_eq!(fold(&[]).job(), Err(vec![Vehicle, Panels, Gauge, Processes, Terms]));
    let named_gauge =
        json!({"kind": "gauge-stated", "name": "second", "accuracy": {"fixed_um": "1", "percent": "1"}, "repeatability_um": "0.8"});
    let mut bodies = opening();
    bodies[2] = named_gauge.clone();
    assert_eq!(fold(&events(bodies.clone())).job(), Err(vec![Gauge]));
    bodies.push(opening()[2].clone());
    let gauges = fold(&events(bodies)).gauges;
    assert_eq!(gauges.iter().map(|gauge| gauge.name.as_str()).collect::<Vec<_>>(), ["", "second"]);
}

#[test]
fn what_is_stated_again_takes_the_place_of_what_was_stated() {
    let restated = json!({"kind": "panel-stated", "name": "bonnet", "width_mm": "1300", "height_mm": "1100", "work": false});
    let terms = json!({"kind": "terms-agreed", "floor": {"number": "16", "unit": "um"}, "risk": "0.05", "correction": "0.7", "hours": "8", "note": "by telephone"});
    let standing = sound([restated, terms]);
    assert_eq!(
        standing.panels.iter().map(|panel| (panel.panel.name.as_str(), panel.work)).collect::<Vec<_>>(),
        [("bonnet", false), ("boot lid", true)]
    );
    assert_eq!((standing.terms.len(), standing.terms[1].note.as_str()), (2, "by telephone"));
    assert!((standing.job().unwrap().car.limits.risk - 0.05).abs() < 1e-12);
}

#[test]
fn a_reading_that_arrives_before_its_panel_is_not_lost() {
    let mut bodies = vec![reading("63.2", "um")];
    bodies.extend(opening());
    assert_eq!(fold(&events(bodies)).readings.len(), 1);
}

#[test]
fn what_is_folded_on_is_what_is_folded_at_once() {
    let rest = [
        json!({"kind": "session-began", "session": "a"}),
        spot(),
        reading("64.0", "um"),
        set_on_spot("finish"),
        judged(json!({"left": "half"})),
        reading("63.1", "um"),
        set_on("cut", 1, ["0", "0", "700", "550"]),
        json!({"kind": "set-done", "process": "nothing", "spot": "spot 1"}),
        reading("61.2", "um"),
        json!({"kind": "session-ended", "session": "a"}),
        json!({"kind": "session-ended", "session": "a"}),
        json!({"kind": "struck-out", "event": id(21), "why": "twice"}),
        json!({"kind": "noted", "text": "Soft."}),
    ];
    let all = events(opening().into_iter().chain(rest));
    let whole = fold(&all);
    assert!(!whole.unusable.is_empty() && !whole.done.is_empty());
    let mut folded_on = 0;
    for at in 0..=all.len() {
        let (before, after) = all.split_at(at);
        let after: Vec<&Event> = after.iter().collect();
        let standing = fold(before);
        let on = fold_on(&standing, &after);
        if let Some(on) = on {
            folded_on += 1;
            assert_eq!(on, whole, "{at}");
            let new = |unusable: &&Unusable| after.iter().any(|event| event.id == unusable.event);
            let expected: Vec<Unusable> = whole.unusable.iter().filter(new).cloned().collect();
            assert_eq!(unusable_next(&standing, &after), Some(expected), "{at}");
        }
    }
    assert_eq!(folded_on, 2, "after the last strike-out, and with nothing left");
    // Every one of them by itself, as devices send them.
    let mut standing = fold(&all[..0]);
    for at in 1..=all.len() {
        standing = fold_on(&standing, &[&all[at - 1]]).unwrap_or_else(|| fold(&all[..at]));
        assert_eq!(standing, fold(&all[..at]), "{at}");
    }
}

#[test]
fn what_was_struck_out_counts_no_more_and_is_listed() {
    let strike = |event: usize| json!({"kind": "struck-out", "event": id(event), "why": "read on the wrong panel"});
    // The opening has the events 10 to 17; the readings are 18 and 19, the first striking-out is 20.
    let readings = [reading("63.2", "um"), reading("64.0", "um")];
    let standing = sound(readings.clone().into_iter().chain([strike(18)]));
    assert_eq!(standing.readings.iter().map(|taken| taken.event).collect::<Vec<_>>(), [id(19)]);
    let struck = &standing.struck[0];
    assert_eq!((struck.event, struck.by, struck.who.as_str(), struck.why.as_str()), (id(18), id(20), "J.", "read on the wrong panel"));
    let restored = sound(readings.clone().into_iter().chain([strike(18), strike(20)]));
    assert_eq!(restored.readings.len(), 2);
    assert_eq!(restored.struck.iter().map(|struck| struck.event).collect::<Vec<_>>(), [id(20)]);
    let twice = sound(readings.into_iter().chain([strike(18), strike(18)]));
    assert_eq!((twice.readings.len(), twice.struck[0].by), (1, id(20)));
}

#[test]
fn only_what_came_before_can_be_struck_out() {
    let strike = |event: usize| json!({"kind": "struck-out", "event": id(event), "why": "a slip"});
    let standing = folded([strike(19), reading("63.2", "um"), strike(99), strike(21)]);
    assert_eq!(standing.readings.len(), 1);
    assert_eq!(reasons(&standing), [19, 99, 21].map(|n| format!("there is no event {} before this one to strike out", id(n))));
    assert_eq!(standing.unusable.iter().map(|unusable| unusable.event).collect::<Vec<_>>(), [id(18), id(20), id(21)]);
}

#[test]
fn a_reading_knows_what_had_been_done_at_its_place() {
    let [whole, far] = [["300", "200", "450", "450"], ["900", "600", "450", "450"]];
    let mut said = reading("60.1", "um");
    said["after"] = json!([{"process": "finish", "sets": 1}]);
    let standing = sound([
        reading("63.2", "um"),
        spot(),
        set_on_spot("cut"),
        set_on_spot("cut"),
        reading("60.0", "um"),
        set_on("finish", 2, whole),
        set_on("cut", 1, far),
        reading("59.1", "um"),
        said,
    ]);
    let step = |process, sets| Step { process, sets };
    let after: Vec<_> = standing.readings.iter().map(|taken| taken.reading.after.clone()).collect();
    assert_eq!(after, [vec![], vec![step(1, 2)], vec![step(1, 2), step(0, 2)], vec![step(0, 1)]]);
    let worked: Vec<_> = standing.worked.iter().map(|worked| (worked.x_mm, worked.after.clone())).collect();
    assert_eq!(worked, [(350.0, vec![step(1, 2)]), (300.0, vec![step(0, 2)]), (900.0, vec![step(1, 1)])]);
}

/// The same with the bonnet's left edge kept off.
fn set_off_the_left(process: &str, mm: &str, rectangle: [&str; 4]) -> Value {
    let mut body = set_on(process, 1, rectangle);
    body["keep_off"] = json!([{"edge": 3, "mm": mm}]);
    body
}

#[test]
fn a_reading_where_pads_were_kept_off_is_of_untouched_film() {
    let whole = ["0", "0", "450", "450"];
    let at = |x: &str| {
        let mut body = reading("63.2", "um");
        (body["x_mm"], body["y_mm"]) = (json!(x), json!("300"));
        body
    };
    let standing = sound([set_off_the_left("cut", "50", whole), at("20"), at("60"), set_on("finish", 2, whole), at("20"), at("60")]);
    let step = |process, sets| Step { process, sets };
    let after: Vec<_> = standing.readings.iter().map(|taken| taken.reading.after.clone()).collect();
    assert_eq!(after, [vec![], vec![step(1, 1)], vec![step(0, 2)], vec![step(1, 1), step(0, 2)]]);
    assert_eq!(standing.done_at(0, [20.0, 300.0]), [step(0, 2)]);
    assert_eq!(standing.done_at(0, [60.0, 300.0]), [step(1, 1), step(0, 2)]);
}

#[test]
fn sections_are_one_where_the_same_was_kept_off() {
    let whole = ["0", "0", "450", "450"];
    let mut nothing = set_on("cut", 1, whole);
    (nothing["keep_off"], nothing["keep_off_lines"]) = (json!([{"edge": 3, "mm": "0"}]), json!([]));
    let standing = sound([
        set_off_the_left("cut", "50", whole),
        set_off_the_left("cut", "75", whole),
        set_off_the_left("finish", "50.0", whole),
        set_on("cut", 2, whole),
        nothing,
    ]);
    let step = |process, sets| Step { process, sets };
    let worked: Vec<_> = standing.worked.iter().map(|worked| (worked.kept_off.edges.clone(), worked.after.clone())).collect();
    let left = |mm: f64| vec![KeepOff { edge: 3, mm }];
    assert_eq!(worked, [(left(50.0), vec![step(1, 1), step(0, 1)]), (left(75.0), vec![step(1, 1)]), (vec![], vec![step(1, 3)])]);
}

#[test]
fn what_cannot_have_been_kept_off_is_refused() {
    let with = |key: &str, value: Value| {
        let mut body = set_on("cut", 1, ["0", "0", "450", "450"]);
        body[key] = value;
        body
    };
    let mut on_spot = set_on_spot("cut");
    on_spot["keep_off"] = json!([{"edge": 0, "mm": "50"}]);
    let mut on_two = with("keep_off", json!([{"edge": 0, "mm": "50"}]));
    on_two["sections"] =
        json!([on_two["sections"][0], {"panel": "boot lid", "x_mm": "0", "y_mm": "0", "width_mm": "200", "height_mm": "200"}]);
    let one_panel = "give the sections, all of one panel, on which edges or lines were kept off";
    let cases = [
        (with("keep_off", json!([{"edge": 4, "mm": "50"}])), "'bonnet' has no edge 4: it has 4, numbered from 0"),
        (with("keep_off_lines", json!([{"line": 0, "mm": "20"}])), "'bonnet' has no body line 0: it has 0, numbered from 0"),
        (
            with("keep_off", json!([{"edge": 0, "mm": "-50"}])),
            "keep_off: -50 makes no sense here: it must be a distance from 0 to 15,000 mm",
        ),
        (on_spot, one_panel),
        (on_two, one_panel),
    ];
    for (body, reason) in cases {
        let standing = folded([spot(), body]);
        assert_eq!(reasons(&standing), [reason]);
        assert!(standing.worked.is_empty() && standing.done.is_empty());
    }
}

#[test]
fn an_event_without_what_was_kept_off_is_worked_whole_and_written_as_it_was() {
    let body = set_on("cut", 1, ["0", "0", "450", "450"]);
    assert_eq!(serde_json::to_value(event(1, body.clone())).unwrap()["body"], body);
    assert_eq!(sound([body]).worked[0].kept_off, KeptOff::default());
}

#[test]
fn a_set_that_is_struck_out_was_never_under_a_reading() {
    let strike = json!({"kind": "struck-out", "event": id(19), "why": "was done on the boot lid"});
    let standing = sound([spot(), set_on_spot("cut"), reading("60.0", "um"), strike]);
    assert_eq!((standing.readings[0].reading.after.clone(), standing.worked.len()), (vec![], 0));
}

#[test]
fn spots_are_judged_in_words_counts_and_shares() {
    let standing = sound([
        spot(),
        judged(json!({"count": "75"})),
        set_on_spot("cut"),
        judged(json!({"left": "few"})),
        judged(json!({"share_left": "0.2", "share_between": ["0.12", "0.31"]})),
        json!({"kind": "spot-judged", "spot": "spot 1", "seen": {"count": "4"}, "of": "deep", "new_haze": true}),
        json!({"kind": "gloss-read", "spot": "spot 1", "gloss_20": "66.3"}),
    ]);
    let counts: Vec<_> =
        standing.judged.iter().map(|judged| (judged.count.seen, judged.count.share_between, judged.count.after.clone())).collect();
    let cut = vec![(1, 1)];
    assert_eq!(counts[0], (Seen::Count(75), None, vec![]));
    assert_eq!(counts[1], (Seen::ShareLeft(0.15), Some([0.03, 0.35]), cut.clone()));
    assert_eq!(counts[2], (Seen::ShareLeft(0.2), Some([0.12, 0.31]), cut.clone()));
    assert_eq!(counts[3], (Seen::Count(4), None, cut.clone()));
    assert_eq!((standing.judged[3].new_haze, standing.judged[0].new_haze), (Some(true), None));
    assert_eq!(standing.gloss[0].after, cut);
}

#[test]
fn sessions_begin_and_end_with_what_the_gauge_showed_on_shims() {
    let film = |number: &str| json!({"number": number, "unit": "um"});
    let check = |shown: &str| json!([{"shim": film("51.1"), "shown": [film(shown), film("50.9")]}]);
    let standing = sound([
        json!({"kind": "session-began", "session": "survey", "checks": check("51.4")}),
        json!({"kind": "session-ended", "session": "survey", "checks": check("50.2")}),
    ]);
    let session = &standing.sessions[0];
    assert_eq!(
        (session.before[0].shown[0].to_string(), session.after[0].shown[0].to_string()),
        ("51.4 um".to_owned(), "50.2 um".to_owned())
    );
    assert_eq!(session.ended.as_ref(), Some(&session.began));
}

#[test]
fn everybody_reads_in_the_session_that_they_began_or_in_the_last_that_is_open() {
    let began = |name: &str| json!({"kind": "session-began", "session": name});
    let mut all =
        events(opening().into_iter().chain([began("morning"), began("hers"), json!({"kind": "session-ended", "session": "hers"})]));
    let hers = all.len() - 2;
    all[hers].who = "T.".to_owned();
    let names = |upto: usize| {
        let standing = fold(&all[..upto]);
        ["J.", "T.", "M."].map(|who| standing.open_session(who).map(|session| session.name.clone()).unwrap_or_default())
    };
    assert_eq!(names(hers), ["morning"; 3]);
    assert_eq!(names(hers + 1), ["morning", "hers", "hers"]);
    assert_eq!(names(hers + 2), ["morning"; 3]);
}

#[test]
fn of_a_panel_that_nobody_began_the_plan_says_why_and_nothing_else_does() {
    let standing = sound([set_on("finish", 1, ["0", "0", "400", "400"])]);
    let never = ("boot lid".to_owned(), "Never reached: no sets are recorded.".to_owned());
    assert_eq!(not_done(&standing, &[]), [never]);
    let planned = [("boot lid".to_owned(), "2 of 2 sections that the plan works were not begun.".to_owned())];
    assert_eq!(not_done(&standing, &planned), planned);
    // Before the work, too, what is said of the plan is told: that it is lost.
    let lost = [("the plan".to_owned(), "It is lost.".to_owned())];
    assert_eq!(not_done(&sound([]), &lost), lost);
}

#[test]
fn how_the_work_went_is_kept_and_no_plan_is_made_from_it_but_for_where_it_went_through() {
    let section = json!({"panel": "bonnet", "x_mm": "0", "y_mm": "0", "width_mm": "450", "height_mm": "450"});
    let standing = sound([
        json!({"kind": "status-changed", "status": "on-the-floor"}),
        json!({"kind": "work-started", "section": section, "process": "cut"}),
        json!({"kind": "work-stopped", "section": section, "why": "colour on the pad"}),
        json!({"kind": "gone-through", "panel": "bonnet", "x_mm": "20", "y_mm": "30", "note": "primer shows, owner told"}),
        json!({"kind": "left-alone", "panel": "boot lid", "why": "too thin"}),
        json!({"kind": "work-done", "section": section}),
        json!({"kind": "noted", "text": "old chip by the latch", "panel": "boot lid"}),
        json!({"kind": "photograph-attached", "photograph": "ab".repeat(32), "panel": "bonnet"}),
        json!({"kind": "plan-accepted", "plan": "cd".repeat(32), "risk": "0.017", "correction": "0.71", "hours": "9.5"}),
    ]);
    assert_eq!((standing.status(), folded([]).status()), (Status::OnTheFloor, Status::Arrived));
    assert_eq!(standing.work.len(), 5);
    assert!(matches!(&standing.work[0].deed, Deed::Started(on, Some(1), None) if on.panel == 0));
    assert!(matches!(&standing.work[3].deed, Deed::LeftAlone(1, None, why) if why == "too thin"));
    assert_eq!((standing.notes[0].panel, standing.photographs[0].panel, standing.plans.len()), (Some(1), Some(0), 1));
    let mut without = standing.job().unwrap();
    assert_eq!(without.car.panels[0].gone_through.len(), 1);
    without.car.panels[0].gone_through.clear();
    assert_eq!(without, folded([]).job().unwrap());
}

#[test]
fn machines_pads_and_uses_are_found_by_their_names() {
    let process = json!({
        "kind": "process-stated", "name": "one-step", "removal_um": {"mean": "1.2", "sd": "0.3"}, "minutes_per_m2": "26", "marks": {"mean": "0.02", "sd": "0.02"},
        "uses": {"machine": "large orbital", "pad": "soft foam 140", "load_n": "40", "overlap": "0.5", "polish": "fine",
                 "stages": [{"passes": 2, "arm_speed_mm_s": "120"}, {"pad": "clean"}, {"passes": 2, "arm_speed_mm_s": "30"}]}
    });
    let standing = sound([
        process,
        json!({"kind": "pad-stated", "name": "soft foam 140", "diameter_mm": "140", "stiffness_pa_per_m": "2.4e6", "edge": "upright"}),
        json!({"kind": "machine-stated", "name": "large orbital", "drive": "free", "orbit_radius_mm": "7.5", "orbits_per_minute": "4200", "spin_rpm": "200"}),
        json!({"kind": "scatter-stated", "panel": "0.1", "section": "0.05"}),
        json!({"kind": "edge-stated", "gain": {"mean": "0.6", "sd": "0.2"}, "reach_mm": "25"}),
    ]);
    let (machine, pad, used) = standing.equipment.of(2).unwrap();
    assert_eq!((machine.name.as_str(), pad.name.as_str(), used.passes), ("large orbital", "soft foam 140", 4));
    assert_eq!(standing.equipment.stages_of(2).len(), 3);
    assert_eq!(standing.equipment.polishes[2].as_deref(), Some("fine"));
    assert!(standing.scatter.is_some() && standing.edge.is_some());
}

#[test]
fn what_cannot_be_used_is_listed_with_its_reason_and_breaks_nothing() {
    let read = |change: fn(&mut Value)| {
        let mut body = reading("63.2", "um");
        change(&mut body);
        body
    };
    let plastic = json!({"kind": "panel-stated", "name": "bumper", "width_mm": "1500", "height_mm": "300", "substrate": "plastic"});
    let cases: Vec<(Value, &str)> = vec![
        (read(|body| body["panel"] = json!("bonet")), "'bonet' is not a panel known in this job"),
        (read(|body| body["value"]["number"] = json!("63,2 or so")), "'63,2 or so' is not a number: write it like 118.5"),
        (
            read(|body| body["value"]["number"] = json!("1,234")),
            "'1,234' may be 1.234 or 1234: write one of the two, with a point for decimals and nothing between thousands",
        ),
        (read(|body| body["value"]["unit"] = json!("inch")), "'inch' is not a unit of film thickness: write um, mil or mm"),
        (read(|body| body["value"]["number"] = json!("63.2 mil")), "'63.2 mil' is not a number: write it like 118.5"),
        (
            read(|body| body["value"]["number"] = json!("-3")),
            "value: -3 um makes no sense here: it must be 0 or more: a film is not negative",
        ),
        (
            read(|body| body["value"]["number"] = json!("4.3")),
            "4.3 um is less than is to be expected of a vehicle (10 to 2000 um); plausible would be 4.3 mil",
        ),
        (read(|body| body["x_mm"] = json!("1500")), "(1500, 300) is not on 'bonnet'"),
        (read(|body| body["layer"] = json!("clear")), "'clear' is not a layer known in this job"),
        (read(|body| body["gauge"] = json!("third")), "'third' is not a gauge known in this job"),
        (read(|body| body["after"] = json!([{"process": "sand", "sets": 1}])), "'sand' is not a process known in this job"),
        (
            read(|body| body["after"] = json!([{"process": "cut", "sets": 0}])),
            "sets: 0 makes no sense here: it must be a whole number from 1 to 1000",
        ),
        (
            read(|body| body["panel"] = json!("bumper")),
            "'bumper' is plastic, which neither a magnetic nor an eddy-current gauge reads through",
        ),
        (json!({"kind": "panel-stated", "name": "", "width_mm": "1", "height_mm": "1"}), "'' can't be a name: it is empty"),
        (json!({"kind": "panel-stated", "name": "roof"}), "give either width_mm and height_mm or outline_mm"),
        (
            json!({"kind": "panel-stated", "name": "roof", "outline_mm": [["0", "0"], ["9", "0"]]}),
            "this is no panel's outline: 2 corners enclose nothing: list at least three",
        ),
        (
            json!({"kind": "panel-stated", "name": "roof", "width_mm": "900", "height_mm": "600", "lines": [{"points_mm": [["0", "300"]], "radius_mm": "8"}]}),
            "this is no body line: one point has no direction; list at least two",
        ),
        (json!({"kind": "session-ended", "session": "survey"}), "'survey' is not a session that is open known in this job"),
        (json!({"kind": "spot-judged", "spot": "spot 9", "seen": {"left": "few"}}), "'spot 9' is not a spot known in this job"),
        (json!({"kind": "set-done", "process": "cut"}), "give either the spot or the sections where it was done"),
        (json!({"kind": "status-changed", "status": "lost"}), "'lost' is not a status known in this job"),
        (
            json!({"kind": "process-stated", "name": "a+b", "removal_um": {"mean": "1", "sd": "0.1"}, "minutes_per_m2": "20"}),
            "'a+b' can't be a name: ':' and '+' stand between processes and sets in the column 'after'",
        ),
        (
            json!({"kind": "terms-agreed", "floor": {"number": "0.8", "unit": "um"}, "risk": "0.02", "correction": "0.85", "hours": "14"}),
            "floor: 0.8 makes no sense here: it must be a film in um, 0 or 2 to 10,000 (0.8 mil is 20 um)",
        ),
    ];
    let bare = folded([plastic.clone()]);
    for (body, reason) in cases {
        let standing = folded([plastic.clone(), body]);
        assert_eq!(reasons(&standing), [reason]);
        assert_eq!(standing.unusable[0].event, id(19));
        assert_eq!(standing.job(), bare.job(), "{reason}");
    }
}

#[test]
fn processes_that_lead_back_to_themselves_are_listed_and_stay() {
    let process = |name: &str, next: &str| json!({"kind": "process-stated", "name": name, "removal_um": {"mean": "1", "sd": "0.1"}, "minutes_per_m2": "20", "followed_by": next});
    let standing = folded([process("a", "b"), process("b", "a"), process("c", "d")]);
    assert_eq!(
        reasons(&standing),
        ["'a' can't be followed by 'b': that leads back to 'a' and never ends", "'d' is not a process known in this job"]
    );
    assert_eq!(standing.processes.len(), 5);
}

#[test]
fn a_name_of_any_length_is_repeated_in_short() {
    let mut body = reading("63.2", "um");
    body["panel"] = json!(format!("\u{7}{}", "x".repeat(100_000)));
    assert_eq!(reasons(&folded([body])), [format!("'\u{fffd}{}' is not a panel known in this job", "x".repeat(59))]);
    assert_eq!(event(1, reading("1", "um")).who, "J.");
}

#[test]
fn a_panel_that_was_gone_through_says_so_until_that_is_struck_out_and_whether_work_goes_on_in_spite_of_it() {
    let through = json!({"kind": "gone-through", "panel": "bonnet", "x_mm": "20", "y_mm": "30", "note": "primer shows"});
    let section = json!({"panel": "bonnet", "x_mm": "0", "y_mm": "0", "width_mm": "400", "height_mm": "400"});
    let start = |despite: Option<Value>| {
        let mut body = json!({"kind": "work-started", "section": section});
        if let Some(despite) = despite {
            body["despite"] = despite;
        }
        body
    };
    let of = |rest: Vec<Value>| sound(rest).job().unwrap().car.panels[0].gone_through.clone();
    let told = |despite: bool| vec![GoneThrough { place_mm: [20.0, 30.0], despite }];
    let this = sound([through.clone()]).work[0].event;
    assert_eq!(of(vec![through.clone()]), told(false));
    assert_eq!(of(vec![through.clone(), start(None)]), told(false));
    assert_eq!(of(vec![through.clone(), start(Some(json!(this)))]), told(true));
    // One decision answers all that was found so far, and nothing that is found later.
    let went_on = json!({"kind": "went-on", "panel": "bonnet", "why": "the owner knows, and wants the rest done"});
    let places = of(vec![through.clone(), through.clone(), went_on, through.clone()]);
    assert_eq!(places.iter().map(|through| through.despite).collect::<Vec<_>>(), [true, true, false]);
    // A panel that is stated anew was gone through all the same.
    let anew = json!({"kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1150"});
    assert_eq!(of(vec![through.clone(), anew]), told(false));
    assert_eq!(of(vec![through, json!({"kind": "struck-out", "event": this, "why": "it was wax"})]), []);
}
