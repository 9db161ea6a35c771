//! A drawing in millimetres, x to the right and y down the page: made once, written as SVG, and turned into PDF from there.

use super::text::{self, FAMILY};
use std::fmt::Write;

/// A place on the page, mm.
pub type At = [f64; 2];

/// A flat drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width of the page, mm.
    pub width: f64,
    /// Height of the page, mm.
    pub height: f64,
    /// What is on it, in the order of drawing.
    pub items: Vec<Item>,
    /// Layer that new items go to, named in words.
    pub layer: &'static str,
}

/// One thing on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Which layer it is on.
    pub layer: &'static str,
    /// What it is.
    pub mark: Mark,
}

/// Forms of things on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// An open line through points.
    Line(Vec<At>, Pen),
    /// A closed outline.
    Outline(Vec<At>, Pen),
    /// A filled area.
    Area(Vec<At>, Ink),
    /// A circle: centre, radius.
    Circle(At, f64, Pen),
    /// A filled disc: centre, radius.
    Disc(At, f64, Ink),
    /// One line of text: where its anchor lies on the baseline, the text, how it looks.
    Text(At, String, Lettering),
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// mm.
    pub width: f64,
    /// Colour.
    pub ink: Ink,
    /// Broken line.
    pub dashed: bool,
}

impl Pen {
    /// An unbroken line.
    pub const fn new(width: f64, ink: Ink) -> Self {
        Self { width, ink, dashed: false }
    }

    /// The same, broken.
    pub const fn dashed(mut self) -> Self {
        self.dashed = true;
        self
    }
}

/// Colours; all keep their meaning when printed in grey.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// For everything that matters.
    Black,
    /// For help lines.
    Grey,
    /// For shaded rows.
    Pale,
    /// Paper.
    White,
    /// For warnings; always beside a word.
    Red,
}

impl Ink {
    fn code(self) -> &'static str {
        match self {
            Self::Black => "#000000",
            Self::Grey => "#757575",
            Self::Pale => "#ececec",
            Self::White => "#ffffff",
            Self::Red => "#a01010",
        }
    }
}

/// Which point of a line of text lies at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// How text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Height of the letter body, mm.
    pub size: f64,
    /// Heavy.
    pub bold: bool,
    /// Colour.
    pub ink: Ink,
    /// Which point lies at the place.
    pub anchor: Anchor,
    /// Reads upward instead of to the right.
    pub upward: bool,
}

impl Lettering {
    /// Black, regular, from its start.
    pub const fn new(size: f64) -> Self {
        Self { size, bold: false, ink: Ink::Black, anchor: Anchor::Start, upward: false }
    }

    /// The same, heavy.
    pub const fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    /// The same in another colour.
    pub const fn ink(mut self, ink: Ink) -> Self {
        self.ink = ink;
        self
    }

    /// The same, hung differently.
    pub const fn anchor(mut self, anchor: Anchor) -> Self {
        self.anchor = anchor;
        self
    }

    /// The same, reading upward.
    pub const fn upward(mut self) -> Self {
        self.upward = true;
        self
    }
}

/// An upright box on the page: least x, least y, greatest x, greatest y.
pub type Bounds = [f64; 4];

/// Whether two boxes share any point.
pub fn overlap(a: Bounds, b: Bounds) -> bool {
    a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]
}

impl Drawing {
    /// An empty page, mm.
    pub fn new(width: f64, height: f64) -> Self {
        Self { width, height, items: Vec::new(), layer: "sheet" }
    }

    fn add(&mut self, mark: Mark) {
        self.items.push(Item { layer: self.layer, mark });
    }

    /// Draws a line through points.
    pub fn line(&mut self, points: &[At], pen: Pen) {
        self.add(Mark::Line(points.to_vec(), pen));
    }

    /// Draws a closed outline.
    pub fn outline(&mut self, points: &[At], pen: Pen) {
        self.add(Mark::Outline(points.to_vec(), pen));
    }

    /// Fills an area.
    pub fn area(&mut self, points: &[At], ink: Ink) {
        self.add(Mark::Area(points.to_vec(), ink));
    }

    /// Draws an upright rectangle from its upper left corner.
    pub fn rectangle(&mut self, at: At, size: At, pen: Pen) {
        self.add(Mark::Outline(corners(at, size), pen));
    }

    /// Fills an upright rectangle.
    pub fn panel(&mut self, at: At, size: At, ink: Ink) {
        self.add(Mark::Area(corners(at, size), ink));
    }

    /// Draws a circle.
    pub fn circle(&mut self, centre: At, radius: f64, pen: Pen) {
        self.add(Mark::Circle(centre, radius, pen));
    }

    /// Fills a disc.
    pub fn disc(&mut self, centre: At, radius: f64, ink: Ink) {
        self.add(Mark::Disc(centre, radius, ink));
    }

    /// Writes one line of text, its baseline at the place.
    pub fn text(&mut self, at: At, text: impl Into<String>, lettering: Lettering) {
        let text = text::printable(&text.into()).into_owned();
        if !text.trim().is_empty() {
            self.add(Mark::Text(at, text, lettering));
        }
    }

    /// Puts another drawing on this one, its upper left corner at a place.
    pub fn place(&mut self, other: &Self, at: At) {
        self.items.extend(other.items.iter().map(|item| Item { layer: item.layer, mark: item.mark.moved(at) }));
    }

    /// All texts on it.
    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.items.iter().filter_map(|item| match &item.mark {
            Mark::Text(_, text, _) => Some(text.as_str()),
            _ => None,
        })
    }

    /// As SVG with text as text; one user unit is 1 mm. Each text has the id `t` and its position among the items.
    pub fn svg(&self) -> String {
        self.svg_with(written_text)
    }

    /// As SVG, with a text's element made by `text_element`.
    pub(super) fn svg_with(&self, text_element: impl Fn(usize, At, &str, &Lettering) -> String) -> String {
        let (w, h) = (number(self.width), number(self.height));
        let mut svg = format!("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n");
        let mut layer = "";
        for (at, item) in self.items.iter().enumerate() {
            if item.layer != layer {
                let close = if layer.is_empty() { "" } else { "</g>\n" };
                let _ = writeln!(svg, "{close}<g class=\"{}\">", item.layer.replace(' ', "-"));
                layer = item.layer;
            }
            svg.push_str(&match &item.mark {
                Mark::Text(place, text, lettering) => text_element(at, *place, text, lettering),
                mark => mark.element(),
            });
        }
        svg.push_str(if layer.is_empty() { "</svg>\n" } else { "</g>\n</svg>\n" });
        svg
    }
}

fn corners(at: At, size: At) -> Vec<At> {
    let [x, y] = at;
    let [w, h] = size;
    vec![[x, y], [x + w, y], [x + w, y + h], [x, y + h]]
}

impl Mark {
    fn moved(&self, by: At) -> Self {
        let shift = |p: &At| [p[0] + by[0], p[1] + by[1]];
        let all = |points: &[At]| points.iter().map(shift).collect();
        match self {
            Self::Line(points, pen) => Self::Line(all(points), *pen),
            Self::Outline(points, pen) => Self::Outline(all(points), *pen),
            Self::Area(points, ink) => Self::Area(all(points), *ink),
            Self::Circle(centre, radius, pen) => Self::Circle(shift(centre), *radius, *pen),
            Self::Disc(centre, radius, ink) => Self::Disc(shift(centre), *radius, *ink),
            Self::Text(at, text, lettering) => Self::Text(shift(at), text.clone(), *lettering),
        }
    }

    /// Boxes that hold it: one a segment for lines, so that the inside of an outline stays free.
    pub fn bounds(&self) -> Vec<Bounds> {
        match self {
            Self::Line(points, _) => points.windows(2).map(spanned).collect(),
            Self::Outline(points, _) => points.iter().zip(points.iter().cycle().skip(1)).map(|(a, b)| spanned(&[*a, *b])).collect(),
            Self::Area(points, _) => vec![spanned(points)],
            Self::Circle(c, r, _) | Self::Disc(c, r, _) => vec![[c[0] - r, c[1] - r, c[0] + r, c[1] + r]],
            Self::Text(at, text, lettering) => vec![text_bounds(*at, text, lettering)],
        }
    }

    fn element(&self) -> String {
        match self {
            Self::Line(points, pen) => format!("<polyline points=\"{}\" {}/>\n", listed(points), stroke(*pen)),
            Self::Outline(points, pen) => format!("<polygon points=\"{}\" {}/>\n", listed(points), stroke(*pen)),
            Self::Area(points, ink) => format!("<polygon points=\"{}\" fill=\"{}\"/>\n", listed(points), ink.code()),
            Self::Circle(c, r, pen) => {
                format!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>\n", number(c[0]), number(c[1]), number(*r), stroke(*pen))
            }
            Self::Disc(c, r, ink) => {
                format!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\"/>\n", number(c[0]), number(c[1]), number(*r), ink.code())
            }
            Self::Text(..) => String::new(),
        }
    }
}

fn spanned(points: &[At]) -> Bounds {
    points.iter().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |b, p| {
        [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])]
    })
}

fn text_bounds(at: At, text: &str, lettering: &Lettering) -> Bounds {
    let long = text::width(text, lettering.size, lettering.bold);
    let start = match lettering.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -long / 2.0,
        Anchor::End => -long,
    };
    let (up, down) = (0.8 * lettering.size, 0.25 * lettering.size);
    match lettering.upward {
        false => [at[0] + start, at[1] - up, at[0] + start + long, at[1] + down],
        true => [at[0] - up, at[1] - start - long, at[0] + down, at[1] - start],
    }
}

fn written_text(item: usize, at: At, text: &str, lettering: &Lettering) -> String {
    let anchor = match lettering.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let weight = if lettering.bold { " font-weight=\"700\"" } else { "" };
    let (x, y) = (number(at[0]), number(at[1]));
    let turn = if lettering.upward { format!(" transform=\"rotate(-90 {x} {y})\"") } else { String::new() };
    format!(
        "<text id=\"t{item}\" x=\"{x}\" y=\"{y}\" font-family=\"{FAMILY}\" font-size=\"{}\" fill=\"{}\" text-anchor=\"{anchor}\"{weight}{turn}>{}</text>\n",
        number(lettering.size),
        lettering.ink.code(),
        escaped(text),
    )
}

/// Text for XML. Control characters, which XML can't hold, become spaces.
pub fn escaped(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            '"' => "&quot;".to_owned(),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => " ".to_owned(),
            c => c.to_string(),
        })
        .collect()
}

fn listed(points: &[At]) -> String {
    points.iter().map(|p| format!("{},{}", number(p[0]), number(p[1]))).collect::<Vec<_>>().join(" ")
}

fn stroke(pen: Pen) -> String {
    let dash = if pen.dashed { " stroke-dasharray=\"3 1.5\"" } else { "" };
    format!("fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dash}", pen.ink.code(), number(pen.width))
}

/// To a ten-thousandth of a millimetre, without trailing zeros.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

pub(super) fn ink_code(lettering: &Lettering) -> &'static str {
    lettering.ink.code()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn svg_says_its_size_in_millimetres() {
        let mut drawing = Drawing::new(210.0, 297.0);
        drawing.circle([10.0, 20.5], 3.0, Pen::new(0.25, Ink::Black));
        drawing.text([1.0, 2.0], "a < b & \u{7}c", Lettering::new(3.0));
        let svg = drawing.svg();
        assert!(svg.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""), "{svg}");
        assert!(svg.contains("cx=\"10\" cy=\"20.5\" r=\"3\"") && svg.contains("a &lt; b &amp;  c"), "{svg}");
    }

    #[test]
    fn outlines_are_free_inside() {
        let mut drawing = Drawing::new(100.0, 100.0);
        drawing.rectangle([0.0, 0.0], [100.0, 100.0], Pen::new(0.2, Ink::Black));
        assert!(drawing.items[0].mark.bounds().iter().all(|b| !overlap(*b, [40.0, 40.0, 60.0, 60.0])));
    }
}
