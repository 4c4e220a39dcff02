//! The words that stand in files for the values of a job.

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_look::Kind;
use lastmicron_plan::System;
use lastmicron_polish::stage::Stage;
use lastmicron_polish::{Drive, Hardness, PadEdge};

pub(crate) const SUBSTRATES: [(&str, Substrate); 5] = [
    ("steel", Substrate::Steel),
    ("galvanised", Substrate::Galvanised),
    ("aluminium", Substrate::Aluminium),
    ("plastic", Substrate::Plastic),
    ("unknown", Substrate::Unknown),
];

pub(crate) const SYSTEMS: [(&str, System); 5] = [
    ("single-stage", System::SingleStage),
    ("lacquer", System::Lacquer),
    ("base-clear", System::BaseClear),
    ("tri-coat", System::TriCoat),
    ("unknown", System::Unknown),
];

pub(crate) const HARDNESSES: [(&str, Hardness); 5] = [
    ("very-soft", Hardness::VerySoft),
    ("soft", Hardness::Soft),
    ("medium", Hardness::Medium),
    ("hard", Hardness::Hard),
    ("very-hard", Hardness::VeryHard),
];

pub(crate) const LAYERS: [(&str, Layer); 3] = [("total", Layer::Total), ("undercoat", Layer::Undercoat), ("topcoat", Layer::Topcoat)];

pub(crate) const KINDS: [(&str, Kind); 3] = [("fine", Kind::Fine), ("deep", Kind::Deep), ("haze", Kind::Haze)];

pub(crate) const DRIVES: [(&str, Drive); 3] = [("free", Drive::Free), ("forced", Drive::Forced), ("rotary", Drive::Rotary)];

pub(crate) const PAD_EDGES: [(&str, PadEdge); 2] = [("upright", PadEdge::Upright), ("tapered", PadEdge::Tapered)];

/// What is done to a pad between passes.
pub(crate) const PAD_STAGES: [(&str, Stage); 2] = [("clean", Stage::CleanPad), ("change", Stage::ChangePad)];

/// The word for a value.
pub(crate) fn word_for<T: PartialEq>(value: &T, words: &[(&'static str, T)]) -> &'static str {
    words.iter().find(|(_, known)| known == value).map_or("unknown", |(word, _)| word)
}
