//! `motion`: how fast a pad that orbits and spins slides over places of the panel.

use lastmicron_polish::motion::{Motion, MotionError};
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::numbers;

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "motion",
  "description": "Mean sliding speed, over a whole orbit, at places of the panel that stay under a pad which orbits and spins: (2 / pi) (A + B) E(4 A B / (A + B)^2), A = |W - w| e, B = |w| rho. That is within the pad's radius less that of the orbit; farther out a place is covered for part of the orbit only, and rubbed faster than this when the pad turns the way it orbits, slower when against it.",
  "type": "object",
  "additionalProperties": false,
  "required": ["orbit_radius_mm", "orbits_per_minute", "spin_rpm", "at_radius_mm"],
  "properties": {
    "orbit_radius_mm": {"type": "number", "minimum": 0, "maximum": 10000, "description": "half of what is usually called the throw; 0 for a rotary"},
    "orbits_per_minute": {"type": "number", "minimum": 0, "maximum": 1000000, "description": "0 for a rotary"},
    "spin_rpm": {"type": "number", "minimum": -1000000, "maximum": 1000000, "description": "the pad's own turns as seen from the panel; below 0 against the orbit, 0 a pad that stalls"},
    "at_radius_mm": {"type": "array", "items": {"type": "number", "minimum": 0, "maximum": 10000}, "description": "distances of panel places from the pad's mean centre"}
  },
  "examples": [{"orbit_radius_mm": 7.5, "orbits_per_minute": 4800, "spin_rpm": 300, "at_radius_mm": [0, 20, 40, 55]}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["mean_speed_m_s"],
      "properties": {
        "mean_speed_m_s": {"type": "array", "items": {"type": "number"}, "description": "one for each distance, in order"}
      }
    }
  }
}"#;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["orbit_radius_mm", "orbits_per_minute", "spin_rpm", "at_radius_mm"])?;
    let orbit_radius_mm = keys.need("orbit_radius_mm")?.number()?;
    let orbits_per_minute = keys.need("orbits_per_minute")?.number()?;
    let spin_rpm = keys.need("spin_rpm")?.number()?;
    let motion = Motion::new(orbit_radius_mm, orbits_per_minute, spin_rpm).map_err(refused)?;
    let mut speeds = Vec::new();
    for item in keys.need("at_radius_mm")?.list()? {
        let path = item.path().to_owned();
        let speed = motion.on_panel(item.number()?).map_err(|error| Input::refused(&path, error))?;
        speeds.push(speed.mean_m_s);
    }
    Ok(json!({ "mean_speed_m_s": numbers("mean_speed_m_s", &speeds)? }))
}

fn refused(error: MotionError) -> ComputeError {
    let key = match error {
        MotionError::Orbit(_) | MotionError::Pad(_) | MotionError::OrbitLargerThanPad { .. } => "orbit_radius_mm",
        MotionError::Orbits(_) => "orbits_per_minute",
        MotionError::Spin(_) => "spin_rpm",
        MotionError::Radius(_) => "at_radius_mm",
    };
    Input::refused(key, error)
}
