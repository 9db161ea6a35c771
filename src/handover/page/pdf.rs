//! Drawings to PDF, and to SVG with text as outlines.

use super::drawing::{At, Drawing, Lettering, ink_code};
use super::{settle::settled, text};
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, TextStr};
use resvg::tiny_skia;
use resvg::usvg::{self, Node, Transform, Tree, tiny_skia_path::PathSegment};
use std::collections::HashMap;

const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// Longest side that every reader of PDF can show, points; larger pages count in bigger units (PDF 1.6, UserUnit).
const LONGEST_PAGE: f64 = 14_400.0;

/// One page: drawings laid over each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// mm.
    pub width: f64,
    /// mm.
    pub height: f64,
    /// From the lowest up.
    pub layers: Vec<Layer>,
}

impl Page {
    /// A page that one drawing fills; `drawing` is its position in the document's list.
    pub fn whole(drawing: usize, d: &Drawing) -> Self {
        Self { width: d.width, height: d.height, layers: vec![Layer { drawing, at: [0.0, 0.0], window: None }] }
    }
}

/// A drawing on a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Position in the document's list of drawings.
    pub drawing: usize,
    /// Where its upper left corner lies on the page, mm.
    pub at: At,
    /// What can be seen of it: upper left corner and size on the page, mm; `None`: all.
    pub window: Option<(At, At)>,
}

/// Pages that show drawings or parts of them; each drawing is embedded once.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// For the window of the reader.
    pub title: String,
    /// What the pages show.
    pub drawings: Vec<Drawing>,
    /// In order.
    pub pages: Vec<Page>,
}

impl Document {
    /// One page for each drawing.
    pub fn one_page_each(title: impl Into<String>, drawings: Vec<Drawing>) -> Self {
        let pages = drawings.iter().enumerate().map(|(drawing, d)| Page::whole(drawing, d)).collect();
        Self { title: title.into(), drawings, pages }
    }

    /// As PDF.
    ///
    /// # Errors
    /// When a drawing can't be converted; the text says why.
    pub fn pdf(&self) -> Result<Vec<u8>, String> {
        let mut next = Ref::new(1);
        let (catalog, tree) = (next.bump(), next.bump());
        let mut pdf = Pdf::new();
        pdf.catalog(catalog).pages(tree);
        let mut forms = Vec::new();
        for drawing in &self.drawings {
            let (chunk, form) = svg2pdf::to_chunk(&parsed(drawing)?, svg2pdf::ConversionOptions::default()).map_err(|e| e.to_string())?;
            let mut numbers = HashMap::new();
            let chunk = chunk.renumber(|old| *numbers.entry(old).or_insert_with(|| next.bump()));
            forms.push((numbers[&form], [drawing.width, drawing.height]));
            pdf.extend(&chunk);
        }
        let kids: Vec<Ref> = self.pages.iter().map(|_| next.bump()).collect();
        pdf.pages(tree).kids(kids.iter().copied()).count(i32::try_from(kids.len()).unwrap_or(i32::MAX));
        for (page, id) in self.pages.iter().zip(&kids) {
            write_page(&mut pdf, page, &forms, [*id, tree, next.bump()]);
        }
        pdf.document_info(next.bump()).title(TextStr(&self.title));
        Ok(settled(pdf.finish()))
    }
}

/// The drawing as a picture, its longest side so many pixels.
///
/// # Errors
/// When the drawing can't be converted; the text says why.
pub fn picture(drawing: &Drawing, longest: u32) -> Result<image::RgbaImage, String> {
    let tree = parsed(drawing)?;
    let scale = longest.max(1) as f32 / tree.size().width().max(tree.size().height());
    let side = |length: f32| ((length * scale).round() as u32).max(1);
    let (width, height) = (side(tree.size().width()), side(tree.size().height()));
    let mut pixels = tiny_skia::Pixmap::new(width, height).ok_or("the picture is too large")?;
    pixels.fill(tiny_skia::Color::WHITE);
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixels.as_mut());
    image::RgbaImage::from_raw(width, height, pixels.take()).ok_or_else(|| "the picture has no size".to_owned())
}

fn write_page(pdf: &mut Pdf, page: &Page, forms: &[(Ref, At)], [id, tree, contents]: [Ref; 3]) {
    let unit = (page.width.max(page.height) * POINTS_PER_MM / LONGEST_PAGE).ceil().max(1.0);
    let points = |mm: f64| (mm * POINTS_PER_MM / unit) as f32;
    let mut written = pdf.page(id);
    written.media_box(Rect::new(0.0, 0.0, points(page.width), points(page.height))).parent(tree).contents(contents);
    if unit > 1.0 {
        written.user_unit(unit as f32);
    }
    let mut resources = written.resources();
    let mut objects = resources.x_objects();
    let mut used: Vec<usize> = page.layers.iter().map(|layer| layer.drawing).collect();
    used.sort_unstable();
    used.dedup();
    for drawing in used {
        objects.pair(Name(form_name(drawing).as_bytes()), forms[drawing].0);
    }
    objects.finish();
    resources.finish();
    written.finish();
    pdf.stream(contents, &page_content(page, forms, points));
}

fn page_content(page: &Page, forms: &[(Ref, At)], points: impl Fn(f64) -> f32) -> Vec<u8> {
    let mut content = Content::new();
    for layer in &page.layers {
        content.save_state();
        if let Some(([x, y], [w, h])) = layer.window {
            content.rect(points(x), points(page.height - y - h), points(w), points(h)).clip_nonzero().end_path();
        }
        let [w, h] = forms[layer.drawing].1;
        let [x, y] = layer.at;
        content.transform([points(w), 0.0, 0.0, points(h), points(x), points(page.height - y - h)]);
        content.x_object(Name(form_name(layer.drawing).as_bytes()));
        content.restore_state();
    }
    content.finish().to_vec()
}

fn form_name(drawing: usize) -> String {
    format!("D{drawing}")
}

fn parsed(drawing: &Drawing) -> Result<Tree, String> {
    let options = usvg::Options { fontdb: text::fonts(drawing.texts()), font_family: text::FAMILY.to_owned(), ..Default::default() };
    Tree::from_str(&drawing.svg(), &options).map_err(|error| error.to_string())
}

/// SVG with text as outlines: looks the same everywhere, and a cutter that knows no fonts can read it.
///
/// # Errors
/// When the drawing can't be converted; the text says why.
pub fn outlined_svg(drawing: &Drawing) -> Result<String, String> {
    let tree = parsed(drawing)?;
    let mut outlines = HashMap::new();
    collect_text(tree.root().children(), f64::from(tree.size().width()) / drawing.width, &mut outlines);
    Ok(drawing.svg_with(|item, _, text, lettering| outline_element(outlines.get(&format!("t{item}")), text, lettering)))
}

fn outline_element(path: Option<&String>, text: &str, lettering: &Lettering) -> String {
    let label = super::drawing::escaped(text);
    path.map_or_else(String::new, |d| format!("<path fill=\"{}\" aria-label=\"{label}\" d=\"{d}\"/>\n", ink_code(lettering)))
}

fn collect_text(nodes: &[Node], pixels_per_mm: f64, outlines: &mut HashMap<String, String>) {
    for node in nodes {
        match node {
            Node::Group(group) => collect_text(group.children(), pixels_per_mm, outlines),
            Node::Text(text) => {
                let mut path = String::new();
                trace(text.flattened().children(), text.abs_transform(), pixels_per_mm, &mut path);
                outlines.insert(text.id().to_owned(), path);
            }
            _ => {}
        }
    }
}

/// Paths of a text; their own transforms lead to the text's axes, `to_page` from there to the page.
fn trace(nodes: &[Node], to_page: Transform, pixels_per_mm: f64, into: &mut String) {
    for node in nodes {
        match node {
            Node::Group(group) => trace(group.children(), to_page, pixels_per_mm, into),
            Node::Path(path) => {
                let Some(data) = path.data().clone().transform(path.abs_transform().post_concat(to_page)) else { continue };
                for segment in data.segments() {
                    into.push_str(&step(segment, pixels_per_mm));
                }
            }
            _ => {}
        }
    }
}

fn step(segment: PathSegment, pixels_per_mm: f64) -> String {
    let p =
        |point: usvg::tiny_skia_path::Point| format!("{:.2} {:.2}", f64::from(point.x) / pixels_per_mm, f64::from(point.y) / pixels_per_mm);
    match segment {
        PathSegment::MoveTo(a) => format!("M{}", p(a)),
        PathSegment::LineTo(a) => format!("L{}", p(a)),
        PathSegment::QuadTo(a, b) => format!("Q{} {}", p(a), p(b)),
        PathSegment::CubicTo(a, b, c) => format!("C{} {} {}", p(a), p(b), p(c)),
        PathSegment::Close => "Z".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::handover::page::drawing::{Anchor, Bounds};

    /// All coordinates of the first path of an SVG.
    fn extent(svg: &str) -> Bounds {
        let d = svg.split(" d=\"").nth(1).unwrap().split('"').next().unwrap();
        let numbers: Vec<f64> = d.split(|c: char| c.is_ascii_alphabetic() || c == ' ').filter_map(|n| n.parse().ok()).collect();
        numbers
            .chunks_exact(2)
            .fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, p| [b[0].min(p[0]), b[1].min(p[1]), b[2].max(p[0]), b[3].max(p[1])])
    }

    #[test]
    fn outlines_lie_where_the_text_lies() {
        let plain = Lettering::new(4.0);
        for lettering in [
            plain,
            plain.bold(),
            plain.anchor(Anchor::End),
            plain.anchor(Anchor::Middle),
            plain.upward(),
            plain.upward().anchor(Anchor::End),
        ] {
            let mut drawing = Drawing::new(200.0, 120.0);
            drawing.text([90.0, 60.0], "Hole 12", lettering);
            let (own, wanted) = (extent(&outlined_svg(&drawing).unwrap()), drawing.items[0].mark.bounds()[0]);
            let near = own.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1.1);
            assert!(near, "{lettering:?}: {own:?}, not {wanted:?}");
        }
    }
}
