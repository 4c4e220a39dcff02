//! What is true of the whole workspace.

#[cfg(test)]
mod architecture;
