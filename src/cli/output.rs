//! What goes to standard output and standard error. A reader who closes the pipe early is not an error.

use super::Exit;
use std::io::{self, ErrorKind, Write};

/// Write an answer to standard output.
pub fn answer(text: &str) -> Exit {
    match write(text) {
        Ok(()) => Exit::Fine,
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Exit::Fine,
        Err(error) => {
            complain(&format!("the report can't be written to standard output: {error}"));
            Exit::Unusable
        }
    }
}

fn write(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}

/// Tell something on standard error; nowhere else is left to tell when that fails.
pub fn complain(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}
