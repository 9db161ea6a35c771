//! A drawing of each circuit: numbered runs with sizes, valves, unions and the way of the water.

mod elevation;
mod graph;
mod symbol;

pub use graph::{Graph, Link, Node};

use super::files::{Content, Sheet};
use super::measure::{both, one};
use super::numbering::{Numbered, Numbering, Valve, end_words};
use super::page::{Anchor, Book, Column, Document, Drawing, Ink, Lettering, Paper, Pen, Table, shortened, wrapped};
use super::revision::Stamp;
use crate::layout::{Circuit, CircuitKind, End, Layout};
use symbol::OnRun;

const DRAWINGS: &str = "For the plumber: each circuit with numbered runs, sizes, valves, unions and the way of the water.";

const ROW: f64 = 19.0;
const PIPE: Pen = Pen::new(0.55, Ink::Black);
const SMALL: f64 = 2.45;
const LINE: f64 = 3.1;

/// Room at either side for the names of ends, mm.
const MARGIN: f64 = 31.0;

/// Width of a name below or above its part, mm.
const MIDDLE: f64 = 24.0;

/// Height of a heading, mm.
const HEADING: f64 = 12.0;

/// Height that head, heading, legend and foot of a page take, mm.
const AROUND: f64 = 85.0;

/// One document with a drawing and a table of runs for each circuit, and each drawing as SVG.
pub fn sheets(layout: &Layout, numbering: &Numbering, stamp: &Stamp, paper: Paper, foot: &str) -> Vec<Sheet> {
    let mut books: Vec<Book> = Vec::new();
    let mut sheets = Vec::new();
    for (at, circuit) in layout.circuits.iter().enumerate() {
        let graph = Graph::new(numbering, at);
        let landscape = paper.landscape();
        let paper = Paper { height: landscape.height.max(graph.rows * ROW + AROUND), ..landscape };
        let mut book = Book::new(paper, stamp, &format!("Circuit: {}", circuit.id), foot);
        let drawings = drawings(layout, numbering, circuit, &graph, book.width());
        book.paragraph(&kind_words(circuit.kind));
        drawings.iter().for_each(|drawing| book.drawing(drawing));
        let table = run_table(numbering, at);
        if book.table_height(&table) + HEADING > book.room() {
            book.turn_page();
        }
        book.heading("Runs");
        book.table(&table);
        books.push(book);
        let alone = Content::Outlined(stamped(&drawings, stamp, &circuit.id, foot));
        sheets.push(Sheet::new(format!("circuit {}.svg", at + 1), alone).purpose("One circuit's drawing alone."));
    }
    if !books.is_empty() {
        let pages = Book::finish_together(books);
        sheets.insert(0, Sheet::new("circuits.pdf", Content::Pages(Document::one_page_each("Circuits", pages))).purpose(DRAWINGS));
    }
    sheets
}

/// The scheme, what its symbols mean, and a return loop from the side.
fn drawings(layout: &Layout, numbering: &Numbering, circuit: &Circuit, graph: &Graph, width: f64) -> Vec<Drawing> {
    let scheme = [draw(layout, numbering, graph, width), symbol::legend(width)];
    let side = (circuit.kind == CircuitKind::Return).then(|| elevation::elevation(layout, circuit, width)).flatten();
    scheme.into_iter().chain(side).collect()
}

/// A drawing that goes out alone, with its name, revision, date and cautions.
fn stamped(drawings: &[Drawing], stamp: &Stamp, circuit: &str, foot: &str) -> Drawing {
    let width = drawings.iter().map(|drawing| drawing.width).fold(0.0, f64::max);
    let height: f64 = drawings.iter().map(|drawing| drawing.height).sum();
    let cautions = wrapped(foot, SMALL, false, width - 4.0);
    let mut sheet = Drawing::new(width, height + 12.0 + cautions.len() as f64 * LINE);
    let title = format!("Circuit: {circuit}  ·  revision {}  ·  {}  ·  {}", stamp.revision, stamp.date, stamp.name);
    sheet.text([2.0, 6.0], shortened(&title, 3.4, true, sheet.width - 4.0), Lettering::new(3.4).bold());
    let mut top = 8.0;
    for drawing in drawings {
        sheet.place(drawing, [0.0, top]);
        top += drawing.height;
    }
    for (line, words) in cautions.iter().enumerate() {
        sheet.text([2.0, height + 11.0 + line as f64 * LINE], words, Lettering::new(SMALL));
    }
    sheet
}

fn kind_words(kind: CircuitKind) -> String {
    let words = match kind {
        CircuitKind::Closed => "Closed loop: from the tank back to the tank, no static head.",
        CircuitKind::Return => "Return loop: from the sump up to the tank; back over the overflows.",
    };
    format!("{words} A scheme, not to scale: lengths stand beside the runs. Heights are above the tank's inside floor.")
}

fn draw(layout: &Layout, numbering: &Numbering, graph: &Graph, width: f64) -> Drawing {
    let mut drawing = Drawing::new(width, graph.rows * ROW + 8.0);
    let step = if graph.columns > 1 { (width - 2.0 * MARGIN) / (graph.columns - 1) as f64 } else { 0.0 };
    let x = |column: usize| MARGIN + column as f64 * step;
    let y = |row: f64| 8.0 + (row + 0.35) * ROW;
    for link in &graph.links {
        let (from, to) = (&graph.nodes[link.from], &graph.nodes[link.to]);
        draw_link(&mut drawing, layout, numbering, link, [x(from.column), y(from.row)], [x(to.column), y(to.row)]);
    }
    for (at, node) in graph.nodes.iter().enumerate() {
        let rows: Vec<f64> = graph.links.iter().filter(|link| link.from == at && link.bends_first).map(|link| y(link.row)).collect();
        draw_node(&mut drawing, layout, numbering, node, [x(node.column), y(node.row)], &rows);
        if matches!(node.end, End::Drum(_)) {
            draw_outlet_numbers(&mut drawing, numbering, graph, at, x(node.column), &y);
        }
    }
    drawing
}

fn draw_link(drawing: &mut Drawing, layout: &Layout, numbering: &Numbering, link: &Link, from: [f64; 2], to: [f64; 2]) {
    let level = if link.bends_first { to[1] } else { from[1] };
    drawing.line(&[from, [from[0], level], [to[0], level], to], PIPE);
    let numbered = &numbering.runs[link.run];
    let (start, end) = (from[0] + 8.0, to[0] - 9.0);
    symbol::ring(drawing, [start + 4.0, level], &numbered.tag);
    symbol::arrow(drawing, [end, level]);
    let symbols: Vec<(OnRun, Option<&Valve>)> = symbols(numbering, link.run, numbered);
    let room = (end - 5.0) - (start + 10.0);
    for (at, (symbol, valve)) in symbols.iter().enumerate() {
        let sx = start + 10.0 + room * (at as f64 + 0.5) / symbols.len() as f64;
        symbol.draw(drawing, [sx, level]);
        if let Some(valve) = valve {
            drawing.text([sx, level - 2.2], &valve.tag, Lettering::new(SMALL).bold().anchor(Anchor::Middle));
        }
    }
    let start = from[0] + 0.5 * MIDDLE + 0.5;
    let wide = to[0] - start - if link.bends_first { 7.0 } else { 1.0 };
    let lift = if symbols.iter().any(|(_, valve)| valve.is_some()) { 5.0 } else { 4.4 };
    let head = wrapped(&numbered.run.pipe, SMALL, true, wide);
    for (line, words) in head.iter().rev().enumerate() {
        drawing.text([start, level - lift - line as f64 * LINE], words, Lettering::new(SMALL).bold());
    }
    for (line, words) in wrapped(&run_words(layout, numbered), SMALL, false, wide).iter().enumerate() {
        drawing.text([start, level + 5.9 + line as f64 * LINE], words, Lettering::new(SMALL));
    }
}

fn run_words(layout: &Layout, numbered: &Numbered) -> String {
    let fittings = numbered.run.fittings.iter().filter(|f| OnRun::of(&f.part).is_none());
    let words = fittings.map(|f| if f.count == 1 { f.part.clone() } else { format!("{} x {}", f.count, f.part) });
    std::iter::once(one(1e3 * numbered.run.length.si(), layout.display)).chain(words).collect::<Vec<_>>().join(", ")
}

fn symbols<'n>(numbering: &'n Numbering, run: usize, numbered: &Numbered) -> Vec<(OnRun, Option<&'n Valve>)> {
    let mut valves = numbering.valves.iter().filter(|valve| valve.run == run);
    let parts = numbered.run.fittings.iter().flat_map(|f| std::iter::repeat_n(f.part.as_str(), f.count.min(4) as usize));
    parts.filter_map(|part| OnRun::of(part).map(|symbol| (symbol, if symbol == OnRun::Valve { valves.next() } else { None }))).collect()
}

fn draw_node(drawing: &mut Drawing, layout: &Layout, numbering: &Numbering, node: &Node, at: [f64; 2], rows: &[f64]) {
    match &node.end {
        End::Intake(_) => symbol::intake(drawing, at),
        End::Nozzle(_) => symbol::nozzle(drawing, at),
        End::Pump(_) => symbol::pump(drawing, at),
        End::Sump => symbol::sump(drawing, at),
        End::Joint(_) => symbol::joint(drawing, at),
        End::Drum(_) | End::Outlet(..) => {
            let (top, bottom) = rows.iter().fold((at[1], at[1]), |(top, bottom), y| (top.min(*y), bottom.max(*y)));
            symbol::drum(drawing, at[0], top, bottom);
        }
    }
    let words = format!("{} {}", node_name(&node.end), height_words(layout, numbering, &node.end));
    name_node(drawing, &node.end, words.trim(), at, rows);
}

/// Names of ends stand outside the drawing, of joints above them, of pumps and drum units below.
fn name_node(drawing: &mut Drawing, end: &End, words: &str, [x, y]: [f64; 2], rows: &[f64]) {
    let lines = |most: f64| wrapped(words, SMALL, true, most);
    let (lines, at, anchor) = match end {
        End::Intake(_) => (lines(MARGIN - 5.0), [x - 4.0, y - 0.5], Anchor::End),
        End::Sump => (lines(MARGIN - 7.0), [x - 6.5, y - 0.5], Anchor::End),
        End::Nozzle(_) => (lines(MARGIN - 5.0), [x + 4.5, y - 0.5], Anchor::Start),
        End::Joint(_) if rows.is_empty() => (lines(MIDDLE), [x + 1.5, y - 9.0], Anchor::Start),
        End::Joint(_) => (lines(MIDDLE), [x - 1.5, y - 9.0], Anchor::End),
        _ => (lines(MIDDLE), [x, rows.iter().copied().fold(y, f64::max) + 8.5], Anchor::Middle),
    };
    for (line, words) in lines.iter().enumerate() {
        drawing.text([at[0], at[1] + line as f64 * LINE], words, Lettering::new(SMALL).bold().anchor(anchor));
    }
}

fn node_name(end: &End) -> String {
    match end {
        End::Drum(id) => end_words(&End::Drum(id.clone())).trim_end_matches(", inlet").to_owned(),
        other => end_words(other),
    }
}

/// Hole number and height of an end, where it has any.
fn height_words(layout: &Layout, numbering: &Numbering, end: &End) -> String {
    let size = layout.tank.size();
    let place = match end {
        End::Intake(id) => layout.intakes.iter().find(|p| p.id == *id).map(|p| p.mount.centre(size).z),
        End::Nozzle(id) => layout.nozzles.iter().find(|p| p.id == *id).map(|p| p.mount.centre(size).z),
        End::Sump => layout.sump.as_ref().map(|sump| sump.level.si()),
        _ => None,
    };
    let hole = numbering.holes.iter().find(|hole| hole.serves == end_words(end)).map(|hole| format!("({}) ", hole.tag));
    let height = place.map(|z| format!("height {}", one(1e3 * z, layout.display)));
    format!("{}{}", hole.unwrap_or_default(), height.unwrap_or_default())
}

fn draw_outlet_numbers(drawing: &mut Drawing, numbering: &Numbering, graph: &Graph, node: usize, x: f64, y: &impl Fn(f64) -> f64) {
    for link in graph.links.iter().filter(|link| link.from == node) {
        if let End::Outlet(_, number) = numbering.runs[link.run].run.from {
            drawing.text([x + 5.8, y(link.row) - 1.2], number.to_string(), Lettering::new(SMALL).bold());
        }
    }
}

fn run_table(numbering: &Numbering, circuit: usize) -> Table {
    let columns = vec![
        Column::left("Run", 0.7),
        Column::left("Called", 1.8),
        Column::left("From", 2.6),
        Column::left("To", 2.6),
        Column::left("Pipe", 2.2),
        Column::left("Length", 2.4),
        Column::left("Fittings", 4.4),
        Column::left("Valves as set", 2.4),
    ];
    let rows = numbering.runs_of(circuit).map(|(at, numbered)| {
        let run = numbered.run;
        let fittings: Vec<String> = run.fittings.iter().map(|f| format!("{} x {}", f.count, f.part)).collect();
        let valves = numbering.valves.iter().filter(|v| v.run == at).map(|v| format!("{} {:.0} %", v.tag, 100.0 * v.opening));
        vec![
            numbered.tag.clone(),
            run.id.clone(),
            end_words(&run.from),
            end_words(&run.to),
            run.pipe.clone(),
            both(1e3 * run.length.si()),
            fittings.join(", "),
            valves.collect::<Vec<_>>().join(", "),
        ]
    });
    Table { columns, rows: rows.collect() }
}
