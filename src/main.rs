//! The `planksheer` command.

fn main() {}
