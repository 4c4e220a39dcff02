//! JSON read strictly: nothing missing, nothing unknown, nothing twice, every number finite.

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};

use super::ComputeError;

/// Likeness from which a known word is offered for an unknown one. Judgement: below it the words share little but letters.
const LEAST_LIKENESS: f64 = 0.7;

/// A value with the path that leads to it.
#[derive(Clone, Debug)]
pub(super) struct Input {
    path: String,
    value: Value,
}

/// JSON that keeps keys that stand twice.
#[derive(Clone, Debug)]
enum Value {
    Null,
    Bool(bool),
    Number(f64),
    Text(String),
    List(Vec<Value>),
    Object(Vec<(String, Value)>),
}

/// The keys of one object, taken one by one.
#[derive(Debug)]
pub(super) struct Keys {
    path: String,
    pairs: Vec<(String, Value)>,
}

/// Offers the nearest of `known`, or all of them.
pub(super) fn hint(word: &str, known: &[&str]) -> String {
    let likeness = |candidate: &&&str| strsim::jaro_winkler(word, candidate);
    let nearest = known.iter().max_by(|a, b| likeness(a).total_cmp(&likeness(b)));
    match nearest {
        Some(nearest) if likeness(&nearest) >= LEAST_LIKENESS => format!(": did you mean {nearest}?"),
        _ => format!(": known are {}", known.join(", ")),
    }
}

impl Input {
    pub(super) fn parse(text: &str) -> Result<Self, ComputeError> {
        let value = serde_json::from_str(text).map_err(|error| ComputeError::Json(error.to_string()))?;
        Ok(Self { path: String::new(), value })
    }

    pub(super) fn path(&self) -> &str {
        if self.path.is_empty() { "the input" } else { &self.path }
    }

    pub(super) fn is_null(&self) -> bool {
        matches!(self.value, Value::Null)
    }

    pub(super) fn is_list(&self) -> bool {
        matches!(self.value, Value::List(_))
    }

    /// An object with keys out of `known` only.
    pub(super) fn object(self, known: &[&str]) -> Result<Keys, ComputeError> {
        let Value::Object(pairs) = self.value else { return Err(self.kind("an object")) };
        for (i, (key, _)) in pairs.iter().enumerate() {
            let full = join(&self.path, key);
            if !known.contains(&key.as_str()) {
                return Err(ComputeError::Unknown { key: full, hint: hint(key, known) });
            }
            if pairs[..i].iter().any(|(before, _)| before == key) {
                return Err(ComputeError::Twice(full));
            }
        }
        Ok(Keys { path: self.path, pairs })
    }

    /// The items of a list.
    pub(super) fn list(self) -> Result<Vec<Self>, ComputeError> {
        let Value::List(items) = self.value else { return Err(self.kind("a list")) };
        let at = |(i, value)| Self { path: format!("{}[{i}]", self.path), value };
        Ok(items.into_iter().enumerate().map(at).collect())
    }

    /// Exactly `N` items; `what` says which.
    pub(super) fn tuple<const N: usize>(self, what: &str) -> Result<[Self; N], ComputeError> {
        let expected = || format!("a list of {N}, [{what}]");
        if !self.is_list() {
            return Err(self.kind(expected()));
        }
        let path = self.path.clone();
        let items = self.list()?;
        let reason = format!("it holds {} values: it must be {}", items.len(), expected());
        items.try_into().map_err(|_| ComputeError::Refused { key: path, reason })
    }

    pub(super) fn number(self) -> Result<f64, ComputeError> {
        match self.value {
            Value::Number(number) => Ok(number),
            _ => Err(self.kind("a number")),
        }
    }

    /// A number, or nothing for null.
    pub(super) fn number_or_null(self) -> Result<Option<f64>, ComputeError> {
        match self.value {
            Value::Number(number) => Ok(Some(number)),
            Value::Null => Ok(None),
            _ => Err(self.kind("a number or null")),
        }
    }

    /// A whole number from `least` to `most`.
    pub(super) fn whole(self, least: u64, most: u64) -> Result<u64, ComputeError> {
        let refused = |found: f64| ComputeError::Refused {
            key: self.path.clone(),
            reason: format!("{found} is out of range: it must be a whole number from {least} to {most}"),
        };
        let number = match &self.value {
            Value::Number(number) => *number,
            _ => return Err(self.kind("a whole number")),
        };
        #[expect(clippy::cast_precision_loss, reason = "bounds are below 2^53")]
        let inside = number.fract() == 0.0 && number >= least as f64 && number <= most as f64;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number within the bounds")]
        if inside { Ok(number as u64) } else { Err(refused(number)) }
    }

    pub(super) fn boolean(self) -> Result<bool, ComputeError> {
        match self.value {
            Value::Bool(value) => Ok(value),
            _ => Err(self.kind("true or false")),
        }
    }

    /// A text, as what it stands for.
    pub(super) fn choice<T: Copy>(self, choices: &[(&str, T)]) -> Result<T, ComputeError> {
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let Value::Text(text) = &self.value else { return Err(self.kind(format!("one of {}", names.join(", ")))) };
        match choices.iter().find(|(name, _)| name == text) {
            Some((_, choice)) => Ok(*choice),
            None => Err(ComputeError::Refused { key: self.path.clone(), reason: format!("{text} is not known{}", hint(text, &names)) }),
        }
    }

    /// A text or a number.
    pub(super) fn number_or_word(self, word: &str) -> Result<Option<f64>, ComputeError> {
        match &self.value {
            Value::Number(number) => Ok(Some(*number)),
            Value::Text(text) if text == word => Ok(None),
            Value::Text(text) => {
                Err(ComputeError::Refused { key: self.path.clone(), reason: format!("{text} is not known: give a number or \"{word}\"") })
            }
            _ => Err(self.kind(format!("a number or \"{word}\""))),
        }
    }

    /// This value is refused for a reason that a library gives.
    pub(super) fn refused(path: &str, reason: impl std::fmt::Display) -> ComputeError {
        ComputeError::Refused { key: path.to_owned(), reason: reason.to_string() }
    }

    fn kind(&self, expected: impl Into<String>) -> ComputeError {
        let found = match self.value {
            Value::Null => "null",
            Value::Bool(_) => "true or false",
            Value::Number(_) => "a number",
            Value::Text(_) => "a text",
            Value::List(_) => "a list",
            Value::Object(_) => "an object",
        };
        ComputeError::Kind { key: self.path().to_owned(), found, expected: expected.into() }
    }
}

impl Keys {
    /// The value of a key that must be there.
    pub(super) fn need(&mut self, key: &str) -> Result<Input, ComputeError> {
        self.take(key).ok_or_else(|| ComputeError::Missing(join(&self.path, key)))
    }

    /// The value of a key that may be there.
    pub(super) fn take(&mut self, key: &str) -> Option<Input> {
        let place = self.pairs.iter().position(|(name, _)| name == key)?;
        let (_, value) = self.pairs.swap_remove(place);
        Some(Input { path: join(&self.path, key), value })
    }
}

fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Any)
    }
}

struct Any;

impl<'de> Visitor<'de> for Any {
    type Value = Value;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    #[expect(clippy::cast_precision_loss, reason = "JSON numbers are doubles here, as the format says")]
    fn visit_u64<E: Error>(self, value: u64) -> Result<Value, E> {
        Ok(Value::Number(value as f64))
    }

    #[expect(clippy::cast_precision_loss, reason = "JSON numbers are doubles here, as the format says")]
    fn visit_i64<E: Error>(self, value: i64) -> Result<Value, E> {
        Ok(Value::Number(value as f64))
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        if value.is_finite() { Ok(Value::Number(value)) } else { Err(E::custom("number out of range")) }
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Value, E> {
        Ok(Value::Text(value.to_owned()))
    }

    fn visit_string<E: Error>(self, value: String) -> Result<Value, E> {
        Ok(Value::Text(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Value::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut pairs = Vec::new();
        while let Some(pair) = entries.next_entry()? {
            pairs.push(pair);
        }
        Ok(Value::Object(pairs))
    }
}
