//! `slackwater check`: geometry, plumbing and wet-side safety of layouts, without the flow in the tank.

use super::{Exit, input, output, typed};
use crate::catalog::Catalog;
use crate::finding::{Finding, Grade};
use crate::layout::{self, Layout, Loaded, Problems};
use crate::report::check_record::{CHECK_VERSION, CheckRecord, CheckReport, Located, Plumbing};
use crate::report::{json, text};
use crate::safety::{self, WhatIfResult};
use crate::setup::schedule::Schedule;
use crate::setup::tables::tables;
use crate::units::Display;
use std::path::Path;

/// Columns of the text report.
pub const WIDTH: usize = 80;

/// Check every file; one that can't be read doesn't stop the others.
pub fn run(typed: &typed::Check) -> Exit {
    let checked: Vec<(CheckRecord, Display, Exit)> = typed.files.iter().map(|path| one(path, typed)).collect();
    let printed = if typed.json { print_json(&checked) } else { print_text(&checked) };
    if printed == Exit::Unusable { printed } else { worst(checked.iter().map(|(_, _, exit)| *exit)) }
}

fn worst(exits: impl Iterator<Item = Exit>) -> Exit {
    exits.max_by_key(|exit| [Exit::Fine, Exit::Faults, Exit::Unusable].iter().position(|e| e == exit)).unwrap_or(Exit::Fine)
}

fn print_json(checked: &[(CheckRecord, Display, Exit)]) -> Exit {
    let report = CheckReport { check_version: CHECK_VERSION, files: checked.iter().map(|(record, _, _)| record.clone()).collect() };
    match json::text(&report) {
        Ok(text) => output::answer(&text),
        Err(error) => {
            output::complain(&error);
            Exit::Unusable
        }
    }
}

/// Text for the files that could be read; the others were told on standard error.
fn print_text(checked: &[(CheckRecord, Display, Exit)]) -> Exit {
    let readable = checked.iter().filter(|(_, _, exit)| *exit != Exit::Unusable);
    let pages: Vec<String> = readable.map(|(record, display, _)| text::check(record, *display, WIDTH)).collect();
    if pages.is_empty() { Exit::Fine } else { output::answer(&pages.join("\n\n")) }
}

fn one(path: &Path, typed: &typed::Check) -> (CheckRecord, Display, Exit) {
    let name = path.display().to_string();
    match layout::load(path) {
        Ok(loaded) => {
            let loaded = input::at_time(loaded, typed.at.as_ref());
            let Some(catalog) = input::catalog(&loaded, typed.catalog.as_deref()) else {
                return (CheckRecord { file: name, ..CheckRecord::default() }, loaded.layout.display, Exit::Unusable);
            };
            let mut record = record(name, &loaded, &catalog);
            let faults = record.findings.iter().any(|located| located.finding.grade == Grade::Fault);
            let mut exit = if faults { Exit::Faults } else { Exit::Fine };
            match typed.what_if.as_deref().filter(|_| record.usable).map(|asked| what_ifs(&loaded.layout, &catalog, asked)) {
                Some(Ok(results)) => record.what_ifs = results,
                Some(Err(message)) => {
                    output::complain(&format!("{}: {message}", record.file));
                    exit = Exit::Unusable;
                }
                None => {}
            }
            (record, loaded.layout.display, exit)
        }
        Err(problems) => {
            input::tell(&name, &problems);
            (unreadable(name, &problems), Display::default(), Exit::Unusable)
        }
    }
}

/// The what-ifs asked for: one by name, or all of them with every single failure.
fn what_ifs(layout: &Layout, catalog: &Catalog, asked: &str) -> Result<Vec<WhatIfResult>, String> {
    if asked == "all" {
        return Ok(safety::what_ifs(layout, catalog));
    }
    let named = layout.what_ifs.iter().find(|w| w.id == asked).cloned();
    let found = named.or_else(|| safety::single_failures(layout).into_iter().find(|w| w.id == asked));
    let Some(what_if) = found else {
        let known: Vec<String> = layout.what_ifs.iter().map(|w| format!("`{}`", w.id)).collect();
        let own =
            if known.is_empty() { "the layout has none of its own".to_owned() } else { format!("the layout has {}", known.join(", ")) };
        return Err(format!("no what-if is named `{asked}`: {own}; `all` tries those and every single failure, and names them"));
    };
    Ok(vec![safety::what_if(layout, catalog, &what_if)])
}

fn unreadable(file: String, problems: &Problems) -> CheckRecord {
    let places = problems.list().iter().map(|problem| problem.place);
    let located =
        |(finding, place): (Finding, Option<(usize, usize)>)| Located { finding, line: place.map(|p| p.0), column: place.map(|p| p.1) };
    CheckRecord { file, findings: problems.findings().into_iter().zip(places).map(located).collect(), ..CheckRecord::default() }
}

/// Everything that can be said about a layout without computing its flow.
pub fn record(file: String, loaded: &Loaded, catalog: &Catalog) -> CheckRecord {
    let layout = &loaded.layout;
    let mut findings = layout::check(layout, catalog);
    let mut plumbing = None;
    if !findings.iter().any(|finding| finding.blocks) {
        match Schedule::new(layout, catalog) {
            Ok(schedule) => {
                findings.extend(schedule.findings.iter().cloned());
                findings.extend(safety::check(layout, catalog, &schedule));
                let t = tables(layout, catalog, &schedule);
                plumbing = Some(Plumbing {
                    cycle_s: schedule.period,
                    pumps: t.pumps,
                    links: t.links,
                    outlets: t.outlets,
                    nozzles: t.nozzles,
                    intakes: t.intakes,
                    drums: t.drums,
                });
            }
            Err(more) => findings.extend(more),
        }
    }
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
    let usable = plumbing.is_some();
    let findings = findings.into_iter().map(|finding| located(finding, loaded)).collect();
    CheckRecord { file, layout: layout.name.clone(), usable, plumbing, findings, what_ifs: Vec::new() }
}

/// A finding with the line and column of its part in the file.
pub fn located(finding: Finding, loaded: &Loaded) -> Located {
    let place = if finding.part.is_empty() { None } else { loaded.location(&finding.part) };
    Located { finding, line: place.map(|p| p.0), column: place.map(|p| p.1) }
}
