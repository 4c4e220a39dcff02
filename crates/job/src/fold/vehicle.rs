//! The vehicle, its paint and its panels.

use lastmicron_film::gauge::Substrate;
use lastmicron_film::panel::Panel;
use lastmicron_plan::{BodyLine, CarPanel, Paint, System, Undercoat};

use super::read::{maybe, maybe_word, number, points, usable_name, whole};
use super::reason::Reason;
use crate::bounds::{FILM_UM, LENGTH_MM, RADIUS_MM, UNDERCOAT_UM, VISIBILITY, YEARS};
use crate::event::{Digest, LineSaid, PaintStated, PanelStated, UndercoatSaid, VehicleStated};
use crate::on_panel::is_place_on;
use crate::outline;
use crate::words::{HARDNESSES, SUBSTRATES, SYSTEMS};

/// The vehicle as it was stated.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle {
    /// What the job is called.
    pub title: String,
    /// A body from the library of outlines, or "custom".
    pub body: String,
    /// Year built.
    pub built: Option<i32>,
    /// Default for panels.
    pub substrate: Option<Substrate>,
    /// The sheet that names the owner.
    pub owner: Option<Digest>,
    /// What is known of earlier work.
    pub history: String,
    /// What must stay as it is.
    pub originality: String,
}

/// Paint of which nothing is stated.
pub(super) const UNSTATED: Paint = Paint { system: System::Unknown, undercoat: None, hardness: None, metallic: false };

pub(super) fn vehicle(said: &VehicleStated) -> Result<Vehicle, Reason> {
    let text = |text: &Option<String>| text.as_deref().unwrap_or_default().trim().to_owned();
    Ok(Vehicle {
        title: said.title.trim().to_owned(),
        body: said.body.as_deref().map_or_else(|| Ok("custom".to_owned()), usable_name)?,
        built: said.built.as_ref().map(|year| whole(year, "built", YEARS, "a year from 1880 to 2100")).transpose()?,
        substrate: maybe_word(said.substrate.as_ref(), "substrate", &SUBSTRATES)?,
        owner: said.owner,
        history: text(&said.history),
        originality: text(&said.originality),
    })
}

pub(super) fn paint(said: &PaintStated) -> Result<Paint, Reason> {
    Ok(Paint {
        system: maybe_word(said.system.as_ref(), "paint system", &SYSTEMS)?.unwrap_or(System::Unknown),
        undercoat: said.undercoat.as_ref().map(undercoat).transpose()?,
        hardness: maybe_word(said.hardness.as_ref(), "hardness", &HARDNESSES)?,
        metallic: said.metallic.unwrap_or(false),
    })
}

fn undercoat(said: &UndercoatSaid) -> Result<Undercoat, Reason> {
    Ok(Undercoat {
        mean_um: number(&said.mean_um, "mean_um", &UNDERCOAT_UM)?,
        sd_um: number(&said.sd_um, "sd_um", &FILM_UM)?,
        panel_sd_um: maybe(said.panel_sd_um.as_ref(), "panel_sd_um", &FILM_UM)?,
    })
}

pub(super) fn panel(said: &PanelStated, of_vehicle: Option<Substrate>) -> Result<CarPanel, Reason> {
    let substrate = maybe_word(said.substrate.as_ref(), "substrate", &SUBSTRATES)?.or(of_vehicle).unwrap_or(Substrate::Unknown);
    let panel = Panel { name: usable_name(&said.name)?, outline_mm: outline_mm(said)?, substrate };
    let lines = said.lines.iter().flatten().map(|said| line(said, &panel)).collect::<Result<_, _>>()?;
    Ok(CarPanel {
        undercoat: said.undercoat.as_ref().map(undercoat).transpose()?,
        hardness: maybe_word(said.hardness.as_ref(), "hardness", &HARDNESSES)?,
        metallic: said.metallic,
        visibility: maybe(said.visibility.as_ref(), "visibility", &VISIBILITY)?.unwrap_or(1.0),
        work: said.work.unwrap_or(true),
        lines,
        gone_through: Vec::new(),
        panel,
    })
}

fn outline_mm(said: &PanelStated) -> Result<Vec<[f64; 2]>, Reason> {
    let corners = match (&said.outline_mm, &said.width_mm, &said.height_mm) {
        (Some(corners), None, None) => points(corners, "outline_mm")?,
        (None, Some(width), Some(height)) => {
            let (w, h) = (number(width, "width_mm", &LENGTH_MM)?, number(height, "height_mm", &LENGTH_MM)?);
            vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]
        }
        _ => return Err(Reason::OneOf("either width_mm and height_mm or outline_mm")),
    };
    outline::in_order(corners).map_err(Reason::Outline)
}

fn line(said: &LineSaid, panel: &Panel) -> Result<BodyLine, Reason> {
    let points_mm = points(&said.points_mm, "points_mm")?;
    if points_mm.len() == 1 {
        return Err(Reason::LineOfOnePoint);
    }
    if let Some([x_mm, y_mm]) = points_mm.iter().copied().find(|point| !is_place_on(panel, *point)) {
        return Err(Reason::OffPanel { x_mm, y_mm, panel: panel.name.clone() });
    }
    Ok(BodyLine { points_mm, radius_mm: number(&said.radius_mm, "radius_mm", &RADIUS_MM)? })
}
