//! `gloss`: what a smooth surface shows on a gloss meter.

use lastmicron_look::gloss::{self, GlossError};
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::number;

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "gloss",
  "description": "What a smooth surface of an index shows on a gloss meter: the most that its top can show.",
  "type": "object",
  "additionalProperties": false,
  "required": ["refractive_index", "angle_deg"],
  "properties": {
    "refractive_index": {"type": "number", "minimum": 1, "maximum": 4, "description": "of the surface, at 587.6 nm"},
    "angle_deg": {"type": "number", "minimum": 0, "exclusiveMaximum": 90, "description": "of incidence, from the normal"}
  },
  "examples": [{"refractive_index": 1.5, "angle_deg": 20}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["gloss_units", "reflectance"],
      "properties": {
        "gloss_units": {"type": "number", "description": "per cent of what glass of index 1.567 reflects at that angle"},
        "reflectance": {"type": "number", "description": "share of unpolarised light, 0 to 1"}
      }
    }
  }
}"#;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["refractive_index", "angle_deg"])?;
    let index = keys.need("refractive_index")?.number()?;
    let angle_deg = keys.need("angle_deg")?.number()?;
    let units = gloss::gloss_units(index, angle_deg).map_err(refused)?;
    let reflectance = gloss::reflectance(index, angle_deg).map_err(refused)?;
    Ok(json!({ "gloss_units": number("gloss_units", units)?, "reflectance": number("reflectance", reflectance.mean())? }))
}

fn refused(error: GlossError) -> ComputeError {
    let key = if matches!(error, GlossError::Angle(_)) { "angle_deg" } else { "refractive_index" };
    Input::refused(key, error)
}
