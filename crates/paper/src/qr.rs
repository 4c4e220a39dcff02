//! A QR code as vectors.

use qrcode::{Color, EcLevel, QrCode};

use crate::PaperError;
use crate::panel_sheet::Drawing;

/// Side of a module, points. Judgement: 0.8 mm prints sharp on any office printer and is read from a hand's breadth; smaller saves no paper, larger a page.
const MODULE_PT: f64 = 2.3;
/// Modules of white round a code: ISO/IEC 18004, 6.3.8 (from memory).
const QUIET: usize = 4;

/// `text` as a QR code (ISO/IEC 18004), a seventh of which may be lost (level M).
///
/// # Errors
/// [`PaperError::Data`] for a text too long for any code.
pub(crate) fn qr(text: &str, alt: &str) -> Result<Drawing, PaperError> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).map_err(|e| PaperError::Data(e.to_string()))?;
    let (width, modules) = (code.width(), code.to_colors());
    let mut path = String::new();
    for (y, row) in modules.chunks(width).enumerate() {
        let mut x = 0;
        while x < width {
            let run = row[x..].iter().take_while(|module| **module == Color::Dark).count();
            if run > 0 {
                path.push_str(&format!("M{} {}h{run}v1h-{run}z", x + QUIET, y + QUIET));
            }
            x += run.max(1);
        }
    }
    let side = width + 2 * QUIET;
    let svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" width="{side}" height="{side}"><rect width="{side}" height="{side}" fill="#ffffff"/><path fill="#000000" d="{path}"/></svg>"##
    );
    let side_pt = side as f64 * MODULE_PT;
    Ok(Drawing { svg, alt: alt.to_owned(), width_pt: side_pt, height_pt: side_pt })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_of_capitals_is_as_small_as_the_standard_has_it() {
        // [M] ISO/IEC 18004, table 7, from memory: version 5-M holds 122 characters of the alphanumeric mode and is 37 modules wide, 7-M as many bytes on 45.
        let side = |text: &str| qr(text, "").map(|code| (code.width_pt / MODULE_PT).round()).unwrap();
        let sides = ["A", "a"].map(|letter| [122, 123].map(|times| side(&letter.repeat(times)) as usize - 2 * QUIET));
        assert_eq!(sides, [[37, 41], [45, 49]]);
        assert!(qr(&"a".repeat(5000), "").is_err());
    }

    #[test]
    fn a_code_begins_with_its_finder() {
        // [D] Seven dark modules, the first row of the upper left finder, behind four of white.
        let svg = qr("LASTMICRON", "").unwrap().svg;
        assert!(svg.contains("d=\"M4 4h7v1h-7z"), "{svg}");
    }
}
