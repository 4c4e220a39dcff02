//! Shares as JSON, as docs/formats.md says.

use lastmicron_look::scratches::{Estimate, Measured};
use serde_json::{Value, json};

use crate::plan_json::number;

pub(super) fn json(measured: &Measured) -> Value {
    let warnings: Vec<String> = measured.findings.iter().map(ToString::to_string).collect();
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

fn share(share: Estimate) -> Value {
    json!({ "estimate": number(share.estimate), "low": number(share.low), "high": number(share.high) })
}
