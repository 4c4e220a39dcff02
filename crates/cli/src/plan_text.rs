//! A plan for reading in a bay: eighty columns, totals first, no estimate without its range.

mod brief;
mod gloss;
mod ground;
mod pad_work;
mod panels;
mod words;

use lastmicron_job::Job;
use lastmicron_look::gloss::Spot;
use lastmicron_plan::{Chance, Outcome};
use lastmicron_units::Unit;

pub(crate) use ground::cautions;
pub(crate) use words::wrapped;
use words::{Say, hours};

/// The whole plan, with what gloss was read.
pub(crate) fn text(job: &Job, outcome: &Outcome, read: &[Spot], unit: Unit) -> String {
    let say = Say { unit, films: outcome.plan.films };
    let mut text = heading(&job.title);
    text += &totals(job, outcome, say);
    text += &brief::text(&outcome.plan, say);
    text += &panels::text(&job.car, &outcome.plan, say);
    text += &pad_work::text(&job.car, outcome);
    text += &gloss::text(&job.car, read);
    text += &ground::text(&job.car, outcome, say);
    text
}

fn heading(title: &str) -> String {
    let title = title.lines().next().unwrap_or_default().trim();
    let title = if title.is_empty() { "Untitled job" } else { title };
    let heading = wrapped(title, "", "");
    let width = heading.lines().map(|line| line.chars().count()).max().unwrap_or(0);
    format!("{heading}{}\n", "=".repeat(width))
}

fn totals(job: &Job, outcome: &Outcome, say: Say) -> String {
    let (plan, limits, goal) = (&outcome.plan, job.car.limits, job.car.goal);
    let fact = |name: &str, value: &str| wrapped(value, &format!("  {name:<18}"), &" ".repeat(20));
    let floor = limits.floor.printed_in(say.unit);
    let mut text = String::from("\nThe whole vehicle\n");
    text += &fact("Defects gone", &format!("{}; the goal is {:.0} %", say.share(plan.correction), goal.correction * 100.0));
    let below = format!(
        "{} that any worked place ends below the floor of {floor}; the limit is {}",
        say.chance(plan.risk),
        Chance::stated(limits.risk)
    );
    text += &fact("Below the floor", &below);
    if let Some(limit) = limits.through_risk {
        let through = format!(
            "{} that any worked place reaches the undercoat; the limit is {}",
            say.chance(plan.through_risk),
            Chance::stated(limit)
        );
        text += &fact("Through", &through);
    } else {
        text += &fact("Through", &format!("{} that any worked place reaches the undercoat", say.chance(plan.through_risk)));
    }
    let not_counted = plan.not_counted();
    if !not_counted.is_empty() {
        text += &fact(
            "Not counted",
            &format!("{}: worked without having been measured, so the chance there is not known", not_counted.join(", ")),
        );
    }
    if let Some(spend) = limits.spend {
        text += &fact("Most to take", &format!("{} anywhere, expected, at this visit", spend.printed_in(say.unit)));
    }
    text += &fact("Machine time", &format!("{} of the {} there are", hours(plan.hours * 60.0), hours(goal.hours * 60.0)));
    text += &fact("Thinnest topcoat", &format!("{} now, before work, anywhere on the vehicle", say.film(outcome.smallest_um)));
    text
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use expect_test::expect;
    use lastmicron_film::gauge::{Gauge, Substrate};
    use lastmicron_film::panel::Panel;
    use lastmicron_plan::{
        Along, Car, CarPanel, Finding, Goal, Interval, KeepOff, Limits, Paint, PanelFilm, PanelPlan, Plan, Rate, SectionPlan, Spread,
        System, Tape,
    };
    use lastmicron_polish::{Belief, Equipment, Process, Step};
    use lastmicron_units::{Removal, Thickness};

    fn panel(name: &str, outline_mm: &[[f64; 2]]) -> CarPanel {
        let panel = Panel { name: name.to_owned(), outline_mm: outline_mm.to_vec(), substrate: Substrate::Steel };
        CarPanel {
            panel,
            undercoat: None,
            hardness: None,
            metallic: None,
            visibility: 1.0,
            work: true,
            lines: vec![],
            gone_through: Vec::new(),
        }
    }

    fn process(name: &str, mean: f64) -> Process {
        Process { name: name.to_owned(), removal_um: Belief { mean, sd: 0.3 }, minutes_per_m2: 26.0, followed_by: None, marks: None }
    }

    /// A bonnet, a wing with an oblique edge, a bumper that nobody can measure, a sill to be left alone.
    pub(crate) fn car() -> Car {
        Car {
            panels: vec![
                panel("bonnet", &[[0.0, 0.0], [950.0, 0.0], [950.0, 575.0], [0.0, 575.0]]),
                panel("wing, left", &[[0.0, 0.0], [500.0, 0.0], [400.0, 450.0], [0.0, 500.0]]),
                panel("bumper", &[[0.0, 0.0], [500.0, 0.0], [500.0, 300.0], [0.0, 300.0]]),
            ],
            paint: Paint { system: System::SingleStage, undercoat: None, hardness: None, metallic: false },
            gauges: vec![Gauge {
                name: String::new(),
                fixed_um: 1.0,
                percent: 1.0,
                repeatability_um: 0.8,
                resolution_um: 0.1,
                through_um: 0.0,
            }],
            processes: vec![process("finish", 0.5), process("one-step", 1.2)],
            equipment: Equipment::default(),
            scatter: None,
            edge: None,
            limits: Limits {
                floor: Thickness::from_micrometres(16.0).unwrap(),
                risk: 0.02,
                spend: Some(Removal::from_micrometres(4.0).unwrap()),
                through_risk: Some(0.001),
            },
            goal: Goal { correction: 0.88, hours: 14.0 },
            readings: vec![],
            worked: vec![],
            counts: vec![],
        }
    }

    fn share(mean: f64, p05: f64, p95: f64) -> Interval {
        Interval { mean, p05, p95 }
    }

    fn section(x_mm: f64, steps: &[Step], why: &str) -> SectionPlan {
        let is_worked = !steps.is_empty();
        SectionPlan {
            x_mm,
            y_mm: 0.0,
            width_mm: 475.0,
            height_mm: 575.0,
            steps: steps.to_vec(),
            removal_um: if is_worked { Spread { mean: 2.3, sd: 0.4 } } else { Spread { mean: 0.0, sd: 0.0 } },
            topcoat_after_p05_um: 21.0,
            topcoat_after_p50_um: 26.4,
            correction: if is_worked { share(0.84, 0.75, 0.91) } else { share(0.0, 0.0, 0.0) },
            risk: if is_worked { 0.004 } else { 0.0 },
            through_risk: 0.0,
            minutes: if is_worked { 14.2 } else { 0.0 },
            why: why.to_owned(),
        }
    }

    fn panel_plan(panel: usize, name: &str, sections: Vec<SectionPlan>) -> PanelPlan {
        PanelPlan {
            panel,
            name: name.to_owned(),
            keep_off: vec![],
            keep_off_lines: vec![],
            risk: 0.004,
            measured: true,
            respray: 0.02,
            sections,
            notes: vec![],
        }
    }

    /// A plan made by hand, which no planner has seen.
    pub(crate) fn outcome() -> Outcome {
        let two = [Step { process: 1, sets: 2 }, Step { process: 0, sets: 1 }];
        let bonnet = PanelPlan {
            keep_off: vec![KeepOff { edge: 0, mm: 25.0 }, KeepOff { edge: 3, mm: 12.5 }],
            ..panel_plan(
                0,
                "bonnet",
                vec![section(0.0, &two, "goal reached"), section(475.0, &[], "the film is too thin to take a set within the risk")],
            )
        };
        let wing = PanelPlan {
            keep_off: vec![KeepOff { edge: 1, mm: 30.0 }],
            respray: 0.93,
            notes: vec!["this panel reads 80 um above the others: it tells nothing of how much topcoat there is".to_owned()],
            ..panel_plan(1, "wing, left", vec![section(0.0, &two[1..], "the risk of the vehicle is used up here")])
        };
        let bumper = PanelPlan {
            measured: false,
            risk: f64::NAN,
            ..panel_plan(2, "bumper", vec![section(0.0, &two[1..], "not measured: the mildest process, within what may be spent")])
        };
        let film = PanelFilm {
            step_mm: [475.0, 575.0],
            nx: 1,
            ny: 1,
            topcoat_mean_um: vec![30.0],
            topcoat_sd_um: vec![3.0],
            smallest_um: share(27.0, 22.0, 31.0),
        };
        Outcome {
            plan: Plan {
                risk: 0.017,
                through_risk: 0.0,
                correction: share(0.71, 0.62, 0.80),
                hours: 9.5,
                films: 2000,
                panels: vec![bonnet, wing, bumper],
            },
            film: vec![film.clone(), film.clone(), film],
            smallest_um: share(24.1, 19.3, 28.8),
            rates: vec![
                Rate { process: 0, prior_um: Spread { mean: 0.5, sd: 0.2 }, posterior_um: Spread { mean: 0.46, sd: 0.05 } },
                Rate { process: 1, prior_um: Spread { mean: 1.2, sd: 0.4 }, posterior_um: Spread { mean: 1.05, sd: 0.07 } },
            ],
            curve: vec![
                (0.0, share(0.0, 0.0, 0.0)),
                (1.0, share(0.55, 0.44, 0.66)),
                (2.0, share(0.8, 0.7, 0.88)),
                (3.0, share(0.9, 0.82, 0.95)),
                (4.0, share(0.94, 0.87, 0.98)),
            ],
            bend_um: 2.4,
            tapes: vec![
                Tape { panel: 0, along: Along::Edge(0), length_mm: 475.0 },
                Tape { panel: 0, along: Along::LeftAlone, length_mm: 575.0 },
                Tape { panel: 1, along: Along::Edge(1), length_mm: 461.0 },
            ],
            pad_work: vec![],
            findings: vec![
                Finding {
                    panel: Some(0),
                    line: Some(14),
                    sentence: "the reading of 131.0 um lies far from its neighbours: a lifted probe or dirt? It counts for little"
                        .to_owned(),
                },
                Finding { panel: Some(1), line: None, sentence: "most likely resprayed (93 chances in 100)".to_owned() },
                Finding {
                    panel: None,
                    line: None,
                    sentence: "no undercoat was read: how much is topcoat rests on published ranges".to_owned(),
                },
            ],
            assumptions: vec!["undercoat 40 +- 12 um under single-stage paint (judgement, weak: no primary source)".to_owned()],
        }
    }

    fn job() -> Job {
        Job {
            title: "Cream hatchback, first correction".to_owned(),
            body: "custom".to_owned(),
            built: Some(1974),
            substrate: Substrate::Steel,
            car: car(),
            gloss: vec![],
        }
    }

    #[test]
    fn a_plan_is_written_for_a_person_in_a_bay() {
        expect![[r#"
            Cream hatchback, first correction
            =================================

            The whole vehicle
              Defects gone      71 % (62 to 80, 9 times in 10); the goal is 88 %
              Below the floor   1 chance in 58 that any worked place ends below the floor of
                                16.0 um; the limit is 1 chance in 50
              Through           less than 1 chance in 660 that any worked place reaches the
                                undercoat; the limit is 1 chance in 1000
              Not counted       bumper: worked without having been measured, so the chance
                                there is not known
              Most to take      4.0 um anywhere, expected, at this visit
              Machine time      9 h 30 min of the 14 h there are
              Thinnest topcoat  24.1 um (19.3 to 28.8, 9 times in 10) now, before work,
                                anywhere on the vehicle

            The plan in brief          worked        time   leaves, um    gone         below
              bonnet                   1 of 2      14 min         21.0    42 %      1 in 250
              wing, left               1 of 1      14 min         21.0    84 %      1 in 250
              bumper                   1 of 1      14 min         21.0    84 %     not known
            worked: sections. leaves: topcoat at the thinnest worked place, this or more 19
            times in 20. gone: defects, in the mean. below: chance that a worked place ends
            below the floor.

            The panels. Sections are numbered as on a panel's map; places are in mm from
            its lower left; 'leaves' is the thinnest worked place of a section, by its
            median, and what it is at least 19 times in 20.

            bonnet: 14 min, 1 chance in 250 of going below the floor.
              Keep the machine off: 25 mm along the bottom; 12.5 mm along the left.
              - Section 1, from (0, 0), 475 by 575 mm: 2 sets of one-step, then 1 set of
                finish.
                takes 2.3 um (1.6 to 3.0, 9 times in 10), leaves 26.4 um, at least 21.0; 1
                chance in 250 of going below the floor; removes 84 % (75 to 91, 9 times in
                10) of the defects; 14 min.
                Why: goal reached.
              - Section 2, from (475, 0), 475 by 575 mm: leave as it is. Why: the film is
                too thin to take a set within the risk.

            wing, left: 14 min, 1 chance in 250 of going below the floor.
              Keep the machine off: 30 mm along the right.
              Note: this panel reads 80 um above the others: it tells nothing of how much
              topcoat there is.
              - Section 1, from (0, 0), 475 by 575 mm: 1 set of finish.
                takes 2.3 um (1.6 to 3.0, 9 times in 10), leaves 26.4 um, at least 21.0; 1
                chance in 250 of going below the floor; removes 84 % (75 to 91, 9 times in
                10) of the defects; 14 min.
                Why: the risk of the vehicle is used up here.

            bumper: 14 min, not measured.
              - Section 1, from (0, 0), 475 by 575 mm: 1 set of finish.
                takes 2.3 um (1.6 to 3.0, 9 times in 10), leaves 26.4 um, at least 21.0; not
                measured; removes 84 % (75 to 91, 9 times in 10) of the defects; 14 min.
                Why: not measured: the mildest process, within what may be spent.

            Tape, machines and pads
              Tape: 1.6 m in all, and trim, badges, glass and rubber on top. bonnet: 0.5 m
                at the bottom, 0.6 m along what is left alone; wing, left: 0.5 m at the
                right.

            Found on the way
              - readings.csv, line 14, bonnet: the reading of 131.0 um lies far from its
                neighbours: a lifted probe or dirt? It counts for little.
              - wing, left: most likely resprayed (93 chances in 100).
              - no undercoat was read: how much is topcoat rests on published ranges.

            What one set takes
              - finish: 0.46 um (0.38 to 0.54, 9 times in 10) as now believed; 0.50 um (0.17
                to 0.83, 9 times in 10) before anything was measured.
              - one-step: 1.05 um (0.93 to 1.17, 9 times in 10) as now believed; 1.20 um
                (0.54 to 1.86, 9 times in 10) before anything was measured.

            Defects gone against film removed
              - 0.0 um: 0 % (0 to 0, 9 times in 10).
              - 1.0 um: 55 % (44 to 66, 9 times in 10).
              - 2.0 um: 80 % (70 to 88, 9 times in 10).
              - 3.0 um: 90 % (82 to 95, 9 times in 10).
              - 4.0 um: 94 % (87 to 98, 9 times in 10).
              The curve bends at about 2.4 um, with 84 % (75 to 91, 9 times in 10) gone:
              beyond it the last per cent cost more film than they are worth as a rule.

            Assumed where the job states nothing
              - undercoat 40 +- 12 um under single-stage paint (judgement, weak: no primary
                source).

            Cautions
              - Old paint: it may hold lead or chromate, in yellow, orange, red and primers
                most often. Have it tested or take it as if it did: work wet, no dry
                sanding, no air line, a fitted respirator, hands washed before eating,
                residue kept as hazardous waste.
              - Isocyanates: two-component paint that is fresh or gets hot can give them
                off, and they sensitise for good. Keep it cool; stop with anybody who
                wheezes.
              - Vibration: count trigger time. In the EU action is due from 2.5 m/s2 over
                eight hours, and 5 m/s2 is the limit (2002/44/EC); `lastmicron compute
                vibration` adds it up.
              - Noise: protect hearing from 80 dB(A) on; `lastmicron compute noise` adds it
                up.
              - Solvents: ventilate, keep sparks and hot lamps away, wear the gloves that
                the data sheet names, put used cloths into a closed metal bin.
              - Lifts and electricity: nobody under a vehicle on a jack alone; a
                residual-current device where floors are wet; high-voltage vehicles for
                those licensed for them.
              - Waste water: collect slurry and residue; the storm drain is hardly ever
                allowed.
              - The paint: what is taken off doesn't grow back. Test spot first; read again
                as you go; stop where a reading is lower than this plan expects.
            This is the usual care, not legal advice: local law, data sheets and licensed
            practice come first.
        "#]]
        .assert_eq(&text(&job(), &outcome(), &[], Unit::Micrometre));
    }

    #[test]
    fn sections_treated_alike_for_the_same_reason_are_told_together() {
        let (one, mut outcome) = ([Step { process: 0, sets: 2 }], outcome());
        let left = |x_mm: f64, chance: &str| section(x_mm, &[], &format!("left alone: {chance} of it: too much"));
        let bonnet = &mut outcome.plan.panels[0];
        bonnet.keep_off = (0..4).map(|edge| KeepOff { edge, mm: 25.0 }).collect();
        bonnet.sections = vec![
            section(0.0, &one, "goal reached"),
            left(475.0, "1 chance in 90"),
            section(950.0, &one, "goal reached"),
            left(1425.0, "less than 1 chance in 660"),
            section(1900.0, &one, "the hours are used"),
        ];
        let say = Say { unit: Unit::Micrometre, films: 2000 };
        let text = panels::text(&car(), &outcome.plan, say);
        let of_bonnet = text.split("\n\n").nth(1).unwrap_or_default();
        expect![[r#"
            bonnet: 43 min, 1 chance in 250 of going below the floor.
              Keep the machine off: 25 mm all round.
              - Sections 1, 3: 2 sets of finish; each takes 2.3 um (1.6 to 3.0, 9 times in
                10).
                Why: goal reached.
                1 from (0, 0), 475 by 575 mm: leaves 26.4 um, at least 21.0; 1 chance in 250
                  of going below the floor; removes 84 % (75 to 91, 9 times in 10) of the
                  defects; 14 min.
                3 from (950, 0), 475 by 575 mm: leaves 26.4 um, at least 21.0; 1 chance in
                  250 of going below the floor; removes 84 % (75 to 91, 9 times in 10) of
                  the defects; 14 min.
              - Sections 2, 4: leave as they are. Why: left alone: less than 1 chance in 660
                to 1 chance in 90, each alone, of it: too much. 2 from (475, 0), 475 by 575
                mm; 4 from (1425, 0), 475 by 575 mm.
              - Section 5, from (1900, 0), 475 by 575 mm: 2 sets of finish.
                takes 2.3 um (1.6 to 3.0, 9 times in 10), leaves 26.4 um, at least 21.0; 1
                chance in 250 of going below the floor; removes 84 % (75 to 91, 9 times in
                10) of the defects; 14 min.
                Why: the hours are used.
        "#]]
        .assert_eq(&format!("{of_bonnet}\n"));
    }

    #[test]
    fn film_is_written_in_the_persons_unit() {
        let text = text(&job(), &outcome(), &[], Unit::Mil).split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("below the floor of 0.63 mil") && text.contains("takes 0.09 mil (0.06 to 0.12, 9 times in 10)"), "{text}");
        assert!(!text.contains(" um (") && !text.contains(" um;"), "{text}");
    }

    #[test]
    fn the_page_says_chances_and_notes_in_the_words_of_the_screen() {
        let on_one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let screen = on_one_line(&text(&job(), &outcome(), &[], Unit::Micrometre));
        let page = lastmicron_paper::document(&job(), &outcome(), lastmicron_paper::Page::A4, Unit::Micrometre);
        for (fact, then) in page.totals.iter().zip(["that any worked place ends below", "that any worked place reaches"]) {
            let (chance, allowed) = fact.value.split_once(" (allowed: ").unwrap();
            assert!(screen.contains(&format!(" {chance} {then}")), "{chance}: {screen}");
            assert!(screen.contains(&format!("the limit is {}", allowed.trim_end_matches(')'))), "{allowed}: {screen}");
        }
        assert!(screen.contains(&format!("bonnet: 14 min, {} of going below the floor", page.panels[0].risk)), "{screen}");
        assert_eq!(page.panels[1].keep_off, "30\u{a0}mm along the right");
        assert_eq!(screen.matches(&page.panels[1].notes.join("; ")).count(), 1, "{screen}");
    }

    #[test]
    fn no_line_is_wider_than_eighty_columns() {
        let mut job = job();
        job.title = "A very long title ".repeat(20);
        for unit in Unit::ALL {
            let text = text(&job, &outcome(), &[], unit);
            assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_is_said_to_be_unknown() {
        let mut outcome = outcome();
        outcome.plan.risk = f64::NAN;
        outcome.plan.correction = share(f64::NAN, f64::NAN, f64::NAN);
        outcome.bend_um = f64::NAN;
        outcome.curve.clear();
        let text = text(&job(), &outcome, &[], Unit::Micrometre);
        assert!(text.contains("not known") && !text.contains("NaN"), "{text}");
    }
}
