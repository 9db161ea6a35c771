//! The list of findings, worst first.

use super::page::Page;
use crate::finding::Finding;
use crate::report::shown::part;

/// Every finding with its grade in words, what, why and the mend.
pub fn write(page: &mut Page, findings: &[Finding]) {
    page.heading("Findings, worst first");
    if findings.is_empty() {
        page.line("None.");
    }
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
    for (i, finding) in sorted.iter().enumerate() {
        if i > 0 {
            page.line("");
        }
        one(page, i + 1, finding);
    }
}

fn one(page: &mut Page, number: usize, finding: &Finding) {
    page.paragraph(
        &format!("{number:>2}. "),
        &format!("{}, {}: {}", finding.grade.word().to_uppercase(), part(&finding.part), finding.what),
    );
    for (lead, text) in [("    Why   ", &finding.why), ("    Mend  ", &finding.mend)] {
        if !text.is_empty() {
            page.paragraph(lead, text);
        }
    }
}
