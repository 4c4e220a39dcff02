//! What a photograph says.

use lastmicron_raster::Mask;

use super::estimate::{Estimate, estimate};
use super::finding::Finding;
use super::fit::{Found, Sides};
use super::likely::Likely;
use super::photograph::Photograph;
use super::trouble::Trouble;
use super::view::{DARK, View};

/// What a photograph, or two, say of scratches.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// Share of scratch length that is no longer there.
    pub gone: Estimate,
    /// Share of scratch brightness, length by contrast, that is no longer there.
    pub visible: Estimate,
    /// Length of scratches in an area of untouched paint, lit or not, 1 / pixel.
    pub untouched: Estimate,
    /// The same of worked paint.
    pub worked: Estimate,
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

/// How much better than noise alone scratches must explain what is seen, as a logarithm of likelihoods, or nothing is said. Measured on 32 drawn clean panels: four in five have less than 7, the most 27, as
/// noise is not quite as independent as it is taken for; of photographs with scratches none has less than 6000.
const LEAST_EVIDENCE: f64 = 30.0;

/// Scratches lit on the untouched side below which little is said. Judgement: the luck of which they are is then no longer normal, and intervals miss.
const FEW: f64 = 15.0;

/// Squared residual from which on the model is doubted. Judgement: photographs that follow it reach 2 to 3, as its error is a few per cent.
const MISFIT: f64 = 6.0;

/// Share below which it is asked whether the sides are told apart rightly, and by how much better, as half a squared residual, they must fit the other way round. Measured on drawn photographs: exchanged sides differ by 20 to 370,
/// right ones by 5 at most.
const NEXT_TO_NONE: f64 = 0.1;
const BETTER: f64 = 10.0;

/// Share gone that can't be told from none. Judgement: rounding alone would print it as 1 %.
const HARDLY: f64 = 0.01;

/// Share of overexposed pixels that is worth a word.
const OVEREXPOSED: f64 = 0.01;

/// Width of a scratch's image that is blurred, pixels. Judgement: sharp photographs have 0.9 to 1.4; at 2 most of the contrast is lost.
const BLURRED: f64 = 2.0;

/// Puts together what was found.
///
/// # Errors
/// [`Trouble::Unclear`] when what is seen may be noise alone.
pub(crate) fn measured(sides: &Sides, found: &Found, views: Vec<View>, mut findings: Vec<Finding>) -> Result<Measured, Trouble> {
    if !found.evidence(sides).ge(&LEAST_EVIDENCE) {
        return Err(Trouble::Unclear);
    }
    let likely = sides.likely(found);
    let of = |what: fn(&Likely) -> f64| estimate(&likely, what).ok_or(Trouble::Unclear);
    let (gone, visible) = (of(|likely| likely.gone)?, of(|likely| likely.visible)?);
    let (untouched, worked) = (of(|likely| likely.untouched)?, of(|likely| likely.untouched * (1.0 - likely.gone))?);
    if found.lit(sides) < FEW || [gone, visible].iter().any(|share| share.high - share.low > WIDE) {
        findings.push(Finding::TooFew);
    }
    if gone.estimate < NEXT_TO_NONE && sides.swapped().fit().is_some_and(|other| other.fit.cost + BETTER < found.fit.cost) {
        findings.push(Finding::Swapped);
    } else if gone.low < HARDLY && gone.high - gone.low <= WIDE {
        findings.push(Finding::Alike);
    }
    if 2.0 * found.fit.cost > MISFIT * found.count() as f64 {
        findings.push(Finding::Misfit);
    }
    let compared = views.into_iter().map(|view| Compared { lamp: view.lamp.middle, pixels: view.usable }).collect();
    Ok(Measured { gone, visible, untouched, worked, findings, compared })
}

/// What is to be known of one photograph.
pub(crate) fn findings(view: &View, photograph: Photograph) -> Vec<Finding> {
    let mut findings = Vec::new();
    if view.overexposed > OVEREXPOSED {
        findings.push(Finding::Overexposed { photograph, share: view.overexposed });
    }
    if view.light < DARK {
        findings.push(Finding::Dark { photograph, light: view.light });
    }
    if view.seen.width > BLURRED {
        findings.push(Finding::Blurred { photograph, width: view.seen.width });
    }
    findings
}
