//! `slackwater handover`: the sheets with which a design leaves the desk.

use super::{Exit, beside, check, client, input, output, progress::Watcher, typed};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::handover::{self, Options, Sheet};
use crate::layout::Layout;
use crate::report::json;
use crate::report::shown::{count, part, today};
use serde::Serialize;
use std::path::PathBuf;

/// Sheets with the files that they are in now.
type Written = Vec<(Sheet, PathBuf)>;

/// Write all sheets of a layout. Faults that `slackwater check` finds are told, and the sheets are written all the same unless nothing sensible can be.
pub fn run(typed: &typed::Handover) -> Exit {
    let Some(loaded) = input::layout(&typed.file) else { return Exit::Unusable };
    let name = typed.file.display().to_string();
    let Some(catalog) = input::catalog(&loaded, typed.catalog.as_deref()) else { return Exit::Unusable };
    let findings: Vec<Finding> = check::record(name, &loaded, &catalog).findings.into_iter().map(|located| located.finding).collect();
    let (blocking, faults) = (worst(&findings, |f| f.blocks), worst(&findings, |f| f.grade == Grade::Fault));
    for finding in if blocking.is_empty() { &faults } else { &blocking } {
        output::complain(&format!("{}: {}: {}; {}", finding.grade.word(), part(&finding.part), finding.what, finding.mend));
    }
    if !blocking.is_empty() {
        output::complain("no sheets were written: mend the layout first");
        return Exit::Unusable;
    }
    let folder = typed.out.clone().unwrap_or_else(|| beside::folder(&typed.file, "handover"));
    let options = Options { folder, date: typed.date.clone().unwrap_or_else(today) };
    match sheets(&loaded.layout, typed, &catalog, &options) {
        Ok(written) => told(&report(&loaded.layout, &options, &written, faults.len()), typed.json),
        Err(exit) => exit,
    }
}

/// All sheets, and the client's page and clip if they were asked for.
fn sheets(layout: &Layout, typed: &typed::Handover, catalog: &Catalog, options: &Options) -> Result<Written, Exit> {
    let wanted = typed.client.then(|| client::wanted(layout, typed)).transpose()?;
    let sheets = handover::sheets(layout, catalog, &options.date).map_err(|why| not_written(&why))?;
    let mut watcher = Watcher::new(typed.quiet);
    let paths = handover::write_sheets_watched(&options.folder, &sheets, &mut |share, name| watcher.see_share(share, name));
    watcher.finish();
    let paths = paths.map_err(|error| not_written(&error.to_string()))?;
    let mut written: Written = sheets.into_iter().zip(paths).collect();
    if let Some(wanted) = wanted {
        written.extend(client::write(layout, wanted, catalog, options)?);
    }
    Ok(written)
}

fn not_written(why: &str) -> Exit {
    output::complain(&format!("the sheets can't be written: {why}"));
    Exit::Unusable
}

fn worst(findings: &[Finding], is_one: impl Fn(&Finding) -> bool) -> Vec<Finding> {
    findings.iter().filter(|finding| is_one(finding)).cloned().collect()
}

/// What was written, for `--json`.
#[derive(Debug, Serialize)]
struct Report {
    layout: String,
    revision: String,
    date: String,
    folder: PathBuf,
    /// Open faults: don't drill, buy or glue before they are mended.
    faults: usize,
    files: Vec<File>,
    /// Sheets of another revision that lie in the folder.
    strays: Vec<PathBuf>,
}

#[derive(Debug, Serialize)]
struct File {
    path: PathBuf,
    purpose: &'static str,
}

fn report(layout: &Layout, options: &Options, written: &Written, faults: usize) -> Report {
    let paths: Vec<PathBuf> = written.iter().map(|(_, path)| path.clone()).collect();
    Report {
        layout: layout.name.clone(),
        revision: handover::revision(layout),
        date: options.date.clone(),
        folder: options.folder.clone(),
        faults,
        files: written.iter().map(|(sheet, path)| File { path: path.clone(), purpose: sheet.purpose }).collect(),
        strays: handover::strays(&options.folder, &paths),
    }
}

fn told(report: &Report, as_json: bool) -> Exit {
    for stray in &report.strays {
        output::complain(&format!("caution: {} is from another revision; take it away before it is used by mistake", stray.display()));
    }
    let printed = if as_json { print_json(report) } else { output::answer(&listed(report)) };
    if report.faults == 0 || printed == Exit::Unusable {
        return printed;
    }
    output::complain(&format!("{}: do not drill, buy or glue from these sheets before they are mended", count(report.faults, "fault")));
    Exit::Faults
}

fn print_json(report: &Report) -> Exit {
    json::text(report).map_or_else(|error| not_written(&error), |text| output::answer(&text))
}

fn listed(report: &Report) -> String {
    report.files.iter().map(|file| format!("{}\n", file.path.display())).collect()
}
