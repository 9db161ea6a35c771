//! Text, tables and drawings that flow down a page and over to the next.

use super::drawing::{Anchor, Drawing, Ink, Lettering, Pen};
use super::text;
use crate::handover::revision::Stamp;

/// A size of paper, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// For people.
    pub name: &'static str,
    /// mm.
    pub width: f64,
    /// mm.
    pub height: f64,
}

impl Paper {
    /// ISO 216.
    pub const A4: Self = Self { name: "A4", width: 210.0, height: 297.0 };
    /// ANSI/ASME Y14.1 size A.
    pub const LETTER: Self = Self { name: "Letter", width: 215.9, height: 279.4 };

    /// The same sheet, long side across.
    pub fn landscape(self) -> Self {
        Self { width: self.height, height: self.width, ..self }
    }
}

/// Which side a column's text keeps to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Align {
    Left,
    Right,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its heading.
    pub title: String,
    /// Its width against the other columns.
    pub share: f64,
    /// Which side its text keeps to.
    pub align: Align,
}

impl Column {
    /// A column of text.
    pub fn left(title: &str, share: f64) -> Self {
        Self { title: title.to_owned(), share, align: Align::Left }
    }

    /// A column of numbers.
    pub fn right(title: &str, share: f64) -> Self {
        Self { title: title.to_owned(), share, align: Align::Right }
    }
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Columns from the left.
    pub columns: Vec<Column>,
    /// One text a column.
    pub rows: Vec<Vec<String>>,
}

const MARGIN: f64 = 13.0;
const BODY: f64 = 3.1;
const LINE: f64 = 1.36;
const CELL_GAP: f64 = 2.0;

/// Pages in the making.
#[derive(Debug)]
pub struct Book<'a> {
    paper: Paper,
    stamp: &'a Stamp,
    title: String,
    /// Said at the foot of every page.
    foot: &'a str,
    pages: Vec<Drawing>,
    y: f64,
}

impl<'a> Book<'a> {
    /// An empty book; `foot` is said at the foot of every page.
    pub fn new(paper: Paper, stamp: &'a Stamp, title: &str, foot: &'a str) -> Self {
        let mut book = Self { paper, stamp, title: title.to_owned(), foot, pages: Vec::new(), y: 0.0 };
        book.turn_page();
        book
    }

    /// Width that text can use, mm.
    pub fn width(&self) -> f64 {
        self.paper.width - 2.0 * MARGIN
    }

    /// Height left on the page, mm.
    pub fn room(&self) -> f64 {
        self.lowest() - self.y
    }

    fn lowest(&self) -> f64 {
        self.paper.height - 8.0 - self.foot_lines().len() as f64 * FOOT * LINE
    }

    fn foot_lines(&self) -> Vec<String> {
        text::wrapped(self.foot, FOOT, false, self.width())
    }

    fn page(&mut self) -> &mut Drawing {
        self.pages.last_mut().expect("a book has a page")
    }

    /// Goes on at the head of the next page.
    pub fn turn_page(&mut self) {
        let mut page = Drawing::new(self.paper.width, self.paper.height);
        self.y = head(&mut page, self.stamp, &self.title);
        self.pages.push(page);
    }

    /// Goes on overleaf unless so much height is left.
    pub fn keep_together(&mut self, height: f64) {
        if self.room() < height {
            self.turn_page();
        }
    }

    /// A heading, kept with what follows.
    pub fn heading(&mut self, words: &str) {
        self.keep_together(28.0);
        self.y += 2.5;
        self.lines(words, 4.2, true, Ink::Black, MARGIN);
        self.y += 0.8;
    }

    /// A paragraph.
    pub fn paragraph(&mut self, words: &str) {
        self.lines(words, BODY, false, Ink::Black, MARGIN);
        self.y += 1.2;
    }

    /// One point of a list, behind a box to tick.
    pub fn check_box(&mut self, words: &str) {
        let lines = text::wrapped(words, BODY, false, self.width() - 6.0).len() as f64;
        self.keep_together(lines * BODY * LINE);
        let top = self.y;
        self.page().rectangle([MARGIN, top + 0.6], [3.2, 3.2], Pen::new(0.25, Ink::Black));
        self.lines(words, BODY, false, Ink::Black, MARGIN + 6.0);
        self.y += 1.4;
    }

    /// A warning in a frame, opened by the word itself.
    pub fn warning(&mut self, words: &str) {
        let words = format!("WARNING  {words}");
        let lines = text::wrapped(&words, BODY, true, self.width() - 6.0);
        let height = lines.len() as f64 * BODY * LINE + 3.0;
        self.keep_together(height + 2.0);
        let (top, width) = (self.y, self.width());
        self.page().rectangle([MARGIN, top], [width, height], Pen::new(0.6, Ink::Red));
        self.y += 1.2;
        for line in lines {
            self.y += BODY * LINE;
            let at = [MARGIN + 3.0, self.y - 0.6];
            self.page().text(at, line, Lettering::new(BODY).bold().ink(Ink::Red));
        }
        self.y = top + height + 2.0;
    }

    fn lines(&mut self, words: &str, size: f64, bold: bool, ink: Ink, left: f64) {
        let most = self.paper.width - MARGIN - left;
        for line in text::wrapped(words, size, bold, most) {
            self.keep_together(size * LINE);
            self.y += size * LINE;
            let at = [left, self.y - 0.25 * size];
            let lettering = if bold { Lettering::new(size).bold() } else { Lettering::new(size) };
            self.page().text(at, line, lettering.ink(ink));
        }
    }

    /// A drawing, in the middle.
    pub fn drawing(&mut self, drawing: &Drawing) {
        self.keep_together(drawing.height);
        let at = [(self.paper.width - drawing.width) / 2.0, self.y];
        self.page().place(drawing, at);
        self.y += drawing.height + 2.0;
    }

    /// A table; its headings are said again on every page it goes over to. One without rows is told, not drawn.
    pub fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            return self.paragraph("None in this layout.");
        }
        let (widths, titles) = (widths(table, self.width()), titles(table));
        self.keep_together(self.row_height(&titles, &widths, true) + 12.0);
        self.row(table, &titles, &widths, true);
        for row in &table.rows {
            if self.room() < self.row_height(row, &widths, false) {
                self.turn_page();
                self.row(table, &titles, &widths, true);
            }
            self.row(table, row, &widths, false);
        }
        self.y += 2.5;
    }

    /// Height of a table on one page, mm.
    pub fn table_height(&self, table: &Table) -> f64 {
        let widths = widths(table, self.width());
        let rows: f64 = table.rows.iter().map(|row| self.row_height(row, &widths, false)).sum();
        self.row_height(&titles(table), &widths, true) + rows + 2.5
    }

    fn row_height(&self, row: &[String], widths: &[f64], bold: bool) -> f64 {
        let lines = row.iter().zip(widths).map(|(cell, w)| text::wrapped(cell, SMALL, bold, w - CELL_GAP).len()).max().unwrap_or(1);
        lines as f64 * SMALL * LINE + 1.4
    }

    fn row(&mut self, table: &Table, row: &[String], widths: &[f64], is_head: bool) {
        let height = self.row_height(row, widths, is_head);
        let (top, width) = (self.y, self.width());
        let page = self.page();
        if is_head {
            page.panel([MARGIN, top], [width, height], Ink::Pale);
        }
        page.line(&[[MARGIN, top + height], [MARGIN + width, top + height]], Pen::new(0.12, Ink::Grey));
        let mut left = MARGIN;
        for ((cell, w), column) in row.iter().zip(widths).zip(&table.columns) {
            write_cell(page, [left, top], *w, cell, column.align, is_head);
            left += w;
        }
        self.y += height;
    }

    /// The pages, each with its number and foot.
    pub fn finish(self) -> Vec<Drawing> {
        self.finish_before(0)
    }

    /// The pages, numbered with so many more that come after them in the document.
    pub fn finish_before(self, more: usize) -> Vec<Drawing> {
        let count = self.pages.len() + more;
        self.numbered(0, count)
    }

    /// The pages of several books that go into one document, numbered through.
    pub fn finish_together(books: Vec<Self>) -> Vec<Drawing> {
        let count = books.iter().map(|book| book.pages.len()).sum();
        let mut pages = Vec::new();
        for book in books {
            pages.extend(book.numbered(pages.len(), count));
        }
        pages
    }

    fn numbered(mut self, before: usize, count: usize) -> Vec<Drawing> {
        let (foot, width) = (self.foot_lines(), self.paper.width);
        let top = self.lowest() + 1.5;
        for (at, page) in self.pages.iter_mut().enumerate() {
            page.text([width - MARGIN, 8.6], format!("page {} of {count}", before + at + 1), Lettering::new(SMALL).anchor(Anchor::End));
            page.line(&[[MARGIN, top], [width - MARGIN, top]], Pen::new(0.2, Ink::Grey));
            for (line, words) in foot.iter().enumerate() {
                page.text([MARGIN, top + (line as f64 + 1.0) * FOOT * LINE], words, Lettering::new(FOOT));
            }
        }
        self.pages
    }
}

const SMALL: f64 = 2.75;
const FOOT: f64 = 2.15;

fn titles(table: &Table) -> Vec<String> {
    table.columns.iter().map(|column| column.title.clone()).collect()
}

/// Widths of columns by their shares; a column whose longest word would be broken takes room from those that have some to spare, up to half as
/// much again for the words of its rows, all that it needs for those of its heading.
fn widths(table: &Table, width: f64) -> Vec<f64> {
    let total: f64 = table.columns.iter().map(|column| column.share).sum();
    let shares: Vec<f64> = table.columns.iter().map(|column| column.share / total * width).collect();
    let needed = |(at, share): (usize, &f64)| {
        let [heading, rows] = longest_words(table, at);
        heading.min(0.4 * width).max(rows.min(1.5 * share))
    };
    let least: Vec<f64> = shares.iter().enumerate().map(needed).collect();
    let sum = |of: fn(f64, f64) -> f64| shares.iter().zip(&least).map(|(share, least)| of(*share, *least).max(0.0)).sum::<f64>();
    let (lacking, spare) = (sum(|share, least| least - share), sum(|share, least| share - least));
    let moved = lacking.min(spare);
    let part = |amount: f64, of: f64| if of > 0.0 { amount.max(0.0) * moved / of } else { 0.0 };
    shares.iter().zip(&least).map(|(share, least)| share + part(least - share, lacking) - part(share - least, spare)).collect()
}

/// Widths that a column needs for the longest word of its heading and of its rows, mm.
fn longest_words(table: &Table, at: usize) -> [f64; 2] {
    let longest = |text: &str, bold| text::words(text).iter().map(|word| text::width(word, SMALL, bold)).fold(0.0, f64::max);
    let cells = table.rows.iter().filter_map(|row| row.get(at)).map(|cell| longest(cell, false)).fold(0.0, f64::max);
    [longest(&table.columns[at].title, true), cells].map(|width| width + CELL_GAP + 0.1)
}

fn write_cell(page: &mut Drawing, at: [f64; 2], width: f64, cell: &str, align: Align, is_head: bool) {
    for (line, words) in text::wrapped(cell, SMALL, is_head, width - CELL_GAP).into_iter().enumerate() {
        let y = at[1] + 0.7 + (line as f64 + 0.78) * SMALL * LINE;
        let lettering = if is_head { Lettering::new(SMALL).bold() } else { Lettering::new(SMALL) };
        match align {
            Align::Left => page.text([at[0] + CELL_GAP / 2.0, y], words, lettering),
            Align::Right => page.text([at[0] + width - CELL_GAP / 2.0, y], words, lettering.anchor(Anchor::End)),
        }
    }
}

/// Title, name, revision and date at the head of a page; returns where its body begins.
fn head(page: &mut Drawing, stamp: &Stamp, title: &str) -> f64 {
    let width = page.width - 2.0 * MARGIN;
    // Long titles are written smaller, long names on two lines: only what is longer still is cut.
    let size = (5.2 * width / text::width(title, 5.2, true).max(1e-9)).clamp(2.9, 5.2);
    page.text([MARGIN, 15.0], text::shortened(title, size, true, width), Lettering::new(size).bold());
    let mut name = text::wrapped(&stamp.name, SMALL, true, width - 95.0);
    if name.len() > 2 {
        let rest = name.split_off(1).join(" ");
        name.push(text::shortened(&rest, SMALL, true, width - 95.0));
    }
    for (line, words) in name.iter().rev().enumerate() {
        page.text([MARGIN, 8.6 - line as f64 * SMALL * 1.3], words, Lettering::new(SMALL).bold());
    }
    let mark = format!("revision {}  ·  {}", stamp.revision, stamp.date);
    page.text([page.width - MARGIN - 27.0, 8.6], mark, Lettering::new(SMALL).anchor(Anchor::End));
    page.line(&[[MARGIN, 17.2], [page.width - MARGIN, 17.2]], Pen::new(0.5, Ink::Black));
    19.0
}

/// Text and tables on one strip as tall as they need, without head and foot.
pub fn strip(width: f64, stamp: &Stamp, fill: impl FnOnce(&mut Book)) -> Drawing {
    let paper = Paper { name: "strip", width, height: f64::MAX };
    let mut book = Book { paper, stamp, title: String::new(), foot: "", pages: vec![Drawing::new(width, 0.0)], y: 0.0 };
    fill(&mut book);
    let height = book.y;
    let mut drawing = book.pages.swap_remove(0);
    drawing.height = height;
    drawing
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::handover::page::drawing::Mark;

    #[test]
    fn long_tables_go_over_with_their_headings() {
        let stamp = Stamp { name: "n".repeat(80), revision: "0".into(), date: "2026-01-01".into() };
        let mut book = Book::new(Paper::A4, &stamp, "Title", "Mind your step.");
        let rows = (0..200).map(|i| vec![format!("row {i}"), "x".repeat(90)]).collect();
        book.table(&Table { columns: vec![Column::left("Name", 1.0), Column::right("Text", 1.0)], rows });
        let pages = book.finish();
        assert!(pages.len() > 3);
        for page in &pages {
            assert_eq!(page.texts().filter(|text| *text == "Name").count(), 1);
            assert!(page.texts().any(|text| text == "Mind your step."));
            let inside =
                |mark: &Mark| mark.bounds().iter().all(|b| b[0] >= 0.0 && b[1] >= 0.0 && b[2] <= page.width && b[3] <= page.height);
            assert!(page.items.iter().all(|item| inside(&item.mark)));
        }
    }
    #[test]
    fn words_are_not_broken_where_there_is_room() {
        let columns = vec![Column::left("Run", 0.1), Column::left("Text", 5.0), Column::right("Pieces", 0.1)];
        let table = Table { columns, rows: vec![vec!["P10".into(), "a few words".into(), "6 11/16 in".into()]] };
        let widths = widths(&table, 180.0);
        assert!((widths.iter().sum::<f64>() - 180.0).abs() < 1e-9);
        for at in 0..3 {
            assert!(widths[at] >= longest_words(&table, at)[0] - 1e-9, "{widths:?}");
        }
        let crowded = Table { columns: vec![Column::left(&"x".repeat(200), 1.0), Column::left(&"y".repeat(200), 3.0)], rows: Vec::new() };
        assert!(super::widths(&crowded, 100.0).iter().all(|w| *w >= 25.0));
    }
}
