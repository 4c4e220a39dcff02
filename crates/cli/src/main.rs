//! The command `lastmicron`.

fn main() {}
