//! Shares as JSON, as docs/formats.md says.

use lastmicron_look::scratches::{Measured, Share};
use serde_json::{Value, json};

use crate::plan_json::number;

pub(super) fn json(measured: &Measured) -> Value {
    let warnings: Vec<String> = measured.findings.iter().map(ToString::to_string).collect();
    json!({
        "gone": share(measured.gone),
        "visible": share(measured.visible),
        "untouched": { "length_per_area": number(measured.untouched) },
        "worked": { "length_per_area": number(measured.worked) },
        "warnings": warnings,
    })
}

fn share(share: Share) -> Value {
    json!({ "estimate": number(share.estimate), "low": number(share.low), "high": number(share.high) })
}
