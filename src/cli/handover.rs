//! `slackwater handover`: the sheets with which a design leaves the desk.

use super::{Exit, beside, check, client, input, output, typed};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::handover::{self, Options};
use crate::layout::Layout;
use crate::report::shown::{count, part};
use std::path::{Path, PathBuf};

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
        Ok(paths) => told(&options.folder, &paths, faults.len()),
        Err(exit) => exit,
    }
}

/// All sheets, and the client's page and clip if they were asked for.
fn sheets(layout: &Layout, typed: &typed::Handover, catalog: &Catalog, options: &Options) -> Result<Vec<PathBuf>, Exit> {
    let wanted = typed.client.then(|| client::wanted(layout, typed)).transpose()?;
    let mut paths = handover::write(layout, catalog, options).map_err(|error| {
        output::complain(&format!("the sheets can't be written: {error}"));
        Exit::Unusable
    })?;
    if let Some(wanted) = wanted {
        paths.extend(client::write(layout, wanted, catalog, options)?);
    }
    Ok(paths)
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

/// Today's date by this machine's clock and time zone.
fn today() -> String {
    chrono::Local::now().format("%Y-%m-%d").to_string()
}
