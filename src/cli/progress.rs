//! How far a study is, on standard error; and Ctrl-C.

use super::output::complain;
use crate::report::shown::duration;
use crate::study::{Control, Progress};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::LazyLock;
use std::sync::atomic::{AtomicBool, Ordering};

/// Steps of the bar.
const STEPS: u64 = 1000;

/// Somebody pressed Ctrl-C. The second time ends the program at once.
static STOPPED: AtomicBool = AtomicBool::new(false);

static HANDLER: LazyLock<bool> = LazyLock::new(|| {
    let handle = || {
        if STOPPED.swap(true, Ordering::SeqCst) {
            std::process::exit(130);
        }
    };
    ctrlc::set_handler(handle).is_ok()
});

/// Shows progress to whoever watches.
pub enum Watcher {
    /// A moving bar in a terminal.
    Bar(ProgressBar),
    /// A line every tenth of each phase in a file or pipe: the next tenth to tell, and the phase.
    Lines(u64, &'static str),
    /// Nothing.
    Silent,
}

impl Watcher {
    /// One that suits standard error; from here on Ctrl-C ends the study and not the program.
    pub fn new(quiet: bool) -> Self {
        LazyLock::force(&HANDLER);
        match (quiet, std::io::stderr().is_terminal()) {
            (true, _) => Self::Silent,
            (false, false) => Self::Lines(0, ""),
            (false, true) => Self::Bar(bar()),
        }
    }

    /// Show it, and say whether to go on.
    pub fn see(&mut self, progress: &Progress) -> Control {
        let done = if progress.total > 0.0 { (progress.simulated / progress.total).clamp(0.0, 1.0) } else { 0.0 };
        if let Self::Lines(next, phase) = self
            && *phase != progress.phase
        {
            (*next, *phase) = (0, progress.phase);
        }
        self.see_share(done, &message(progress, done))
    }

    /// Show which share is done of what, and say whether to go on.
    pub fn see_share(&mut self, done: f64, what: &str) -> Control {
        match self {
            Self::Bar(bar) => {
                bar.set_position((done * STEPS as f64) as u64);
                bar.set_message(what.to_owned());
            }
            Self::Lines(next, _) if (done * 10.0) as u64 >= *next => {
                *next = (done * 10.0) as u64 + 1;
                complain(&format!("{:3.0} %  {what}", 100.0 * done));
            }
            _ => {}
        }
        if STOPPED.load(Ordering::SeqCst) { Control::Stop } else { Control::Go }
    }

    /// Take the bar away.
    pub fn finish(self) {
        if let Self::Bar(bar) = self {
            bar.finish_and_clear();
        }
    }
}

fn bar() -> ProgressBar {
    let style = ProgressStyle::with_template("{bar:28} {percent:>3} %  {msg}");
    let style = style.unwrap_or_else(|_| ProgressStyle::default_bar()).progress_chars("█▓░");
    ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::stderr()).with_style(style)
}

/// "spin-up, 34 of 330 s simulated, about 2 min left".
fn message(progress: &Progress, done: f64) -> String {
    let simulated = format!("{}, {:.0} of {:.0} s simulated", progress.phase, progress.simulated, progress.total);
    if done < 0.02 || progress.wall_s < 1.0 {
        return simulated;
    }
    format!("{simulated}, about {} left", duration((progress.wall_s * (1.0 - done) / done).round()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_how_long_it_will_take() {
        let progress = Progress { simulated: 100.0, total: 400.0, phase: "averaging", wall_s: 40.0 };
        assert_eq!(message(&progress, 0.25), "averaging, 100 of 400 s simulated, about 2 min left");
        assert_eq!(message(&Progress { simulated: 0.0, ..progress }, 0.0), "averaging, 0 of 400 s simulated");
    }
}
