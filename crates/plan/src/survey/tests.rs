use super::*;
use crate::example::{EFFORT, car};
use crate::{Outcome, plan};
use expect_test::expect;
use lastmicron_units::{Removal, Thickness};
use proptest::prelude::*;

const UNIT: Unit = Unit::Micrometre;

fn surveyed(car: &Car) -> Vec<PanelSurvey> {
    survey(car, EFFORT, UNIT).unwrap()
}

fn with_floor(um: f64) -> Car {
    let mut car = car();
    car.limits.floor = Thickness::from_micrometres(um).unwrap();
    car
}

/// The example, with its fourth reading (on the sill) as given.
fn sill_reads(um: f64) -> Car {
    let mut car = car();
    car.readings[3].value = Thickness::from_micrometres(um).unwrap();
    car
}

#[test]
fn film_is_that_of_the_plan_with_the_same_effort() {
    let car = car();
    let planned: Outcome = plan(&car, EFFORT, UNIT).unwrap();
    let surveyed = surveyed(&car);
    for (k, panel) in surveyed.iter().enumerate().filter(|(_, p)| p.film.is_some()) {
        // Compared as text: off a panel there is no number, and none equals none there.
        assert_eq!(format!("{:?}", panel.film.as_ref().unwrap()), format!("{:?}", planned.film[k]));
        assert_eq!(panel.lowest_likely_um(), Some(planned.film[k].smallest_um.p05));
    }
    assert_eq!(surveyed.iter().map(|p| p.readings).collect::<Vec<_>>(), [3, 2, 0]);
    assert!(surveyed[0].film.is_some() && surveyed[1].film.is_some() && surveyed[2].film.is_none());
}

#[test]
fn a_panel_alone_is_answered_as_among_all_but_for_where_to_read_next() {
    let car = car();
    let all = surveyed(&car);
    for (k, of_all) in all.iter().enumerate() {
        let alone = survey_panel(&car, k, EFFORT, UNIT).unwrap().unwrap();
        let put = |panel: &PanelSurvey| format!("{:?}", PanelSurvey { next: None, undercoat: None, ..panel.clone() });
        assert_eq!(put(&alone), put(of_all));
    }
    assert_eq!(survey_panel(&car, 3, EFFORT, UNIT).unwrap(), None);
}

#[test]
fn the_best_place_of_all_panels_is_the_one_that_next_advises() {
    let car = car();
    let best = crate::next(&car, 1, EFFORT).unwrap().remove(0);
    let all = surveyed(&car);
    let panel = &all[best.panel];
    assert_eq!(panel.undercoat.as_ref().or(panel.next.as_ref()), Some(&best));
    assert!(panel.next.as_ref().is_some_and(|next| next.layer != Layer::Undercoat));
    // The flap was never read, so that is where to go, from whichever panel.
    assert_eq!([0, 1, 2].map(|in_hand| go_to(&all, in_hand)), [Some(2), Some(2), Some(best.panel)]);
}

#[test]
fn the_least_work_that_a_plan_does_on_a_panel_is_what_it_bears() {
    // Where the plan works a panel within the limit over all panels, less of it on one panel alone keeps to it too.
    for floor_um in [10.0, 15.0, 20.0] {
        let car = with_floor(floor_um);
        let planned = plan(&car, EFFORT, UNIT).unwrap();
        let all = surveyed(&car);
        for (panel, survey) in planned.plan.panels.iter().zip(&all).filter(|(p, _)| p.measured && p.is_worked()) {
            assert!(survey.sections.iter().any(|s| s.word > Word::LeaveAlone), "{floor_um}: {}", panel.name);
        }
    }
}

#[test]
fn a_car_that_nobody_read_is_not_known_and_begins_in_the_middle() {
    let mut car = car();
    car.readings.clear();
    let all = surveyed(&car);
    assert!(all.iter().all(|p| p.verdict.word == Word::NotKnownYet && p.film.is_none() && p.lowest_likely_um().is_none()));
    let first = all[0].next.as_ref().unwrap();
    // [D] 1000 by 800 mm: the middle is 400 mm from the long edges, and of the places as far from them the nearest to the middle.
    assert_eq!((first.x_mm, first.y_mm, first.layer), (500.0, 400.0, Layer::Total));
    assert_eq!(go_to(&all, 0), Some(1));
}

#[test]
fn what_stays_as_it_is_and_what_no_gauge_reads_is_not_asked_for() {
    let mut car = car();
    car.panels[0].work = false;
    car.panels[2].panel.substrate = Substrate::Plastic;
    let all = surveyed(&car);
    assert_eq!([&all[0], &all[2]].map(|p| p.verdict.word), [Word::LeaveAlone, Word::NotKnownYet]);
    assert!(all[0].film.is_some() && all[0].next.is_none() && all[2].next.is_none());
    assert_eq!(go_to(&all, 0), Some(1));
}

#[test]
fn a_higher_floor_never_bears_more() {
    let words = [5.0, 15.0, 19.0, 19.25, 19.5, 19.75, 20.0, 22.0, 28.0, 40.0].map(|um| surveyed(&with_floor(um)));
    for pair in words.windows(2) {
        for (low, high) in pair[0].iter().zip(&pair[1]) {
            assert!(high.verdict.word <= low.verdict.word);
            assert!(high.sections.iter().zip(&low.sections).all(|(high, low)| high.word <= low.word));
        }
    }
    let of_bonnet: Vec<Word> = words.iter().map(|w| w[0].verdict.word).collect();
    assert!(
        of_bonnet.contains(&Word::Work) && of_bonnet.contains(&Word::MildOnly) && of_bonnet.contains(&Word::LeaveAlone),
        "{of_bonnet:?}"
    );
}

#[test]
fn a_lower_reading_never_raises_the_lowest_likely_film_of_its_panel() {
    let lowest = |um: f64| survey_panel(&sill_reads(um), 1, EFFORT, UNIT).unwrap().unwrap().lowest_likely_um().unwrap();
    let lower: Vec<f64> = [66.0, 62.0, 58.0, 54.0, 50.0].map(lowest).to_vec();
    assert!(lower.windows(2).all(|w| w[1] <= w[0]), "{lower:?}");
}

#[test]
fn the_word_at_a_place_is_that_of_the_worst_section_round_it() {
    let section = |x_mm: f64, word: Word| SectionVerdict { x_mm, y_mm: 0.0, width_mm: 300.0, height_mm: 300.0, word };
    let mut panel = surveyed(&car()).remove(0);
    panel.sections = vec![section(0.0, Word::Work), section(300.0, Word::LeaveAlone)];
    panel.verdict.word = Word::MildOnly;
    assert_eq!(
        [100.0, 300.0, 400.0, 900.0].map(|x| panel.word_at(x, 10.0)),
        [Word::Work, Word::LeaveAlone, Word::LeaveAlone, Word::MildOnly]
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn one_more_reading_always_leaves_a_lowest_likely_film(um in 0.5..400.0f64, x_mm in 0.0..900.0f64, y_mm in 0.0..160.0f64) {
        let mut car = car();
        let more = crate::Reading { x_mm, y_mm, value: Thickness::from_micrometres(um).unwrap(), ..car.readings[3].clone() };
        car.readings.push(more);
        let sill = survey_panel(&car, 1, Effort { draws: 64, seed: 1 }, UNIT).unwrap().unwrap();
        let film = sill.film.unwrap();
        prop_assert!(film.smallest_um.p05.is_finite() && film.smallest_um.p05 <= film.smallest_um.p95);
        prop_assert!(!sill.verdict.why.contains("NaN"), "{}", sill.verdict.why);
    }
}

#[test]
fn verdicts_are_said_in_sentences() {
    let spent = || {
        let mut car = with_floor(5.0);
        car.limits.spend = Some(Removal::from_micrometres(1.5).unwrap());
        car
    };
    let through = || {
        let mut car = with_floor(0.0);
        car.paint.undercoat = car.paint.undercoat.map(|u| crate::Undercoat { mean_um: 56.0, ..u });
        car.limits.risk = 1.0;
        car.limits.through_risk = Some(0.01);
        car
    };
    let cars = [
        ("floor 15", car()),
        ("floor 20", with_floor(20.0)),
        ("floor 24", with_floor(24.0)),
        ("floor 40", with_floor(40.0)),
        ("sill reads 47", sill_reads(47.0)),
        ("spend 1.5", spent()),
        ("undercoat 56", through()),
    ];
    let said: Vec<String> = cars
        .iter()
        .flat_map(|(name, car)| {
            let said =
                |p: PanelSurvey| format!("{name}, {}: {}: {}\n", car.panels[p.panel].panel.name, p.verdict.word.words(), p.verdict.why);
            surveyed(car).into_iter().map(said).collect::<Vec<_>>()
        })
        .collect();
    expect![[r#"
        floor 15, bonnet: work: one set of cut on all of it has 1 chance in 23 of ending below 15.0 um somewhere: the limit is 1 chance in 20; topcoat is least near (500, 400) mm, 33.4 um with an sd of 4.3 um, where 63.0 um was read at (500, 400)
        floor 15, sill: work: one set of cut on all of it has 1 chance in 28 of ending below 15.0 um somewhere: the limit is 1 chance in 20; topcoat is least near (200, 160) mm, at the edge, 31.3 um with an sd of 5.2 um, where 62.0 um was read at (200, 80)
        floor 15, flap: not known yet: none of its film has been read
        floor 20, bonnet: leave alone: one set of cut on 4 of 12 sections with 100 mm kept off the edges has 1 chance in 20 of ending below 20.0 um somewhere, and 1 chance in 13 on all of them: the limit is 1 chance in 20; one set of finish, the mildest, on 6 of 12 sections with 75 mm kept off the edges has 1 chance in 20 of ending below 20.0 um somewhere, and 1 chance in 16 on all of them: the limit is 1 chance in 20; topcoat is least near (500, 400) mm, 33.4 um with an sd of 4.3 um, where 63.0 um was read at (500, 400); an undercoat reading would tell most: 55 % of the doubt is what lies under the topcoat
        floor 20, sill: work: one set of cut on all of it with 75 mm kept off the edges has 1 chance in 25 of ending below 20.0 um somewhere: the limit is 1 chance in 20; topcoat is least near (200, 160) mm, at the edge, 31.3 um with an sd of 5.2 um, where 62.0 um was read at (200, 80)
        floor 20, flap: not known yet: none of its film has been read
        floor 24, bonnet: leave alone: one set of cut on 1 of 12 sections with 75 mm kept off the edges has 1 chance in 21 of ending below 24.0 um somewhere, and 24 chances in 100 on all of them: the limit is 1 chance in 20; one set of finish, the mildest, on 1 of 12 sections with 25 mm kept off the edges has 1 chance in 21 of ending below 24.0 um somewhere, and 21 chances in 100 on all of them: the limit is 1 chance in 20; topcoat is least near (500, 400) mm, 33.4 um with an sd of 4.3 um, where 63.0 um was read at (500, 400); an undercoat reading would tell most: 55 % of the doubt is what lies under the topcoat
        floor 24, sill: leave alone: one set of cut on all of it with 75 mm kept off the edges has 17 chances in 100 of ending below 24.0 um somewhere: the limit is 1 chance in 20, and not even the section with most film keeps to it; one set of finish, the mildest, on 1 of 3 sections with 75 mm kept off the edges has 1 chance in 22 of ending below 24.0 um somewhere, and 12 chances in 100 on all of them: the limit is 1 chance in 20; topcoat is least near (200, 160) mm, at the edge, 31.3 um with an sd of 5.2 um, where 62.0 um was read at (200, 80); an undercoat reading would tell most: 62 % of the doubt is what lies under the topcoat
        floor 24, flap: not known yet: none of its film has been read
        floor 40, bonnet: leave alone: one set of cut on all of it with 100 mm kept off the edges has 100 chances in 100 of ending below 40.0 um somewhere: the limit is 1 chance in 20, and not even the section with most film keeps to it; one set of finish, the mildest, on all of it with 100 mm kept off the edges has 99 chances in 100 of ending below 40.0 um somewhere: the limit is 1 chance in 20, and not even the section with most film keeps to it; topcoat is least near (500, 400) mm, 33.4 um with an sd of 4.3 um, where 63.0 um was read at (500, 400); more likely than not some place is below the floor already
        floor 40, sill: leave alone: one set of cut on all of it with 75 mm kept off the edges has 99 chances in 100 of ending below 40.0 um somewhere: the limit is 1 chance in 20, and not even the section with most film keeps to it; one set of finish, the mildest, on all of it with 75 mm kept off the edges has 99 chances in 100 of ending below 40.0 um somewhere: the limit is 1 chance in 20, and not even the section with most film keeps to it; topcoat is least near (200, 160) mm, at the edge, 31.3 um with an sd of 5.2 um, where 62.0 um was read at (200, 80); more likely than not some place is below the floor already
        floor 40, flap: not known yet: none of its film has been read
        sill reads 47, bonnet: leave alone: one set of cut on 1 of 12 sections with 50 mm kept off the edges has 1 chance in 27 of ending below 15.0 um somewhere, and 28 chances in 100 on all of them: the limit is 1 chance in 20; one set of finish, the mildest, on 2 of 12 sections with 75 mm kept off the edges has 1 chance in 21 of ending below 15.0 um somewhere, and 21 chances in 100 on all of them: the limit is 1 chance in 20; topcoat is least near (0, 700) mm, at the edge, 32.5 um with an sd of 8.4 um, 583 mm from the nearest reading; further readings near there would tell most
        sill reads 47, sill: leave alone: one set of cut on 1 of 3 sections with 75 mm kept off the edges has 1 chance in 34 of ending below 15.0 um somewhere, and 62 chances in 100 on all of them: the limit is 1 chance in 20; one set of finish, the mildest, on 1 of 3 sections with 50 mm kept off the edges has 1 chance in 21 of ending below 15.0 um somewhere, and 59 chances in 100 on all of them: the limit is 1 chance in 20; topcoat is least near (200, 80) mm, 17.3 um with an sd of 4.3 um, where 47.0 um was read at (200, 80); more likely than not some place is below the floor already
        sill reads 47, flap: not known yet: none of its film has been read
        spend 1.5, bonnet: mild only: one set of cut takes more than the spend of 1.5 um where most is taken; one set of finish, the mildest, on all of it has less than 1 chance in 130 of ending below 5.0 um somewhere: the limit is 1 chance in 20; topcoat is least near (500, 400) mm, 33.4 um with an sd of 4.3 um, where 63.0 um was read at (500, 400); an undercoat reading would tell most: 55 % of the doubt is what lies under the topcoat
        spend 1.5, sill: mild only: one set of cut takes more than the spend of 1.5 um where most is taken; one set of finish, the mildest, on all of it has less than 1 chance in 130 of ending below 5.0 um somewhere: the limit is 1 chance in 20; topcoat is least near (200, 160) mm, at the edge, 31.3 um with an sd of 5.2 um, where 62.0 um was read at (200, 80); an undercoat reading would tell most: 62 % of the doubt is what lies under the topcoat
        spend 1.5, flap: not known yet: none of its film has been read
        undercoat 56, bonnet: leave alone: one set of cut on all of it with 100 mm kept off the edges has 37 chances in 100 of reaching the undercoat: the limit is 1 chance in 100, and not even the section with most film keeps to it; one set of finish, the mildest, on all of it with 100 mm kept off the edges has 28 chances in 100 of reaching the undercoat: the limit is 1 chance in 100, and not even the section with most film keeps to it; topcoat is least near (500, 400) mm, 7.4 um with an sd of 4.3 um, where 63.0 um was read at (500, 400); an undercoat reading would tell most: 55 % of the doubt is what lies under the topcoat
        undercoat 56, sill: leave alone: one set of cut on all of it with 75 mm kept off the edges has 30 chances in 100 of reaching the undercoat: the limit is 1 chance in 100, and not even the section with most film keeps to it; one set of finish, the mildest, on all of it with 75 mm kept off the edges has 22 chances in 100 of reaching the undercoat: the limit is 1 chance in 100, and not even the section with most film keeps to it; topcoat is least near (200, 160) mm, at the edge, 5.3 um with an sd of 5.2 um, where 62.0 um was read at (200, 80); an undercoat reading would tell most: 62 % of the doubt is what lies under the topcoat
        undercoat 56, flap: not known yet: none of its film has been read
    "#]].assert_eq(&said.concat());
}
