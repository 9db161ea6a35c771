//! Pages: a drawing in millimetres, lettering, pages that text and tables flow over, PDF and SVG.

mod book;
mod drawing;
mod pdf;
mod text;

pub use book::{Align, Book, Column, Paper, Table, strip};
pub use drawing::{Anchor, At, Bounds, Drawing, Ink, Item, Lettering, Mark, Pen, overlap};
pub use pdf::{Layer, Page, document, one_page_each, outlined_svg};
pub use text::{shortened, unprintable, width, wrapped};
