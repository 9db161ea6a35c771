//! For the shop counter and the bench: cut list, stock to buy, fittings, as sheets and as CSV.

mod cut;
mod joint;
mod part;
mod socket;
mod stock;

pub use cut::{CutList, KERF, RunCut, Size, cut_list, usual_stock};
pub use part::{Item, divides, shopping};
pub use socket::{Socket, socket};
pub use stock::{Stick, fewest, pack};

use super::files::{Content, Sheet, csv};
use super::measure::{both, inches, mm};
use super::numbering::{Numbering, end_words};
use super::page::{Book, Column, Document, Paper, Table};
use super::revision::Stamp;
use crate::catalog::Catalog;
use crate::layout::Layout;

/// The shop's sheets.
pub fn sheets(layout: &Layout, catalog: &Catalog, numbering: &Numbering, stamp: &Stamp, paper: Paper, foot: &str) -> Vec<Sheet> {
    let cuts = cut_list(numbering, catalog, usual_stock(layout.display));
    let couplings: Vec<(usize, usize)> = cuts.runs.iter().map(|cut| (cut.run, cut.couplings)).collect();
    let items = shopping(layout, numbering, &couplings);
    let mut book = Book::new(paper, stamp, "Cut list and fittings", foot);
    write_to_buy(&mut book, &cuts, numbering);
    write_fittings(&mut book, &items);
    write_cuts(&mut book, &cuts, numbering);
    write_sticks(&mut book, &cuts, numbering);
    vec![
        Sheet::new("cut list and fittings.pdf", Content::Pages(Document::one_page_each("Cut list and fittings", book.finish())))
            .purpose("For the shop counter and the saw: pipe to buy, fittings to count, pieces to cut."),
        Sheet::ready("cut list.csv", cut_csv(&cuts, numbering)).purpose("The pieces as a table."),
        Sheet::ready("fittings.csv", fittings_csv(&items)).purpose("The fittings as a table."),
    ]
}

fn write_to_buy(book: &mut Book, cuts: &CutList, numbering: &Numbering) {
    book.heading("Pipe to buy");
    let columns = vec![
        Column::left("Pipe", 3.0),
        Column::right("Stock lengths", 1.6),
        Column::right("of length", 2.0),
        Column::right("Pieces", 1.0),
        Column::right("Pipe in them", 2.4),
        Column::right("Left over", 2.4),
        Column::right("Fewest possible", 1.8),
    ];
    let rows = cuts.sizes.iter().map(|size| {
        let total: f64 = size.pieces.iter().map(|(_, length)| length).sum();
        let left = size.sticks.len() as f64 * cuts.stock - total;
        vec![
            size.pipe.clone(),
            size.sticks.len().to_string(),
            long(cuts.stock),
            size.pieces.len().to_string(),
            long(total),
            long(left),
            size.fewest.to_string(),
        ]
    });
    book.table(&Table { columns, rows: rows.collect() });
    book.paragraph(
        "Pipe lengths in the layout are taken as what is seen between fittings; every piece gets one socket depth more at either end, and every cut costs 3 mm (1/8 in) of saw. \
         How a run is divided between its fittings is not in the layout: equal pieces are assumed. Measure on site before you cut; buy one length more of each size than the list says.",
    );
    if !cuts.left_out.is_empty() {
        book.warning(&format!("Not in this list, for their length or pipe size can't be used: {}", cuts.left_out.join(", ")));
    }
    if numbering.runs.is_empty() {
        book.paragraph("No pipe runs are in the layout.");
    }
}

fn write_fittings(book: &mut Book, items: &[Item]) {
    book.heading("Fittings and equipment");
    let columns = vec![
        Column::right("Count", 1.0),
        Column::left("Part", 2.6),
        Column::left("Size", 4.0),
        Column::left("Where", 4.0),
        Column::left("Mind", 3.4),
        Column::left("Got", 0.7),
    ];
    let rows = items.iter().map(|item| {
        vec![item.count.to_string(), item.part.clone(), item.size.clone(), item.places.join(", "), item.note.to_owned(), String::new()]
    });
    book.table(&Table { columns, rows: rows.collect() });
    book.paragraph(
        "Tees, wyes, crosses and manifolds are counted from the joints where runs meet, called what the layout calls them; bulkheads from the holes; entries for bulkhead, tee and wye losses on runs are not counted again. \
         Drains of overflow boxes, pipe clips, primer, cement and thread seal are not in this list. Primer and cement must suit the pipe's material and size; let joints cure fully before the first start.",
    );
}

fn write_cuts(book: &mut Book, cuts: &CutList, numbering: &Numbering) {
    book.heading("Cut list, run by run");
    let columns = vec![
        Column::left("Run", 0.8),
        Column::left("Called", 2.2),
        Column::left("From", 3.0),
        Column::left("To", 3.0),
        Column::left("Pipe", 3.2),
        Column::right("Seen, mm", 1.5),
        Column::right("Seen, in", 1.6),
        Column::right("Pieces", 1.2),
        Column::right("Cut, mm", 1.5),
        Column::right("Cut, in", 1.5),
        Column::left("On site", 1.4),
    ];
    let rows = cuts.runs.iter().map(|cut| {
        let numbered = &numbering.runs[cut.run];
        let run = numbered.run;
        vec![
            numbered.tag.clone(),
            run.id.clone(),
            end_words(&run.from),
            end_words(&run.to),
            run.pipe.clone(),
            mm(1e3 * cut.visible),
            inches(1e3 * cut.visible),
            cut.pieces.to_string(),
            mm(1e3 * cut.each),
            inches(1e3 * cut.each),
            String::new(),
        ]
    });
    book.table(&Table { columns, rows: rows.collect() });
    book.heading("Socket depths used");
    book.paragraph(
        "These depths were written down FROM MEMORY of the standards named, not looked up in them, and makers' sockets differ. Measure the socket of the fitting in hand; \
         where it differs, every cut length changes by twice the difference.",
    );
    let mut seen: Vec<Vec<String>> = Vec::new();
    for cut in &cuts.runs {
        let row = vec![numbering.runs[cut.run].run.pipe.clone(), both(1e3 * cut.socket), cut.socket_source.to_owned()];
        if !seen.contains(&row) {
            seen.push(row);
        }
    }
    let columns = vec![Column::left("Pipe", 3.0), Column::left("Depth", 3.0), Column::left("Source", 6.0)];
    book.table(&Table { columns, rows: seen });
}

fn write_sticks(book: &mut Book, cuts: &CutList, numbering: &Numbering) {
    book.heading("What comes out of which length");
    let columns =
        vec![Column::left("Pipe", 2.4), Column::right("Length", 0.9), Column::left("Cut from it", 8.0), Column::right("Rest", 2.2)];
    let mut rows = Vec::new();
    for size in &cuts.sizes {
        for (at, stick) in size.sticks.iter().enumerate() {
            rows.push(vec![
                size.pipe.clone(),
                (at + 1).to_string(),
                pieces_words(size, stick, numbering),
                both(1e3 * (cuts.stock - stick.used).max(0.0)),
            ]);
        }
    }
    book.table(&Table { columns, rows });
}

/// "5 x P4 425.4 mm (16 3/4 in);  2 x P1 ...": all pieces of a run are of one length.
fn pieces_words(size: &Size, stick: &Stick, numbering: &Numbering) -> String {
    let mut counted: Vec<(usize, f64, usize)> = Vec::new();
    for (run, length) in stick.pieces.iter().map(|piece| size.pieces[*piece]) {
        match counted.iter_mut().find(|entry| entry.0 == run) {
            Some(entry) => entry.2 += 1,
            None => counted.push((run, length, 1)),
        }
    }
    let words = counted.iter().map(|(run, length, count)| format!("{count} x {} {}", numbering.runs[*run].tag, both(1e3 * length)));
    words.collect::<Vec<_>>().join(";  ")
}

/// Metres and feet, for lengths at the counter.
fn long(length: f64) -> String {
    format!("{length:.2} m ({:.1} ft)", length / 0.3048)
}

fn cut_csv(cuts: &CutList, numbering: &Numbering) -> String {
    let head = [
        "run",
        "called",
        "from",
        "to",
        "pipe",
        "seen length mm",
        "pieces",
        "cut each mm",
        "cut each in",
        "socket depth mm",
        "socket depth source",
        "couplings added",
    ];
    let rows: Vec<Vec<String>> = cuts
        .runs
        .iter()
        .map(|cut| {
            let numbered = &numbering.runs[cut.run];
            vec![
                numbered.tag.clone(),
                numbered.run.id.clone(),
                end_words(&numbered.run.from),
                end_words(&numbered.run.to),
                numbered.run.pipe.clone(),
                mm(1e3 * cut.visible),
                cut.pieces.to_string(),
                mm(1e3 * cut.each),
                inches(1e3 * cut.each),
                mm(1e3 * cut.socket),
                cut.socket_source.to_owned(),
                cut.couplings.to_string(),
            ]
        })
        .collect();
    csv(&head, &rows)
}

fn fittings_csv(items: &[Item]) -> String {
    let rows: Vec<Vec<String>> = items
        .iter()
        .map(|item| vec![item.count.to_string(), item.part.clone(), item.size.clone(), item.places.join("; "), item.note.to_owned()])
        .collect();
    csv(&["count", "part", "size", "where", "mind"], &rows)
}
