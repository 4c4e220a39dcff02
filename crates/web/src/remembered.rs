//! What was computed, kept until what it was computed from is another.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::{Arc, Mutex, PoisonError};

/// Values by a key, each with what it was made from. Whoever asks while a value is being made waits for it, so that two phones cost one computation.
#[derive(Debug)]
pub(crate) struct Remembered<K, F, V> {
    slots: Mutex<HashMap<K, Slot<F, V>>>,
}

type Slot<F, V> = Arc<Mutex<Option<(F, V)>>>;

/// Most values that are kept. Judgement: a workshop has a few jobs in hand, each with some dozen panels; a value is at most some hundred kilobytes.
const MOST_KEPT: usize = 256;

impl<K, F, V> Default for Remembered<K, F, V> {
    fn default() -> Self {
        Self { slots: Mutex::default() }
    }
}

impl<K: Eq + Hash, F: PartialEq, V: Clone> Remembered<K, F, V> {
    /// The value for a key: the one that was made from the same, or a new one.
    pub(crate) fn get<E>(&self, key: K, from: F, make: impl FnOnce(&F) -> Result<V, E>) -> Result<V, E> {
        let slot = {
            let mut slots = self.slots.lock().unwrap_or_else(PoisonError::into_inner);
            if slots.len() >= MOST_KEPT && !slots.contains_key(&key) {
                slots.clear();
            }
            Arc::clone(slots.entry(key).or_default())
        };
        let mut kept = slot.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((made_from, value)) = kept.as_ref()
            && *made_from == from
        {
            return Ok(value.clone());
        }
        let value = make(&from)?;
        *kept = Some((from, value.clone()));
        Ok(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_made_once_and_again_when_it_comes_from_something_else() {
        let remembered = Remembered::default();
        let mut made = 0;
        for (key, from) in [("a", 1), ("a", 1), ("b", 1), ("a", 2), ("a", 2), ("b", 1)] {
            let value = remembered.get(key, from, |from| {
                made += 1;
                Ok::<_, ()>(from * 10)
            });
            assert_eq!(value, Ok(from * 10));
        }
        assert_eq!(made, 3);
    }

    #[test]
    fn what_could_not_be_made_is_tried_again() {
        let remembered = Remembered::<_, _, i32>::default();
        assert_eq!(remembered.get("a", 1, |_| Err("no")), Err("no"));
        assert_eq!(remembered.get("a", 1, |_| Ok::<_, &str>(2)), Ok(2));
    }
}
