//! A comparison as one self-contained HTML page.

use super::{changed, display, said, table};
use crate::report::cautions::{CAUTIONS, MODEL_LIMITS};
use crate::report::html::parts::{figure, list, table as html_table};
use crate::report::html::{document, section};
use crate::report::pictures::{Drawn, escaped};
use crate::study::compare::{Against, Case, Comparison};

/// The page.
pub fn page(comparison: &Comparison, cases: &[Case], pictures: &[Drawn]) -> String {
    let display = display(cases);
    let body = [
        head(comparison),
        section("changes", "What was changed", &changes(comparison, cases)),
        section("measures", "Every measure", &html_table(&table::measures(comparison, display))),
        section("maps", "Where the water moves", &pictures.iter().map(figure).collect::<String>()),
        section("findings", "Findings gained and lost", &each(comparison, findings)),
        section("dead-spots", "Dead spots", &each(comparison, |against| html_table(&table::spots(against, display)))),
        section("method", "How sure", &how_sure(comparison)),
        section(
            "cautions",
            "Cautions",
            &list(CAUTIONS.iter().map(|(subject, text)| format!("<strong>{subject}.</strong> {}", escaped(text)))),
        ),
    ];
    let names: Vec<&str> = comparison.cases.iter().map(|case| case.layout.as_str()).collect();
    document(&format!("Comparison: {}", names.join(", ")), &body.concat())
}

fn each(comparison: &Comparison, write: impl Fn(&Against) -> String) -> String {
    comparison.against_first.iter().map(write).collect()
}

fn head(comparison: &Comparison) -> String {
    let case = |case: &crate::study::compare::CaseInfo| {
        format!("<strong>{}</strong> {} <span class=\"part\">({})</span>", case.letter, escaped(&case.name), escaped(&case.layout))
    };
    let cases = list(comparison.cases.iter().map(case));
    let verdicts: String = (1..comparison.cases.len())
        .map(|index| format!("<p class=\"compared\">{}</p>\n", escaped(&said::verdict(comparison, index))))
        .collect();
    let cautions: String = comparison.cautions.iter().map(|text| format!("<p><b>Caution</b> {}.</p>\n", escaped(text))).collect();
    format!(
        "<header>\n<p class=\"kind\">Circulation studies compared</p>\n<h1>Side by side</h1>\n<div class=\"cases\">{cases}</div>\n</header>\n\
         <section id=\"verdict\" class=\"verdict\">\n<h2>Verdict</h2>\n{verdicts}{cautions}</section>\n"
    )
}

fn changes(comparison: &Comparison, cases: &[Case]) -> String {
    let told = |(index, against): (usize, &Against)| {
        let lines = changed::of_case(cases, index + 1);
        format!("<h3>From A to {}</h3>\n{}", against.letter, list(lines.iter().map(|line| escaped(line))))
    };
    comparison.against_first.iter().enumerate().map(told).collect()
}

fn findings(against: &Against) -> String {
    if against.findings.is_empty() {
        return format!("<p>{} has the same findings as A.</p>\n", against.letter);
    }
    html_table(&table::findings(against))
}

fn how_sure(comparison: &Comparison) -> String {
    let bars = list(comparison.cases.iter().map(|case| format!("Error bars of {}, {}.", case.letter, escaped(&case.error_bars))));
    let left_out = list(MODEL_LIMITS.iter().map(|text| escaped(text)));
    format!(
        "<p>All studies were judged by the same rules; settings that differ are named at the top.</p>\n{bars}<h3>What the model leaves out</h3>\n{left_out}"
    )
}
