//! The terminal program; it hands over at once.
fn main() {}
