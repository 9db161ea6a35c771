//! The only translator: a layout becomes a pipe network, a grid with walls, and jets and sinks that follow the sequence.
