//! To be written: what is wrong with a layout.
