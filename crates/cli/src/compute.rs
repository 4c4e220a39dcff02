//! Numbers for scripts: one JSON object in, one out, by the functions that the plan uses.

mod contact;
mod dew_point;
mod dwell;
mod field;
mod gauge_study;
mod gloss;
mod input;
mod minimum;
mod motion;
mod noise;
mod output;
mod removal;
mod survival;
mod vibration;

use input::Input;

/// A computation: its name, what it does with an input, and the JSON Schema of that (with the output's under `$defs`).
struct Computation {
    name: &'static str,
    run: fn(Input) -> Result<serde_json::Value, ComputeError>,
    schema: &'static str,
}

const COMPUTATIONS: [Computation; 12] = [
    Computation { name: "field", run: field::run, schema: field::SCHEMA },
    Computation { name: "minimum", run: minimum::run, schema: minimum::SCHEMA },
    Computation { name: "survival", run: survival::run, schema: survival::SCHEMA },
    Computation { name: "motion", run: motion::run, schema: motion::SCHEMA },
    Computation { name: "contact", run: contact::run, schema: contact::SCHEMA },
    Computation { name: "removal", run: removal::run, schema: removal::SCHEMA },
    Computation { name: "dwell", run: dwell::run, schema: dwell::SCHEMA },
    Computation { name: "gauge-study", run: gauge_study::run, schema: gauge_study::SCHEMA },
    Computation { name: "gloss", run: gloss::run, schema: gloss::SCHEMA },
    Computation { name: "dew-point", run: dew_point::run, schema: dew_point::SCHEMA },
    Computation { name: "vibration", run: vibration::run, schema: vibration::SCHEMA },
    Computation { name: "noise", run: noise::run, schema: noise::SCHEMA },
];

/// Why nothing was computed. Every message names the key, with its path: `kernel.sd`, `readings[2][0]`.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ComputeError {
    /// No such computation.
    #[error("there is no computation called {name}{hint}")]
    Name {
        /// What was asked for.
        name: String,
        /// The nearest there is, or all there are.
        hint: String,
    },
    /// Not JSON.
    #[error("the input is not JSON: {0}; give one object, such as an example of the schema (--schema)")]
    Json(String),
    /// A key that must be there and isn't.
    #[error("{0} is missing")]
    Missing(String),
    /// A key that nothing reads.
    #[error("{key} is not a known key{hint}")]
    Unknown {
        /// The key.
        key: String,
        /// The nearest there is, or all there are.
        hint: String,
    },
    /// A key that stands twice.
    #[error("{0} appears twice: keep one")]
    Twice(String),
    /// A value of another kind.
    #[error("{key} is {found}: it must be {expected}")]
    Kind {
        /// The key.
        key: String,
        /// What it is.
        found: &'static str,
        /// What it must be.
        expected: String,
    },
    /// A value out of range, or one that contradicts another.
    #[error("{key}: {reason}")]
    Refused {
        /// The key.
        key: String,
        /// Why.
        reason: String,
    },
    /// A result that is not a number.
    #[error("the result {0} is not a finite number: the input is too extreme to compute with")]
    NotFinite(&'static str),
}

/// The names of all computations.
pub fn names() -> impl Iterator<Item = &'static str> {
    COMPUTATIONS.iter().map(|computation| computation.name)
}

/// The output, as one line of JSON, of computation `name` for the JSON object `input`.
///
/// # Errors
/// [`ComputeError`] names the key that is missing, unknown, of another kind or out of range.
pub fn run(name: &str, input: &str) -> Result<String, ComputeError> {
    let computation = find(name)?;
    let output = (computation.run)(Input::parse(input)?)?;
    Ok(output.to_string())
}

/// The JSON Schema of what computation `name` reads; under `$defs` what it writes.
///
/// # Errors
/// [`ComputeError::Name`] when there is no such computation.
pub fn schema(name: &str) -> Result<&'static str, ComputeError> {
    Ok(find(name)?.schema)
}

fn find(name: &str) -> Result<&'static Computation, ComputeError> {
    let found = COMPUTATIONS.iter().find(|computation| computation.name == name);
    found.ok_or_else(|| ComputeError::Name { name: name.to_owned(), hint: input::hint(name, &names().collect::<Vec<_>>()) })
}

#[cfg(test)]
mod tests;
