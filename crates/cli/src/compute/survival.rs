//! `survival`: distributions of interval- and right-censored counts.

use lastmicron_numerics::survival::{Censored, SurvivalError, exponential, nonparametric, weibull};
use serde_json::{Map, Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::{number, number_or_null};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "survival",
  "description": "Exponential, Weibull and nonparametric distributions of largest likelihood for interval- and right-censored counts.",
  "type": "object",
  "additionalProperties": false,
  "required": ["intervals"],
  "properties": {
    "intervals": {
      "type": "array",
      "description": "[low, high, count] each: count lifetimes (or depths) that ended in (low, high], beyond low when high is null, at low when both are the same",
      "items": {
        "type": "array",
        "prefixItems": [{"type": "number", "minimum": 0}, {"type": ["number", "null"]}, {"type": "number", "minimum": 0}],
        "minItems": 3,
        "maxItems": 3
      }
    }
  },
  "examples": [{"intervals": [[0, 1, 40], [1, 2, 24], [2, null, 36]]}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["exponential", "weibull", "npmle", "npmle_log_likelihood", "npmle_gap"],
      "properties": {
        "exponential": {
          "type": ["object", "null"],
          "description": "null when there is no largest likelihood; notes say why",
          "properties": {"mean": {"type": "number"}, "log_likelihood": {"type": "number"}}
        },
        "weibull": {
          "type": ["object", "null"],
          "description": "survival exp(-(t / scale)^shape); null when there is no largest likelihood; notes say why",
          "properties": {"shape": {"type": "number"}, "scale": {"type": "number"}, "log_likelihood": {"type": "number"}}
        },
        "npmle": {
          "type": "array",
          "description": "[low, high, mass] each, in order, mass above 0: nothing says where inside an interval it lies",
          "items": {"type": "array", "prefixItems": [{"type": "number"}, {"type": ["number", "null"]}, {"type": "number"}]}
        },
        "npmle_log_likelihood": {"type": "number"},
        "npmle_gap": {"type": "number", "description": "proven bound: log-likelihood missing, per count"},
        "notes": {"type": "array", "items": {"type": "string"}, "description": "why a fit is null; left out when none is"}
      }
    }
  }
}"#;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["intervals"])?;
    let mut rows = Vec::new();
    for item in keys.need("intervals")?.list()? {
        let path = item.path().to_owned();
        let [low, high, count] = item.tuple("low, high or null, count")?;
        let row = Censored::new(low.number()?, high.number_or_null()?, count.number()?);
        rows.push(row.map_err(|error| Input::refused(&path, error))?);
    }
    let best = nonparametric(&rows).map_err(|error| Input::refused("intervals", error))?;
    let mut notes = Vec::new();
    let mut output = Map::new();
    let fit = noted("exponential", exponential(&rows), &mut notes);
    let exponential = fit.map(|fit| named([("mean", fit.mean), ("log_likelihood", fit.log_likelihood)])).transpose()?;
    output.insert("exponential".to_owned(), exponential.unwrap_or(Value::Null));
    let fit = noted("weibull", weibull(&rows), &mut notes);
    let weibull = fit.map(|fit| named([("shape", fit.shape), ("scale", fit.scale), ("log_likelihood", fit.log_likelihood)])).transpose()?;
    output.insert("weibull".to_owned(), weibull.unwrap_or(Value::Null));
    let mut masses = Vec::new();
    for mass in &best.masses {
        masses.push(json!([number("low", mass.low)?, number_or_null("high", mass.high)?, number("mass", mass.mass)?]));
    }
    output.insert("npmle".to_owned(), Value::Array(masses));
    output.insert("npmle_log_likelihood".to_owned(), number("npmle_log_likelihood", best.log_likelihood)?);
    output.insert("npmle_gap".to_owned(), number("npmle_gap", best.gap)?);
    if !notes.is_empty() {
        output.insert("notes".to_owned(), json!(notes));
    }
    Ok(Value::Object(output))
}

fn noted<T>(name: &str, fit: Result<T, SurvivalError>, notes: &mut Vec<String>) -> Option<T> {
    fit.map_err(|error| notes.push(format!("{name}: {error}"))).ok()
}

fn named<const N: usize>(values: [(&'static str, f64); N]) -> Result<Value, ComputeError> {
    let mut map = Map::new();
    for (name, value) in values {
        map.insert(name.to_owned(), number(name, value)?);
    }
    Ok(Value::Object(map))
}
