//! Plans printed: lawful archive documents, the same bytes every time, whatever was typed.

#[path = "../../../draw/tests/scenes/fixture.rs"]
mod fixture;

use expect_test::expect;
use lastmicron_film::gauge::Substrate;
use lastmicron_job::Job;
use lastmicron_paper::{
    HandoverDocument, KeySheetDocument, Page, PaperError, PassDocument, PlanDocument, Press, SetWorked, Typst, With, document,
    pass_document, pass_pdf, plan_pdf, plan_pdf_by,
};
use lastmicron_plan::{Finding, Interval, Outcome, Rate, Spread};
use lastmicron_polish::pass::Pass;
use lastmicron_polish::transfer::Transfer;
use lastmicron_polish::{Belief, Drive, Machine, Pad, PadEdge, USUAL_SCATTER, Use};
use lastmicron_units::Unit;
use proptest::prelude::*;

fn job(panels: usize) -> (Job, Outcome) {
    let (car, outcome) = fixture::car(panels);
    let title = "Grey-green three-door estate, first correction".to_owned();
    (Job { title, body: "estate".to_owned(), built: Some(1966), substrate: Substrate::Steel, car, gloss: Vec::new() }, outcome)
}

/// A press that makes no pages.
struct Words;

impl Press for Words {
    fn plan(&self, document: &PlanDocument) -> Result<Vec<u8>, PaperError> {
        Ok(document.totals.iter().map(|f| format!("{}: {}\n", f.name, f.value)).collect::<String>().into_bytes())
    }

    fn pass(&self, document: &PassDocument) -> Result<Vec<u8>, PaperError> {
        Ok(document.residue.clone().into_bytes())
    }

    fn handover(&self, document: &HandoverDocument) -> Result<Vec<u8>, PaperError> {
        Ok(document.citation.clone().into_bytes())
    }

    fn key_sheet(&self, document: &KeySheetDocument) -> Result<Vec<u8>, PaperError> {
        Ok(document.head.clone().into_bytes())
    }
}

pub(crate) fn contains(pdf: &[u8], words: &str) -> bool {
    pdf.windows(words.len()).any(|w| w == words.as_bytes())
}

/// Puts `text` wherever a person may have typed.
fn typed_everywhere(text: &str) -> (Job, Outcome) {
    let (mut job, mut outcome) = job(1);
    job.title = text.to_owned();
    job.body = text.to_owned();
    job.car.panels[0].panel.name = text.to_owned();
    job.car.processes[0].name = text.to_owned();
    let plan = &mut outcome.plan.panels[0];
    plan.name = text.to_owned();
    plan.notes = vec![text.to_owned()];
    plan.sections.truncate(3);
    plan.sections.iter_mut().for_each(|s| s.why = text.to_owned());
    outcome.findings = vec![Finding { panel: Some(0), line: Some(2), sentence: text.to_owned() }];
    outcome.assumptions = vec![text.to_owned()];
    (job, outcome)
}

#[test]
fn a_plan_is_an_archive_document_that_can_be_read_aloud() {
    let (job, outcome) = job(3);
    let pdf = plan_pdf(&job, &outcome, Page::A4, Unit::Micrometre).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7"));
    for words in ["<pdfaid:part>2</pdfaid:part>", "<pdfaid:conformance>A</pdfaid:conformance>", "<pdfuaid:part>1</pdfuaid:part>"] {
        assert!(contains(&pdf, words), "{words} is missing");
    }
}

#[test]
fn the_same_job_is_the_same_bytes_and_another_page_or_unit_is_not() {
    let (job, outcome) = job(1);
    let press = Typst::new().unwrap();
    let print = |page, unit| plan_pdf_by(&press, &job, &outcome, page, unit).unwrap();
    let first = print(Page::A4, Unit::Micrometre);
    assert!(first == print(Page::A4, Unit::Micrometre));
    assert!(first == plan_pdf(&job, &outcome, Page::A4, Unit::Micrometre).unwrap());
    assert!(first != print(Page::Letter, Unit::Micrometre));
    assert!(first != print(Page::A4, Unit::Mil));
}

#[test]
fn the_totals_are_said_in_words() {
    let (job, outcome) = job(14);
    let said = plan_pdf_by(&Words, &job, &outcome, Page::A4, Unit::Micrometre).unwrap();
    expect![[r#"
        Risk: any worked place ends below the floor: 1 chance in 58 (allowed: 1 chance in 50)
        Risk: any worked place reaches the undercoat: less than 1 chance in 660 (allowed: 1 chance in 1000)
        Not in these risks: worked without having been measured: rear bumper cap
        Floor: least topcoat to leave anywhere: 22.0 um
        Correction over the vehicle: 71 % (62 to 80), 9 times in 10; goal 88 %
        Machine work: 9.5 hours of 14.0
        Thinnest topcoat on the vehicle now: 24.6 (22.1 to 26.9) um, 9 times in 10
        Most to take anywhere at this visit: 4.0 um
    "#]]
    .assert_eq(&String::from_utf8(said).unwrap());
}

#[test]
fn what_the_plan_notes_of_a_panel_is_said_once() {
    let (job, outcome) = job(14);
    let document = document(&job, &outcome, Page::A4, Unit::Micrometre);
    for (sheet, plan) in document.panels.iter().zip(&outcome.plan.panels) {
        assert_eq!(sheet.notes, plan.notes, "{}", plan.name);
    }
    assert!(document.panels.iter().any(|sheet| !sheet.notes.is_empty()));
}

#[test]
fn a_panel_that_is_not_measured_promises_nothing() {
    let (job, outcome) = job(14);
    let document = document(&job, &outcome, Page::A4, Unit::Micrometre);
    assert_eq!(document.panels[11].minutes, "0");
    let cap = &document.panels[13];
    assert_eq!((cap.smallest.as_str(), cap.risk.as_str()), ("not measured", "not counted"));
    assert!(cap.sections.iter().all(|s| s.leaves == "not known"));
    assert!(document.unknown[0].contains("rear bumper cap"));
}

#[test]
fn what_a_person_typed_is_printed_and_never_run() {
    let cases = [
        "",
        " ",
        "#panic() $x$ *b* _i_ `c` @ref <label> // comment \\ #let x = 1",
        "]] #read(\"/etc/passwd\") [[",
        "<script>&amp;</script>\"'",
        "\u{645}\u{631}\u{62d}\u{628}\u{627} \u{644}\u{627} \u{5e9}\u{5dc}\u{5d5}\u{5dd} 123 (\u{644}\u{627})",
        "\u{202e}gnirts\u{202c}\u{200b}\u{ad}\u{feff}\u{0}\u{7}\u{1b}[31m",
        "\u{4e2d}\u{6587} \u{1f697}\u{1f3fb}\u{200d}\u{2640}\u{fe0f} e\u{301}\u{301}\u{301} \u{e001}\u{fffe}\u{10ffff}",
        "\u{681}\u{5b9}\u{6ce} \u{69e} \u{5a9} \u{5b9}\u{6d8} \u{6f1}\u{668}\u{6de} \u{6b4}\u{609}\u{6f7} \u{64d}\u{6d3}",
        "tab\tline\nreturn\r\u{2028}\u{2029}\u{85}",
    ];
    let press = Typst::new().unwrap();
    let long = ["x", "long word ", "\u{644}\u{627}"].map(|unit| unit.repeat(10_000 / unit.len()));
    for text in cases.into_iter().map(str::to_owned).chain(long) {
        let (job, outcome) = typed_everywhere(&text);
        let pdf = plan_pdf_by(&press, &job, &outcome, Page::Letter, Unit::Mil);
        assert!(pdf.is_ok(), "{:?} for {:?}", pdf.err(), text.chars().take(60).collect::<String>());
    }
}

/// Prints a set whose job, process, machine, pad and assumption are all called `name`.
fn set_printed(name: &str, diameter_mm: f64, radii_mm: &[f64]) -> Result<Vec<u8>, PaperError> {
    let machine = Machine { name: name.to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 200.0 };
    let pad = Pad { name: name.to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
    let used = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };
    let pass = Pass::of(&machine, &pad, &used, Belief { mean: 1.2, sd: 0.2 }, USUAL_SCATTER, radii_mm).unwrap();
    let with = With { machine: &machine, pad: &pad, used: &used };
    let spread = Spread { mean: 1.2, sd: 0.2 };
    let rate = Rate { process: 0, prior_um: spread, posterior_um: spread };
    let heavier = Use { load_n: 60.0, ..used };
    let from = With { used: &heavier, ..with };
    let carried = Some((from, Transfer { ratio: 0.67, log_sd: 0.12 }));
    let set = SetWorked { job: name, process: name, with, stages: &[], rate: &rate, carried, assumed: &[name.to_owned()], pass: &pass };
    pass_pdf(&pass_document(&set, Page::A4, Unit::Micrometre))
}

#[test]
fn a_set_is_an_archive_document_whatever_its_names_and_pad() {
    for name in ["one-step", "", "#panic() $x$ <label>", "\u{202e}gnirts\u{0}", "\u{4e2d}\u{6587}", &"long ".repeat(200)] {
        let pdf = set_printed(name, 140.0, &[12.0]).unwrap();
        assert!(contains(&pdf, "<pdfaid:part>2</pdfaid:part>") && contains(&pdf, "<pdfuaid:part>1</pdfuaid:part>"), "{name}");
    }
    assert!(set_printed("wide", 440.0, &[]).is_ok());
    assert!(set_printed("many lines", 75.0, &[3.0, 5.0, 8.0, 12.0, 20.0, 40.0, 80.0, 150.0]).is_ok());
    assert!(set_printed("one-step", 140.0, &[12.0]).unwrap() == set_printed("one-step", 140.0, &[12.0]).unwrap());
}

#[test]
fn a_job_with_nothing_in_it_is_still_a_document() {
    let (mut job, mut outcome) = job(1);
    job.car.panels.clear();
    job.car.processes.clear();
    let nothing = Interval { mean: f64::NAN, p05: f64::NAN, p95: f64::NAN };
    outcome.plan.panels.clear();
    (outcome.plan.correction, outcome.smallest_um, outcome.bend_um) = (nothing, nothing, f64::NAN);
    outcome.film.clear();
    outcome.curve.clear();
    outcome.findings.clear();
    outcome.assumptions.clear();
    assert!(plan_pdf(&job, &outcome, Page::A4, Unit::Millimetre).is_ok());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn text_of_any_kind_and_length_goes_through_the_form(text in prop_oneof!["\\PC{0,40}", ".{0,400}", "[\u{590}-\u{6ff} ]{0,120}", "[\u{300}-\u{36f}a-c]{0,60}"]) {
        let (job, outcome) = typed_everywhere(&text);
        let pdf = plan_pdf(&job, &outcome, Page::A4, Unit::Micrometre);
        prop_assert!(pdf.is_ok(), "{:?} for {:?}", pdf.err(), text);
    }
}
