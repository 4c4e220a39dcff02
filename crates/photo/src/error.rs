//! Why a file is no photograph that can be measured on.

use lastmicron_raster::PlaneError;

use crate::content::Content;
use crate::read::{LEAST_PIXELS, LEAST_SIDE, MOST_BYTES, MOST_PIXELS};

/// Why there is no photograph.
#[derive(Debug, thiserror::Error)]
pub enum PhotoError {
    /// No bytes.
    #[error("the file is empty: copy it from the camera again")]
    Empty,
    /// A picture coded for small files on phones.
    #[error(
        "this is an HEIC, HEIF or AVIF picture, which is not read here: export or share it as JPEG, and set the phone's camera to save the most compatible format"
    )]
    Heif,
    /// Something else than a photograph that is read here.
    #[error("this looks like {0}: give the photograph as JPEG, PNG or WebP")]
    Other(Content),
    /// More bytes than are read.
    #[error("the file has {:.0} MB, and at most {:.0} MB are read: save the photograph as JPEG", mega(*bytes), mega(MOST_BYTES))]
    TooLarge {
        /// Size of the file.
        bytes: usize,
    },
    /// Fewer pixels than can be measured on.
    #[error(
        "the photograph has {width} x {height} pixels, too small to measure on, which needs {:.0} megapixel and {LEAST_SIDE} pixels each way: give it as the camera took it, neither shrunk nor cut out",
        mega(LEAST_PIXELS)
    )]
    TooSmall {
        /// Pixels across, as stored.
        width: usize,
        /// Pixels down, as stored.
        height: usize,
    },
    /// More pixels than are read.
    #[error(
        "the photograph has {width} x {height} pixels ({:.0} megapixels), and at most {:.0} megapixels are read: set the camera to fewer, or cut out what is to be measured", mega(width.saturating_mul(*height)), mega(MOST_PIXELS)
    )]
    TooManyPixels {
        /// Pixels across, as stored.
        width: usize,
        /// Pixels down, as stored.
        height: usize,
    },
    /// A file that ends before its picture does.
    #[error("the file ends before its picture does, so that a part is missing: copy it from the camera again")]
    Cut,
    /// A file that can't be decoded.
    #[error(
        "this {coding} picture can't be decoded, being damaged or coded in an unusual way: copy it from the camera again, or save it anew as an ordinary JPEG"
    )]
    Damaged {
        /// How it is coded.
        coding: Coding,
        /// What the decoder says.
        #[source]
        cause: Box<dyn std::error::Error + Send + Sync>,
    },
    /// A picture in printing inks.
    #[error("the colours of this JPEG are printing inks (CMYK), not light: give the photograph as the camera took it")]
    Inks,
    /// A picture that one sees through somewhere.
    #[error("parts of this picture are transparent, so that it was edited: give the photograph as the camera took it")]
    Transparent,
    /// Several pictures in one.
    #[error("this {coding} file is an animation: give one photograph")]
    Animation {
        /// How it is coded.
        coding: Coding,
    },
}

/// The limits see to it that pictures have pixels, and not too many; planes and masks say so in words of their own.
impl From<PlaneError> for PhotoError {
    fn from(error: PlaneError) -> Self {
        match error {
            PlaneError::Empty { width, height } | PlaneError::Size { width, height, .. } => Self::TooSmall { width, height },
            PlaneError::TooLarge { width, height } => Self::TooManyPixels { width, height },
        }
    }
}

/// How the pictures that are read here are coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coding {
    /// ITU-T T.81.
    Jpeg,
    /// ISO/IEC 15948.
    Png,
    /// RFC 9649.
    WebP,
}

impl std::fmt::Display for Coding {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
            Self::WebP => "WebP",
        })
    }
}

impl Coding {
    /// The error for what its decoder says.
    pub(crate) fn damaged(self, cause: impl Into<Box<dyn std::error::Error + Send + Sync>>) -> PhotoError {
        PhotoError::Damaged { coding: self, cause: cause.into() }
    }
}

#[expect(clippy::cast_precision_loss, reason = "printed to whole millions")]
fn mega(count: usize) -> f64 {
    count as f64 / 1e6
}
