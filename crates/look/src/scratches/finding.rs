//! What is to be known about a photograph beside its numbers.

use std::fmt;

use super::photograph::Photograph;

/// Something about a photograph that makes its numbers less certain, or that can be done better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Finding {
    /// A share of what could be compared is overexposed.
    Overexposed {
        /// Where.
        photograph: Photograph,
        /// Share.
        share: f64,
    },
    /// Next to black.
    Dark {
        /// Which one.
        photograph: Photograph,
        /// Light of the middle pixel, of 255.
        light: f64,
    },
    /// Scratches are imaged widely.
    Blurred {
        /// Which one.
        photograph: Photograph,
        /// Standard deviation of a scratch's image, pixels.
        width: f64,
    },
    /// The two sides are not lit alike.
    Unlike {
        /// Light of the worked side by that of the untouched one.
        ratio: f64,
    },
    /// The interval is so wide that little is said.
    TooFew,
    /// What is seen does not follow the model.
    Misfit,
    /// The worked side has more scratches than the untouched one.
    Swapped,
    /// The sides may be just alike.
    Alike,
    /// Two photographs could not be laid over each other.
    Unregistered,
    /// The lamp was mirrored elsewhere in the second photograph.
    LampMoved,
    /// Two photographs are exposed very differently.
    Exposure {
        /// Light of the second by that of the first.
        ratio: f64,
    },
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overexposed { photograph, share } => {
                write!(f, "{:.0} % of what could be compared in {photograph} is overexposed and left out: expose shorter", 100.0 * share)
            }
            Self::Dark { photograph, light } => {
                write!(f, "{photograph} is very dark (half of what is compared is below {light:.0} of 255): expose longer")
            }
            Self::Blurred { photograph, width } => {
                write!(f, "{photograph} is blurred: a scratch is {:.1} pixels wide; focus on the scratches, not on the lamp", 2.355 * width)
            }
            Self::Unlike { ratio } => write!(
                f,
                "the sides are lit too differently to be compared well: the worked one has {ratio:.2} times the light of the untouched one at like distances from the lamp. Move the lamp onto the line, and wipe both alike"
            ),
            Self::TooFew => {
                write!(f, "too few scratches are seen to say much: more of them near the lamp, a sharper or a closer photograph would help")
            }
            Self::Misfit => write!(
                f,
                "what is seen does not fit scratches of one kind under one lamp: the intervals are widened, but may still be too narrow. One small lamp, a flat part of one panel and the camera's least processed file fit best"
            ),
            Self::Swapped => write!(
                f,
                "there are more scratches where work was done than where none was: are untouched and worked, or before and after, the wrong way round? If not, the work left marks of its own"
            ),
            Self::Alike => write!(
                f,
                "hardly any difference is seen: either the work took next to nothing, or what is compared is not worked against untouched paint. Check with --overlay that the line lies where you mean it on the photograph seen upright, or that both photographs are the right ones"
            ),
            Self::Unregistered => {
                write!(
                    f,
                    "the photographs could not be laid over each other: they show different spots, or next to no scratches are left to find it by. They are compared as two parts of one panel; if they are not of one panel, the numbers mean nothing"
                )
            }
            Self::LampMoved => write!(
                f,
                "the lamp is mirrored at another place of the paint in the second photograph, where other scratches are lit: they are compared as two parts of a panel, which tells less; leave lamp and camera where they are"
            ),
            Self::Exposure { ratio } => write!(f, "the second photograph has {ratio:.2} times the light of the first: expose both alike"),
        }
    }
}
