//! `vibration`: hand-arm vibration of a day's tools.

use lastmicron_plan::vibration::{Tool, exposure};
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::{number, number_or_null};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "vibration",
  "description": "Daily hand-arm vibration A(8), its points, and how long the same mix of tools may be used. Directive 2002/44/EC. Local law decides.",
  "type": "object",
  "additionalProperties": false,
  "required": ["tools"],
  "properties": {
    "tools": {
      "type": "array",
      "description": "[m_s2, hours] each: frequency-weighted vibration of three axes together, and hours of the trigger held; at most 24 hours together",
      "items": {
        "type": "array",
        "prefixItems": [{"type": "number", "minimum": 0, "maximum": 1000}, {"type": "number", "minimum": 0, "maximum": 24}],
        "minItems": 2,
        "maxItems": 2
      }
    }
  },
  "examples": [{"tools": [[4, 2.5], [3, 1], [20, 0.25]]}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["a8_m_s2", "points", "hours_to_action", "hours_to_limit"],
      "properties": {
        "a8_m_s2": {"type": "number", "description": "daily exposure, referred to 8 hours"},
        "points": {"type": "number", "description": "100 at the action value of 2.5 m/s2, 400 at the limit of 5"},
        "hours_to_action": {"type": ["number", "null"], "description": "hours of the same mix until 2.5 m/s2; null when never; may be more than a day has"},
        "hours_to_limit": {"type": ["number", "null"], "description": "hours of the same mix until 5 m/s2; null when never; may be more than a day has"}
      }
    }
  }
}"#;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["tools"])?;
    let mut tools = Vec::new();
    for item in keys.need("tools")?.list()? {
        let path = item.path().to_owned();
        let [m_s2, hours] = item.tuple("m_s2, hours")?;
        let tool = Tool { m_s2: m_s2.number()?, hours: hours.number()? };
        exposure(&[tool]).map_err(|error| Input::refused(&path, error))?;
        tools.push(tool);
    }
    let exposure = exposure(&tools).map_err(|error| Input::refused("tools", error))?;
    Ok(json!({
        "a8_m_s2": number("a8_m_s2", exposure.a8_m_s2)?,
        "points": number("points", exposure.points)?,
        "hours_to_action": number_or_null("hours_to_action", exposure.hours_to_action)?,
        "hours_to_limit": number_or_null("hours_to_limit", exposure.hours_to_limit)?,
    }))
}
