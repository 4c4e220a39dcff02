//! General mathematics.

pub mod anova;
mod band;
pub mod bounded;
pub mod cholesky;
pub mod circulant;
pub mod elementwise;
pub mod elliptic;
pub mod gp;
pub mod kernel;
pub mod least_squares;
pub mod minimum;
pub mod mixture;
pub mod normal;
pub mod polygon;
pub mod quadrature;
pub mod special;
pub mod superposition;
pub mod survival;
mod wide;
