//! Events that waited on a device, in the file that it saves: an array of them, as they are sent.

use serde_json::Value;

use crate::refusal::Refusal;
use crate::sealed::Sealed;

/// Why bytes are no such file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotWaited {
    /// Not an array.
    #[error("this is no file of events as a device saves it: {0}")]
    NotAnArray(String),
    /// Something in it that is no event.
    #[error("event {at}: {refusal}")]
    Event {
        /// Its number, from 1.
        at: usize,
        /// Why it is none.
        refusal: Refusal,
    },
}

/// Whether bytes are to be read as such a file: other files of this program begin otherwise.
#[must_use]
pub fn is_waited(bytes: &[u8]) -> bool {
    bytes.trim_ascii_start().starts_with(b"[")
}

/// Reads events that waited on a device.
///
/// # Errors
/// [`NotWaited`] for the first that is none.
pub fn read_waited(bytes: &[u8]) -> Result<Vec<Sealed>, NotWaited> {
    let values: Vec<Value> = serde_json::from_slice(bytes).map_err(|error| NotWaited::NotAnArray(error.to_string()))?;
    let sealed =
        |(i, value): (usize, Value)| Sealed::read(value.to_string().as_bytes()).map_err(|refusal| NotWaited::Event { at: i + 1, refusal });
    values.into_iter().enumerate().map(sealed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOTED: &str = r#"{"id":"018f3324-c9e4-7123-8456-789abcdef012","job":"018f3324-c980-7a1b-82c3-d4e5f6071829","when":"2024-05-01T09:30:00+02:00","device":"018f328c-3300-70f1-8e2d-3c4b5a697887","who":"J.","body":{"kind":"noted","text":"dries with marks"}}"#;

    #[test]
    fn what_a_device_saved_is_read_and_the_first_that_is_no_event_is_named() {
        let file = format!(" [{NOTED},\n{NOTED}]\n");
        assert!(is_waited(file.as_bytes()) && !is_waited(b"{\"format\":\"lastmicron record\"}"));
        let read = read_waited(file.as_bytes()).unwrap();
        assert_eq!((read.len(), &read[1]), (2, &Sealed::read(NOTED.as_bytes()).unwrap()));
        assert_eq!(read_waited(b"[]"), Ok(Vec::new()));
        assert!(matches!(read_waited(format!("[{NOTED},{{}}]").as_bytes()), Err(NotWaited::Event { at: 2, .. })));
        assert!(matches!(read_waited(&file.as_bytes()[..60]), Err(NotWaited::NotAnArray(_))));
    }
}
