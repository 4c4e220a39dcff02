//! What work has taken so far, and what is left: for the handover, and for whoever polishes next.
//!
//! All of it comes from the joint draws that a plan rests on: in every draw the film before work, less what the recorded sets took there, is the film that a
//! plan or a [`survey`](crate::survey) reports. Nothing is added up beside them.

mod area;
mod likely;
mod of_films;

use lastmicron_film::grid::Grid;
use lastmicron_units::Unit;

use crate::car::Car;
use crate::choose::{Effort, Prepared};
use crate::drawn::Drawn;
use crate::error::PlanError;
use crate::outcome::{PanelFilm, Spread};
use crate::patch::worked_on;
use area::worked_m2;
pub use likely::Likely;
use of_films::{OfFilms, of_films};

/// What work has taken of a vehicle, and what is left.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// Panels in the order of the car.
    pub panels: Vec<PanelTaken>,
    /// Smallest topcoat now on any panel that was read, um.
    pub smallest_left_um: Option<Likely>,
    /// Most taken anywhere, um; none where no node was worked.
    pub most_um: Option<Likely>,
    /// Chance that some worked place of a panel that was read now stands below the floor; none where no such place was worked.
    pub below_floor: Option<f64>,
    /// Chance that some such place has reached the undercoat.
    pub reached_undercoat: Option<f64>,
    /// Films that the chances were counted on.
    pub films: usize,
}

/// What work has taken of a panel, and what is left.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelTaken {
    /// Index of the panel in the car.
    pub panel: usize,
    /// Readings taken on it, of any layer.
    pub readings: usize,
    /// Chance, 0 to 1, that it has been resprayed; NaN where nothing was read on the whole vehicle.
    pub respray: f64,
    /// Area on which sets are recorded, m2, what was kept off within it counted in.
    pub worked_m2: f64,
    /// What was removed; none where sets are recorded and nothing was read on the whole vehicle.
    pub removed: Option<Removed>,
    /// Topcoat before work and now; none where none of the panel's film has been read.
    pub film: Option<BeforeAndNow>,
}

/// Film removed on a panel, on the nodes of its [`PanelFilm`].
#[derive(Clone, Debug, PartialEq)]
pub struct Removed {
    /// Mean at every node, um: exactly 0 where nothing was worked, NaN off the outline.
    pub mean_um: Vec<f64>,
    /// Its standard deviation, um.
    pub sd_um: Vec<f64>,
    /// Mean over the worked nodes, um; none where no node was worked.
    pub over_worked_um: Option<Likely>,
    /// Most at any node, um; none where no node was worked.
    pub most_um: Option<Likely>,
}

/// Topcoat before work and now.
#[derive(Clone, Debug, PartialEq)]
pub struct BeforeAndNow {
    /// Before the work that is recorded.
    pub before: PanelFilm,
    /// Now: the film that a plan reports.
    pub left: PanelFilm,
    /// Smallest on the panel before, um.
    pub smallest_before_um: Likely,
    /// Smallest on the panel now, um.
    pub smallest_left_um: Likely,
    /// Chance that some worked place now stands below the floor; none where no node was worked.
    pub below_floor: Option<f64>,
    /// Chance that some worked place has reached the undercoat.
    pub reached_undercoat: Option<f64>,
}

/// A place of a panel's film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThinPlace {
    /// Place, mm.
    pub x_mm: f64,
    /// Place, mm.
    pub y_mm: f64,
    /// Topcoat there, um.
    pub topcoat_um: Spread,
}

/// What the work recorded in a car has taken, and what is left. The same effort as a plan's gives the film of that plan, number for number.
///
/// A panel of which nothing was read has no film; what was removed there is drawn from rates alone.
///
/// # Errors
/// [`PlanError`] when there is no process, or numbers are too extreme. A car without readings is not an error: nothing is known of its film.
pub fn taken(car: &Car, effort: Effort) -> Result<Taken, PlanError> {
    let prepared = match Prepared::new(car, effort, Unit::Micrometre) {
        Err(PlanError::NoReadings) => return Ok(unread(car)),
        other => other?,
    };
    let drawn = prepared.drawn()?;
    let of_panels: Vec<OfFilms> = (0..car.panels.len()).map(|k| of_films(car, &drawn, k)).collect();
    let read = || of_panels.iter().filter_map(|of| of.film.as_ref());
    let worked = || read().filter_map(|film| film.least_worked_um.as_ref());
    let least = |draw: usize, of: &mut dyn Iterator<Item = &Vec<f32>>| of.map(|um| um[draw]).fold(f32::INFINITY, f32::min);
    let least_worked_um: Vec<f32> = (0..drawn.count()).map(|draw| least(draw, &mut worked())).collect();
    let smallest_um: Vec<f32> = (0..drawn.count()).map(|draw| least(draw, &mut read().map(|film| &film.smallest_left_um))).collect();
    let removed: Vec<&Vec<f32>> = of_panels.iter().filter_map(|of| of.most_um.as_ref()).collect();
    let most_um: Vec<f32> = (0..drawn.film.count()).map(|film| removed.iter().map(|um| um[film]).fold(0.0, f32::max)).collect();
    let chances = |film_um: &[f32], floor_um: f64| worked().next().map(|_| below(film_um, floor_um));
    Ok(Taken {
        smallest_left_um: read().next().map(|_| Likely::of(&smallest_um)),
        most_um: (!removed.is_empty()).then(|| Likely::of(&most_um)),
        below_floor: chances(&least_worked_um, car.limits.floor.micrometres()),
        reached_undercoat: chances(&least_worked_um, 0.0),
        films: drawn.film.count(),
        panels: of_panels.iter().enumerate().map(|(k, of)| told(car, &drawn, k, of)).collect(),
    })
}

fn told(car: &Car, drawn: &Drawn, panel: usize, of: &OfFilms) -> PanelTaken {
    let floor_um = car.limits.floor.micrometres();
    let film = of.film.as_ref().map(|film| BeforeAndNow {
        smallest_before_um: Likely::of(&film.smallest_before_um),
        smallest_left_um: Likely::of(&film.smallest_left_um),
        below_floor: film.least_worked_um.as_deref().map(|um| below(um, floor_um)),
        reached_undercoat: film.least_worked_um.as_deref().map(|um| below(um, 0.0)),
        before: panel_film(car, panel, &film.before, &film.smallest_before_um),
        left: panel_film(car, panel, &film.left, &film.smallest_left_um),
    });
    let (mean_um, sd_um) = of.removed.clone();
    PanelTaken {
        panel,
        readings: readings(car, panel),
        respray: drawn.knowledge.posterior.respray_probability(panel),
        worked_m2: worked_m2(&car.panels[panel].panel, &worked_on(car, panel)),
        removed: Some(Removed {
            mean_um,
            sd_um,
            over_worked_um: of.over_worked_um.as_deref().map(Likely::of),
            most_um: of.most_um.as_deref().map(Likely::of),
        }),
        film,
    }
}

fn panel_film(car: &Car, panel: usize, (mean_um, sd_um): &(Vec<f64>, Vec<f64>), smallest_um: &[f32]) -> PanelFilm {
    let grid = Grid::of(&car.panels[panel].panel);
    PanelFilm {
        step_mm: grid.step_mm,
        nx: grid.nx,
        ny: grid.ny,
        topcoat_mean_um: mean_um.clone(),
        topcoat_sd_um: sd_um.clone(),
        smallest_um: crate::report::interval(smallest_um.iter().map(|um| f64::from(*um)).collect()),
    }
}

/// Share of draws whose film lies below `floor_um`.
fn below(film_um: &[f32], floor_um: f64) -> f64 {
    film_um.iter().filter(|um| f64::from(**um) < floor_um).count() as f64 / film_um.len() as f64
}

fn readings(car: &Car, panel: usize) -> usize {
    car.readings.iter().filter(|r| r.panel == panel).count()
}

/// A car of which nothing was read: nothing was removed where nothing was worked, and nothing else is known.
fn unread(car: &Car) -> Taken {
    let panel = |(panel, of): (usize, &crate::car::CarPanel)| {
        let worked = worked_on(car, panel);
        let grid = Grid::of(&of.panel);
        let nothing: Vec<f64> = (0..grid.nodes()).map(|n| if grid.on_panel(n) { 0.0 } else { f64::NAN }).collect();
        let removed = Removed { sd_um: nothing.clone(), mean_um: nothing, over_worked_um: None, most_um: None };
        PanelTaken {
            panel,
            readings: 0,
            respray: f64::NAN,
            worked_m2: worked_m2(&of.panel, &worked),
            removed: worked.is_empty().then_some(removed),
            film: None,
        }
    };
    let panels = car.panels.iter().enumerate().map(panel).collect();
    Taken { panels, smallest_left_um: None, most_um: None, below_floor: None, reached_undercoat: None, films: 0 }
}

/// Thin places nearer to each other than this are one, mm. Judgement: more than the 150 to 450 mm over which film varies would hide a second; less would name
/// one thin corner three times.
const APART_MM: f64 = 250.0;

/// Up to `most` places of a panel at which the topcoat may be lowest, the lowest first: by what lies above it 19 times in 20, were it normal.
#[must_use]
pub fn thin_places(film: &PanelFilm, most: usize) -> Vec<ThinPlace> {
    let place = |n: usize| ThinPlace {
        x_mm: (n % film.nx) as f64 * film.step_mm[0],
        y_mm: (n / film.nx) as f64 * film.step_mm[1],
        topcoat_um: Spread { mean: film.topcoat_mean_um[n], sd: film.topcoat_sd_um[n] },
    };
    let low_um = |p: &ThinPlace| p.topcoat_um.mean - 1.645 * p.topcoat_um.sd;
    let nodes = film.nx * film.ny;
    let known = (0..nodes.min(film.topcoat_mean_um.len()).min(film.topcoat_sd_um.len())).map(place);
    let mut lowest_first: Vec<ThinPlace> = known.filter(|p| low_um(p).is_finite()).collect();
    lowest_first.sort_by(|a, b| low_um(a).total_cmp(&low_um(b)));
    let mut thin: Vec<ThinPlace> = Vec::new();
    for p in lowest_first {
        if thin.len() == most {
            break;
        }
        if thin.iter().all(|t| f64::hypot(t.x_mm - p.x_mm, t.y_mm - p.y_mm) >= APART_MM) {
            thin.push(p);
        }
    }
    thin
}

#[cfg(test)]
mod tests;
