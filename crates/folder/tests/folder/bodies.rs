//! Every body of the library as the panels of a new job.

use lastmicron_body::{Body, Dimensions, Kind, Measure};
use lastmicron_film::gauge::Substrate;
use lastmicron_film::panel::Panel;
use lastmicron_folder::{Contents, write};
use lastmicron_plan::Reading;
use proptest::prelude::*;

use crate::{good, read};

/// The place of a coarse lattice that is farthest from the panel's edges.
fn middle(panel: &Panel) -> [f64; 2] {
    let [width, height] = panel.size_mm();
    let share = |i: u32| f64::from(i) / 12.0;
    let lattice = (1..12).flat_map(|i| (1..12).map(move |j| [share(i) * width, share(j) * height]));
    let inside = lattice.filter(|[x, y]| panel.contains(*x, *y));
    inside.max_by(|a, b| panel.edge_distance_mm(a[0], a[1]).total_cmp(&panel.edge_distance_mm(b[0], b[1]))).unwrap()
}

/// A job on the panels of a body, each read once where the gauge can, written and read back; what was said of it is returned.
fn check(body: &Body) -> Vec<String> {
    let mut job = read(&good()).unwrap().contents.job;
    job.body = body.kind().name().to_owned();
    job.car.panels = body.stated_panels(Substrate::Galvanised);
    let one = job.car.readings[0].clone();
    let readable = job.car.panels.iter().enumerate().filter(|(_, p)| p.panel.substrate != Substrate::Plastic);
    job.car.readings = readable
        .map(|(panel, stated)| {
            let [x_mm, y_mm] = middle(&stated.panel);
            Reading { panel, x_mm, y_mm, ..one.clone() }
        })
        .collect();
    job.car.worked.clear();
    job.car.counts.clear();
    job.gloss.clear();
    let room = tempfile::tempdir().unwrap();
    let folder = room.path().join("new");
    write(&Contents::from(job.clone()), &folder).unwrap();
    let back = lastmicron_folder::read(&folder).unwrap();
    assert_eq!(back.contents.job.car.panels, job.car.panels, "{}", body.kind().name());
    assert_eq!(back.contents.job.body, job.body);
    back.findings.iter().map(ToString::to_string).collect()
}

#[test]
fn each_body_is_read_back_panel_for_panel_and_nothing_is_said_of_it() {
    for kind in Kind::ALL {
        assert_eq!(check(&Body::new(kind, Dimensions::usual(kind)).unwrap()), Vec::<String>::new(), "{}", kind.name());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_body_of_any_dimensions_is_read_back(kind in prop::sample::select(Kind::ALL.to_vec()), shares in prop::array::uniform10(0.0..=1.0_f64)) {
        let dimensions = Measure::of(kind).into_iter().zip(shares).fold(Dimensions::usual(kind), |dimensions, (measure, share)| {
            let [least, most] = Dimensions::bounds_mm(kind, measure);
            dimensions.with(measure, least + share * (most - least))
        });
        if let Ok(body) = Body::new(kind, dimensions) {
            check(&body);
        }
    }
}
