//! Reports for a terminal, read from top to bottom: verdict first, then what to mend, then the numbers behind it.

mod calibration;
mod findings;
pub(super) mod page;
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
    findings::write(&mut page, record.findings.iter().map(|finding| findings::Placed { finding, place: None }).collect());
    water(&mut page, record, display);
    plumbing(&mut page, &Plumbing::from(record), display);
    sequence::write(&mut page, &record.outlets, record.cycle_s);
    how_sure(&mut page, record, display);
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
    findings::write(&mut page, record.findings.iter().map(|located| placed(record, located)).collect());
    if let Some(wet) = &record.plumbing {
        plumbing(&mut page, wet, display);
        sequence::write(&mut page, &wet.outlets, wet.cycle_s);
    }
    what_ifs(&mut page, &record.what_ifs, display);
    cautions(&mut page);
    page.finish()
}

/// The comparison, then what is new; cases that bring the same findings stand together.
fn what_ifs(page: &mut Page, results: &[WhatIfResult], display: Display) {
    if results.is_empty() {
        return;
    }
    let table = tables::what_ifs(results, display);
    page.heading(&table.title);
    page.table(&table);
    let told: Vec<&WhatIfResult> = results.iter().filter(|r| r.worst > Some(Grade::Note)).collect();
    for (i, first) in told.iter().enumerate().filter(|(i, r)| !told[..*i].iter().any(|before| same_news(before, r))) {
        let names: Vec<&str> = told[i..].iter().filter(|r| same_news(first, r)).map(|r| r.id.as_str()).collect();
        page.line("");
        page.paragraph("", &format!("{}:", names.join("; ")));
        for finding in &first.findings {
            let part = shown::part(&finding.part);
            page.paragraph("    ", &format!("{}, {part}: {}", finding.grade.word().to_uppercase(), shown::sentence(&finding.what)));
        }
    }
}

fn same_news(a: &WhatIfResult, b: &WhatIfResult) -> bool {
    let news = |r: &WhatIfResult| r.findings.iter().map(|f| (f.grade, f.part.clone(), f.what.clone())).collect::<Vec<_>>();
    news(a) == news(b)
}

fn water(page: &mut Page, record: &Record, display: Display) {
    page.heading("Dead spots, largest first");
    if record.dead_spots.is_empty() {
        page.line("None found.");
    }
    page.table(&tables::dead_spots(record, display));
    for table in tables::water(record, display) {
        page.heading(&table.title);
        page.table(&table);
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

fn placed<'a>(record: &'a CheckRecord, located: &'a Located) -> findings::Placed<'a> {
    let place = located.line.zip(located.column).map(|(line, column)| (record.file.as_str(), line, column));
    findings::Placed { finding: &located.finding, place }
}

fn check_reach(record: &CheckRecord) -> &'static str {
    if record.plumbing.is_some() {
        "Checked here: the layout, its plumbing and the wet-side safety. How the water moves in the tank needs `slackwater study`."
    } else {
        "The plumbing can't be computed before the faults below are mended."
    }
}

fn how_sure(page: &mut Page, record: &Record, display: Display) {
    page.heading("How sure");
    verdict::certainty(record, display).iter().for_each(|text| page.paragraph("- ", text));
    for table in tables::trust(record, display) {
        page.line("");
        page.line(&table.title);
        page.table(&table);
    }
    page.line("");
    page.line("What the model leaves out:");
    MODEL_LIMITS.iter().for_each(|text| page.paragraph("- ", text));
}

fn cautions(page: &mut Page) {
    page.heading("Cautions");
    CAUTIONS.iter().for_each(|(subject, text)| page.paragraph("- ", &format!("{subject}: {text}")));
}
