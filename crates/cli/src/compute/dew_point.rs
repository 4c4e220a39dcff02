//! `dew-point`: how far a panel is from water condensing on it.

use lastmicron_plan::climate::{Climate, ClimateError};
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::number;

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "dew-point",
  "description": "Dew point of the air, and how far above it the panel is. Magnus form with the coefficients of Alduchov and Eskridge (1996).",
  "type": "object",
  "additionalProperties": false,
  "required": ["air_c", "humidity_percent", "surface_c"],
  "properties": {
    "air_c": {"type": "number", "minimum": -40, "maximum": 50, "description": "air temperature, degrees C"},
    "humidity_percent": {"type": "number", "exclusiveMinimum": 0, "maximum": 100, "description": "relative humidity"},
    "surface_c": {"type": "number", "minimum": -60, "maximum": 150, "description": "the panel's own temperature, degrees C"}
  },
  "examples": [{"air_c": 25, "humidity_percent": 60, "surface_c": 21}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["dew_point_c", "margin_c"],
      "properties": {
        "dew_point_c": {"type": "number", "description": "degrees C, over water also below 0"},
        "margin_c": {"type": "number", "description": "panel less dew point; a rule of practice asks for 3"}
      }
    }
  }
}"#;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["air_c", "humidity_percent", "surface_c"])?;
    let air_c = keys.need("air_c")?.number()?;
    let humidity_percent = keys.need("humidity_percent")?.number()?;
    let surface_c = keys.need("surface_c")?.number()?;
    let climate = Climate::new(air_c, humidity_percent, surface_c).map_err(refused)?;
    Ok(json!({
        "dew_point_c": number("dew_point_c", climate.dew_point_c())?,
        "margin_c": number("margin_c", climate.margin_c())?,
    }))
}

fn refused(error: ClimateError) -> ComputeError {
    let key = match error {
        ClimateError::Air(_) => "air_c",
        ClimateError::Humidity(_) => "humidity_percent",
        ClimateError::Surface(_) => "surface_c",
    };
    Input::refused(key, error)
}
