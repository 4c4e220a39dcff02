//! The words that stand in files and events for the values of a job.

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_look::Kind;
use lastmicron_plan::System;
use lastmicron_polish::stage::Stage;
use lastmicron_polish::{Drive, Hardness, PadEdge};

/// What lies under the paint.
pub const SUBSTRATES: [(&str, Substrate); 5] = [
    ("steel", Substrate::Steel),
    ("galvanised", Substrate::Galvanised),
    ("aluminium", Substrate::Aluminium),
    ("plastic", Substrate::Plastic),
    ("unknown", Substrate::Unknown),
];

/// How the paint is built up.
pub const SYSTEMS: [(&str, System); 5] = [
    ("single-stage", System::SingleStage),
    ("lacquer", System::Lacquer),
    ("base-clear", System::BaseClear),
    ("tri-coat", System::TriCoat),
    ("unknown", System::Unknown),
];

/// How easily it marks.
pub const HARDNESSES: [(&str, Hardness); 5] = [
    ("very-soft", Hardness::VerySoft),
    ("soft", Hardness::Soft),
    ("medium", Hardness::Medium),
    ("hard", Hardness::Hard),
    ("very-hard", Hardness::VeryHard),
];

/// Which film a reading shows.
pub const LAYERS: [(&str, Layer); 3] = [("total", Layer::Total), ("undercoat", Layer::Undercoat), ("topcoat", Layer::Topcoat)];

/// What was counted.
pub const KINDS: [(&str, Kind); 3] = [("fine", Kind::Fine), ("deep", Kind::Deep), ("haze", Kind::Haze)];

/// How a machine moves its pad.
pub const DRIVES: [(&str, Drive); 3] = [("free", Drive::Free), ("forced", Drive::Forced), ("rotary", Drive::Rotary)];

/// The shape of a pad's rim.
pub const PAD_EDGES: [(&str, PadEdge); 2] = [("upright", PadEdge::Upright), ("tapered", PadEdge::Tapered)];

/// What is done to a pad between passes.
pub const PAD_STAGES: [(&str, Stage); 2] = [("clean", Stage::CleanPad), ("change", Stage::ChangePad)];

/// The word for a value.
#[must_use]
pub fn word_for<T: PartialEq>(value: &T, words: &[(&'static str, T)]) -> &'static str {
    words.iter().find(|(_, known)| known == value).map_or("unknown", |(word, _)| word)
}

/// The value that a word stands for.
pub fn meant_by<T: Copy>(word: &str, words: &[(&str, T)]) -> Option<T> {
    words.iter().find(|(known, _)| *known == word).map(|(_, meant)| *meant)
}
