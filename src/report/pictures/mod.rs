//! Pictures of a study: maps of the time-mean speed from above, the front and the end, and charts of the sequence.
//! Composed as SVG, drawn to PNG with an embedded font: the same on every machine, and without a date.

mod canvas;
mod chart;
pub mod compared;
mod dead;
mod frame;
mod ground;
mod labels;
mod legend;
mod map;
mod marks;
mod outline;
mod render;
mod scale;
mod theme;
mod view;

pub use canvas::escaped;
pub use render::{lay_over, png};
pub use theme::difference_colour;

use crate::layout::Layout;
use crate::study::Study;
use rayon::prelude::*;

/// A picture of a study.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Name of its file without an ending.
    pub name: String,
    /// For headings.
    pub title: String,
    /// What it shows, for those who can't see it.
    pub alt: String,
    /// The picture as SVG.
    pub svg: String,
}

/// A picture and its pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The picture.
    pub picture: Picture,
    /// As PNG, two pixels to a picture unit: 2 000 wide.
    pub png: Vec<u8>,
}

/// Draw pictures, on all cores.
///
/// # Errors
/// When one can't be drawn.
pub fn drawn(pictures: Vec<Picture>) -> Result<Vec<Drawn>, String> {
    let draw = |picture: Picture| png(&picture.svg, 2.0).map(|png| Drawn { picture, png });
    pictures.into_par_iter().map(draw).collect()
}

/// All pictures of a study, maps first.
///
/// # Errors
/// When one can't be encoded.
pub fn all(study: &Study, layout: &Layout) -> Result<Vec<Picture>, String> {
    let mut pictures = map::all(study, layout)?;
    pictures.extend(chart::all(&study.record, layout.display));
    Ok(pictures)
}

#[cfg(test)]
mod tests {
    use crate::report::sample;

    /// Every picture is drawn, says what it shows, and is the same when drawn again. `SLACKWATER_PICTURES=folder` keeps them for looking at.
    #[test]
    fn pictures_of_a_sample_are_drawn() {
        let layout = sample::peninsula();
        let study = sample::study(&layout, 0.05);
        let pictures = super::all(&study, &layout).unwrap();
        assert_eq!(pictures.len(), 6);
        assert_eq!(pictures, super::all(&study, &layout).unwrap());
        for picture in &pictures {
            let png = super::png(&picture.svg, 0.25).unwrap();
            assert!(png.len() > 500 && !picture.alt.is_empty() && picture.svg.contains(&layout.name), "{}", picture.name);
            if let Some(folder) = std::env::var_os("SLACKWATER_PICTURES") {
                std::fs::write(std::path::Path::new(&folder).join(format!("{}.png", picture.name)), super::png(&picture.svg, 2.0).unwrap())
                    .unwrap();
            }
        }
    }
}
