//! Vehicles, panels, maps and curves as scenes, written as SVG: one drawing serves screen and print.
//!
//! A [`Scene`] is data; [`Scene::svg`] writes it. Colours follow one scale for the whole job ([`Scales`]), and never carry meaning
//! alone: every colour has a contour, a number, a pattern or a word beside it. This crate knows no page, no browser and no font.

mod bands;
mod colour;
mod curve;
mod edges;
mod figure;
mod film_pane;
mod hatch;
mod labels;
mod legend;
mod lettering;
mod panel_map;
mod pass_figure;
mod place;
mod profile_pane;
mod readings;
mod scales;
mod scene;
mod section_map;
mod steps;
mod survey_map;
mod svg;
mod taken_map;
mod vehicle;
mod work_pane;

pub use colour::cividis;
pub use curve::correction_curve;
pub use figure::{counted, in_unit, in_unit_bare};
pub use panel_map::panel_map;
pub use pass_figure::pass_figure;
pub use scales::{Scale, Scales, TakenScales};
pub use scene::{Class, Mark, Room, Scene, TextAt};
pub use section_map::{SectionAt, Standing, section_map};
pub use steps::{StepNames, steps_in_words};
pub use survey_map::{SurveyMap, survey_map};
pub use taken_map::taken_map;
pub use vehicle::{OnPanel, vehicle_picture, vehicle_side};
