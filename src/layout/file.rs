//! To be written: reading and writing layouts.
