//! `minimum`: the smallest value of a field over many places at once.

use lastmicron_numerics::minimum::{MOST_DRAWS, Minimum, MinimumError};
use serde_json::{Map, Value};

use super::ComputeError;
use super::field::{self, Places};
use super::input::Input;
use super::output::{number, numbers};

/// Largest seed: whole numbers are told apart up to here in JSON.
const MOST_SEED: u64 = (1 << 53) - 1;

pub(super) const SCHEMA: &str = r##"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "minimum",
  "description": "The smallest value of a Gaussian field over places or a grid, by joint draws given readings of it.",
  "type": "object",
  "additionalProperties": false,
  "required": ["readings", "kernel", "mean", "draws", "seed", "quantiles"],
  "oneOf": [{"required": ["at"]}, {"required": ["grid"]}],
  "properties": {
    "readings": {
      "type": "array",
      "minItems": 1,
      "maxItems": 5000,
      "description": "[x_mm, y_mm, value, sd] each, sd that of the reading's noise",
      "items": {
        "type": "array",
        "prefixItems": [{"type": "number"}, {"type": "number"}, {"type": "number"}, {"type": "number", "minimum": 0}],
        "minItems": 4,
        "maxItems": 4
      }
    },
    "kernel": {
      "type": "object",
      "additionalProperties": false,
      "required": ["family"],
      "description": "with r = distance / length_mm: exp(-r); (1 + sqrt(3) r) exp(-sqrt(3) r); (1 + sqrt(5) r + 5 r^2/3) exp(-sqrt(5) r); exp(-r^2/2). sd and length_mm are required unless fit is true, which puts others in their place",
      "properties": {
        "family": {"enum": ["exponential", "matern32", "matern52", "gaussian"]},
        "sd": {"type": "number", "exclusiveMinimum": 0},
        "length_mm": {"type": "number", "exclusiveMinimum": 0}
      }
    },
    "mean": {"anyOf": [{"type": "number"}, {"const": "constant"}], "description": "constant: estimated, its uncertainty part of the answer (ordinary kriging)"},
    "at": {
      "type": "array",
      "minItems": 1,
      "maxItems": 3000,
      "description": "[x_mm, y_mm] each",
      "items": {"type": "array", "prefixItems": [{"type": "number"}, {"type": "number"}], "minItems": 2, "maxItems": 2}
    },
    "grid": {
      "type": "object",
      "additionalProperties": false,
      "required": ["width_mm", "height_mm", "step_mm"],
      "description": "nodes 0, step, ... up to the size",
      "properties": {
        "width_mm": {"type": "number", "minimum": 0},
        "height_mm": {"type": "number", "minimum": 0},
        "step_mm": {"type": "number", "exclusiveMinimum": 0}
      }
    },
    "fit": {"type": "boolean", "default": false, "description": "true: use the sd and length of largest marginal likelihood"},
    "draws": {"type": "integer", "minimum": 1, "maximum": 10000000},
    "seed": {"type": "integer", "minimum": 0, "maximum": 9007199254740991, "description": "the same seed gives the same draws"},
    "quantiles": {"type": "array", "items": {"type": "number", "minimum": 0, "maximum": 1}}
  },
  "examples": [{
    "readings": [[0, 0, 112, 2], [300, 0, 108, 2], [0, 300, 118, 2], [300, 300, 104, 2], [150, 150, 109, 2]],
    "kernel": {"family": "exponential", "sd": 4, "length_mm": 200},
    "mean": "constant",
    "grid": {"width_mm": 300, "height_mm": 300, "step_mm": 50},
    "draws": 1000,
    "seed": 1,
    "quantiles": [0.05, 0.5]
  }],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["quantiles", "mean"],
      "properties": {
        "quantiles": {"type": "array", "items": {"type": "number"}, "description": "of the smallest value over the places, in the order asked for"},
        "mean": {"type": "number", "description": "of the smallest value"},
        "kernel": {"type": "object", "description": "with fit only: family, sd, length_mm"},
        "log_likelihood": {"type": "number", "description": "with fit only"},
        "at_bound": {"type": "boolean", "description": "with fit only: true when the kernel is a bound"}
      }
    }
  }
}"##;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let known: Vec<&str> = field::KEYS.into_iter().chain(["draws", "seed", "quantiles"]).collect();
    let mut keys = input.object(&known)?;
    let most = u64::try_from(MOST_DRAWS).unwrap_or(u64::MAX);
    let draws = usize::try_from(keys.need("draws")?.whole(1, most)?).unwrap_or(MOST_DRAWS);
    let seed = keys.need("seed")?.whole(0, MOST_SEED)?;
    let mut shares = Vec::new();
    for item in keys.need("quantiles")?.list()? {
        let path = item.path().to_owned();
        let share = item.number()?;
        if !(0.0..=1.0).contains(&share) {
            return Err(Input::refused(&path, MinimumError::Share(share)));
        }
        shares.push(share);
    }
    let asked = field::read(&mut keys)?;
    let (key, minimum) = match &asked.places {
        Places::At(places) => ("at", Minimum::at(&asked.field, places, draws, seed)),
        Places::On(grid) => ("grid", Minimum::on(&asked.field, *grid, draws, seed)),
    };
    let minimum = minimum.map_err(|error| Input::refused(key, error))?;
    let quantiles = shares.iter().map(|share| minimum.quantile(*share)).collect::<Result<Vec<f64>, MinimumError>>();
    let mut output = Map::new();
    output.insert("quantiles".to_owned(), numbers("quantiles", &quantiles.map_err(|error| Input::refused("quantiles", error))?)?);
    output.insert("mean".to_owned(), number("mean", minimum.mean())?);
    output.extend(asked.fitted);
    Ok(Value::Object(output))
}
