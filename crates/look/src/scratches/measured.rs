//! What a photograph says.

use lastmicron_raster::Mask;

use super::finding::Finding;
use super::fit::{Found, Sides};
use super::share::{Share, share};
use super::view::View;

/// What a photograph, or two, say of scratches.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Share of scratch length that is no longer there.
    pub gone: Share,
    /// Share of scratch brightness, length by contrast, that is no longer there.
    pub visible: Share,
    /// Length of scratches in an area of untouched paint, lit or not, 1 / pixel.
    pub untouched: f64,
    /// The same of worked paint.
    pub worked: f64,
    /// What else is to be known.
    pub findings: Vec<Finding>,
    /// What of each photograph was compared.
    pub compared: Vec<Compared>,
}

/// What of a photograph was compared.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The middle of the lamp's highlight, pixels.
    pub lamp: [f64; 2],
    /// Pixels that were compared.
    pub pixels: Mask,
}

/// Width of an interval from which on little is said. Judgement: from "half" to "all" is no answer.
const WIDE: f64 = 0.5;

/// Squared residual from which on the model is doubted. Judgement: photographs that follow it reach 2 to 3, as its error is a few per cent.
const MISFIT: f64 = 6.0;

/// Share below which it is asked whether the sides are told apart rightly, and by how much better, as half a squared residual, they must fit the other way round. Judgement: 10 is what chance gives once in 20,000 times.
const NEXT_TO_NONE: f64 = 0.1;
const BETTER: f64 = 10.0;

/// Share of overexposed pixels that is worth a word.
const OVEREXPOSED: f64 = 0.01;

/// Width of a scratch's image that is blurred, pixels. Judgement: sharp photographs have 0.9 to 1.4; at 2 most of the contrast is lost.
const BLURRED: f64 = 2.0;

/// Light below which a photograph is dark, of 255: rounding to whole numbers hides faint scratches there.
const DARK: f64 = 5.0;

/// Puts together what was found.
pub(crate) fn measured(sides: &Sides, found: &Found, views: Vec<View>, mut findings: Vec<Finding>) -> Measured {
    let likely = sides.likely(found);
    let (gone, visible) = (share(&likely, |likely| likely.gone), share(&likely, |likely| likely.visible));
    let untouched = found.fit.values[0].exp();
    if gone.high - gone.low > WIDE {
        findings.push(Finding::TooFew);
    }
    if gone.estimate < NEXT_TO_NONE && sides.swapped().fit().is_some_and(|other| other.fit.cost + BETTER < found.fit.cost) {
        findings.push(Finding::Swapped);
    }
    if 2.0 * found.fit.cost > MISFIT * found.count() as f64 {
        findings.push(Finding::Misfit);
    }
    let compared = views.into_iter().map(|view| Compared { lamp: view.lamp.middle, pixels: view.usable }).collect();
    Measured { gone, visible, untouched, worked: untouched * (1.0 - gone.estimate), findings, compared }
}

/// What is to be known of one photograph.
pub(crate) fn findings(view: &View) -> Vec<Finding> {
    let mut findings = Vec::new();
    if view.overexposed > OVEREXPOSED {
        findings.push(Finding::Overexposed { share: view.overexposed });
    }
    if view.light < DARK {
        findings.push(Finding::Dark { light: view.light });
    }
    if view.seen.width > BLURRED {
        findings.push(Finding::Blurred { width: view.seen.width });
    }
    findings
}
