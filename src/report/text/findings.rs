//! The list of findings, worst first.

use super::page::Page;
use crate::finding::Finding;
use crate::report::shown::{is_mend, part, sentence};

/// A finding and where its part stands in the layout file, if that is known: "file:line:column".
pub type Placed<'a> = (&'a Finding, Option<String>);

/// Every finding with its grade in words, what, why and the mend.
pub fn write(page: &mut Page, findings: Vec<Placed<'_>>) {
    page.heading("Findings, worst first");
    if findings.is_empty() {
        page.line("None.");
    }
    let mut sorted = findings;
    sorted.sort_by_key(|(finding, _)| std::cmp::Reverse(finding.grade));
    for (i, (finding, place)) in sorted.into_iter().enumerate() {
        if i > 0 {
            page.line("");
        }
        one(page, i + 1, finding, place.as_deref());
    }
}

fn one(page: &mut Page, number: usize, finding: &Finding, place: Option<&str>) {
    page.paragraph(&format!("{number:>2}. "), &format!("{}, {}", finding.grade.word().to_uppercase(), named(finding)));
    if !finding.why.is_empty() {
        page.paragraph("    Why   ", &sentence(&finding.why));
    }
    if is_mend(&finding.mend) {
        page.paragraph("    Mend  ", &sentence(&finding.mend));
    }
    if let Some(place) = place {
        page.paragraph("    File  ", place);
    }
}

/// The part and what is the case; the part only once.
fn named(finding: &Finding) -> String {
    let part = part(&finding.part);
    let repeats = finding.what.to_lowercase().starts_with(&part.to_lowercase());
    if repeats { sentence(&finding.what) } else { format!("{part}: {}", sentence(&finding.what)) }
}
