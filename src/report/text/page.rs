//! A page of plain text of a fixed width: headings, wrapped paragraphs, tables.

use crate::report::tables::Table;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, TableStyle, Width};

const STYLE: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));

/// Between columns.
const PADDING: u16 = 2;

/// Text being written, top to bottom.
#[derive(Debug)]
pub struct Page {
    out: String,
    width: usize,
}

impl Page {
    /// An empty page, at least 40 columns wide.
    pub fn new(width: usize) -> Self {
        Self { out: String::new(), width: width.max(40) }
    }

    /// What was written.
    pub fn finish(self) -> String {
        self.out
    }

    /// Columns on a line.
    pub fn width(&self) -> usize {
        self.width
    }

    /// The title with a rule under it.
    pub fn title(&mut self, text: &str) {
        self.paragraph("", text);
        self.line(&"═".repeat(self.width));
    }

    /// A section heading, a blank line before it.
    pub fn heading(&mut self, text: &str) {
        self.line("");
        self.line(&text.to_uppercase());
        self.line(&"─".repeat(text.chars().count().min(self.width)));
    }

    /// A line as it is.
    pub fn line(&mut self, text: &str) {
        self.out.push_str(text.trim_end());
        self.out.push('\n');
    }

    /// Wrapped text; the first line starts with `lead`, the others line up behind it.
    pub fn paragraph(&mut self, lead: &str, text: &str) {
        let indent = lead.chars().count();
        let lines = wrapped(text, self.width.saturating_sub(indent).max(20));
        for (i, line) in lines.iter().enumerate() {
            let start = if i == 0 { lead.to_owned() } else { " ".repeat(indent) };
            self.line(&format!("{start}{line}"));
        }
    }

    /// Least widths of the columns of numbers, which are not to be broken; none when the words would have no room beside them.
    fn number_widths(&self, table: &Table) -> Option<Vec<Option<u16>>> {
        const WORDS: u16 = 14;
        let widest =
            |column: usize| table.rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0);
        let width = |(column, letter): (usize, char)| (letter == 'r').then(|| widest(column) as u16 + PADDING);
        let widths: Vec<Option<u16>> = table.lean.chars().enumerate().map(width).collect();
        let wanted: u16 = widths.iter().map(|width| width.unwrap_or(WORDS)).sum();
        (usize::from(wanted) <= self.width).then_some(widths)
    }

    /// A table that wraps its cells to the page's width, with its note under it; nothing when it has no rows.
    pub fn table(&mut self, table: &Table) {
        if table.rows.is_empty() {
            return;
        }
        let mut drawn = comfy_table::Table::new();
        drawn
            .load_style(STYLE)
            .force_no_tty()
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width(u16::try_from(self.width).unwrap_or(u16::MAX))
            .set_header(&table.headings)
            .add_rows(&table.rows);
        let numbers = self.number_widths(table);
        for (index, (column, letter)) in drawn.column_iter_mut().zip(table.lean.chars()).enumerate() {
            column.set_padding((0, PADDING));
            if let Some(width) = numbers.as_ref().and_then(|widths| widths[index]) {
                column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(width)));
            }
            column.set_cell_alignment(if letter == 'r' { CellAlignment::Right } else { CellAlignment::Left });
        }
        drawn.lines().for_each(|line| self.line(&line));
        if !table.note.is_empty() {
            self.paragraph("", &table.note);
        }
    }
}

/// Break at spaces so that no line is longer than `width`, unless a single word is: that one is cut.
pub fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace().flat_map(|word| pieces(word, width)) {
        let last = lines.last_mut().expect("there is always a line");
        let (have, need) = (last.chars().count(), word.chars().count());
        if have == 0 {
            *last = word;
        } else if have + 1 + need <= width {
            last.push(' ');
            last.push_str(&word);
        } else {
            lines.push(word);
        }
    }
    lines
}

fn pieces(word: &str, width: usize) -> Vec<String> {
    word.chars().collect::<Vec<_>>().chunks(width.max(1)).map(|chunk| chunk.iter().collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wraps_and_cuts() {
        assert_eq!(wrapped("a bb ccc dddd", 6), ["a bb", "ccc", "dddd"]);
        assert_eq!(wrapped("abcdefgh", 5), ["abcde", "fgh"]);
        assert_eq!(wrapped("", 5), [""]);
    }

    #[test]
    fn tables_keep_to_the_width() {
        let mut page = Page::new(60);
        let long = "a very long name that somebody gave to a run of pipe behind the tank".to_owned();
        let headings = vec!["Run".into(), "Flow, L/h".into()];
        page.table(&Table { headings, lean: "lr", rows: vec![vec![long, "1200".into()]], ..Table::default() });
        let text = page.finish();
        assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
        assert!(text.contains("1200"));
    }

    #[test]
    fn numbers_are_not_broken() {
        let mut page = Page::new(60);
        let row = |name: &str| vec![name.to_owned(), "3.94–15.75".into(), "12 345.6".into(), "100 %".into(), "too fast".into()];
        let headings = ["Name of a colony", "Wanted by it", "Mean", "Share of the time", "Verdict"].map(String::from).to_vec();
        page.table(&Table {
            headings,
            lean: "lrrrl",
            rows: vec![row("branching stand on the high shelf by the window")],
            ..Table::default()
        });
        let text = page.finish();
        assert!(text.contains("3.94–15.75") && text.contains("12 345.6") && text.contains("100 %"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
    }
}
