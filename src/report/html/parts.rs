//! Pieces of the page: findings, tables, figures, lists.

use crate::finding::{Finding, Grade};
use crate::report::pictures::{Drawn, escaped};
use crate::report::shown::{is_mend, part, sentence};
use crate::report::tables::Table;
use base64::Engine;

/// Findings, worst first, each with its grade as a word.
pub fn findings(findings: &[Finding]) -> String {
    if findings.is_empty() {
        return "<p>None.</p>\n".to_owned();
    }
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
    format!("<ol class=\"findings\">\n{}</ol>\n", sorted.into_iter().map(finding).collect::<String>())
}

fn finding(finding: &Finding) -> String {
    let class = match finding.grade {
        Grade::Fault => "fault",
        Grade::Caution => "caution",
        Grade::Note => "note",
    };
    let more = |word: &str, text: &str| {
        if text.is_empty() { String::new() } else { format!("<p><b>{word}</b> {}</p>\n", escaped(&sentence(text))) }
    };
    format!(
        "<li class=\"{class}\">\n<p class=\"what\"><span class=\"grade\">{}</span> <span class=\"part\">{}</span> {}</p>\n{}{}</li>\n",
        finding.grade.word(),
        escaped(&part(&finding.part)),
        escaped(&sentence(&finding.what)),
        more("Why", &finding.why),
        if is_mend(&finding.mend) { more("Mend", &finding.mend) } else { String::new() }
    )
}

/// A table with its title as caption and its note under it; nothing when it has no rows.
pub fn table(table: &Table) -> String {
    if table.rows.is_empty() {
        return String::new();
    }
    let class = |i: usize| if table.lean.as_bytes().get(i) == Some(&b'r') { " class=\"number\"" } else { "" };
    let head: String =
        table.headings.iter().enumerate().map(|(i, h)| format!("<th scope=\"col\"{}>{}</th>", class(i), escaped(h))).collect();
    let row = |row: &Vec<String>| {
        let cells: String = row.iter().enumerate().map(|(i, c)| format!("<td{}>{}</td>", class(i), escaped(c))).collect();
        format!("<tr>{cells}</tr>\n")
    };
    let rows: String = table.rows.iter().map(row).collect();
    let note = if table.note.is_empty() { String::new() } else { format!("<p class=\"small\">{}</p>\n", escaped(&table.note)) };
    let title = escaped(&table.title);
    format!(
        "<div class=\"table\">\n<table>\n<caption>{title}</caption>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n{note}"
    )
}

/// A picture inside the page.
pub fn figure(drawn: &Drawn) -> String {
    let data = base64::engine::general_purpose::STANDARD.encode(&drawn.png);
    let alt = escaped(&drawn.picture.alt);
    format!("<figure>\n<img alt=\"{alt}\" src=\"data:image/png;base64,{data}\">\n</figure>\n")
}

/// A bulleted list of HTML snippets.
pub fn list(items: impl Iterator<Item = String>) -> String {
    format!("<ul>\n{}</ul>\n", items.map(|item| format!("<li>{item}</li>\n")).collect::<String>())
}
