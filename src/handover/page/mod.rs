//! Pages: a drawing in millimetres, lettering, pages that text and tables flow over, PDF and SVG.

mod book;
mod drawing;
mod pdf;
mod settle;
mod text;

pub use book::{Book, Column, Paper, Table, strip};
pub use drawing::{Anchor, At, Bounds, Drawing, Ink, Lettering, Pen, overlap};
pub use pdf::{Document, Layer, Page, outlined_svg, picture};
pub use text::{is_transliterated, shortened, width, wrapped};
