//! The `withy` command.

fn main() {}
