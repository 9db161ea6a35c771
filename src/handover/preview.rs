//! The sheets to look at before they are written: every page that a person reads, none of the files for machines.

use super::files::Content;
use super::page::{Drawing, outlined_svg, picture};
use crate::catalog::Catalog;
use crate::layout::Layout;

/// One page of one sheet. Drawn already; converting it waits until it is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    /// What it is: "Drilling back panel", "Circuits".
    pub title: String,
    /// The file that this page will be in: "circuits.pdf".
    pub file_name: String,
    /// Whom the sheet is for and what they do with it.
    pub purpose: &'static str,
    /// Which page of the sheet, from 1.
    pub page: usize,
    /// Pages of the sheet.
    pub pages: usize,
    drawing: Drawing,
}

impl Preview {
    /// Width and height of the paper, mm.
    pub fn size(&self) -> [f64; 2] {
        [self.drawing.width, self.drawing.height]
    }

    /// As SVG with text as outlines: needs no font.
    ///
    /// # Errors
    /// When the drawing can't be converted; the text says why.
    pub fn svg(&self) -> Result<String, String> {
        outlined_svg(&self.drawing)
    }

    /// As pixels on white, the longest side so many of them. Takes 10 to 100 ms: not for the thread that draws a window.
    ///
    /// # Errors
    /// When the drawing can't be converted; the text says why.
    pub fn picture(&self, longest: u32) -> Result<image::RgbaImage, String> {
        picture(&self.drawing, longest)
    }
}

/// Every page that `write` would write for people, in the index's order: index, drilling sheets, cut list and fittings, circuits, commissioning.
///
/// Tiles show the drilling sheets again, cut to office paper, and are left out; so are SVG, DXF and CSV. Nothing is written.
///
/// # Errors
/// As `sheets`: when the tank's size is no size of a tank; the text says why.
pub fn previews(layout: &Layout, catalog: &Catalog, date: &str) -> Result<Vec<Preview>, String> {
    let mut previews = Vec::new();
    for sheet in super::sheets(layout, catalog, date)? {
        let Content::Pages(document) = sheet.content else { continue };
        let pages = document.drawings.len();
        let title = sentence_case(&document.title);
        previews.extend(document.drawings.into_iter().zip(1..).map(|(drawing, page)| Preview {
            title: title.clone(),
            file_name: sheet.name.clone(),
            purpose: sheet.purpose,
            page,
            pages,
            drawing,
        }));
    }
    Ok(previews)
}

fn sentence_case(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_begin_with_a_capital() {
        assert_eq!(sentence_case("drilling back panel"), "Drilling back panel");
        assert_eq!(sentence_case(""), "");
    }
}
