//! A photograph's bytes read into light, and pictures written as PNG.
//!
//! What a file is, its content says: its name is never asked for. Of all that a camera writes beside the pixels only the orientation is
//! read, and it is used up in turning the picture upright: where, when and with what a photograph was taken has no place in what comes out.

mod content;
mod error;

mod photograph;

mod read;

mod jpeg;
mod light;
mod orientation;
mod png;
mod webp;

mod picture;

pub use content::Content;
pub use error::{Coding, PhotoError};
pub use photograph::Photograph;
pub use picture::{Picture, PictureError, write_png};
pub use read::{LEAST_PIXELS, LEAST_SIDE, MOST_BYTES, MOST_PIXELS, read};

#[cfg(test)]
mod tests;
