//! `removal`: the depth that a pad takes on a path.

use lastmicron_numerics::gp::Grid;
use lastmicron_polish::influence::{Influence, InfluenceError};
use lastmicron_polish::map::{MapError, removal_map};
use lastmicron_polish::motion::{Motion, MotionError};
use lastmicron_polish::path::Stay;
use serde_json::{Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::{number, numbers};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "removal",
  "description": "Depth that a pad takes on a path, by Preston's law with uniform pressure: each node's is the mean over the square of one step around it. Pressure rises where a pad hangs over an edge or runs over a line; that is not in it.",
  "type": "object",
  "additionalProperties": false,
  "required": ["pad", "motion", "load_n", "preston_per_pa", "path", "grid"],
  "properties": {
    "pad": {
      "type": "object",
      "additionalProperties": false,
      "required": ["diameter_mm"],
      "properties": {
        "diameter_mm": {"type": "number", "exclusiveMinimum": 0, "description": "not wider than the panel"},
        "stiffness_pa_per_m": {"type": "number", "exclusiveMinimum": 0, "description": "taken for the sake of pads as contact has them; not used"},
        "edge": {"enum": ["upright", "tapered"], "description": "likewise"}
      }
    },
    "motion": {
      "type": "object",
      "additionalProperties": false,
      "required": ["orbit_radius_mm", "orbits_per_minute", "spin_rpm"],
      "properties": {
        "orbit_radius_mm": {"type": "number", "minimum": 0, "maximum": 10000, "description": "half of what is usually called the throw; less than half the pad; 0 for a rotary"},
        "orbits_per_minute": {"type": "number", "minimum": 0, "maximum": 1000000},
        "spin_rpm": {"type": "number", "minimum": -1000000, "maximum": 1000000, "description": "turns of the pad a minute as seen from the panel, below 0 against the orbit"}
      }
    },
    "load_n": {"type": "number", "exclusiveMinimum": 0},
    "preston_per_pa": {"type": "number", "exclusiveMinimum": 0, "description": "depth for each Pa and m of sliding, m; not known for clear coat without a measurement, of the order of 1e-11"},
    "path": {
      "type": "array",
      "minItems": 1,
      "maxItems": 1000000,
      "description": "[x_mm, y_mm, seconds] each: the dwell with the pad's mean centre there; between nodes it is split among places a part of a step apart",
      "items": {
        "type": "array",
        "prefixItems": [{"type": "number", "minimum": 0}, {"type": "number", "minimum": 0}, {"type": "number", "minimum": 0}],
        "minItems": 3,
        "maxItems": 3
      }
    },
    "grid": {
      "type": "object",
      "additionalProperties": false,
      "required": ["width_mm", "height_mm", "step_mm"],
      "description": "the panel; nodes 0, step, ... up to the size, x running fastest, from the bottom row",
      "properties": {
        "width_mm": {"type": "number", "minimum": 0},
        "height_mm": {"type": "number", "minimum": 0},
        "step_mm": {"type": "number", "exclusiveMinimum": 0}
      }
    }
  },
  "examples": [{
    "pad": {"diameter_mm": 125},
    "motion": {"orbit_radius_mm": 7.5, "orbits_per_minute": 4800, "spin_rpm": 300},
    "load_n": 40,
    "preston_per_pa": 1e-11,
    "path": [[100, 150, 1], [110, 150, 1], [120, 150, 1]],
    "grid": {"width_mm": 300, "height_mm": 300, "step_mm": 50}
  }],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["depth_um", "mean_um", "min_um", "max_um"],
      "properties": {
        "depth_um": {"type": "array", "items": {"type": "number"}, "description": "row by row from the bottom, x running fastest"},
        "mean_um": {"type": "number", "description": "over the area between the outermost nodes: those on its sides count half, in its corners a quarter; while the pad stays inside it is k F v t / area"},
        "min_um": {"type": "number"},
        "max_um": {"type": "number"}
      }
    }
  }
}"#;

/// Most samples of a path.
const MOST_SAMPLES: usize = 1_000_000;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["pad", "motion", "load_n", "preston_per_pa", "path", "grid"])?;
    let diameter_mm = diameter_mm(keys.need("pad")?)?;
    let motion = motion(keys.need("motion")?)?;
    let load_n = keys.need("load_n")?.number()?;
    let preston_per_pa = keys.need("preston_per_pa")?.number()?;
    let path = path(keys.need("path")?)?;
    let grid = grid(keys.need("grid")?)?;
    let influence = Influence::new(diameter_mm, &motion, load_n, preston_per_pa).map_err(refused_influence)?;
    let map = removal_map(&influence, &path, grid, None).map_err(refused)?;
    Ok(json!({
        "depth_um": numbers("depth_um", &map.depth_um)?,
        "mean_um": number("mean_um", map.mean_um)?,
        "min_um": number("min_um", map.min_um)?,
        "max_um": number("max_um", map.max_um)?,
    }))
}

fn diameter_mm(pad: Input) -> Result<f64, ComputeError> {
    let mut keys = pad.object(&["diameter_mm", "stiffness_pa_per_m", "edge"])?;
    let diameter_mm = keys.need("diameter_mm")?.number()?;
    if let Some(stiffness) = keys.take("stiffness_pa_per_m") {
        let path = stiffness.path().to_owned();
        let stiffness = stiffness.number()?;
        if stiffness <= 0.0 {
            return Err(Input::refused(&path, format!("a stiffness of {stiffness}: it must be above 0")));
        }
    }
    keys.take("edge").map(|edge| edge.choice(&[("upright", ()), ("tapered", ())])).transpose()?;
    Ok(diameter_mm)
}

fn motion(motion: Input) -> Result<Motion, ComputeError> {
    let mut keys = motion.object(&["orbit_radius_mm", "orbits_per_minute", "spin_rpm"])?;
    let mut need = |key: &str| keys.need(key)?.number();
    Motion::new(need("orbit_radius_mm")?, need("orbits_per_minute")?, need("spin_rpm")?).map_err(refused_motion)
}

fn path(input: Input) -> Result<Vec<Stay>, ComputeError> {
    let items = input.list()?;
    if items.len() > MOST_SAMPLES {
        return Err(Input::refused("path", format!("{} places: at most {MOST_SAMPLES}; split the work, depths add", items.len())));
    }
    let stay = |item: Input| {
        let [x, y, seconds] = item.tuple("x_mm, y_mm, seconds")?;
        Ok(Stay { x_mm: x.number()?, y_mm: y.number()?, seconds: seconds.number()? })
    };
    items.into_iter().map(stay).collect()
}

fn grid(input: Input) -> Result<Grid, ComputeError> {
    let path = input.path().to_owned();
    let mut keys = input.object(&["width_mm", "height_mm", "step_mm"])?;
    let mut need = |key: &str| keys.need(key)?.number();
    let (width_mm, height_mm, step_mm) = (need("width_mm")?, need("height_mm")?, need("step_mm")?);
    Grid::over(width_mm, height_mm, step_mm).map_err(|error| Input::refused(&path, error))
}

fn refused(error: MapError) -> ComputeError {
    match error {
        MapError::NoPath => Input::refused("path", error),
        MapError::OffPanel { at, .. } => Input::refused(&format!("path[{at}]"), error),
        MapError::Seconds { at, .. } => Input::refused(&format!("path[{at}][2]"), error),
        MapError::PadWiderThanPanel { .. } => Input::refused("pad.diameter_mm", error),
        MapError::Influence(error) => refused_influence(error),
        MapError::BeyondGrid { .. } | MapError::Outline(_) | MapError::Superposition(_) => Input::refused("grid", error),
    }
}

fn refused_influence(error: InfluenceError) -> ComputeError {
    let key = match error {
        InfluenceError::Diameter(_) => "pad.diameter_mm",
        InfluenceError::Motion(error) => return refused_motion(error),
        InfluenceError::Still => "motion",
        InfluenceError::Load(_) => "load_n",
        InfluenceError::Preston(_) => "preston_per_pa",
        InfluenceError::Step { .. } | InfluenceError::Stencil(_) => "grid.step_mm",
    };
    Input::refused(key, error)
}

fn refused_motion(error: MotionError) -> ComputeError {
    let key = match error {
        MotionError::Orbit(_) | MotionError::OrbitLargerThanPad { .. } => "motion.orbit_radius_mm",
        MotionError::Orbits(_) => "motion.orbits_per_minute",
        MotionError::Spin(_) => "motion.spin_rpm",
        MotionError::Pad(_) | MotionError::Radius(_) => "pad.diameter_mm",
    };
    Input::refused(key, error)
}
