//! An invented job with its record: a sage-green coupe of 1968, as two people may have worked it.

use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::{Standing, fold};
use lastmicron_paper::{Estimated, HandoverDocument, Page, Recorded, handover_document};
use lastmicron_plan::Effort;
use lastmicron_plan::taken::{Taken, taken};
use lastmicron_record::{Entry, Keys, Note, Sealed};
use lastmicron_units::Unit;
use serde_json::{Value, json};

/// A record, and what it folds into.
pub(crate) struct Invented {
    pub(crate) entries: Vec<Entry>,
    pub(crate) standing: Standing,
}

const JOB: [u8; 10] = [7; 10];

fn id(n: usize) -> Id {
    let bytes = n.to_be_bytes();
    Id::made_at(1_714_550_000_000 + n as u64, [1, 2, bytes[0], bytes[1], bytes[2], bytes[3], bytes[4], bytes[5], bytes[6], bytes[7]])
}

/// Things that happened, in order, each a minute after the one before.
pub(crate) fn recorded(bodies: &[Value]) -> Invented {
    let job = Id::made_at(1_714_540_000_000, JOB).to_string();
    let mut entries: Vec<Entry> = Vec::new();
    for (n, body) in bodies.iter().enumerate() {
        let when = format!("2024-05-0{}T{:02}:{:02}:00Z", 2 + n / 600, 8 + n / 60 % 10, n % 60);
        let event: Event = serde_json::from_value(
            json!({"id": id(n).to_string(), "job": job, "when": when, "device": id(9999).to_string(), "who": "J.", "body": body}),
        )
        .unwrap_or_else(|error| panic!("{body}: {error}"));
        let (previous, seq) = entries.last().map_or((Entry::NOTHING, 1), |last| (last.hash, last.seq + 1));
        entries.push(Entry::after(previous, seq, when.parse().unwrap(), &Sealed::seal(event).unwrap()).unwrap());
    }
    let standing = fold(entries.iter().map(|entry| &entry.event));
    Invented { entries, standing }
}

impl Invented {
    /// Its film, on few draws.
    pub(crate) fn taken(&self) -> Option<Taken> {
        let job = self.standing.job().ok()?;
        Some(taken(&job.car, Effort { draws: 100, seed: 1 }).unwrap())
    }

    /// Its handover, nothing of it signed.
    pub(crate) fn document(&self, page: Page, unit: Unit) -> HandoverDocument {
        self.signed_document(page, unit, None)
    }

    /// Its handover with what was signed of it.
    pub(crate) fn signed_document(&self, page: Page, unit: Unit, signed: Option<(&Note, &Keys)>) -> HandoverDocument {
        let (job, taken) = (self.standing.job().ok(), self.taken());
        let estimated = job.as_ref().zip(taken.as_ref()).map(|(job, taken)| Estimated { car: &job.car, taken });
        let recorded = Recorded::of(&self.entries, &self.standing, signed).unwrap();
        handover_document(&self.standing, estimated, &recorded, &[], page, unit).unwrap()
    }
}

fn film(number: &str) -> Value {
    json!({"number": number, "unit": "um"})
}

fn section(panel: &str, [x, y, w, h]: [u32; 4]) -> Value {
    let [x, y, w, h] = [x, y, w, h].map(|mm| mm.to_string());
    json!({"panel": panel, "x_mm": x, "y_mm": y, "width_mm": w, "height_mm": h})
}

/// A reading of a panel.
pub(crate) fn reading(panel: &str, [x, y]: [u32; 2], um: f64) -> Value {
    json!({"kind": "reading-taken", "panel": panel, "x_mm": x.to_string(), "y_mm": y.to_string(), "value": film(&format!("{um:.1}")), "session": "survey"})
}

/// What must be said before a plan can be made, panels left out.
pub(crate) fn opening() -> Vec<Value> {
    vec![
        json!({"kind": "vehicle-stated", "title": "Sage-green coupe, first correction", "body": "coupe", "built": "1968", "substrate": "steel",
            "owner": "5f".repeat(32), "history": "Polished by hand once a year, as the owner tells; the left door was painted again in the eighties.",
            "originality": "The hand-painted stripe on the sill stays as it is."}),
        json!({"kind": "paint-stated", "system": "single-stage", "hardness": "soft", "undercoat": {"mean_um": "27", "sd_um": "3"}}),
        json!({"kind": "gauge-stated", "accuracy": {"fixed_um": "1.0", "percent": "1"}, "repeatability_um": "0.8", "resolution_um": "0.1"}),
        json!({"kind": "process-stated", "name": "finish", "removal_um": {"mean": "0.4", "sd": "0.1"}, "minutes_per_m2": "22"}),
        json!({"kind": "process-stated", "name": "cut", "removal_um": {"mean": "1.5", "sd": "0.4"}, "minutes_per_m2": "28", "followed_by": "finish"}),
        json!({"kind": "terms-agreed", "floor": film("20"), "risk": "0.02", "correction": "0.85", "hours": "14", "spend": film("4"), "with": "5f".repeat(32)}),
    ]
}

/// The coupe, half worked: a test spot, a bonnet in four sections, one of them stopped, a roof left alone, a door gone through, a sill that stays.
pub(crate) fn coupe() -> Vec<Value> {
    let mut all = opening();
    let panels =
        [("bonnet", 1400, 1100), ("roof", 1200, 1000), ("left door", 1300, 650), ("boot lid", 1250, 700), ("left sill", 1500, 120)];
    all.extend(panels.map(|(name, w, h)| json!({"kind": "panel-stated", "name": name, "width_mm": w.to_string(), "height_mm": h.to_string(), "work": name != "left sill"})));
    all.push(json!({"kind": "panel-stated", "name": "rear bumper cap", "outline_mm": [["0", "0"], ["1400", "0"], ["1300", "240"], ["100", "240"]], "substrate": "plastic"}));
    all.push(
        json!({"kind": "session-began", "session": "survey", "checks": [{"shim": film("50.8"), "shown": [film("51.2"), film("51.0")]}]}),
    );
    for (k, (name, w, h)) in panels.iter().enumerate().filter(|(_, p)| p.0 != "left sill") {
        for i in 0..9 {
            let at = [w * (1 + i % 3 * 2) / 6, h * (1 + i / 3 * 2) / 6];
            let um = 62.0 + if *name == "left door" { 24.0 } else { 0.0 } + f64::from((i * 7 + 3 * u32::try_from(k).unwrap()) % 5) - 2.0;
            all.push(reading(name, at, um));
        }
    }
    all.push(json!({"kind": "session-ended", "session": "survey", "checks": [{"shim": film("50.8"), "shown": [film("51.4")]}]}));
    all.push(json!({"kind": "spot-marked", "spot": "1", "panel": "bonnet", "x_mm": "1150", "y_mm": "850", "width_mm": "200", "height_mm": "200"}));
    all.push(json!({"kind": "spot-judged", "spot": "1", "seen": {"count": "46"}, "wiped": true}));
    all.push(json!({"kind": "set-done", "process": "finish", "sets": 2, "spot": "1"}));
    all.push(json!({"kind": "spot-judged", "spot": "1", "seen": {"count": "21"}, "wiped": true, "new_haze": false}));
    all.push(json!({"kind": "set-done", "process": "cut", "spot": "1"}));
    all.push(json!({"kind": "spot-judged", "spot": "1", "seen": {"left": "few"}, "wiped": true, "new_haze": true}));
    all.push(json!({"kind": "terms-agreed", "floor": film("22"), "risk": "0.02", "correction": "0.8", "hours": "14", "spend": film("4"), "with": "5f".repeat(32), "note": "rather keep film than the last marks"}));
    all.push(json!({"kind": "plan-accepted", "plan": "a1".repeat(32), "risk": "0.016", "correction": "0.74", "hours": "9.5"}));
    let quarters = [[0, 0, 700, 550], [700, 0, 700, 550], [0, 550, 700, 550], [700, 550, 700, 550]].map(|q| section("bonnet", q));
    for (i, quarter) in quarters.iter().enumerate() {
        all.push(json!({"kind": "work-started", "section": quarter, "process": "finish"}));
        all.push(json!({"kind": "set-done", "process": "finish", "sets": if i == 3 { 1 } else { 3 }, "sections": [quarter]}));
        all.push(if i == 3 {
            json!({"kind": "work-stopped", "section": quarter, "why": "colour on the pad near the edge, read there and left"})
        } else {
            json!({"kind": "work-done", "section": quarter})
        });
    }
    all.push(reading("bonnet", [350, 300], 60.8));
    all.push(json!({"kind": "work-started", "section": section("left door", [0, 0, 650, 650]), "process": "cut"}));
    all.push(json!({"kind": "set-done", "process": "cut", "sections": [section("left door", [0, 0, 650, 650])]}));
    all.push(json!({"kind": "gone-through", "panel": "left door", "x_mm": "18", "y_mm": "400", "note": "grey primer shows over 4 mm at the edge; photographed, owner told the same day"}));
    all.push(json!({"kind": "left-alone", "panel": "roof", "why": "the owner wants it kept as it is"}));
    all.push(json!({"kind": "photograph-attached", "photograph": "0c".repeat(32), "panel": "left door", "note": "the strike-through"}));
    all.push(json!({"kind": "photograph-attached", "photograph": "d7".repeat(32), "spot": "1"}));
    all.push(json!({"kind": "noted", "text": "Soft paint: the pad was cleaned after every second pass.", "panel": "bonnet"}));
    all
}

/// Panels in plenty: so many, with so many readings each, every second one worked.
pub(crate) fn large(panels: u32, readings: u32) -> Vec<Value> {
    let mut all = opening();
    for k in 0..panels {
        let (name, w, h) = (format!("panel {}", k + 1), 400 + 37 * (k % 30), 250 + 61 * (k % 17));
        all.push(json!({"kind": "panel-stated", "name": name, "width_mm": w.to_string(), "height_mm": h.to_string()}));
        for i in 0..readings {
            all.push(reading(
                &name,
                [w * (1 + i) / (readings + 1), h * (1 + (i * 7) % readings) / (readings + 1)],
                60.0 + f64::from((i * 5 + k) % 7),
            ));
        }
        if k % 2 == 0 {
            all.push(json!({"kind": "set-done", "process": "finish", "sets": 2, "sections": [section(&name, [0, 0, w, h])]}));
        }
    }
    all
}
