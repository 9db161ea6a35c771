//! Hand the arguments to the command line.

fn main() -> std::process::ExitCode {
    slackwater::cli::run(std::env::args_os())
}
