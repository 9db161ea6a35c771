//! `slackwater calibrate`: factors of the plumbing fitted to the layout's readings.

use super::{Exit, check::WIDTH, input, output, typed};
use crate::calibrate::{self, Calibration};
use crate::finding::{Finding, Grade};
use crate::layout::{self, Loaded};
use crate::report::{json, shown::part, text};

/// Fit, print, and with `--write` put the factors into the file.
pub fn run(typed: &typed::Calibrate) -> Exit {
    let Some(loaded) = input::layout(&typed.file) else { return Exit::Unusable };
    let Some(catalog) = input::catalog(&loaded, typed.catalog.as_deref()) else { return Exit::Unusable };
    let calibration = match calibrate::calibrate(&loaded.layout, &catalog) {
        Ok(calibration) => calibration,
        Err(findings) => return told(&findings),
    };
    let report = if typed.json { json::text(&calibration) } else { Ok(text::calibration(&calibration, loaded.layout.display, WIDTH)) };
    let printed = match report {
        Ok(text) => output::answer(&text),
        Err(why) => refuse(&why),
    };
    let written = if typed.write && printed == Exit::Fine { write(typed, &loaded, &calibration) } else { printed };
    let faults = calibration.change.new.iter().any(|finding| finding.grade == Grade::Fault);
    if written == Exit::Fine && faults { Exit::Faults } else { written }
}

fn write(typed: &typed::Calibrate, loaded: &Loaded, calibration: &Calibration) -> Exit {
    if calibration.factors.is_empty() {
        return refuse("nothing was written: no factor could be fitted");
    }
    if !calibration.agreement.converged {
        return refuse("nothing was written: the search did not end at a minimum");
    }
    let changed = calibrate::applied(&loaded.layout, calibration);
    match layout::save(&typed.file, &changed, Some(&loaded.text)) {
        Ok(()) => {
            output::complain(&format!("the factors were written into {}", typed.file.display()));
            Exit::Fine
        }
        Err(error) => refuse(&format!("{} can't be written: {error}", typed.file.display())),
    }
}

fn told(findings: &[Finding]) -> Exit {
    for finding in findings {
        output::complain(&format!("{}: {}: {}; {}", finding.grade.word(), part(&finding.part), finding.what, finding.mend));
    }
    refuse("nothing could be fitted")
}

fn refuse(why: &str) -> Exit {
    output::complain(why);
    Exit::Unusable
}
