//! General mathematics.

pub mod anova;
pub mod cholesky;
pub mod mixture;
pub mod normal;
pub mod special;
pub mod survival;
pub mod kernel;
pub mod circulant;
pub mod gp;
pub mod minimum;
mod wide;
