//! Reports for a terminal, read from top to bottom: verdict first, then what to mend, then the numbers behind it.

mod findings;
mod page;
mod plumbing;
mod sequence;
mod water;

use super::cautions::{CAUTIONS, MODEL_LIMITS};
use super::check_record::{CheckRecord, Plumbing};
use super::verdict;
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
    findings::write(&mut page, &record.findings);
    water::write(&mut page, record, display);
    plumbing::write(&mut page, &Plumbing::from(record), display);
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
    page.paragraph("Verdict  ", &verdict::sentence(&record.findings));
    page.paragraph("         ", check_reach(record));
    findings::write(&mut page, &record.findings);
    if let Some(wet) = &record.plumbing {
        plumbing::write(&mut page, wet, display);
        sequence::write(&mut page, &wet.outlets, wet.cycle_s);
    }
    cautions(&mut page);
    page.finish()
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
