//! `noise`: the dose of a day's noise.

use lastmicron_plan::noise::{Period, Rule, dose};
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::{number, number_or_null};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "noise",
  "description": "Noise dose of a day: osha by 29 CFR 1910.95 (90 dB, 5 dB exchange, counted from 80 dB), niosh by publication 98-126 (85 dB, 3 dB exchange). Local law decides.",
  "type": "object",
  "additionalProperties": false,
  "required": ["levels", "rule"],
  "properties": {
    "levels": {
      "type": "array",
      "description": "[db_a, hours] each; at most 24 hours together",
      "items": {
        "type": "array",
        "prefixItems": [{"type": "number", "minimum": 0, "maximum": 200}, {"type": "number", "minimum": 0, "maximum": 24}],
        "minItems": 2,
        "maxItems": 2
      }
    },
    "rule": {"enum": ["osha", "niosh"]}
  },
  "examples": [{"levels": [[90, 4], [95, 2], [80, 2]], "rule": "osha"}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["dose_percent", "twa_db_a"],
      "properties": {
        "dose_percent": {"type": "number", "description": "share of the dose allowed"},
        "twa_db_a": {"type": ["number", "null"], "description": "level that gives the same dose in 8 hours; null when there is none"}
      }
    }
  }
}"#;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["levels", "rule"])?;
    let levels = keys.need("levels")?.list()?;
    let rule = keys.need("rule")?.choice(&[("osha", Rule::Osha), ("niosh", Rule::Niosh)])?;
    let mut periods = Vec::new();
    for item in levels {
        let path = item.path().to_owned();
        let [db_a, hours] = item.tuple("db_a, hours")?;
        let period = Period { db_a: db_a.number()?, hours: hours.number()? };
        dose(rule, &[period]).map_err(|error| Input::refused(&path, error))?;
        periods.push(period);
    }
    let dose = dose(rule, &periods).map_err(|error| Input::refused("levels", error))?;
    Ok(json!({ "dose_percent": number("dose_percent", dose.percent)?, "twa_db_a": number_or_null("twa_db_a", dose.twa_db_a)? }))
}
