//! Two layouts side by side: the mean speed from above, on one scale of colours.

use super::clip;
use super::relief::{Relief, Side};
use super::{Beside, Shown, scene, speed};
use crate::layout::Layout;
use crate::report::pictures::escaped;
use crate::report::shown::{percent, volume};
use crate::study::{Fields, Study};
use base64::Engine;

/// Pixels along the tank's length.
const WIDTH: f64 = 760.0;

/// The section, or nothing without a second layout.
///
/// # Errors
/// When a picture can't be encoded.
pub fn section(shown: &Shown, legend: &str, gradient: &str) -> Result<String, String> {
    let Some(beside) = &shown.beside else { return Ok(String::new()) };
    let top = scene::scale(shown);
    let other = figure(&beside.caption, &beside.study, &beside.layout, top)?;
    let own = figure(&beside.own_caption, shown.study, shown.layout(), top)?;
    Ok(format!(
        "<section id=\"beside\"><h2>{}</h2>\n<p>{}</p>\n<div class=\"pair\">\n{other}{own}</div>\n\
         <p class=\"legend below\"><i style=\"background: {gradient}\"></i><span class=\"ticks\">{legend}</span></p>\n\
         <p class=\"small\">Mean speed over time and depth, seen from above with the front at the bottom. Both pictures use the same colours.</p>\n</section>\n",
        escaped(&beside.heading),
        escaped(&words(beside, shown))
    ))
}

fn words(beside: &Beside, shown: &Shown) -> String {
    let slow = |study: &Study| study.record.dead_spots.iter().map(|spot| spot.volume_m3).sum::<f64>();
    let display = shown.layout().display;
    let said = |caption: &str, study: &Study| {
        let mean = speed(study.record.mean_speed_m_s, display);
        let share: f64 = study.record.dead_spots.iter().map(|spot| spot.share).sum();
        format!(
            "{caption}: the water moves at {mean} on average, and {} ({}) of it stand almost still.",
            volume(slow(study), display),
            percent(share)
        )
    };
    format!("{} {}", said(&beside.caption, &beside.study), said(&beside.own_caption, shown.study))
}

fn figure(caption: &str, study: &Study, layout: &Layout, top: f64) -> Result<String, String> {
    let data = base64::engine::general_purpose::STANDARD.encode(picture(&study.fields, layout, top)?);
    let caption = escaped(caption);
    Ok(format!(
        "<figure><img alt=\"{caption}: plan of the tank coloured by the mean speed of the water.\" src=\"data:image/png;base64,{data}\"><figcaption>{caption}</figcaption></figure>\n"
    ))
}

fn picture(fields: &Fields, layout: &Layout, top: f64) -> Result<Vec<u8>, String> {
    let relief = Relief::new(layout, Side::Above, WIDTH / layout.tank.length.si().max(0.05));
    let (columns, colours) = (columns(fields), scene::colours());
    let pixel = |index: usize| {
        let right = ((index % relief.width) as f64 + 0.5) / relief.scale;
        let up = (relief.height as f64 - (index / relief.width) as f64 - 0.5) / relief.scale;
        let [water, speed] = between(&columns, fields, right, up);
        let share = (speed / top).clamp(0.0, 1.0) * (colours.len() - 1) as f64;
        let (a, b, part) = (colours[share as usize], colours[(share as usize + 1).min(colours.len() - 1)], share.fract());
        let rock = relief.colours[index];
        std::array::from_fn(|c| {
            let wet = f64::from(a[c]) + part * (f64::from(b[c]) - f64::from(a[c]));
            (f64::from(rock[c]) + water * (wet - f64::from(rock[c]))) as u8
        })
    };
    let pixels: Vec<[u8; 3]> = (0..relief.width * relief.height).map(pixel).collect();
    clip::png([relief.width, relief.height], &pixels)
}

/// For each column of cells: the share of its water that a column without rock has, and the mean speed in it, m/s.
fn columns(fields: &Fields) -> Vec<[f64; 2]> {
    let [nx, ny, nz] = fields.n;
    let sums: Vec<[f64; 2]> = (0..nx * ny)
        .map(|column| {
            let cells = (0..nz).map(|k| column + nx * ny * k);
            cells.fold([0.0, 0.0], |[water, speed], cell| {
                let w = f64::from(fields.water[cell]);
                [water + w, speed + w * f64::from(fields.mean_speed[cell])]
            })
        })
        .collect();
    let most = sums.iter().map(|sum| sum[0]).fold(1e-9, f64::max);
    sums.into_iter().map(|[water, speed]| [water / most, if water > 0.0 { speed / water } else { 0.0 }]).collect()
}

/// Share and speed at a place, m, by straight lines between the middles of columns; speed over the water only.
fn between(columns: &[[f64; 2]], fields: &Fields, right: f64, up: f64) -> [f64; 2] {
    let near = |x: f64, n: usize| {
        let along = (x / fields.h - 0.5).clamp(0.0, (n - 1) as f64);
        let low = (along as usize).min(n.saturating_sub(2));
        [(low, 1.0 - (along - low as f64)), ((low + 1).min(n - 1), along - low as f64)]
    };
    let (mut water, mut speed) = (0.0, 0.0);
    for (i, s) in near(right, fields.n[0]) {
        for (j, t) in near(up, fields.n[1]) {
            let [share, mean] = columns[i + fields.n[0] * j];
            water += s * t * share;
            speed += s * t * share * mean;
        }
    }
    [water, if water > 0.0 { speed / water } else { 0.0 }]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_their_water() {
        let fields =
            Fields { n: [2, 1, 2], h: 0.1, water: vec![1.0, 1.0, 0.0, 1.0], mean_speed: vec![0.2, 0.1, 0.9, 0.3], ..Fields::default() };
        let columns = columns(&fields);
        assert!((columns[0][0] - 0.5).abs() < 1e-6 && (columns[0][1] - 0.2).abs() < 1e-6);
        assert!((columns[1][0] - 1.0).abs() < 1e-6 && (columns[1][1] - 0.2).abs() < 1e-6);
        assert!((between(&columns, &fields, 0.1, 0.05)[0] - 0.75).abs() < 1e-6);
    }
}
