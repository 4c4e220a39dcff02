//! `gauge-study`: repeatability and reproducibility of a crossed study.

use lastmicron_film::gauge::study::{Components, Part, Study, crossed};
use lastmicron_numerics::anova::{AnovaError, Ratio, Squares, ratio};
use serde_json::{Map, Value, json};

use super::ComputeError;
use super::input::Input;
use super::output::{number, number_or_null};

pub(super) const SCHEMA: &str = r##"{
  "$schema": "https://json-schema.org/draft/2020-12/schema",
  "title": "gauge-study",
  "description": "Analysis of variance of a crossed gauge study: every operator reads every part as often. The array of readings may also be given bare, without an object around it.",
  "type": "object",
  "additionalProperties": false,
  "required": ["parts"],
  "properties": {
    "parts": {
      "type": "array",
      "minItems": 2,
      "description": "parts, of each the operators, of each the trials",
      "items": {"type": "array", "minItems": 2, "items": {"type": "array", "minItems": 2, "items": {"type": "number"}}}
    }
  },
  "examples": [{"parts": [[[98.2, 98.4], [98.9, 98.7]], [[112.1, 112.6], [112.8, 112.5]], [[120.3, 120.0], [120.9, 120.6]]]}],
  "$defs": {
    "model": {
      "type": "object",
      "required": ["sums_of_squares", "variance_components", "percent_contribution", "percent_study_variation", "distinct_categories", "clamped"],
      "properties": {
        "sums_of_squares": {
          "type": "object",
          "description": "parts, operators, interaction (with it only), repeatability, total; each with df, ss, ms and, where there is one, f and p",
          "additionalProperties": {"type": "object", "properties": {"df": {"type": "number"}, "ss": {"type": "number"}, "ms": {"type": "number"}, "f": {"type": ["number", "null"]}, "p": {"type": ["number", "null"]}}}
        },
        "variance_components": {"type": "object", "description": "repeatability, reproducibility (operators and interaction), operators, interaction, gauge (repeatability and reproducibility), parts, total", "additionalProperties": {"type": "number"}},
        "percent_contribution": {"type": "object", "description": "of the total variance: these add up", "additionalProperties": {"type": ["number", "null"]}},
        "percent_study_variation": {"type": "object", "description": "of the total standard deviation: these add up in quadrature", "additionalProperties": {"type": ["number", "null"]}},
        "distinct_categories": {"type": ["number", "null"], "description": "sqrt(2) x sd of parts / sd of the gauge, truncated, at least 1; null when the gauge has no variance"},
        "clamped": {"type": "object", "description": "components that came out below 0 and were set to it, with what they came out as", "additionalProperties": {"type": "number"}}
      }
    },
    "output": {
      "type": "object",
      "required": ["with_interaction", "without_interaction"],
      "properties": {"with_interaction": {"$ref": "#/$defs/model"}, "without_interaction": {"$ref": "#/$defs/model"}}
    }
  }
}"##;

pub(super) fn run(input: Input) -> Result<Value, ComputeError> {
    let parts = if input.is_list() { input } else { input.object(&["parts"])?.need("parts")? };
    let path = parts.path().to_owned();
    let mut readings = Vec::new();
    for part in parts.list()? {
        let mut operators = Vec::new();
        for operator in part.list()? {
            operators.push(operator.list()?.into_iter().map(Input::number).collect::<Result<Vec<f64>, ComputeError>>()?);
        }
        readings.push(operators);
    }
    let study = crossed(&readings).map_err(|error| refused(&path, &error))?;
    Ok(json!({ "with_interaction": with_interaction(&study)?, "without_interaction": without_interaction(&study)? }))
}

/// The analysis speaks of rows, columns and repeats; the study of parts, operators and trials.
fn refused(path: &str, error: &AnovaError) -> ComputeError {
    match error {
        AnovaError::Unbalanced { row, column, found, expected } => {
            let reason = format!(
                "part {row}, operator {column} (counted from 0) has {found} trials instead of {expected}: every operator must read every part as often"
            );
            Input::refused(&format!("{path}[{row}][{column}]"), reason)
        }
        AnovaError::TooFew { what, found, needed } => {
            let what = match *what {
                "rows" => "parts",
                "columns" => "operators",
                "repeats" => "trials",
                other => other,
            };
            Input::refused(path, format!("{found} {what}, and at least {needed} are needed"))
        }
        AnovaError::NotFinite(_) => Input::refused(path, error),
    }
}

fn with_interaction(study: &Study) -> Result<Value, ComputeError> {
    let squares = &study.squares;
    let lines = [
        ("parts", squares.rows, Some(study.parts)),
        ("operators", squares.columns, Some(study.operators)),
        ("interaction", squares.interaction, Some(study.interaction)),
        ("repeatability", squares.repeats, None),
        ("total", squares.total(), None),
    ];
    model(&lines, &study.with_interaction)
}

fn without_interaction(study: &Study) -> Result<Value, ComputeError> {
    let squares = &study.squares;
    let error = squares.pooled();
    let lines = [
        ("parts", squares.rows, Some(ratio(squares.rows, error))),
        ("operators", squares.columns, Some(ratio(squares.columns, error))),
        ("repeatability", error, None),
        ("total", squares.total(), None),
    ];
    model(&lines, &study.without_interaction)
}

/// A source of variation, its squares, and its ratio to what it is judged against where it is judged.
type Line = (&'static str, Squares, Option<Option<Ratio>>);

fn model(lines: &[Line], components: &Components) -> Result<Value, ComputeError> {
    let mut table = Map::new();
    for (name, squares, judged) in lines {
        let mut line = Map::new();
        line.insert("df".to_owned(), number("df", squares.df)?);
        line.insert("ss".to_owned(), number("ss", squares.sum)?);
        line.insert("ms".to_owned(), number("ms", squares.mean())?);
        if let Some(ratio) = judged {
            line.insert("f".to_owned(), number_or_null("f", ratio.map(|ratio| ratio.f))?);
            line.insert("p".to_owned(), number_or_null("p", ratio.map(|ratio| ratio.p))?);
        }
        table.insert((*name).to_owned(), Value::Object(line));
    }
    let mut clamped = Map::new();
    for (part, value) in &components.clamped {
        let name = match part {
            Part::Parts => "parts",
            Part::Operators => "operators",
            Part::Interaction => "interaction",
        };
        clamped.insert(name.to_owned(), number("clamped", *value)?);
    }
    Ok(json!({
        "sums_of_squares": table,
        "variance_components": each(components, Some)?,
        "percent_contribution": each(components, |variance| components.percent_contribution(variance))?,
        "percent_study_variation": each(components, |variance| components.percent_study_variation(variance))?,
        "distinct_categories": number_or_null("distinct_categories", components.distinct_categories())?,
        "clamped": clamped,
    }))
}

fn each(components: &Components, of: impl Fn(f64) -> Option<f64>) -> Result<Value, ComputeError> {
    let variances = [
        ("repeatability", components.repeatability),
        ("reproducibility", components.reproducibility()),
        ("operators", components.operators),
        ("interaction", components.interaction),
        ("gauge", components.gauge()),
        ("parts", components.parts),
        ("total", components.total()),
    ];
    let mut map = Map::new();
    for (name, variance) in variances {
        map.insert(name.to_owned(), number_or_null(name, of(variance))?);
    }
    Ok(Value::Object(map))
}
