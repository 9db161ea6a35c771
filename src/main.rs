//! Hand the arguments to the command line.

fn main() {}
