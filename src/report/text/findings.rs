//! The list of findings, worst first.

use super::page::Page;
use crate::finding::Finding;
use crate::report::grouped::{grouped, shared};
use crate::report::shown::{count, is_mend, part, sentence};

/// A finding and where its part stands in the layout file, if that is known.
pub struct Placed<'a> {
    pub finding: &'a Finding,
    /// File, then line and column from 1.
    pub place: Option<(&'a str, usize, usize)>,
}

/// Every finding with its grade in words, what, why and the mend. What is said of several parts for one reason stands under one number.
pub fn write(page: &mut Page, findings: Vec<Placed<'_>>) {
    page.heading("Findings, worst first");
    if findings.is_empty() {
        page.line("None.");
    }
    for (i, group) in grouped(findings, |placed| placed.finding).into_iter().enumerate() {
        if i > 0 {
            page.line("");
        }
        one(page, i + 1, &group);
    }
}

fn one(page: &mut Page, number: usize, group: &[Placed<'_>]) {
    let Some(first) = group.first() else { return };
    let (lead, grade) = (format!("{number:>2}. "), first.finding.grade.word().to_uppercase());
    if group.len() == 1 {
        page.paragraph(&lead, &format!("{grade}, {}", named(first.finding)));
    } else {
        page.paragraph(&lead, &format!("{grade}, {}:", count(group.len(), "part")));
        group.iter().for_each(|placed| page.paragraph("    - ", &sentence(&named(placed.finding))));
    }
    if !first.finding.why.is_empty() {
        page.paragraph("    Why   ", &sentence(&first.finding.why));
    }
    mends(page, group);
    if let Some(places) = places(group) {
        page.paragraph("    File  ", &places);
    }
}

/// One mend where all share it, else one for each part.
fn mends(page: &mut Page, group: &[Placed<'_>]) {
    match shared(group, |placed| &placed.finding.mend) {
        Some(mend) if is_mend(mend) => page.paragraph("    Mend  ", &sentence(mend)),
        Some(_) => {}
        None => {
            let each = |placed: &Placed| format!("{}: {}", part(&placed.finding.part), placed.finding.mend);
            group
                .iter()
                .enumerate()
                .for_each(|(i, placed)| page.paragraph(if i == 0 { "    Mend  " } else { "          " }, &sentence(&each(placed))));
        }
    }
}

/// "file:12:4, 15:4".
fn places(group: &[Placed<'_>]) -> Option<String> {
    let (file, ..) = group.iter().find_map(|placed| placed.place)?;
    let each = group.iter().filter_map(|placed| placed.place).map(|(_, line, column)| format!("{line}:{column}"));
    Some(format!("{file}:{}", each.collect::<Vec<_>>().join(", ")))
}

/// The part and what is the case; the part only once.
fn named(finding: &Finding) -> String {
    let part = part(&finding.part);
    let repeats = finding.what.to_lowercase().starts_with(&part.to_lowercase());
    if repeats { format!("{}.", finding.what.trim_end_matches('.')) } else { format!("{part}: {}", sentence(&finding.what)) }
}
