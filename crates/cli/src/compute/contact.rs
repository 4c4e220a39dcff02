//! `contact`: where a soft pad presses, and how hard.

use lastmicron_polish::contact::{ContactError, Hold, Surface, press};
use lastmicron_polish::{Pad, PadEdge};
use serde_json::{Map, Value, json};

use super::ComputeError;
use super::input::{Input, Keys};
use super::output::{number, numbers};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "contact",
  "description": "Pressure of a soft round pad as an elastic foundation (pressure = stiffness x squeeze, never below 0): on a flat panel, overhanging an edge (self-aligning: balanced about its middle), across a convex line, on a crown. Give one of flat, overhang_mm, ridge_radius_mm, dome_radius_mm.",
  "type": "object",
  "additionalProperties": false,
  "required": ["pad", "load_n"],
  "oneOf": [{"required": ["flat"]}, {"required": ["overhang_mm"]}, {"required": ["ridge_radius_mm"]}, {"required": ["dome_radius_mm"]}],
  "properties": {
    "pad": {
      "type": "object",
      "additionalProperties": false,
      "required": ["diameter_mm", "stiffness_pa_per_m", "edge"],
      "properties": {
        "diameter_mm": {"type": "number", "exclusiveMinimum": 0},
        "stiffness_pa_per_m": {"type": "number", "exclusiveMinimum": 0, "description": "of its full thickness; soft foam about 2.4e6"},
        "edge": {"enum": ["upright", "tapered"], "description": "tapered: thinner from three quarters of the radius, half as thick and so twice as stiff at the rim; a plain model and a weak one"}
      }
    },
    "load_n": {"type": "number", "exclusiveMinimum": 0},
    "flat": {"const": true},
    "overhang_mm": {"type": "number", "minimum": 0, "description": "how far the rim is out beyond the edge: less than the pad's radius"},
    "ridge_radius_mm": {"type": "number", "exclusiveMinimum": 0, "description": "radius of a straight line under the pad's middle; up to a third of the pad's radius the contact is taken for a strip as long as the pad is wide, beyond by the pad's own chords"},
    "dome_radius_mm": {"type": "number", "exclusiveMinimum": 0, "description": "radius of a crown, alike in all directions"}
  },
  "examples": [{"pad": {"diameter_mm": 150, "stiffness_pa_per_m": 2.4e6, "edge": "upright"}, "load_n": 50, "ridge_radius_mm": 20}],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["pressure_pa", "peak_over_flat", "half_width_mm", "indent_mm"],
      "properties": {
        "pressure_pa": {"type": "array", "items": {"type": "number"}, "description": "at 41 places equally far apart on the line through the pad's middle, square to the edge or line, from one end of the contact to the other: at an edge from the far end to the edge"},
        "peak_over_flat": {"type": "number", "description": "highest pressure anywhere over load / area of the pad; of a tapered pad at its rim, beside the line of pressure_pa"},
        "half_width_mm": {"type": "number", "description": "half of the contact's width along that line"},
        "indent_mm": {"type": "number", "description": "deepest squeeze of the foam"},
        "notes": {"type": "array", "items": {"type": "string"}, "description": "where the model leaves its range, and what to beware of; left out when there is nothing"}
      }
    }
  }
}"#;

/// Places of the profile: an odd number has the middle among them.
const PLACES: usize = 41;

const EDGES: [(&str, PadEdge); 2] = [("upright", PadEdge::Upright), ("tapered", PadEdge::Tapered)];

/// The keys of which one says what the pad is on.
const SURFACES: [&str; 4] = ["flat", "overhang_mm", "ridge_radius_mm", "dome_radius_mm"];

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let mut keys = input.object(&["pad", "load_n", "flat", "overhang_mm", "ridge_radius_mm", "dome_radius_mm"])?;
    let pad = pad(keys.need("pad")?)?;
    let load_n = keys.need("load_n")?.number()?;
    let (key, surface) = surface(&mut keys)?;
    let contact = press(&pad, load_n, surface).map_err(|error| refused(error, key))?;
    let mut output = Map::new();
    output.insert("pressure_pa".to_owned(), numbers("pressure_pa", &contact.profile_pa(PLACES))?);
    output.insert("peak_over_flat".to_owned(), number("peak_over_flat", contact.peak_over_flat())?);
    output.insert("half_width_mm".to_owned(), number("half_width_mm", contact.half_width_mm())?);
    output.insert("indent_mm".to_owned(), number("indent_mm", contact.indent_mm())?);
    if !contact.findings().is_empty() {
        let notes: Vec<String> = contact.findings().iter().map(ToString::to_string).collect();
        output.insert("notes".to_owned(), json!(notes));
    }
    Ok(Value::Object(output))
}

fn pad(input: Input) -> Result<Pad, ComputeError> {
    let mut keys = input.object(&["diameter_mm", "stiffness_pa_per_m", "edge"])?;
    Ok(Pad {
        name: String::new(),
        diameter_mm: keys.need("diameter_mm")?.number()?,
        stiffness_pa_per_m: keys.need("stiffness_pa_per_m")?.number()?,
        edge: keys.need("edge")?.choice(&EDGES)?,
    })
}

/// What the pad is on, and the key that says so.
fn surface(keys: &mut Keys) -> Result<(&'static str, Surface), ComputeError> {
    let mut given = SURFACES.into_iter().filter_map(|key| Some((key, keys.take(key)?)));
    let Some((key, value)) = given.next() else {
        return Err(ComputeError::Missing("flat, overhang_mm, ridge_radius_mm or dome_radius_mm".to_owned()));
    };
    if let Some((other, _)) = given.next() {
        return Err(Input::refused(other, format!("{key} is given too: give one of {}", SURFACES.join(", "))));
    }
    let surface = match key {
        "overhang_mm" => Surface::Edge { overhang_mm: value.number()?, hold: Hold::SelfAligning },
        "ridge_radius_mm" => Surface::Ridge { radius_mm: value.number()? },
        "dome_radius_mm" => Surface::Dome { radius_mm: value.number()? },
        _ if value.boolean()? => Surface::Flat,
        _ => return Err(Input::refused(key, format!("false says nothing: leave it out and give one of {}", SURFACES[1..].join(", ")))),
    };
    Ok((key, surface))
}

fn refused(error: ContactError, surface: &'static str) -> ComputeError {
    let key = match error {
        ContactError::Diameter(_) => "pad.diameter_mm",
        ContactError::Stiffness(_) => "pad.stiffness_pa_per_m",
        ContactError::Load(_) => "load_n",
        ContactError::Overhang(_)
        | ContactError::Tips { .. }
        | ContactError::Radius(_)
        | ContactError::Turn(_)
        | ContactError::Offset(_) => surface,
        ContactError::NotFinite => return ComputeError::NotFinite("pressure_pa"),
    };
    Input::refused(key, error)
}
