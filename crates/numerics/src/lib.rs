//! General mathematics.

pub mod cholesky;
pub mod mixture;
pub mod kernel;
pub mod circulant;
pub mod gp;
