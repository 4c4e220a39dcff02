//! `dwell`: how long to stay at each position to take what is wanted, and nowhere more than may be taken.

use lastmicron_numerics::bounded::{BoundedError, Rows};
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::{number, numbers};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "dwell",
  "description": "Dwell t of least |influence t - target|^2 over t >= 0 with influence t <= cap. Nothing is added to the target to make times positive.",
  "type": "object",
  "additionalProperties": false,
  "required": ["influence", "target"],
  "properties": {
    "influence": {
      "type": "array",
      "minItems": 1,
      "description": "a row a place, in it a value a position: what a second there takes here; 0 or more. At most 1,000 positions and 1,000,000 values",
      "items": {"type": "array", "minItems": 1, "maxItems": 1000, "items": {"type": "number", "minimum": 0}}
    },
    "target": {"type": "array", "items": {"type": "number"}, "description": "a value a place"},
    "cap": {
      "anyOf": [{"type": "null"}, {"type": "array", "items": {"type": ["number", "null"], "minimum": 0}}],
      "default": null,
      "description": "most that may be taken, a value a place, null where there is no limit; or null for none anywhere"
    }
  },
  "examples": [
    {"influence": [[0.5, 0.25, 0], [0.25, 0.5, 0.25], [0, 0.25, 0.5]], "target": [1, 2, 1]},
    {"influence": [[0.5, 0.25, 0], [0.25, 0.5, 0.25], [0, 0.25, 0.5]], "target": [1, 2, 1], "cap": [1, 1.5, null]}
  ],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["dwell", "residual", "reached", "gap"],
      "properties": {
        "dwell": {"type": "array", "items": {"type": "number", "minimum": 0}, "description": "a value a position"},
        "residual": {"type": "number", "description": "root of the sum of squares of reached less target"},
        "reached": {"type": "array", "items": {"type": "number"}, "description": "what is taken, a value a place; never above the cap"},
        "gap": {"type": "number", "description": "proven bound: by how much residual^2 / 2 may be above the least there is"}
      }
    }
  }
}"#;

/// Most positions. Judgement: as many as a page of numbers can state; the time goes with the square.
const MOST_POSITIONS: usize = 1000;

/// Most values of the influence.
const MOST_VALUES: usize = 1_000_000;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["influence", "target", "cap"])?;
    let rows = keys.need("influence")?.list()?.into_iter().map(values).collect::<Result<Vec<Vec<f64>>, ComputeError>>()?;
    let (positions, count) = (rows.iter().map(Vec::len).max().unwrap_or(0), rows.iter().map(Vec::len).sum::<usize>());
    if positions > MOST_POSITIONS || count > MOST_VALUES {
        let reason =
            format!("{} places and {positions} positions: at most {MOST_POSITIONS} positions and {MOST_VALUES} values", rows.len());
        return Err(Input::refused("influence", reason));
    }
    let target = values(keys.need("target")?)?;
    let cap = keys.take("cap").map(cap).transpose()?.flatten();
    let found = Rows::new(&rows).and_then(|influence| influence.nearest(&target, cap.as_deref())).map_err(refused)?;
    Ok(json!({
        "dwell": numbers("dwell", &found.x)?,
        "residual": number("residual", found.residual)?,
        "reached": numbers("reached", &found.reached)?,
        "gap": number("gap", found.gap)?,
    }))
}

fn values(input: Input) -> Result<Vec<f64>, ComputeError> {
    input.list()?.into_iter().map(Input::number).collect()
}

/// A cap a place, infinite for null; none for null alone.
fn cap(input: Input) -> Result<Option<Vec<f64>>, ComputeError> {
    if input.is_null() {
        return Ok(None);
    }
    let items = input.list()?.into_iter();
    Ok(Some(items.map(|item| Ok(item.number_or_null()?.unwrap_or(f64::INFINITY))).collect::<Result<Vec<f64>, ComputeError>>()?))
}

fn refused(error: BoundedError) -> ComputeError {
    let key = match error {
        BoundedError::Empty { .. } | BoundedError::TooLarge { .. } | BoundedError::Rounding { .. } => "influence".to_owned(),
        BoundedError::Ragged { row, .. } => format!("influence[{row}]"),
        BoundedError::Influence { row, column, .. } => format!("influence[{row}][{column}]"),
        BoundedError::Target { row, .. } => format!("target[{row}]"),
        BoundedError::Cap { row, .. } => format!("cap[{row}]"),
        BoundedError::Count { what: "caps", .. } => "cap".to_owned(),
        BoundedError::Count { .. } => "target".to_owned(),
    };
    Input::refused(&key, error)
}
