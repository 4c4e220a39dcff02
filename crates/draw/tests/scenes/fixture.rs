//! An invented car: a grey-green three-door estate of 1966, as a plan might leave it.

use lastmicron_film::gauge::{Gauge, Layer, Substrate};
use lastmicron_film::panel::Panel;
use lastmicron_plan::{
    BodyLine, Car, CarPanel, Finding, Goal, Interval, KeepOff, KeptOff, Limits, Outcome, Paint, PanelFilm, PanelPlan, Plan, Rate, Reading,
    SectionPlan, Spread, System, Worked,
};
use lastmicron_polish::{Belief, Equipment, Hardness, Process, Step};
use lastmicron_units::{Removal, Thickness};

const SIZES: [(&str, f64, f64); 14] = [
    ("bonnet", 1380.0, 1120.0),
    ("roof", 1240.0, 1700.0),
    ("left front wing", 980.0, 520.0),
    ("left door", 1290.0, 640.0),
    ("left rear quarter", 1150.0, 560.0),
    ("tailgate", 1180.0, 640.0),
    ("right rear quarter", 1150.0, 560.0),
    ("right door", 1290.0, 640.0),
    ("right front wing", 980.0, 520.0),
    ("left sill", 1500.0, 110.0),
    ("right sill", 1500.0, 110.0),
    ("left pillar", 90.0, 760.0),
    ("fuel flap", 150.0, 130.0),
    ("rear bumper cap", 1450.0, 240.0),
];

/// The car with its first `count` panels (at most 14), and its outcome.
pub(crate) fn car(count: usize) -> (Car, Outcome) {
    let panels: Vec<CarPanel> = SIZES.iter().take(count).enumerate().map(|(i, size)| panel(i, size)).collect();
    let readings = panels.iter().enumerate().flat_map(|(i, p)| readings(i, p)).collect();
    let film: Vec<PanelFilm> = panels.iter().enumerate().map(|(i, p)| film(i, p)).collect();
    let plans = panels.iter().enumerate().map(|(i, p)| plan(i, p)).collect();
    let car = Car {
        paint: Paint { system: System::SingleStage, undercoat: None, hardness: Some(Hardness::Soft), metallic: false },
        gauges: vec![Gauge {
            name: String::new(),
            fixed_um: 1.0,
            percent: 1.0,
            repeatability_um: 0.8,
            resolution_um: 0.1,
            through_um: 0.0,
        }],
        processes: vec![process("one-step", 1.2, Some(1)), process("finish", 0.3, None)],
        equipment: Equipment::default(),
        scatter: None,
        edge: None,
        limits: Limits {
            floor: Thickness::from_micrometres(22.0).unwrap(),
            risk: 0.02,
            spend: Some(Removal::from_micrometres(4.0).unwrap()),
            through_risk: Some(0.001),
        },
        goal: Goal { correction: 0.88, hours: 14.0 },
        readings,
        worked: vec![Worked {
            panel: 0,
            x_mm: 150.0,
            y_mm: 620.0,
            width_mm: 160.0,
            height_mm: 160.0,
            after: vec![Step { process: 0, sets: 2 }],
            kept_off: KeptOff::default(),
        }],
        counts: Vec::new(),
        panels,
    };
    (car, outcome(film, plans))
}

fn outcome(film: Vec<PanelFilm>, panels: Vec<PanelPlan>) -> Outcome {
    let curve = (0..=24).map(|i| f64::from(i) * 0.25).map(|d| {
        let gone = |rate: f64| 1.0 - (-d / rate).exp();
        (d, Interval { mean: gone(1.5), p05: gone(1.9), p95: gone(1.15) })
    });
    Outcome {
        plan: Plan {
            risk: 0.017,
            through_risk: 0.0004,
            correction: Interval { mean: 0.71, p05: 0.62, p95: 0.80 },
            hours: 9.5,
            films: 2000,
            panels,
        },
        film,
        smallest_um: Interval { mean: 24.6, p05: 22.1, p95: 26.9 },
        rates: vec![
            Rate { process: 0, prior_um: Spread { mean: 1.2, sd: 0.3 }, posterior_um: Spread { mean: 1.34, sd: 0.14 } },
            Rate { process: 1, prior_um: Spread { mean: 0.3, sd: 0.1 }, posterior_um: Spread { mean: 0.31, sd: 0.09 } },
        ],
        curve: curve.collect(),
        bend_um: 2.9,
        tapes: Vec::new(),
        pad_work: Vec::new(),
        findings: vec![
            Finding {
                panel: Some(2),
                line: None,
                sentence: "The left front wing reads 41 um above the others: resprayed, 19 chances in 20.".to_owned(),
            },
            Finding {
                panel: Some(0),
                line: Some(17),
                sentence: "This reading is 14 um above its neighbours and was given little weight.".to_owned(),
            },
        ],
        assumptions: vec![
            "Undercoat 45 um, sd 12 um, the usual range of single-stage systems (weak: trade sources disagree).".to_owned(),
            "Rates differ by 10 % from panel to panel and from section to section (judgement, no source).".to_owned(),
        ],
    }
}

fn process(name: &str, um: f64, followed_by: Option<usize>) -> Process {
    let removal_um = Belief { mean: um, sd: um / 4.0 };
    Process { name: name.to_owned(), removal_um, minutes_per_m2: 26.0, followed_by, marks: None }
}

fn panel(index: usize, &(name, width, height): &(&str, f64, f64)) -> CarPanel {
    let substrate = if name == "rear bumper cap" { Substrate::Plastic } else { Substrate::Steel };
    let mut panel = Panel::rectangle(name, width, height, substrate);
    if index == 2 {
        // The wheel's opening.
        panel.outline_mm = vec![
            [0.0, 0.0],
            [200.0, 0.0],
            [260.0, 190.0],
            [430.0, 260.0],
            [600.0, 190.0],
            [660.0, 0.0],
            [980.0, 60.0],
            [980.0, 400.0],
            [700.0, 520.0],
            [0.0, 500.0],
        ];
    }
    let lines = if index == 0 { vec![BodyLine { points_mm: vec![[690.0, 0.0], [690.0, 1120.0]], radius_mm: 12.0 }] } else { Vec::new() };
    CarPanel {
        panel,
        undercoat: None,
        hardness: None,
        metallic: None,
        visibility: 1.0,
        work: name != "left pillar",
        lines,
        gone_through: Vec::new(),
    }
}

fn is_plastic(panel: &CarPanel) -> bool {
    panel.panel.substrate == Substrate::Plastic
}

fn readings(index: usize, panel: &CarPanel) -> Vec<Reading> {
    let [w, h] = panel.panel.size_mm();
    let places = (0..16).map(|i| (w * (0.08 + 0.28 * f64::from(i % 4)), h * (0.1 + 0.26 * f64::from(i / 4))));
    let kept = places.filter(|(x, y)| !is_plastic(panel) && panel.panel.contains(*x, *y));
    kept.enumerate()
        .map(|(i, (x_mm, y_mm))| Reading {
            panel: index,
            x_mm,
            y_mm,
            value: Thickness::from_micrometres(88.0 + i as f64).unwrap(),
            layer: [Layer::Total, Layer::Total, Layer::Total, Layer::Undercoat, Layer::Topcoat][i % 5],
            after: if i % 7 == 6 { vec![Step { process: 0, sets: 1 }] } else { Vec::new() },
            gauge: 0,
            session: String::new(),
            line: Some(2 + 16 * index + i),
        })
        .collect()
}

fn film(index: usize, panel: &CarPanel) -> PanelFilm {
    let [w, h] = panel.panel.size_mm();
    let nodes = |mm: f64| (mm / 25.0).round().max(1.0) as usize + 1;
    let (nx, ny) = (nodes(w), nodes(h));
    let step_mm = [w / (nx - 1) as f64, h / (ny - 1) as f64];
    let mut topcoat_mean_um = Vec::new();
    let mut topcoat_sd_um = Vec::new();
    for i in 0..nx * ny {
        let (x, y) = ((i % nx) as f64 * step_mm[0], (i / nx) as f64 * step_mm[1]);
        let known = panel.panel.contains(x, y) && !is_plastic(panel);
        let edge = (-panel.panel.edge_distance_mm(x, y) / 30.0).exp();
        let wave = (x / 330.0 + index as f64).sin() * (y / 270.0 + 0.4).cos();
        let lift = if index == 2 { 41.0 } else { 0.0 };
        topcoat_mean_um.push(if known { 38.0 + lift + 6.0 * wave - 7.0 * edge } else { f64::NAN });
        topcoat_sd_um.push(if known { 2.2 + 1.5 * edge + 0.6 * (x / 140.0).sin().abs() } else { f64::NAN });
    }
    let smallest_um = Interval { mean: 26.0, p05: 22.4, p95: 29.1 };
    PanelFilm { step_mm, nx, ny, topcoat_mean_um, topcoat_sd_um, smallest_um }
}

fn plan(index: usize, panel: &CarPanel) -> PanelPlan {
    let [w, h] = panel.panel.size_mm();
    let tiles = |mm: f64| (mm / 450.0).ceil().max(1.0);
    let (across, up) = (tiles(w), tiles(h));
    let mut sections = Vec::new();
    for i in 0..(across * up) as usize {
        let (column, row) = ((i % across as usize) as f64, (i / across as usize) as f64);
        let steps = match (i + index) % 4 {
            _ if !panel.work => Vec::new(),
            0 => Vec::new(),
            1 => vec![Step { process: 1, sets: 1 }],
            2 => vec![Step { process: 0, sets: 1 }, Step { process: 1, sets: 1 }],
            _ => vec![Step { process: 0, sets: 2 }, Step { process: 1, sets: 1 }],
        };
        sections.push(section(column * w / across, row * h / up, w / across, h / up, steps));
    }
    let keep_off = if index.is_multiple_of(3) { vec![KeepOff { edge: 0, mm: 25.0 }, KeepOff { edge: 3, mm: 40.0 }] } else { Vec::new() };
    let notes = if index == 2 { vec!["Resprayed: what was added may be filler, primer or topcoat.".to_owned()] } else { Vec::new() };
    PanelPlan {
        panel: index,
        name: panel.panel.name.clone(),
        keep_off,
        keep_off_lines: Vec::new(),
        risk: 0.0013 * (index as f64 + 1.0),
        measured: !is_plastic(panel),
        respray: if index == 2 { 0.95 } else { 0.02 },
        sections,
        notes,
    }
}

fn section(x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64, steps: Vec<Step>) -> SectionPlan {
    let um: f64 = steps.iter().map(|s| f64::from(s.sets) * if s.process == 0 { 1.34 } else { 0.31 }).sum();
    let none = steps.is_empty();
    SectionPlan {
        x_mm,
        y_mm,
        width_mm,
        height_mm,
        removal_um: Spread { mean: um, sd: um / 6.0 },
        topcoat_after_p05_um: 24.0 - um,
        topcoat_after_p50_um: 29.0 - um,
        correction: Interval { mean: 1.0 - (-um / 1.5_f64).exp(), p05: 1.0 - (-um / 1.9_f64).exp(), p95: 1.0 - (-um / 1.15_f64).exp() },
        risk: if none { 0.0 } else { 0.0009 },
        through_risk: 0.0,
        minutes: 7.4 * um,
        why: if none { "no film to spare at the floor's risk".to_owned() } else { "goal reached".to_owned() },
        steps,
    }
}
