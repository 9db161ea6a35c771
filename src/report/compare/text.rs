//! A comparison for a terminal.

use super::{changed, display, said, table};
use crate::report::cautions::{CAUTIONS, MODEL_LIMITS};
use crate::report::text::page::Page;
use crate::study::compare::{Against, Case, Comparison};
use crate::units::Display;

/// The whole comparison as text, `width` columns wide.
pub fn summary(comparison: &Comparison, cases: &[Case], width: usize) -> String {
    let display = display(cases);
    let mut page = Page::new(width);
    page.title("Comparison");
    page.line("");
    for case in &comparison.cases {
        page.paragraph(&format!("{}  ", case.letter), &format!("{} ({})", case.name, case.layout));
    }
    page.line("");
    for index in 1..comparison.cases.len() {
        page.paragraph("Verdict  ", &said::verdict(comparison, index));
    }
    comparison.cautions.iter().for_each(|caution| page.paragraph("Caution  ", &format!("{caution}.")));
    comparison.against_first.iter().enumerate().for_each(|(index, against)| {
        page.heading(&format!("What was changed from A to {}", against.letter));
        changed::of_case(cases, index + 1).iter().for_each(|line| page.paragraph("- ", line));
    });
    page.heading("Every measure on one scale");
    page.table(&table::measures(comparison, display));
    comparison.against_first.iter().for_each(|against| gained_and_lost(&mut page, against, display));
    how_sure(&mut page, comparison);
    page.finish()
}

fn gained_and_lost(page: &mut Page, against: &Against, display: Display) {
    page.heading(&format!("Findings gained and lost in {}", against.letter));
    if against.findings.is_empty() {
        page.line("None.");
    }
    for change in &against.findings {
        let [how, grade, what] = said::finding(change);
        page.paragraph(&format!("{:<7} ", how.to_uppercase()), &format!("{grade}: {what}"));
    }
    let spots = table::spots(against, display);
    if !spots.rows.is_empty() {
        page.heading(&spots.title);
        page.table(&spots);
    }
}

fn how_sure(page: &mut Page, comparison: &Comparison) {
    page.heading("How sure");
    for case in &comparison.cases {
        page.paragraph("- ", &format!("Error bars of {}, {}.", case.letter, case.error_bars));
    }
    page.line("");
    page.line("What the model leaves out:");
    MODEL_LIMITS.iter().for_each(|text| page.paragraph("- ", text));
    page.heading("Cautions");
    CAUTIONS.iter().for_each(|(subject, text)| page.paragraph("- ", &format!("{subject}: {text}")));
}
