//! `slackwater handover`: the sheets with which a design leaves the desk.

use super::{Exit, check, input, output, typed};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::handover::{self, Options};
use crate::report::shown::{count, part};
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

/// Write all sheets of a layout. Faults that `slackwater check` finds are told, and the sheets are written all the same unless nothing sensible can be.
pub fn run(typed: &typed::Handover) -> Exit {
    let Some(loaded) = input::layout(&typed.file) else { return Exit::Unusable };
    let name = typed.file.display().to_string();
    let findings: Vec<Finding> = check::record(name, &loaded).findings.into_iter().map(|located| located.finding).collect();
    let (blocking, faults) = (worst(&findings, |f| f.blocks), worst(&findings, |f| f.grade == Grade::Fault));
    for finding in if blocking.is_empty() { &faults } else { &blocking } {
        output::complain(&format!("{}: {}: {}; {}", finding.grade.word(), part(&finding.part), finding.what, finding.mend));
    }
    if !blocking.is_empty() {
        output::complain("no sheets were written: mend the layout first");
        return Exit::Unusable;
    }
    let folder = typed.out.clone().unwrap_or_else(|| beside(&typed.file));
    let options = Options { folder, date: typed.date.clone().unwrap_or_else(today) };
    match handover::write(&loaded.layout, Catalog::builtin(), &options) {
        Ok(paths) => told(&options.folder, &paths, faults.len()),
        Err(error) => {
            output::complain(&format!("the sheets can't be written: {error}"));
            Exit::Unusable
        }
    }
}

fn worst(findings: &[Finding], is_one: impl Fn(&Finding) -> bool) -> Vec<Finding> {
    findings.iter().filter(|finding| is_one(finding)).cloned().collect()
}

fn told(folder: &Path, paths: &[PathBuf], faults: usize) -> Exit {
    for stray in handover::strays(folder, paths) {
        output::complain(&format!("caution: {} is from another revision; take it away before it is used by mistake", stray.display()));
    }
    let list: String = paths.iter().map(|path| format!("{}\n", path.display())).collect();
    let printed = output::answer(&list);
    if faults == 0 || printed == Exit::Unusable {
        return printed;
    }
    output::complain(&format!("{}: do not drill, buy or glue from these sheets before they are mended", count(faults, "fault")));
    Exit::Faults
}

/// The file's name with -handover.
fn beside(file: &Path) -> PathBuf {
    let stem = file.file_stem().map_or_else(|| "layout".into(), |stem| stem.to_string_lossy().into_owned());
    PathBuf::from(format!("{stem}-handover"))
}

/// Today's date by the world's clock (UTC).
fn today() -> String {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |elapsed| elapsed.as_secs());
    let (year, month, day) = civil(seconds / 86_400);
    format!("{year:04}-{month:02}-{day:02}")
}

/// Year, month and day so many days after 1 January 1970 in the Gregorian calendar, counting years from March so that the leap day comes last.
fn civil(days: u64) -> (u64, u64, u64) {
    let days = days + 719_468;
    let (era, day_of_era) = (days / 146_097, days % 146_097);
    let year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let from_march = (5 * day_of_year + 2) / 153;
    let month = if from_march < 10 { from_march + 3 } else { from_march - 9 };
    (era * 400 + year_of_era + u64::from(month <= 2), month, day_of_year - (153 * from_march + 2) / 5 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_of_the_calendar() {
        for (days, date) in
            [(0, (1970, 1, 1)), (11_016, (2000, 2, 29)), (11_017, (2000, 3, 1)), (20_453, (2025, 12, 31)), (20_454, (2026, 1, 1))]
        {
            assert_eq!(civil(days), date);
        }
    }
}
