//! `field`: a film estimated from readings of it.

use lastmicron_numerics::gp::{Field, Fit, GpError, Grid, Mean, Reading, fit};
use lastmicron_numerics::kernel::{Family, Kernel, KernelError};
use serde_json::{Map, Value, json};

use super::ComputeError;
use super::input::{Input, Keys};
use super::output::{number, numbers};

pub(super) const SCHEMA: &str = r#"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "field",
  "description": "Mean and standard deviation of a Gaussian field given readings of it, at places or on a grid.",
  "type": "object",
  "additionalProperties": false,
  "required": ["readings", "kernel", "mean"],
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
      "description": "[x_mm, y_mm] each",
      "items": {"type": "array", "prefixItems": [{"type": "number"}, {"type": "number"}], "minItems": 2, "maxItems": 2}
    },
    "grid": {
      "type": "object",
      "additionalProperties": false,
      "required": ["width_mm", "height_mm", "step_mm"],
      "description": "nodes 0, step, ... up to the size, x running fastest, from the bottom row",
      "properties": {
        "width_mm": {"type": "number", "minimum": 0},
        "height_mm": {"type": "number", "minimum": 0},
        "step_mm": {"type": "number", "exclusiveMinimum": 0}
      }
    },
    "fit": {"type": "boolean", "default": false, "description": "true: use the sd and length of largest marginal likelihood"}
  },
  "examples": [{
    "readings": [[0, 0, 112, 2], [300, 0, 108, 2], [0, 300, 118, 2], [300, 300, 104, 2], [150, 150, 109, 2]],
    "kernel": {"family": "exponential", "sd": 4, "length_mm": 200},
    "mean": "constant",
    "at": [[100, 200]]
  }],
  "$defs": {
    "output": {
      "type": "object",
      "required": ["mean", "sd"],
      "properties": {
        "mean": {"type": "array", "items": {"type": "number"}},
        "sd": {"type": "array", "items": {"type": "number"}, "description": "of the field without noise, not of a new reading"},
        "kernel": {"type": "object", "description": "with fit only: family, sd, length_mm"},
        "log_likelihood": {"type": "number", "description": "with fit only: log of the readings' marginal density; of their contrasts where the mean is estimated"},
        "at_bound": {"type": "boolean", "description": "with fit only: true when the likelihood still rose at the end of the range searched, so that the kernel is a bound"}
      }
    }
  }
}"#;

/// The keys of a field.
pub(super) const KEYS: [&str; 6] = ["readings", "kernel", "mean", "at", "grid", "fit"];

/// Families by their names.
const FAMILIES: [(&str, Family); 4] =
    [("exponential", Family::Exponential), ("matern32", Family::Matern32), ("matern52", Family::Matern52), ("gaussian", Family::Gaussian)];

/// Where a field is asked for.
pub(super) enum Places {
    /// In no order.
    At(Vec<[f64; 2]>),
    /// On a grid.
    On(Grid),
}

/// A field, where it is asked for, and what is said of its fit.
pub(super) struct Asked {
    pub(super) field: Field,
    pub(super) places: Places,
    pub(super) fitted: Map<String, Value>,
}

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let asked = read(&mut input.object(&KEYS)?)?;
    let estimates = match &asked.places {
        Places::At(places) => asked.field.at(places).map_err(refused)?,
        Places::On(grid) => asked.field.on(*grid),
    };
    let mut output = Map::new();
    output.insert("mean".to_owned(), numbers("mean", &estimates.mean)?);
    output.insert("sd".to_owned(), numbers("sd", &estimates.sd)?);
    output.extend(asked.fitted);
    Ok(Value::Object(output))
}

/// Reads a field's keys and conditions it on its readings.
pub(super) fn read(keys: &mut Keys) -> Result<Asked, ComputeError> {
    let readings = readings(keys.need("readings")?)?;
    let kernel = keys.need("kernel")?;
    let mean = keys.need("mean")?.number_or_word("constant")?.map_or(Mean::Constant, Mean::Known);
    let places = places(keys)?;
    let fitting = keys.take("fit").map(Input::boolean).transpose()?.unwrap_or(false);
    let (field, fitted) = if fitting {
        fitted(&readings, kernel, mean)?
    } else {
        (Field::new(&readings, stated(kernel)?.1, mean).map_err(refused)?, Map::new())
    };
    Ok(Asked { field, places, fitted })
}

fn readings(input: Input) -> Result<Vec<Reading>, ComputeError> {
    let mut readings = Vec::new();
    for item in input.list()? {
        let [x, y, value, sd] = item.tuple("x_mm, y_mm, value, sd")?;
        let path = sd.path().to_owned();
        let reading = Reading { x_mm: x.number()?, y_mm: y.number()?, value: value.number()?, sd: sd.number()? };
        if reading.sd < 0.0 {
            return Err(Input::refused(&path, format!("a noise of {}: it must not be below 0", reading.sd)));
        }
        readings.push(reading);
    }
    Ok(readings)
}

fn places(keys: &mut Keys) -> Result<Places, ComputeError> {
    match (keys.take("at"), keys.take("grid")) {
        (Some(_), Some(grid)) => Err(Input::refused(grid.path(), "at is given too: give one of the two")),
        (None, None) => Err(ComputeError::Missing("at or grid".to_owned())),
        (None, Some(grid)) => {
            let path = grid.path().to_owned();
            let mut keys = grid.object(&["width_mm", "height_mm", "step_mm"])?;
            let mut size = |key| keys.need(key)?.number();
            let (width_mm, height_mm, step_mm) = (size("width_mm")?, size("height_mm")?, size("step_mm")?);
            Grid::over(width_mm, height_mm, step_mm).map(Places::On).map_err(|error| Input::refused(&path, error))
        }
        (Some(at), None) => {
            let mut places = Vec::new();
            for item in at.list()? {
                let [x, y] = item.tuple("x_mm, y_mm")?;
                places.push([x.number()?, y.number()?]);
            }
            Ok(Places::At(places))
        }
    }
}

/// The kernel as stated; its keys must all be there.
fn stated(kernel: Input) -> Result<(Family, Kernel), ComputeError> {
    let path = kernel.path().to_owned();
    let mut keys = kernel.object(&["family", "sd", "length_mm"])?;
    let family = keys.need("family")?.choice(&FAMILIES)?;
    let (sd, length_mm) = (keys.need("sd")?.number()?, keys.need("length_mm")?.number()?);
    let refused = |error| {
        let key = if matches!(error, KernelError::Sd(_)) { "sd" } else { "length_mm" };
        Input::refused(&format!("{path}.{key}"), error)
    };
    Ok((family, Kernel::new(family, sd, length_mm).map_err(refused)?))
}

/// The field of largest likelihood, and what is said of it. A stated sd and length may be there, and must make sense.
fn fitted(readings: &[Reading], kernel: Input, mean: Mean) -> Result<(Field, Map<String, Value>), ComputeError> {
    let mut keys = kernel.clone().object(&["family", "sd", "length_mm"])?;
    let family = keys.need("family")?.choice(&FAMILIES)?;
    if keys.take("sd").is_some() || keys.take("length_mm").is_some() {
        stated(kernel)?;
    }
    let Fit { field, at_bound } = fit(readings, family, mean).map_err(refused)?;
    let name = FAMILIES.iter().find(|(_, known)| *known == family).map(|(name, _)| *name);
    let mut said = Map::new();
    let kernel = json!({
        "family": name,
        "sd": number("sd", field.kernel().sd())?,
        "length_mm": number("length_mm", field.kernel().length_mm())?,
    });
    said.insert("kernel".to_owned(), kernel);
    said.insert("log_likelihood".to_owned(), number("log_likelihood", field.log_likelihood())?);
    said.insert("at_bound".to_owned(), Value::Bool(at_bound));
    Ok((field, said))
}

fn refused(error: GpError) -> ComputeError {
    Input::refused("readings", error)
}
