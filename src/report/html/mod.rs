//! One self-contained HTML file: read in any browser without a network, printed on A4 or Letter.

mod job;
mod locator;
pub(super) mod parts;

use super::cautions::{CAUTIONS, MODEL_LIMITS};
use super::check_record::Plumbing;
use super::pictures::{Drawn, escaped};
use super::shown::part;
use super::{tables, verdict};
use crate::finding::Finding;
use crate::layout::Layout;
use crate::study::record::Record;
use parts::{figure, findings, list, notes, table};

const STYLE: &str = include_str!("style.css");

/// The report of a study. Notes and units come from the layout.
pub fn page(record: &Record, layout: &Layout, pictures: &[Drawn]) -> String {
    let sections = [
        head(record, layout),
        section("findings", "What to mend and to look at, worst first", &told(record, layout)),
        section("maps", "Where the water moves", &maps(pictures)),
        section("water", "What the water does", &water(record, layout)),
        section("sequence", "Sequence", &charts(pictures)),
        section("plumbing", "Plumbing", &plumbing(record, layout)),
        section("method", "How sure, and what the model leaves out", &method(record, layout)),
        section("notes", "Notes", &notes(&record.findings)),
        section("cautions", "Cautions", &cautions()),
    ];
    document(&format!("{}: circulation study", record.layout), &sections.concat())
}

/// A whole page around its body.
pub(super) fn document(title: &str, body: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n{body}</main>\n</body>\n</html>\n",
        escaped(title)
    )
}

/// A section with its heading; nothing when its body is empty.
pub(super) fn section(id: &str, heading: &str, body: &str) -> String {
    if body.is_empty() { String::new() } else { format!("<section id=\"{id}\">\n<h2>{heading}</h2>\n{body}</section>\n") }
}

fn head(record: &Record, layout: &Layout) -> String {
    let notes = if layout.notes.trim().is_empty() { String::new() } else { format!("<p class=\"notes\">{}</p>\n", escaped(&layout.notes)) };
    format!(
        "<header>\n<p class=\"kind\">Circulation study</p>\n<h1>{}</h1>\n{notes}</header>\n<section id=\"verdict\" class=\"verdict\">\n\
         <h2>Verdict</h2>\n<p class=\"sentence\">{}</p>\n<p>{}</p>\n</section>\n{}",
        escaped(&record.layout),
        escaped(&verdict::sentence(&record.findings)),
        escaped(&verdict::paragraph(record, layout.display)),
        table(&job::table(record, layout)) + CONTENTS
    )
}

/// Faults and cautions, with small maps where they have a place.
fn told(record: &Record, layout: &Layout) -> String {
    let place = |finding: &Finding| {
        finding
            .place
            .or_else(|| placed(layout, &finding.part))
            .map_or_else(String::new, |at| locator::map(layout, at, &part(&finding.part)))
    };
    let list = findings(&record.findings, place);
    if list.contains("#ground-") { locator::ground(layout) + &list } else { list }
}

/// Middle of a colony or zone, m.
fn placed(layout: &Layout, part: &str) -> Option<[f64; 3]> {
    let (list, id) = part.split_once('/')?;
    let colony = || layout.colonies.iter().find(|colony| colony.id == id).map(|colony| colony.at.metres());
    let zone = || layout.zones.iter().find(|zone| zone.id == id).map(|zone| (zone.from.metres() + zone.to.metres()) / 2.0);
    let at = match list {
        "colonies" => colony(),
        "zones" => zone(),
        _ => None,
    };
    at.map(|at| at.to_array())
}

const CONTENTS: &str = "<nav aria-label=\"Contents\"><a href=\"#findings\">Findings</a> <a href=\"#maps\">Maps</a> <a href=\"#water\">Water</a> \
    <a href=\"#plumbing\">Plumbing</a> <a href=\"#method\">How sure</a> <a href=\"#notes\">Notes</a> <a href=\"#cautions\">Cautions</a></nav>\n";

fn is_chart(drawn: &&Drawn) -> bool {
    matches!(drawn.picture.name.as_str(), "sequence" | "outlets")
}

fn maps(pictures: &[Drawn]) -> String {
    pictures.iter().filter(|p| !is_chart(p)).map(figure).collect()
}

fn charts(pictures: &[Drawn]) -> String {
    pictures.iter().filter(is_chart).map(figure).collect()
}

fn water(record: &Record, layout: &Layout) -> String {
    let display = layout.display;
    let tables = std::iter::once(tables::dead_spots(record, display)).chain(tables::water(record, display));
    let none = if record.dead_spots.is_empty() { "<p>No dead spot was found.</p>\n" } else { "" };
    none.to_owned() + &tables.map(|each| table(&each)).collect::<String>()
}

fn plumbing(record: &Record, layout: &Layout) -> String {
    let tables = tables::plumbing(&Plumbing::from(record), layout.display);
    let lead = "<p>Two numbers in a cell are the least and the most over one joint cycle; one number does not change.</p>\n";
    if tables.is_empty() { String::new() } else { lead.to_owned() + &tables.iter().map(table).collect::<String>() }
}

fn method(record: &Record, layout: &Layout) -> String {
    let method = "<p>The plumbing was solved as a network for every position of the drum units. The water in the tank was computed in three \
        dimensions over time, driven by those flows, with the rock as solid; the numbers are averages over the time given here.</p>\n";
    let sure = verdict::certainty(record, layout.display);
    let left_out = list(MODEL_LIMITS.iter().map(|text| escaped(text)));
    let tables: String = tables::trust(record, layout.display).iter().map(table).collect();
    method.to_owned() + &list(sure.iter().map(|text| escaped(text))) + &tables + "<h3>What the model leaves out</h3>\n" + &left_out
}

fn cautions() -> String {
    list(CAUTIONS.iter().map(|(subject, text)| format!("<strong>{subject}.</strong> {}", escaped(text))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{pictures, sample};

    /// `SLACKWATER_PICTURES=folder` keeps the page for looking at.
    #[test]
    fn the_page_stands_alone() {
        let mut layout = sample::peninsula();
        layout.name = "Quay <no. 4> & sons".into();
        let study = sample::study(&layout, 0.05);
        let page = page(&study.record, &layout, &pictures::all(&study, &layout).and_then(pictures::drawn).unwrap());
        assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("src=\"/"));
        assert!(page.contains("Quay &lt;no. 4&gt; &amp; sons") && !page.contains("<no. 4>"));
        assert_eq!(page.matches("<img ").count(), page.matches(" alt=\"").count());
        assert_eq!(page.matches("<section").count(), page.matches("</section>").count());
        if let Some(folder) = std::env::var_os("SLACKWATER_PICTURES") {
            std::fs::write(std::path::Path::new(&folder).join("study.html"), page).unwrap();
        }
    }
}
