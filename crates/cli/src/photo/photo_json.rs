//! Shares as JSON, as docs/formats.md says.

use lastmicron_folder::number;
use lastmicron_look::scratches::{Estimate, Finding, Measured};
use serde_json::{Value, json};

pub(super) fn json(measured: &Measured) -> Value {
    let warnings: Vec<String> = measured.findings.iter().map(ToString::to_string).collect();
    let is_told = !measured.findings.contains(&Finding::TooFew);
    let share = |share: Estimate| {
        // Of so wide an interval the middle says nothing.
        let estimate = if is_told { number(share.estimate) } else { Value::Null };
        json!({ "estimate": estimate, "low": number(share.low), "high": number(share.high) })
    };
    json!({
        "gone": share(measured.gone),
        "visible": share(measured.visible),
        "untouched": length(measured.untouched),
        "worked": length(measured.worked),
        "warnings": warnings,
    })
}

fn length(length: Estimate) -> Value {
    json!({ "length_per_area": number(length.estimate), "low": number(length.low), "high": number(length.high) })
}
