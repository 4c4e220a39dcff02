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
                write!(f, "{photograph} is very dark ({light:.0} of 255 in the middle of its range): expose longer")
            }
            Self::Blurred { photograph, width } => {
                write!(f, "{photograph} is blurred: a scratch is {:.1} pixels wide; focus on the scratches, not on the lamp", 2.355 * width)
            }
            Self::Unlike { ratio } => write!(
                f,
                "the sides are lit too differently to be compared well: the worked one has {ratio:.2} times the light of the untouched one at like distances from the lamp"
            ),
            Self::TooFew => {
                write!(f, "too few scratches are seen to say much: more of them near the lamp, a sharper or a closer photograph would help")
            }
            Self::Misfit => write!(
                f,
                "what is seen does not fit scratches of one kind under one lamp: the intervals are widened, but may still be too narrow"
            ),
            Self::Swapped => write!(
                f,
                "there are more scratches where work was done than where none was: are untouched and worked, or before and after, the wrong way round? If not, the work left marks of its own"
            ),
            Self::Unregistered => {
                write!(
                    f,
                    "the photographs could not be laid over each other: they don't show the same spot, or little of it is left to see. They are compared as two parts of a panel; if they are not of one panel, the numbers mean nothing"
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
