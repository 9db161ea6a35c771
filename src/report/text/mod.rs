//! Reports for a terminal, read from top to bottom: verdict first, then what to mend, then the numbers behind it.

mod calibration;
mod findings;
mod page;
mod sequence;

pub use calibration::calibration;

use super::cautions::{CAUTIONS, MODEL_LIMITS};
use super::check_record::{CheckRecord, Located, Plumbing};
use super::{shown, tables, verdict};
use crate::finding::Grade;
use crate::safety::WhatIfResult;
use crate::study::record::Record;
use crate::units::Display;
use page::Page;

/// The whole study as text, `width` columns wide (80 fits every terminal).
pub fn summary(record: &Record, display: Display, width: usize) -> String {
    let mut page = Page::new(width);
    page.title(&record.layout);
    page.line("");
    page.paragraph("Verdict  ", &verdict::sentence(&record.findings));
    page.paragraph("         ", &verdict::paragraph(record, display));
    findings::write(&mut page, record.findings.iter().map(|finding| (finding, None)).collect());
    water(&mut page, record, display);
    plumbing(&mut page, &Plumbing::from(record), display);
    sequence::write(&mut page, &record.outlets, record.cycle_s);
    how_sure(&mut page, &verdict::certainty(record, display));
    cautions(&mut page);
    page.finish()
}

/// The check of one layout as text: findings and plumbing, no flow.
pub fn check(record: &CheckRecord, display: Display, width: usize) -> String {
    let mut page = Page::new(width);
    page.title(if record.layout.is_empty() { &record.file } else { &record.layout });
    page.line("");
    page.paragraph("Verdict  ", &verdict::sentence(record.findings.iter().map(|located| &located.finding)));
    page.paragraph("         ", check_reach(record));
    findings::write(&mut page, record.findings.iter().map(|located| (&located.finding, place(record, located))).collect());
    if let Some(wet) = &record.plumbing {
        plumbing(&mut page, wet, display);
        sequence::write(&mut page, &wet.outlets, wet.cycle_s);
    }
    what_ifs(&mut page, &record.what_ifs, display);
    cautions(&mut page);
    page.finish()
}

/// The comparison, then what is new in each case that has something new.
fn what_ifs(page: &mut Page, results: &[WhatIfResult], display: Display) {
    if results.is_empty() {
        return;
    }
    page.heading("What if, worst first");
    page.table(&tables::what_ifs(results, display));
    for result in results.iter().filter(|r| r.worst > Some(Grade::Note)) {
        page.line("");
        page.paragraph("", &shown::sentence(&result.id));
        for finding in &result.findings {
            let part = shown::part(&finding.part);
            page.paragraph("    ", &format!("{}, {part}: {}", finding.grade.word().to_uppercase(), shown::sentence(&finding.what)));
        }
    }
}

fn water(page: &mut Page, record: &Record, display: Display) {
    page.heading("Dead spots, largest first");
    if record.dead_spots.is_empty() {
        page.line("None found.");
    }
    page.table(&tables::dead_spots(record, display));
    for table in [tables::colonies(record), tables::speeds(record), tables::probes(record)] {
        if !table.rows.is_empty() {
            page.heading(&table.title);
            page.table(&table);
        }
    }
}

fn plumbing(page: &mut Page, wet: &Plumbing, display: Display) {
    page.heading("Plumbing");
    page.paragraph("", "Two numbers are the least and the most over one joint cycle; one number does not change.");
    for table in tables::plumbing(wet, display) {
        page.line("");
        page.line(&table.title);
        page.table(&table);
    }
}

fn place(record: &CheckRecord, located: &Located) -> Option<String> {
    Some(format!("{}:{}:{}", record.file, located.line?, located.column?))
}

fn check_reach(record: &CheckRecord) -> &'static str {
    if record.plumbing.is_some() {
        "Checked here: the layout, its plumbing and the wet-side safety. How the water moves in the tank needs `slackwater study`."
    } else {
        "The plumbing can't be computed before the faults below are mended."
    }
}

fn how_sure(page: &mut Page, certainty: &[String]) {
    page.heading("How sure");
    certainty.iter().for_each(|text| page.paragraph("- ", text));
    page.line("");
    page.line("What the model leaves out:");
    MODEL_LIMITS.iter().for_each(|text| page.paragraph("- ", text));
}

fn cautions(page: &mut Page) {
    page.heading("Cautions");
    CAUTIONS.iter().for_each(|(subject, text)| page.paragraph("- ", &format!("{subject}: {text}")));
}
