//! Why a photograph can't be measured.

use std::fmt;

use super::photograph::Photograph;

/// Why nothing can be said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Trouble {
    /// Nothing that looks like a lamp.
    #[error("no lamp is seen in {0}: photograph one small lamp mirrored in the paint, near the middle of the picture")]
    NoLamp(Photograph),
    /// Bright places far from each other.
    #[error(
        "{0} shows several bright places, or one that is no small lamp: leave one small lamp on, and cover windows, white tape and whatever else shines"
    )]
    SeveralLamps(Photograph),
    /// Nothing but white.
    #[error("{0} is overexposed, most of it is white: expose shorter, so that the paint round the lamp is dark")]
    Overexposed(Photograph),
    /// Nothing but black.
    #[error("{0} is too dark: nothing is seen between black and the lamp; expose longer")]
    TooDark(Photograph),
    /// Not even noise.
    #[error("{0} has no grain at all between the lamp and its end, as if it were drawn or smoothed: take the camera's own file")]
    Smooth(Photograph),
    /// Not enough of what is to be compared.
    #[error("too little of {0}")]
    TooLittle(Part),
    /// Nothing that the model could follow.
    #[error(
        "no scratches can be made out: nothing is lit differently round the lamp than towards it; a smaller lamp in a darker room shows them"
    )]
    Unclear,
    /// One photograph given twice.
    #[error("the two photographs are one and the same: give that from before the work, then that from after it")]
    Identical,
    /// A pair whose sizes differ.
    #[error("the two photographs differ in size: take both with the same camera, upright or lying alike")]
    Sizes,
}

/// What is to be compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The untouched side of the line.
    Untouched,
    /// The worked side of the line.
    Worked,
    /// The panel round the lamp.
    Panel(Photograph),
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let halves =
            "can be used: half of the picture should be worked and half untouched, the lamp near the line, nothing shining beside it";
        match self {
            Self::Untouched => write!(f, "the untouched side {halves}"),
            Self::Worked => write!(f, "the worked side {halves}"),
            Self::Panel(photograph) => write!(
                f,
                "the panel round the lamp can be used in {photograph}: the lamp near its middle, and one panel to all sides of it"
            ),
        }
    }
}
