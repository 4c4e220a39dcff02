//! JSON written without anything that is not a number.

use serde_json::Value;

use super::ComputeError;

/// A finite number; `name` is what an error calls it.
pub(super) fn number(name: &'static str, value: f64) -> Result<Value, ComputeError> {
    serde_json::Number::from_f64(value).map(Value::Number).ok_or(ComputeError::NotFinite(name))
}

/// A finite number, or null for none.
pub(super) fn number_or_null(name: &'static str, value: Option<f64>) -> Result<Value, ComputeError> {
    value.map_or(Ok(Value::Null), |value| number(name, value))
}

/// A list of finite numbers.
pub(super) fn numbers(name: &'static str, values: &[f64]) -> Result<Value, ComputeError> {
    values.iter().map(|value| number(name, *value)).collect::<Result<Vec<Value>, ComputeError>>().map(Value::Array)
}
