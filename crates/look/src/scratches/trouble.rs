//! Why a photograph can't be measured.

/// Why nothing can be said.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Trouble {
    /// Nothing that looks like a lamp.
    #[error("no lamp is seen: photograph one small lamp mirrored in the paint, near the middle of the picture")]
    NoLamp,
    /// Nothing but black.
    #[error("the photograph is too dark: nothing is seen between black and the lamp; expose longer")]
    TooDark,
    /// No part of the rings on one side.
    #[error("too little of the {0} is in the picture: half of it should be worked and half untouched, the lamp near the line")]
    TooLittle(&'static str),
    /// Nothing that the model could follow.
    #[error(
        "no scratches can be made out: nothing is lit differently round the lamp than towards it; a smaller lamp in a darker room shows them"
    )]
    Unclear,
    /// A pair whose sizes differ.
    #[error("the two photographs differ in size: take both with the same camera, upright or lying alike")]
    Sizes,
}
