//! `slackwater study`: the water's motion over whole cycles, and the verdict.

use super::{Exit, beside, check, check::WIDTH, input, output, progress::Watcher, typed};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::{Layout, Loaded};
use crate::report::check_record::CheckRecord;
use crate::report::folder::Folder;
use crate::report::{self, json, text};
use crate::study::{self, Extra, Saves, Settings, Span, Study};
use crate::units::Length;
use std::path::{Path, PathBuf};

/// Finest and coarsest cells that are accepted, m.
const CELLS: std::ops::RangeInclusive<f64> = 0.002..=0.25;
/// Most cells that are accepted: some 10 GB of memory.
const MOST_CELLS: f64 = 6.0e7;
/// State of a study that was stopped, in its folder.
const STOPPED: &str = "stopped.study";
/// Longest simulated time that is accepted, s: a week.
const LONGEST: f64 = 604_800.0;

/// What a study needs, checked.
pub struct Needed {
    /// The layout with its text.
    pub loaded: Loaded,
    /// What its pipes and fittings are.
    pub catalog: Catalog,
    /// How to run it.
    pub settings: Settings,
    /// Where the results go.
    pub out: PathBuf,
    /// What to print.
    pub print: Print,
    /// No progress on standard error.
    pub quiet: bool,
    /// Go on from where the last study in that folder was stopped.
    pub resume: bool,
}

/// What goes to standard output at the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Print {
    /// The text report.
    Text,
    /// The record.
    Json,
    /// Nothing.
    Nothing,
}

/// Run what was typed.
pub fn run(typed: &typed::Study) -> Exit {
    let Some(loaded) = input::layout(&typed.file) else { return Exit::Unusable };
    let loaded = input::at_time(loaded, typed.at.as_ref());
    let Some(catalog) = input::catalog(&loaded, typed.catalog.as_deref()) else { return Exit::Unusable };
    match needed(typed, loaded, catalog) {
        Ok(needed) => study(&needed),
        Err(why) => {
            output::complain(&why);
            Exit::Unusable
        }
    }
}

fn needed(typed: &typed::Study, loaded: Loaded, catalog: Catalog) -> Result<Needed, String> {
    let settings = Settings {
        probes: typed.probe.clone(),
        until_settled: typed.until_settled,
        fish_speed: within("--fish-speed", typed.fish_speed.si(), " m/s", 0.01..=2.0)?,
        extra: extra(typed)?,
        ..settings(&typed.run)?
    };
    known_nozzle(typed, &loaded.layout)?;
    fits(&loaded.layout, settings.cell)?;
    let print = match (typed.json, typed.quiet) {
        (true, _) => Print::Json,
        (false, true) => Print::Nothing,
        (false, false) => Print::Text,
    };
    Ok(Needed {
        loaded,
        catalog,
        settings,
        out: typed.out.clone().unwrap_or_else(|| beside::folder(&typed.file, "study")),
        print,
        quiet: typed.quiet,
        resume: typed.resume,
    })
}

/// The settings that were typed, checked.
///
/// # Errors
/// With the flag that is out of its range, in words.
pub fn settings(typed: &typed::Run) -> Result<Settings, String> {
    let cell = known_cell(&typed.cell)?;
    let span = match (typed.cycles, &typed.time) {
        (Some(n), _) => Span::Cycles(within("--cycles", n, "", 1e-3..=1e5)?),
        (None, Some(time)) => Span::Seconds(within("--time", time.si(), " s", 0.1..=LONGEST)?),
        (None, None) => Span::Auto,
    };
    let spin_up = within("--spin-up", typed.spin_up.si(), " s", 0.0..=LONGEST)?;
    Ok(Settings { cell, spin_up, span, seed: typed.seed, threads: typed.threads as usize, ..Settings::default() })
}

/// The measures that take long.
fn extra(typed: &typed::Study) -> Result<Extra, String> {
    let hours = |hours| within("--detritus", hours, " h", 0.01..=48.0);
    let detritus_s = typed.detritus.map(hours).transpose()?.map(|hours| hours * 3600.0);
    Ok(Extra { age: typed.age, dye: typed.dye.clone(), detritus_s, grid_error: typed.grid_error })
}

/// Dye needs a nozzle that is there.
fn known_nozzle(typed: &typed::Study, layout: &Layout) -> Result<(), String> {
    match &typed.dye {
        Some(nozzle) if layout.nozzles.iter().all(|known| known.id != *nozzle) => {
            let known: Vec<&str> = layout.nozzles.iter().map(|nozzle| nozzle.id.as_str()).collect();
            Err(format!("--dye {nozzle}: the layout has no such nozzle; it has {}", known.join(", ")))
        }
        _ => Ok(()),
    }
}

fn within(flag: &str, value: f64, unit: &str, range: std::ops::RangeInclusive<f64>) -> Result<f64, String> {
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(format!("{flag} {value}{unit}: must be between {}{unit} and {}{unit}", range.start(), range.end()))
    }
}

/// A cell edge, m, if it makes sense for this tank.
pub fn cell(typed: &Length, layout: &Layout) -> Result<f64, String> {
    let cell = known_cell(typed)?;
    fits(layout, cell).map(|()| cell)
}

fn known_cell(typed: &Length) -> Result<f64, String> {
    let cell = typed.si();
    if CELLS.contains(&cell) {
        Ok(cell)
    } else {
        Err(format!("--cell {typed}: cells must be between 2 mm and 250 mm; 25mm is a good start"))
    }
}

/// The tank must not need more cells than a machine can hold.
///
/// # Errors
/// With the finest cell that would do, in words.
pub fn fits(layout: &Layout, cell: f64) -> Result<(), String> {
    let volume = layout.tank.length.si() * layout.tank.width.si() * layout.tank.water_level.si();
    let cells = volume / cell.powi(3);
    if cells <= MOST_CELLS || !cells.is_finite() {
        return Ok(());
    }
    let finest = 1000.0 * (volume / MOST_CELLS).cbrt();
    Err(format!(
        "--cell: this tank would need {:.0} million cells, more than fit in memory; use --cell {:.0}mm or more",
        cells / 1e6,
        finest.ceil()
    ))
}

/// Run a study, write its folder, print its report.
pub fn study(needed: &Needed) -> Exit {
    let folder = match Folder::new(&needed.out) {
        Ok(folder) => folder,
        Err(error) => return cannot_write(&needed.out, &error),
    };
    let from = match stopped(needed, &folder) {
        Ok(from) => from,
        Err(why) => {
            output::complain(&why);
            return Exit::Unusable;
        }
    };
    let mut watcher = Watcher::new(needed.quiet);
    let mut refused = None;
    let mut keep = |state: &[u8]| refused = folder.write(STOPPED, state).err();
    let saves = Saves { from: from.as_deref(), keep: &mut keep };
    let (layout, catalog) = (&needed.loaded.layout, &needed.catalog);
    let result = study::resumable(layout, catalog, &needed.settings, &mut |progress| watcher.see(progress), saves);
    watcher.finish();
    if let Some(error) = refused {
        output::complain(&format!(
            "{} can't be written, so this study can't be gone on with later: {error}",
            folder.path().join(STOPPED).display()
        ));
    }
    match result {
        Ok(study) => finish(needed, &study, &folder),
        Err(findings) => match findings.iter().find(|finding| finding.rule == study::NOT_RESUMED) {
            Some(finding) => {
                output::complain(&format!("--resume: {} {}", finding.what, finding.mend));
                Exit::Unusable
            }
            None => not_computed(&needed.loaded, findings),
        },
    }
}

/// The state that the last study in this folder left, if it is to go on.
fn stopped(needed: &Needed, folder: &Folder) -> Result<Option<Vec<u8>>, String> {
    let path = folder.path().join(STOPPED);
    let read = || std::fs::read(&path).map(Some);
    match if needed.resume { read() } else { Ok(None) } {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Err(format!(
            "--resume: there is no stopped study in {} (it would be {STOPPED}); leave --resume out, or name its folder with --out",
            folder.path().display()
        )),
        read => read.map_err(|error| format!("--resume: {} can't be read: {error}", path.display())),
    }
}

fn finish(needed: &Needed, study: &Study, folder: &Folder) -> Exit {
    if let Err(error) = report::write_all(study, &needed.loaded.layout, folder) {
        return cannot_write(folder.path(), &error);
    }
    if !study.record.run.interrupted {
        // Nothing is left to go on with; a file that isn't there is as good as one that was taken away.
        let _ = std::fs::remove_file(folder.path().join(STOPPED));
    } else if !needed.quiet {
        output::complain("Stopped early; the results are marked as interrupted. The same command with --resume goes on from here.");
    }
    let printed = match needed.print {
        Print::Nothing => Exit::Fine,
        Print::Text => output::answer(&closing(needed, study, folder)),
        Print::Json => json::text(&study.record).map_or_else(
            |error| {
                output::complain(&error);
                Exit::Unusable
            },
            |text| output::answer(&text),
        ),
    };
    let faults = study.record.findings.iter().any(|finding| finding.grade == Grade::Fault);
    if printed == Exit::Fine && faults { Exit::Faults } else { printed }
}

fn closing(needed: &Needed, study: &Study, folder: &Folder) -> String {
    let report = text::summary(&study.record, needed.loaded.layout.display, WIDTH);
    format!("{report}\nReport, pictures, tables and fields: {}\n", folder.path().join("study.html").display())
}

/// Tell that a folder can't be written.
pub fn cannot_write(path: &Path, error: &std::io::Error) -> Exit {
    output::complain(&format!("{} can't be written: {error}; choose another folder with --out", path.display()));
    Exit::Unusable
}

/// The layout was read but can't be computed: the findings say why.
pub fn not_computed(loaded: &Loaded, findings: Vec<Finding>) -> Exit {
    let file = loaded.path.as_ref().map_or_else(|| loaded.layout.name.clone(), |path| path.display().to_string());
    let findings = findings.into_iter().map(|finding| check::located(finding, loaded)).collect();
    let record = CheckRecord { file, layout: loaded.layout.name.clone(), findings, ..CheckRecord::default() };
    output::complain(&text::check(&record, loaded.layout.display, WIDTH));
    Exit::Unusable
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_told_with_their_range() {
        assert_eq!(within("--cycles", 2.0, "", 1.0..=3.0), Ok(2.0));
        assert!(within("--time", f64::NAN, " s", 0.0..=1.0).unwrap_err().contains("between 0 s and 1 s"));
    }
}
