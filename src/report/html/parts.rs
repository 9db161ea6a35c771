//! Pieces of the page: findings, tables, figures, lists.

use crate::finding::{Finding, Grade};
use crate::report::pictures::{Drawn, escaped};
use crate::report::shown::{is_mend, part, sentence};
use crate::report::tables::Table;
use base64::Engine;

/// Faults and cautions, worst first, each with its grade as a word; those that say the same of several parts are told once. `place` is
/// the small map of a finding, if it has one.
pub fn findings(findings: &[Finding], place: impl Fn(&Finding) -> String) -> String {
    let groups = alike(findings);
    let mut told = groups.iter().filter(|group| group[0].grade > Grade::Note).peekable();
    if told.peek().is_none() {
        return "<p>No fault and no caution.</p>\n".to_owned();
    }
    format!("<ol class=\"findings\">\n{}</ol>\n", told.map(|group| finding(group, &place(group[0]))).collect::<String>())
}

/// Notes in short, one paragraph each; nothing when there are none.
pub fn notes(findings: &[Finding]) -> String {
    let groups = alike(findings);
    let told: Vec<String> = groups.iter().filter(|group| group[0].grade == Grade::Note).map(|group| note(group)).collect();
    if told.is_empty() { String::new() } else { format!("<ul class=\"brief\">\n{}</ul>\n", told.concat()) }
}

fn note(group: &[&Finding]) -> String {
    let parts: Vec<String> = group.iter().map(|finding| part(&finding.part)).collect();
    let finding = group[0];
    let mend = if is_mend(&finding.mend) { format!(" {}", worded(&sentence(&finding.mend))) } else { String::new() };
    let why =
        if finding.why.is_empty() { String::new() } else { format!(" <span class=\"why\">{}</span>", worded(&sentence(&finding.why))) };
    let lead = if group.len() == 1 && names_itself(finding) {
        String::new()
    } else {
        format!("<b>{}.</b> ", escaped(sentence(&parts.join("; ")).trim_end_matches('.')))
    };
    format!("<li>{lead}{}{why}{mend}</li>\n", worded(&sentence(&finding.what)))
}

/// What is found begins with the name of its part.
fn names_itself(finding: &Finding) -> bool {
    finding.what.to_lowercase().starts_with(&part(&finding.part).to_lowercase())
}

/// A text with what stands between backticks as code.
pub fn worded(text: &str) -> String {
    let pieces: Vec<&str> = text.split('`').collect();
    let closed = pieces.len() - 1 + pieces.len() % 2;
    let piece = |(i, piece): (usize, &&str)| match i {
        i if i % 2 == 1 && i < closed => format!("<code>{}</code>", escaped(piece)),
        i if i % 2 == 1 => format!("`{}", escaped(piece)),
        _ => escaped(piece),
    };
    pieces.iter().enumerate().map(piece).collect()
}

/// Worst first; findings of one rule and grade whose words are the same but for the part's name together.
fn alike(findings: &[Finding]) -> Vec<Vec<&Finding>> {
    let mut sorted: Vec<&Finding> = findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.grade));
    let said = |f: &Finding| (f.grade, f.rule.clone(), without_name(f, &f.what), without_name(f, &f.why), without_name(f, &f.mend));
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in sorted {
        match groups.iter_mut().find(|group| said(group[0]) == said(finding)) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups
}

/// A text of a finding without the name of the finding's part.
fn without_name(finding: &Finding, text: &str) -> String {
    let name = finding.part.rsplit('/').next().unwrap_or_default();
    if name.is_empty() { text.to_owned() } else { text.replace(name, "…") }
}

fn finding(group: &[&Finding], place: &str) -> String {
    let Some(finding) = group.first() else { return String::new() };
    let class = match finding.grade {
        Grade::Fault => "fault",
        Grade::Caution => "caution",
        Grade::Note => "note",
    };
    let more = |word: &str, text: &str| {
        if text.is_empty() { String::new() } else { format!("<p><b>{word}</b> {}</p>\n", worded(&sentence(text))) }
    };
    let parts: Vec<String> = group.iter().map(|finding| part(&finding.part)).collect();
    let same = if group.len() > 1 { format!("<p><b>The same for</b> {}.</p>\n", escaped(&parts[1..].join("; "))) } else { String::new() };
    let name = if names_itself(finding) { String::new() } else { format!("<span class=\"part\">{}</span> ", escaped(&parts[0])) };
    format!(
        "<li class=\"{class}\">\n<p class=\"what\"><span class=\"grade\">{}</span> {name}{}</p>\n{same}{}{}{place}</li>\n",
        finding.grade.word(),
        worded(&sentence(&finding.what)),
        more("Why", &finding.why),
        if is_mend(&finding.mend) { more("Mend", &finding.mend) } else { String::new() }
    )
}

/// Longest text of a cell that is kept on one line.
const SHORT: usize = 14;

/// A table of more rows may go over a page's end.
const LONG: usize = 12;

/// A table with its title as caption and its note under it; nothing when it has no rows. A row with a first cell only heads those
/// after it.
pub fn table(table: &Table) -> String {
    if table.rows.is_empty() {
        return String::new();
    }
    let is_number = |i: usize| table.lean.as_bytes().get(i) == Some(&b'r');
    let class = |i: usize| if is_number(i) { " class=\"number\"" } else { "" };
    let cell_class = |i: usize, text: &str| if !is_number(i) && text.chars().count() <= SHORT { " class=\"short\"" } else { class(i) };
    let head: String =
        table.headings.iter().enumerate().map(|(i, h)| format!("<th scope=\"col\"{}>{}</th>", class(i), escaped(h))).collect();
    let row = |row: &Vec<String>| {
        if let [name, rest @ ..] = row.as_slice()
            && !rest.is_empty()
            && rest.iter().all(String::is_empty)
        {
            return format!("<tr class=\"group\"><th scope=\"rowgroup\" colspan=\"{}\">{}</th></tr>\n", row.len(), escaped(name));
        }
        let cells: String = row.iter().enumerate().map(|(i, c)| format!("<td{}>{}</td>", cell_class(i, c), escaped(c))).collect();
        format!("<tr>{cells}</tr>\n")
    };
    let rows: String = table.rows.iter().map(row).collect();
    let note = if table.note.is_empty() { String::new() } else { format!("<p class=\"small\">{}</p>\n", escaped(&table.note)) };
    let title = escaped(&table.title);
    let long = if table.rows.len() > LONG { " long" } else { "" };
    format!(
        "<div class=\"table{long}\">\n<table>\n<caption>{title}</caption>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n{note}"
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn findings_that_say_the_same_are_told_once() {
        let of = |part: &str, what: &str| Finding::new(Grade::Caution, "r", part, what, "why", "mend");
        let all = [of("runs/D1", "D1 is slow"), of("runs/D2", "D2 is slow"), of("runs/D3", "D3 is slower")];
        let page = findings(&all, |_| String::new());
        assert_eq!((page.matches("<li ").count(), page.matches("<b>The same for</b> run D2.").count()), (2, 1), "{page}");
    }

    #[test]
    fn notes_are_short_and_apart() {
        let all = [
            Finding::new(Grade::Note, "r", "runs/D1", "slow", "it settles", "nothing to mend"),
            Finding::new(Grade::Fault, "r", "p", "w", "y", "m"),
        ];
        assert_eq!(notes(&all), "<ul class=\"brief\">\n<li><b>Run D1.</b> Slow. <span class=\"why\">It settles.</span></li>\n</ul>\n");
        assert_eq!(findings(&all, |_| "map".to_owned()).matches("<li ").count(), 1);
        assert!(findings(&all[..1], |_| String::new()).contains("No fault"));
    }

    #[test]
    fn backticks_are_code() {
        assert_eq!(worded("set `k` < 1"), "set <code>k</code> &lt; 1");
        assert_eq!(worded("a `b` and ` alone"), "a <code>b</code> and ` alone");
    }
}
