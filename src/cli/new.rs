//! `slackwater new`: a commented layout to start from.

use super::{Exit, output};
use crate::layout;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

/// Write the template to a file that doesn't exist yet.
pub fn run(path: &Path) -> Exit {
    match write(path) {
        Ok(()) => output::answer(&format!("{0} written. Next: slackwater check {0}\n", path.display())),
        Err(error) => {
            output::complain(&reason(path, &error));
            Exit::Unusable
        }
    }
}

fn write(path: &Path) -> io::Result<()> {
    let mut file = std::fs::File::create_new(path)?;
    file.write_all(layout::template().as_bytes())?;
    file.sync_all()
}

fn reason(path: &Path, error: &io::Error) -> String {
    let path = path.display();
    match error.kind() {
        ErrorKind::AlreadyExists => format!("{path} is there already and was left alone; choose another name"),
        ErrorKind::NotFound => format!("{path} can't be written: its folder does not exist; make the folder first"),
        _ => format!("{path} can't be written: {error}"),
    }
}
