//! A small SVG writer: the few marks our pictures are made of. Sizes are in picture units, y downward.

use base64::Engine;
use std::fmt::Write;

/// The font that the pictures are set in; embedded in the program, OFL licence beside it in assets/fonts.
pub const FONT: &str = "Noto Sans";

/// An SVG picture being drawn, back to front.
#[derive(Debug)]
pub struct Canvas {
    width: f64,
    height: f64,
    body: String,
}

/// Where a text's point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its left end.
    Start,
    /// In its middle.
    Middle,
    /// At its right end.
    End,
}

/// How a text looks.
#[derive(Debug, Clone, Copy)]
pub struct Style {
    /// Height of the letters.
    pub size: f64,
    /// Bold or regular.
    pub bold: bool,
    /// Colour.
    pub fill: &'static str,
    /// Which point of it is placed.
    pub anchor: Anchor,
}

impl Style {
    /// Regular text in ink, placed by its left end.
    pub const fn new(size: f64) -> Self {
        Self { size, bold: false, fill: super::theme::INK, anchor: Anchor::Start }
    }

    /// The same, bold.
    pub const fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    /// The same in another colour.
    pub const fn fill(mut self, fill: &'static str) -> Self {
        self.fill = fill;
        self
    }

    /// The same, placed by another point.
    pub const fn anchor(mut self, anchor: Anchor) -> Self {
        self.anchor = anchor;
        self
    }

    /// About how wide a text will be.
    pub fn width_of(&self, text: &str) -> f64 {
        let letter = if self.bold { 0.57 } else { 0.515 };
        text.chars().count() as f64 * self.size * letter
    }
}

impl Canvas {
    /// An empty white picture.
    pub fn new(width: f64, height: f64) -> Self {
        let mut canvas = Self { width, height, body: String::new() };
        canvas.rect([0.0, 0.0], [width, height], "fill=\"#ffffff\"");
        canvas
    }

    /// The SVG file.
    pub fn finish(self, title: &str) -> String {
        let (w, h) = (number(self.width), number(self.height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" viewBox=\"0 0 {w} {h}\" font-family=\"'{FONT}', sans-serif\">\n<title>{}</title>\n{}</svg>\n",
            escaped(title),
            self.body
        )
    }

    /// Any element, written as given.
    pub fn raw(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }

    /// Draw something that must not reach over a rectangle; one clip a picture.
    pub fn clipped(&mut self, at: [f64; 2], size: [f64; 2], draw: impl FnOnce(&mut Self)) {
        self.raw("<clipPath id=\"clip\">");
        self.rect(at, size, "");
        self.raw("</clipPath>\n<g clip-path=\"url(#clip)\">");
        draw(self);
        self.raw("</g>");
    }

    /// A rectangle from its upper left corner.
    pub fn rect(&mut self, at: [f64; 2], size: [f64; 2], look: &str) {
        let [x, y, w, h] = [at[0], at[1], size[0].max(0.0), size[1].max(0.0)].map(number);
        self.raw(&format!("<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" {look}/>"));
    }

    /// A straight line.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2], look: &str) {
        let [x1, y1, x2, y2] = [from[0], from[1], to[0], to[1]].map(number);
        self.raw(&format!("<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" {look}/>"));
    }

    /// A circle.
    pub fn circle(&mut self, at: [f64; 2], radius: f64, look: &str) {
        let [x, y, r] = [at[0], at[1], radius].map(number);
        self.raw(&format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {look}/>"));
    }

    /// A path from its data.
    pub fn path(&mut self, data: &str, look: &str) {
        self.raw(&format!("<path d=\"{data}\" {look}/>"));
    }

    /// A closed polygon.
    pub fn polygon(&mut self, points: &[[f64; 2]], look: &str) {
        self.path(&format!("{}Z", path_through(points)), look);
    }

    /// A line of text on its base line.
    pub fn text(&mut self, at: [f64; 2], style: Style, text: &str) {
        self.text_with(at, style, text, "");
    }

    /// A line of text with a halo that keeps it legible on any ground.
    pub fn text_with_halo(&mut self, at: [f64; 2], style: Style, text: &str) {
        self.text_with(at, style, text, "stroke=\"#ffffff\" stroke-width=\"3.5\" stroke-linejoin=\"round\" ");
        self.text_with(at, style, text, "");
    }

    fn text_with(&mut self, at: [f64; 2], style: Style, text: &str, more: &str) {
        let anchor = match style.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = if style.bold { "bold" } else { "normal" };
        let [x, y, size] = [at[0], at[1], style.size].map(number);
        let fill = style.fill;
        let text = escaped(text);
        self.raw(&format!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" font-weight=\"{weight}\" text-anchor=\"{anchor}\" fill=\"{fill}\" {more}>{text}</text>"
        ));
    }

    /// A PNG stretched over a rectangle.
    pub fn image(&mut self, at: [f64; 2], size: [f64; 2], png: &[u8]) {
        let [x, y, w, h] = [at[0], at[1], size[0], size[1]].map(number);
        let data = base64::engine::general_purpose::STANDARD.encode(png);
        self.raw(&format!(
            "<image x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" href=\"data:image/png;base64,{data}\"/>"
        ));
    }
}

/// "M x y L x y ..." through points.
pub fn path_through(points: &[[f64; 2]]) -> String {
    points.iter().enumerate().fold(String::new(), |mut path, (i, [x, y])| {
        let _ = write!(path, "{}{} {} ", if i == 0 { "M" } else { "L" }, number(*x), number(*y));
        path
    })
}

/// A number with two digits after the point at most: pictures stay the same on every machine.
pub fn number(value: f64) -> String {
    crate::report::shown::trimmed(value, 2)
}

/// Text made safe for XML and HTML.
pub fn escaped(text: &str) -> String {
    let clean = text.chars().filter(|c| !c.is_control());
    clean.fold(String::with_capacity(text.len()), |mut out, c| {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c => out.push(c),
        }
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_cannot_break_the_file() {
        let mut canvas = Canvas::new(10.0, 10.0);
        canvas.text([1.0, 2.0], Style::new(4.0), "a<b & \"c\"\u{7}");
        assert!(canvas.finish("t").contains(">a&lt;b &amp; &quot;c&quot;</text>"));
    }
}
