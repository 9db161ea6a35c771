//! The one integration-test binary. Each module says at its top what belongs in it.

mod cli;
mod layout_files;
mod schema;
mod study_command;
mod tidy;
mod validation;
