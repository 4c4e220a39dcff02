//! General mathematics.
