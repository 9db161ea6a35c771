//! What lies in the folder: every sheet with what it is for, and the numbers that all of them share.

use super::files::{Content, Sheet};
use super::measure::{both, one};
use super::numbering::{Numbering, end_words};
use super::page::{Book, Column, Document, Paper, Table, is_transliterated};
use super::revision::Stamp;
use crate::layout::Layout;

/// The index of these sheets.
pub fn sheet(layout: &Layout, numbering: &Numbering, all: &[Sheet], stamp: &Stamp, paper: Paper, foot: &str) -> Sheet {
    let mut book = Book::new(paper, stamp, "Index of sheets", foot);
    book.paragraph(&format!(
        "All sheets with revision {} belong together. A sheet with another revision is of another design: take it away. Holes, runs and valves carry the same \
         numbers on every sheet and list; nozzles, intakes, pumps and drum units keep the names that the layout gives them.",
        stamp.revision
    ));
    if names(layout).any(is_transliterated) {
        book.paragraph("Some names have letters that no font on this machine can draw. They are written here in Latin letters, by sound; the lists (.csv) keep them as they are.");
    }
    book.heading("Sheets");
    book.table(&sheet_table(all));
    book.heading("Numbers");
    book.table(&hole_table(layout, numbering));
    book.table(&run_table(layout, numbering));
    Sheet::new("index.pdf", Content::Pages(Document::one_page_each("Index of sheets", book.finish())))
        .purpose("What lies in the folder, and the numbers that all sheets share.")
}

fn names(layout: &Layout) -> impl Iterator<Item = &str> {
    let parts = layout.nozzles.iter().map(|n| n.id.as_str()).chain(layout.intakes.iter().map(|i| i.id.as_str()));
    let plumbing = layout.circuits.iter().flat_map(|c| {
        let runs = c.suction.iter().chain(&c.discharge).map(|run| run.id.as_str());
        runs.chain([c.id.as_str()])
    });
    let machines = layout.pumps.iter().map(|p| p.id.as_str()).chain(layout.drums.iter().map(|d| d.id.as_str()));
    [layout.name.as_str()].into_iter().chain(parts).chain(plumbing).chain(machines)
}

fn sheet_table(all: &[Sheet]) -> Table {
    let rows = all.iter().map(|sheet| vec![sheet.name.clone(), sheet.purpose.to_owned()]);
    Table { columns: vec![Column::left("File", 3.4), Column::left("For", 6.0)], rows: rows.collect() }
}

fn hole_table(layout: &Layout, numbering: &Numbering) -> Table {
    let columns = vec![Column::left("Hole", 0.8), Column::left("For", 4.0), Column::left("Panel", 1.5), Column::left("Drill", 3.0)];
    let rows = numbering.holes.iter().map(|hole| {
        let drill = hole.drill.map_or_else(|| "measure the bulkhead in hand".to_owned(), both);
        vec![hole.tag.clone(), hole.serves.clone(), hole.panel.word().to_owned(), drill]
    });
    let none = || vec!["—".to_owned(), format!("{} has no holes", layout.name), String::new(), String::new()];
    let rows: Vec<Vec<String>> = rows.collect();
    Table { columns, rows: if rows.is_empty() { vec![none()] } else { rows } }
}

fn run_table(layout: &Layout, numbering: &Numbering) -> Table {
    let columns = vec![
        Column::left("Run", 0.8),
        Column::left("Called", 1.6),
        Column::left("From", 2.8),
        Column::left("To", 2.8),
        Column::left("Pipe", 2.4),
        Column::right("Length", 1.4),
        Column::left("Valves", 1.2),
    ];
    let rows = numbering.runs.iter().enumerate().map(|(at, numbered)| {
        let run = numbered.run;
        let valves: Vec<&str> = numbering.valves.iter().filter(|valve| valve.run == at).map(|valve| valve.tag.as_str()).collect();
        vec![
            numbered.tag.clone(),
            run.id.clone(),
            end_words(&run.from),
            end_words(&run.to),
            run.pipe.clone(),
            one(1e3 * run.length.si(), layout.display),
            valves.join(", "),
        ]
    });
    Table { columns, rows: rows.collect() }
}
