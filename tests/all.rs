//! The one integration-test binary. Each module says at its top what belongs in it.

mod layout_files;
mod tidy;
mod validation;
