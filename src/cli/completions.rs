//! `slackwater completions`.

use super::{Exit, output, typed::Typed};
use clap::CommandFactory;
use clap_complete::Shell;

/// Print the script.
pub fn run(shell: Shell) -> Exit {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Typed::command(), "slackwater", &mut script);
    output::answer(&String::from_utf8_lossy(&script))
}
