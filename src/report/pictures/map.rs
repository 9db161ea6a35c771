//! Maps of the time-mean speed: plan and elevations.

use super::canvas::{Canvas, Style};
use super::frame::Frame;
use super::labels::Labels;
use super::scale::{Scale, round_top};
use super::view::{Depth, Plane, Side, View};
use super::{Picture, dead, ground, legend, marks, theme};
use crate::layout::Layout;
use crate::report::shown::{shortened, tank_speed};
use crate::study::record::DeadSpot;
use crate::study::{Fields, Study};
use crate::units::{Display, LengthKind, show};

/// A map to be drawn: the name of its file and what it looks at.
pub type Wanted = (&'static str, View);

/// The maps of a study: depth mean and a level from above, a cut seen from the front and one from the right end.
///
/// # Errors
/// When a picture can't be encoded.
pub fn all(study: &Study, layout: &Layout) -> Result<Vec<Picture>, String> {
    let top = round_top(high_speed(&study.fields), layout.display);
    views(study, layout).into_iter().map(|wanted| one(study, layout, wanted, top)).collect()
}

/// What the maps of a study look at.
pub fn views(study: &Study, layout: &Layout) -> [Wanted; 4] {
    let [x, y, z] = places_to_cut(study, layout);
    [
        ("plan-mean", View { side: Side::Above, depth: Depth::Mean }),
        ("plan-level", View { side: Side::Above, depth: Depth::Cut(z) }),
        ("front-section", View { side: Side::Front, depth: Depth::Cut(y) }),
        ("end-section", View { side: Side::Right, depth: Depth::Cut(x) }),
    ]
}

/// The speed that one cell in twenty exceeds, m/s: jets may run off the scale, the tank at large should use all of it.
pub fn high_speed(fields: &Fields) -> f64 {
    let mut speeds: Vec<f32> = (0..fields.len()).filter(|i| fields.water[*i] > 0.5).map(|i| fields.mean_speed[i]).collect();
    speeds.sort_by(f32::total_cmp);
    speeds.get(speeds.len() * 19 / 20).map_or(0.1, |s| f64::from(*s))
}

/// Where to cut, m: through the largest dead spot, or the middle of the water.
fn places_to_cut(study: &Study, layout: &Layout) -> [f64; 3] {
    let size = layout.tank.size();
    let middle = [0.5 * size.x, 0.5 * size.y, 0.5 * layout.tank.water_level.si()];
    study.record.dead_spots.first().map_or(middle, |spot| spot.centre_m)
}

/// One map on a scale from 0 to `top`, m/s.
///
/// # Errors
/// When the picture can't be encoded.
pub fn one(study: &Study, layout: &Layout, wanted: Wanted, top: f64) -> Result<Picture, String> {
    titled("", study, layout, wanted, top)
}

/// The same with something before its title.
///
/// # Errors
/// When the picture can't be encoded.
pub fn titled(lead: &str, study: &Study, layout: &Layout, (name, view): Wanted, top: f64) -> Result<Picture, String> {
    let (display, spots) = (layout.display, &study.record.dead_spots);
    let (heading, where_cut) = words(view, study, display);
    let heading = format!("{lead}{heading}");
    let alt = alt(&heading, &where_cut, view, study, display);
    let sheet = Sheet {
        layout,
        view,
        scale: Scale::Speed(top),
        under: format!("{where_cut}, {}. {}", view.side.words(), shortened(&layout.name, 48)),
        heading,
        plane: Plane::new(&study.fields, view),
        spots,
        dead_words: "dead spot (dashed: at another depth)",
    };
    Ok(Picture { name: name.to_owned(), title: sheet.heading.clone(), alt, svg: sheet.draw()? })
}

/// Everything that is drawn on a map.
pub struct Sheet<'a> {
    /// For rock, nozzles, intakes and units.
    pub layout: &'a Layout,
    /// What is looked at.
    pub view: View,
    /// What the colours mean.
    pub scale: Scale,
    /// Title.
    pub heading: String,
    /// The line under the title.
    pub under: String,
    /// The numbers.
    pub plane: Plane,
    /// Dead spots that get a label.
    pub spots: &'a [DeadSpot],
    /// What the hatched marks mean, for the key.
    pub dead_words: &'a str,
}

impl Sheet<'_> {
    /// The SVG.
    ///
    /// # Errors
    /// When the ground can't be encoded.
    pub fn draw(&self) -> Result<String, String> {
        let (layout, view, display) = (self.layout, self.view, self.layout.display);
        let frame = Frame::new(layout, view.side);
        let mut canvas = Canvas::new(theme::WIDTH, frame.picture_height());
        dead::define_hatch(&mut canvas, self.scale.mark());
        legend::title(&mut canvas, &self.heading, &self.under);
        canvas.image(frame.at, frame.extent(), &ground::png(layout, &self.plane, view, frame.size, self.scale)?);
        let mut labels = Labels::new([frame.at[0], frame.at[1], frame.right(), frame.bottom()]);
        let arrows_top = if let Scale::Speed(top) = self.scale { Some(top) } else { None };
        canvas.clipped(frame.at, frame.extent(), |canvas| {
            arrows_top.into_iter().for_each(|top| marks::flow_arrows(canvas, &frame, &self.plane, top));
            dead::areas(canvas, &frame, &self.plane, self.scale.mark());
        });
        outline(&mut canvas, &frame, layout);
        let intakes = marks::intakes(&mut canvas, &frame, layout, &mut labels);
        let nozzles = marks::nozzles(&mut canvas, &frame, layout, &mut labels);
        dead::names(&mut canvas, &frame, &self.plane, self.spots, &mut labels, display);
        marks::names(&mut canvas, nozzles, Style::new(12.5).bold(), &mut labels);
        marks::names(&mut canvas, intakes, Style::new(12.0), &mut labels);
        legend::colour_scale(&mut canvas, &frame, self.scale, display);
        legend::edges_and_bar(&mut canvas, &frame, display);
        let has_dead = self.plane.dead_anywhere.iter().any(|rank| *rank > 0);
        legend::key(&mut canvas, &frame, view, has_dead.then_some(self.dead_words), self.scale);
        Ok(canvas.finish(&self.heading))
    }
}

fn words(view: View, study: &Study, display: Display) -> (String, String) {
    let at = |along: f64| show::<LengthKind>(along, display);
    let is_through = |spot: &DeadSpot| matches!(view.depth, Depth::Cut(at) if (at - spot.centre_m[view.side.axes()[2]]).abs() < 1e-9);
    let through = if study.record.dead_spots.first().is_some_and(is_through) { ", through dead spot 1" } else { "" };
    let cut = |what: String| format!("{what}{through}");
    match (view.side, view.depth) {
        (_, Depth::Mean) => ("Plan, mean over the depth".to_owned(), "Time-mean speed, averaged from floor to surface".to_owned()),
        (Side::Above, Depth::Cut(z)) => ("Plan at one level".to_owned(), cut(format!("Time-mean speed {} above the floor", at(z)))),
        (Side::Front, Depth::Cut(y)) => ("Front elevation".to_owned(), cut(format!("Time-mean speed {} from the front", at(y)))),
        (Side::Right, Depth::Cut(x)) => ("End elevation".to_owned(), cut(format!("Time-mean speed {} from the left end", at(x)))),
    }
}

fn alt(heading: &str, where_cut: &str, view: View, study: &Study, display: Display) -> String {
    let dead = match study.record.dead_spots.first() {
        None => "No dead spot is marked.".to_owned(),
        Some(spot) => {
            format!("{} marked; the largest: {}.", crate::report::shown::count(study.record.dead_spots.len(), "dead spot"), spot.place)
        }
    };
    format!(
        "{heading}: {where_cut}, {}. Mean speed of the whole tank {}. {dead}",
        view.side.words(),
        tank_speed(study.record.mean_speed_m_s, display)
    )
}

/// The tank's inside and, on elevations, its water line.
fn outline(canvas: &mut Canvas, frame: &Frame, layout: &Layout) {
    canvas.rect(frame.at, frame.extent(), &format!("fill=\"none\" stroke=\"{}\" stroke-width=\"2\"", theme::INK));
    if frame.side == Side::Above {
        return;
    }
    let level = layout.tank.water_level.si();
    let [left, y] = frame.flat(0.0, level);
    canvas.line([left, y], [frame.right(), y], &format!("stroke=\"{}\" stroke-width=\"1\"", theme::INK));
    let x = frame.right() - 26.0;
    canvas.polygon(&[[x - 5.0, y - 9.0], [x + 5.0, y - 9.0], [x, y - 1.0]], &format!("fill=\"none\" stroke=\"{}\"", theme::INK));
}
