//! What is drawn over the ground of a map: water's mean direction, intakes, nozzles with their aim.

use super::canvas::{Canvas, Style};
use super::frame::Frame;
use super::labels::Labels;
use super::theme;
use super::view::Plane;
use crate::layout::{Aim, Layout};
use crate::report::shown::shortened;
use glam::DVec3;

/// Distance between flow arrows.
const SPACING: f64 = 34.0;
/// Longest name on a map.
const LONGEST_NAME: usize = 24;
/// Length of an aim arrow.
const AIM: f64 = 44.0;

/// Little arrows along the time-mean velocity; longer and, past the middle of the scale, dark where it is faster.
pub fn flow_arrows(canvas: &mut Canvas, frame: &Frame, plane: &Plane, top: f64) {
    let every = ((SPACING / (plane.h * frame.scale)).round() as usize).max(1);
    let (mut light, mut dark) = (String::new(), String::new());
    for row in (every / 2..plane.n[1]).step_by(every) {
        for column in (every / 2..plane.n[0]).step_by(every) {
            let cell = column + plane.n[0] * row;
            let v = plane.velocity[cell].map(f64::from);
            let size = v[0].hypot(v[1]);
            if plane.water[cell] < 0.5 || size < 0.01 * top {
                continue;
            }
            let middle = frame.flat((column as f64 + 0.5) * plane.h, (row as f64 + 0.5) * plane.h);
            let length = 0.8 * SPACING * (0.25 + 0.75 * (size / top).min(1.0).sqrt());
            let path = if f64::from(plane.speed[cell]) > 0.55 * top { &mut dark } else { &mut light };
            path.push_str(&arrow(middle, [v[0] / size, -v[1] / size], length));
        }
    }
    for (path, stroke) in [(light, "#ffffff"), (dark, theme::INK)] {
        canvas.path(
            &path,
            &format!("fill=\"none\" stroke=\"{stroke}\" stroke-width=\"1.1\" stroke-opacity=\"0.8\" stroke-linecap=\"round\""),
        );
    }
}

/// Path of an open arrow centred on a point.
pub fn arrow(middle: [f64; 2], along: [f64; 2], length: f64) -> String {
    let tip = [middle[0] + 0.5 * length * along[0], middle[1] + 0.5 * length * along[1]];
    let tail = [middle[0] - 0.5 * length * along[0], middle[1] - 0.5 * length * along[1]];
    let barb = (0.3 * length).min(6.0);
    let side = |s: f64| [tip[0] - barb * (along[0] - s * 0.6 * along[1]), tip[1] - barb * (along[1] + s * 0.6 * along[0])];
    super::canvas::path_through(&[tail, tip]) + &super::canvas::path_through(&[side(1.0), tip, side(-1.0)])
}

/// A name to be written beside a mark.
pub type Named = ([f64; 2], String);

/// Intakes as crossed squares; gives back their names.
pub fn intakes(canvas: &mut Canvas, frame: &Frame, layout: &Layout, labels: &mut Labels) -> Vec<Named> {
    let places = layout.intakes.iter().map(|i| (frame.place(i.mount.centre(layout.tank.size())), i.id.clone()));
    let places: Vec<Named> = places.collect();
    for (at, _) in &places {
        intake_mark(canvas, *at);
        labels.keep_off(*at, 8.0);
    }
    places
}

/// Write names beside their marks; marks that lie on each other share a line.
pub fn names(canvas: &mut Canvas, named: Vec<Named>, style: Style, labels: &mut Labels) {
    let mut together: Vec<Named> = Vec::new();
    for (at, id) in named {
        let id = shortened(&id, LONGEST_NAME);
        match together.iter_mut().find(|(other, _)| (other[0] - at[0]).hypot(other[1] - at[1]) < 8.0) {
            Some((_, ids)) => *ids = shortened(&joined(ids, &id), 3 * LONGEST_NAME),
            None => together.push((at, id)),
        }
    }
    together.into_iter().for_each(|(at, ids)| labels.put(canvas, at, 9.0, style, &ids));
}

/// The mark of an intake.
pub fn intake_mark(canvas: &mut Canvas, at: [f64; 2]) {
    let look = format!("fill=\"{}\" stroke=\"{}\" stroke-width=\"1.6\"", theme::INTAKE, theme::INK);
    canvas.rect([at[0] - 7.5, at[1] - 7.5], [15.0, 15.0], &look);
    for s in [-2.5, 2.5] {
        let look = format!("stroke=\"{}\" stroke-width=\"1.1\"", theme::INK);
        canvas.line([at[0] + s, at[1] - 7.5], [at[0] + s, at[1] + 7.5], &look);
        canvas.line([at[0] - 7.5, at[1] + s], [at[0] + 7.5, at[1] + s], &look);
    }
}

/// "intake 1" and "intake 2" give "intake 1, 2".
fn joined(ids: &str, id: &str) -> String {
    let first = ids.split(',').next().unwrap_or(ids);
    let last_word = match (first.rsplit_once(' '), id.rsplit_once(' ')) {
        (Some((a, _)), Some((b, word))) if a == b => word,
        _ => id,
    };
    format!("{ids}, {last_word}")
}

/// Nozzles and propeller pumps with an arrow where they point; gives back their names.
pub fn nozzles(canvas: &mut Canvas, frame: &Frame, layout: &Layout, labels: &mut Labels) -> Vec<Named> {
    let size = layout.tank.size();
    let aimed = |at: DVec3, aim: &Aim| (frame.place(at), frame.side.project(aim.direction(at)));
    let nozzles = layout.nozzles.iter().map(|n| (aimed(n.mount.centre(size), &n.aim), &n.id));
    let propellers = layout.propellers.iter().map(|p| (aimed(p.at.metres(), &p.aim), &p.id));
    let all: Vec<_> = nozzles.chain(propellers).collect();
    for ((at, aim), _) in &all {
        nozzle_mark(canvas, *at, *aim);
        labels.keep_off(*at, 8.0);
        for share in [0.3, 0.6, 0.9] {
            labels.keep_off([at[0] + share * AIM * aim[0], at[1] - share * AIM * aim[1]], 6.0);
        }
    }
    all.into_iter().map(|((at, _), id)| (at, id.clone())).collect()
}

/// The mark of a nozzle that points `aim` (right, up, away from the viewer; a unit vector).
pub fn nozzle_mark(canvas: &mut Canvas, at: [f64; 2], aim: [f64; 3]) {
    let flat = aim[0].hypot(aim[1]);
    if flat > 0.2 {
        let along = [aim[0] / flat, -aim[1] / flat];
        let data = solid_arrow(at, along, (AIM * flat).max(22.0));
        canvas.path(&data, "fill=\"#ffffff\" stroke=\"#ffffff\" stroke-width=\"3.5\" stroke-linejoin=\"round\"");
        canvas.path(&data, &format!("fill=\"{}\"", theme::NOZZLE));
    }
    canvas.circle(at, 6.0, &format!("fill=\"#ffffff\" stroke=\"{}\" stroke-width=\"2.6\"", theme::NOZZLE));
    if flat <= 0.2 && aim[2] < 0.0 {
        canvas.circle(at, 2.2, &format!("fill=\"{}\"", theme::NOZZLE));
    } else if flat <= 0.2 {
        let look = format!("stroke=\"{}\" stroke-width=\"1.6\"", theme::NOZZLE);
        canvas.line([at[0] - 3.4, at[1] - 3.4], [at[0] + 3.4, at[1] + 3.4], &look);
        canvas.line([at[0] - 3.4, at[1] + 3.4], [at[0] + 3.4, at[1] - 3.4], &look);
    }
}

fn solid_arrow(at: [f64; 2], along: [f64; 2], length: f64) -> String {
    let place = |forward: f64, aside: f64| [at[0] + forward * along[0] - aside * along[1], at[1] + forward * along[1] + aside * along[0]];
    let (neck, half, head) = (length - 12.0, 2.0, 6.5);
    let points = [
        place(0.0, half),
        place(neck, half),
        place(neck, head),
        place(length, 0.0),
        place(neck, -head),
        place(neck, -half),
        place(0.0, -half),
    ];
    super::canvas::path_through(&points) + "Z"
}

#[cfg(test)]
mod tests {
    #[test]
    fn names_that_share_a_mark_are_said_shortly() {
        assert_eq!(super::joined("intake 1", "intake 2"), "intake 1, 2");
        assert_eq!(super::joined("intake 1, 2", "drain"), "intake 1, 2, drain");
    }
}
