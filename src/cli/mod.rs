//! The command line: what was typed becomes what is needed; one file a command. Reports go to standard output, everything else to
//! standard error. Exit codes: 0 fine, 1 at least one fault found, 2 input that can't be used.

mod beside;
mod calibrate;
mod check;
mod client;
mod compare;
mod completions;
mod handover;
mod input;
mod new;
mod open;
mod output;
mod progress;
mod study;
mod typed;

use clap::Parser;
use std::ffi::OsString;
use std::process::ExitCode;
use typed::{Command, Typed};

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Nothing of the worst grade.
    Fine,
    /// At least one fault.
    Faults,
    /// Input that can't be used; told on standard error.
    Unusable,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        match exit {
            Exit::Fine => Self::SUCCESS,
            Exit::Faults => Self::from(1),
            Exit::Unusable => Self::from(2),
        }
    }
}

/// Run the program with these arguments, the program's name first.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    match Typed::try_parse_from(args) {
        Ok(typed) => command(typed.command).into(),
        Err(error) => told(&error).into(),
    }
}

fn command(command: Option<Command>) -> Exit {
    match command {
        None => open::demo(),
        Some(Command::Open(typed)) => open::file(&typed.file),
        Some(Command::New(typed)) => new::run(&typed.file),
        Some(Command::Check(typed)) => check::run(&typed),
        Some(Command::Study(typed)) => study::run(&typed),
        Some(Command::Compare(typed)) => compare::run(&typed),
        Some(Command::Handover(typed)) => handover::run(&typed),
        Some(Command::Calibrate(typed)) => calibrate::run(&typed),
        Some(Command::Completions(typed)) => completions::run(typed.shell),
    }
}

/// Help and version are answers; everything else is a slip of the pen.
fn told(error: &clap::Error) -> Exit {
    if error.use_stderr() {
        output::complain(error.render().to_string().trim_end());
        Exit::Unusable
    } else {
        output::answer(&error.render().to_string())
    }
}
