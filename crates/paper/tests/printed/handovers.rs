//! Handovers printed, and their record found again.

use expect_test::expect;
use lastmicron_paper::{
    Changed, HandoverDocument, MOST_ATTACHED_BYTES, NotAHandover, Page, PaperError, Recorded, handover_document, handover_pdf,
    read_handover,
};
use lastmicron_record::{Break, Citation, Head};
use lastmicron_units::Unit;
use proptest::prelude::*;
use serde_json::json;

use crate::invented::{Invented, coupe, large, opening, recorded};
use crate::plans::contains;

fn printed(job: &Invented) -> Vec<u8> {
    handover_pdf(&job.document(Page::A4, Unit::Micrometre)).unwrap()
}

fn said(facts: &[lastmicron_paper::Fact]) -> String {
    facts.iter().map(|f| format!("{}: {}\n", f.name, f.value)).collect()
}

fn sheet<'d>(document: &'d HandoverDocument, name: &str) -> &'d lastmicron_paper::PanelHandover {
    document.panels.iter().find(|p| p.name == name).unwrap()
}

#[test]
fn a_handover_is_an_archive_document_with_its_record_attached() {
    let job = recorded(&coupe());
    let document = job.document(Page::A4, Unit::Micrometre);
    let pdf = handover_pdf(&document).unwrap();
    for words in ["<pdfaid:part>3</pdfaid:part>", "<pdfaid:conformance>A</pdfaid:conformance>", "<pdfuaid:part>1</pdfuaid:part>"] {
        assert!(contains(&pdf, words), "{words} is missing");
    }
    let found = read_handover(&pdf).unwrap();
    assert_eq!(found.record, document.record_file);
    assert_eq!(found.readings.as_ref(), Some(&document.readings_file));
    assert_eq!(found.entries, job.entries);
    let head = Head { seq: job.entries.len() as u64, hash: job.entries.last().unwrap().hash };
    assert_eq!(found.citation, Some(Citation { job: job.entries[0].job(), head }));
    assert_eq!(found.verify(), Ok(head));
    assert_eq!(document.hash.replace(' ', ""), head.hash.to_string());
    assert_eq!(document.citation.parse(), Ok(found.citation.unwrap()));
}

#[test]
fn the_same_record_is_the_same_bytes() {
    let job = recorded(&coupe());
    assert!(printed(&job) == printed(&job));
    assert!(printed(&job) != handover_pdf(&job.document(Page::Letter, Unit::Mil)).unwrap());
}

#[test]
fn a_record_that_is_not_as_it_was_written_is_not_printed() {
    let mut job = recorded(&coupe());
    job.entries.remove(3);
    assert!(matches!(Recorded::of(&job.entries, &job.standing, None), Err(PaperError::Broken(broken)) if broken.seq == 4));
    assert_eq!(Recorded::of(&[], &job.standing, None), Err(PaperError::NoRecord));
}

#[test]
fn a_document_whose_record_is_not_the_one_it_cites_is_found_out() {
    let job = recorded(&coupe());
    let mut document = job.document(Page::A4, Unit::Micrometre);
    let lines = String::from_utf8(document.record_file.clone()).unwrap();
    let verdict = |document: &HandoverDocument| read_handover(&handover_pdf(document).unwrap()).unwrap().verify();
    document.record_file = lines.replace("colour on the pad", "nothing on the pad").into_bytes();
    assert!(matches!(verdict(&document), Err(Changed::Broken(broken)) if broken.what == Break::Hash));
    let shorter: String = lines.lines().take(10).map(|line| format!("{line}\n")).collect();
    document.record_file = shorter.into_bytes();
    assert!(matches!(verdict(&document), Err(Changed::Broken(broken)) if matches!(broken.what, Break::End { .. })));
    document.record_file = b"{}\n".to_vec();
    assert!(matches!(read_handover(&handover_pdf(&document).unwrap()), Err(NotAHandover::Line { line: 1, .. })));
}

#[test]
fn the_readings_are_those_of_a_job_folder() {
    let document = recorded(&coupe()).document(Page::A4, Unit::Micrometre);
    let sheet = String::from_utf8(document.readings_file).unwrap();
    let lines: Vec<&str> = sheet.lines().collect();
    assert_eq!(lines[0], "panel,x_mm,y_mm,reading,unit,after,layer,gauge,session,taken,note");
    assert_eq!(lines[1], "bonnet,233,183,60.0,um,,total,,survey,2024-05-02T08:13:00Z,");
    assert_eq!(lines.len(), 1 + 4 * 9 + 1);
    assert!(lines[37].starts_with("bonnet,350,300,60.8,um,finish:3,total,"), "{}", lines[37]);
}

#[test]
fn what_was_taken_and_what_is_left_is_said_with_its_uncertainty() {
    let document = recorded(&coupe()).document(Page::A4, Unit::Micrometre);
    let words = |name: &str| format!("{name}\n{}{}", said(&sheet(&document, name).film), said(&sheet(&document, name).done));
    let all = format!("{}\n{}\n{}\n{}", said(&document.in_short), words("bonnet"), words("roof"), words("rear bumper cap"));
    expect![[r#"
        Thinnest topcoat now, of all that was read: none where it was gone through; elsewhere 18.7 to 35.0 um, 19 times in 20
        Most removed at any place: 1.8 to 4.0 um, 19 times in 20
        Worked: 2 of 6 panels, 1.96 m² of 4.95
        Some worked place has ended below the floor of 22.0 um: it has, where it was gone through; elsewhere 1 chance in 13
        Some worked place has reached the undercoat: it has, where it was gone through; elsewhere less than 1 chance in 66
        Gone through the topcoat: at 1 place: see below

        bonnet
        Thinnest place before work: 21.3 to 38.1 um, 19 times in 20
        Thinnest place now: 19.4 to 36.3 um, 19 times in 20
        Removed: on the average where it was worked 0.5 to 1.6 um, 19 times in 20; at the place of most 1.6 to 3.8 um, 19 times in 20
        Worked: 1.54 m² of 1.54, sections counted whole
        A worked place has ended below the floor of 22.0 um: 1 chance in 13
        A worked place has reached the undercoat: less than 1 chance in 66
        finish × 2, then cut × 1: x 1150–1350, y 850–1050 mm
        finish × 3: x 0–700, y 0–550; x 700–1400, y 0–550; x 0–700, y 550–1100 mm
        finish × 1: x 700–1400, y 550–1100 mm

        roof
        Thinnest place now: 21.1 to 38.4 um, 19 times in 20
        Removed: nothing: no sets are recorded

        rear bumper cap
        Topcoat: not known: no gauge of this kind reads film on plastic
        Removed: nothing: no sets are recorded
    "#]]
    .assert_eq(&all);
}

#[test]
fn what_was_not_done_has_its_reason() {
    let document = recorded(&coupe()).document(Page::A4, Unit::Micrometre);
    expect![[r#"
        bonnet: Stopped at x 700–1400, y 550–1100 mm: colour on the pad near the edge, read there and left
        roof: Left alone: the owner wants it kept as it is
        left door: Begun at x 0–650, y 0–650 mm, and not recorded as done.
        boot lid: Never reached: no sets are recorded.
        left sill: To stay as it is: said so in the job.
        rear bumper cap: Never reached: no sets are recorded.

        left door, at x 18, y 400 mm: grey primer shows over 4 mm at the edge; photographed, owner told the same day

        2024-05-02 08:05: Agreed at first. With whom: sheet 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f.
        2024-05-02 08:56: Changed. Floor: least topcoat to leave anywhere: 22.0 um, before 20.0 um; Share of the defects to remove: 80 %, before 85 %. With whom: sheet 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f 5f5f. Note: rather keep film than the last marks
        2024-05-02 08:57: A plan was accepted, of SHA-256 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1 a1a1.
    "#]].assert_eq(&format!("{}\n{}\n{}", said(&document.not_done), said(&document.gone_through), said(&document.changes)));
}

#[test]
fn the_owner_is_named_by_a_hash_alone_and_nobody_else_at_all() {
    let mut job = recorded(&coupe());
    let document = job.document(Page::A4, Unit::Micrometre);
    assert!(document.vehicle.iter().any(|f| f.value == ["5f5f"; 16].join(" ")));
    let mut entries = job.entries.clone();
    for entry in &mut entries {
        entry.event.who = "Initialis Nomen".to_owned();
    }
    job.standing = lastmicron_job::fold::fold(entries.iter().map(|e| &e.event));
    let named = job.document(Page::A4, Unit::Micrometre);
    assert!(!serde_json::to_string(&named).unwrap().contains("Nomen"));
}

#[test]
fn a_job_with_nothing_done_or_stated_is_still_a_document() {
    let nothing = recorded(&[json!({"kind": "noted", "text": "keys are on the hook"})]);
    let document = nothing.document(Page::A4, Unit::Millimetre);
    assert!(document.in_short[0].value.starts_with("no estimate"));
    assert!(read_handover(&handover_pdf(&document).unwrap()).unwrap().verify().is_ok());
    let unread: Vec<_> =
        opening().into_iter().chain([json!({"kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1100"})]).collect();
    let document = recorded(&unread).document(Page::Letter, Unit::Mil);
    assert!(document.panels[0].film.iter().any(|f| f.value == "not known: none of its film was read"));
    assert_eq!((document.is_begun, document.not_done.len()), (false, 0));
    assert!(handover_pdf(&document).is_ok());
}

#[test]
fn thirty_panels_and_three_hundred_readings_go_through() {
    let job = recorded(&large(30, 10));
    let found = read_handover(&printed(&job)).unwrap();
    assert_eq!(found.entries.len(), job.entries.len());
    assert!(found.verify().is_ok());
    assert_eq!(String::from_utf8(found.readings.unwrap()).unwrap().lines().count(), 301);
}

/// The coupe with `text` wherever a person may have typed.
fn typed_everywhere(text: &str) -> Invented {
    let mut all: Vec<_> = coupe();
    for body in &mut all {
        for key in ["title", "history", "originality", "note", "why", "text"] {
            if let Some(said) = body.get_mut(key) {
                *said = json!(text.chars().take(1000).collect::<String>());
            }
        }
    }
    recorded(&all)
}

#[test]
fn what_a_person_typed_is_printed_and_never_run() {
    let cases = [
        "",
        "#panic() $x$ *b* _i_ `c` @ref <label> // comment \\ #let x = 1",
        "]] #pdf.attach(\"record.jsonl\", bytes((1,))) [[",
        "<script>&amp;</script>\"'",
        "\u{202e}gnirts\u{202c}\u{200b}\u{ad}\u{feff}\u{0}\u{7}\u{1b}[31m",
        "\u{4e2d}\u{6587} \u{1f697} e\u{301}\u{301} \u{e001}\u{fffe}\u{10ffff}",
        "\u{681}\u{5b9}\u{6ce} \u{69e} \u{5a9} \u{5b9}\u{6d8} \u{6f1}\u{668}\u{6de} \u{64d}\u{6d3}",
        &"x".repeat(1000),
    ];
    for text in cases {
        let job = typed_everywhere(text);
        let pdf = handover_pdf(&job.document(Page::Letter, Unit::Mil));
        let found = pdf.map(|pdf| read_handover(&pdf).map(|found| found.entries == job.entries));
        assert_eq!(found, Ok(Ok(true)), "{text:?}");
    }
}

#[test]
fn no_nesting_and_no_table_break_the_reading() {
    let deep = "[".repeat(1_000_000);
    let object = format!("%PDF-1.7\n1 0 obj\n<</AF{deep}>>\nendobj\n");
    let at = object.len();
    let nested = format!(
        "{object}xref\n0 2\n0000000000 65535 f\r\n0000000009 00000 n\r\ntrailer\n<</Root 1 0 R/Info 1 0 R>>\nstartxref\n{at}\n%%EOF"
    );
    assert_eq!(read_handover(nested.as_bytes()), Err(NotAHandover::NoRecord { found: 0 }));
    let tables = ["xref\n0 999999999999\n", "xref\n0 0\n", "xref\n", "startxref\n999999999999\n", "startxref\n"];
    for table in tables {
        assert!(read_handover(format!("%PDF-1.7\n{table}trailer\n<</Root 9 0 R>>\nstartxref\n9\n%%EOF").as_bytes()).is_err());
    }
}

#[test]
fn what_unpacks_to_more_than_is_read_is_refused_as_too_large() {
    let sound = recorded(&opening()).document(Page::A4, Unit::Micrometre);
    let with = |record_file: Vec<u8>, readings_file: Vec<u8>| {
        read_handover(&handover_pdf(&HandoverDocument { record_file, readings_file, ..sound.clone() }).unwrap())
    };
    let all = |bytes: usize| b"\n".repeat(bytes);
    let too_large = NotAHandover::TooLarge { found: MOST_ATTACHED_BYTES + 1, most: MOST_ATTACHED_BYTES };
    assert_eq!(with(all(MOST_ATTACHED_BYTES - 5), all(6)), Err(too_large.clone()));
    assert_eq!(with(all(100 * MOST_ATTACHED_BYTES), vec![]), Err(too_large));
    assert_eq!(with(all(MOST_ATTACHED_BYTES - 5), all(5)).map(|found| found.record.len()), Ok(MOST_ATTACHED_BYTES - 5));
    let long = with([b"\n".as_slice(), &b"[".repeat(1_000_000)].concat(), vec![]);
    assert!(matches!(&long, Err(NotAHandover::Line { line: 2, why }) if why.contains("1000000 bytes")), "{long:?}");
}

#[test]
fn a_record_that_could_not_be_read_back_is_not_attached_and_that_is_said() {
    let job = recorded(&opening());
    let of = |bytes: usize| {
        let recorded = Recorded::of(&job.entries, &job.standing, None).unwrap();
        let beside = recorded.readings.len();
        let recorded = Recorded { lines: b"\n".repeat(bytes - beside), ..recorded };
        handover_document(&job.standing, None, &recorded, &[], Page::A4, Unit::Micrometre).unwrap()
    };
    let attached = of(MOST_ATTACHED_BYTES);
    assert_eq!((attached.apart.as_str(), attached.record_file.is_empty()), ("", false));
    let apart = of(MOST_ATTACHED_BYTES + 1);
    assert!(apart.record_file.is_empty());
    let cited: Citation = apart.citation.parse().unwrap();
    let how = format!("lastmicron export {} --record FILE", cited.job);
    assert!(apart.check[0].starts_with("The record is not in this PDF") && apart.check[1].contains(&how), "{:?}", apart.check);
    let pdf = handover_pdf(&apart).unwrap();
    let said = read_handover(&pdf).unwrap_err();
    assert_eq!(said, NotAHandover::Apart { cited });
    assert!(said.to_string().contains(&how) && said.to_string().contains(&cited.head.hash.to_string()), "{said}");
    // One that was changed since is none that was made so.
    let mut changed = pdf.clone();
    changed[pdf.len() / 2] ^= 1;
    assert_ne!(read_handover(&changed), Err(NotAHandover::Apart { cited }));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn no_bytes_break_the_reading(cut in 0.0..1.0_f64, flips in prop::collection::vec((0.0..1.0_f64, 1_u8..), 0..40), is_cut in any::<bool>()) {
        static PDF: std::sync::LazyLock<Vec<u8>> = std::sync::LazyLock::new(|| printed(&recorded(&opening())));
        let mut bytes = PDF.clone();
        let at = |share: f64| (share * PDF.len() as f64) as usize;
        for (place, flip) in flips {
            bytes[at(place)] ^= flip;
        }
        if is_cut {
            bytes.truncate(at(cut));
        }
        if let Ok(found) = read_handover(&bytes) {
            let _ = found.verify();
        }
    }

    #[test]
    fn nor_do_bytes_that_never_were_a_pdf(bytes in prop::collection::vec(any::<u8>(), 0..2000), head in any::<bool>()) {
        let bytes: Vec<u8> = if head { b"%PDF-1.7\n".iter().copied().chain(bytes).collect() } else { bytes };
        prop_assert!(read_handover(&bytes).is_err());
    }
}
