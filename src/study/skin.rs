//! Speed on the skin of rock: what lives on it feels the first water off it.
//!
//! The skin is made of the faces between a cell with water and one without. A face stands for h² |n·e| of the true surface, with n the slope of
//! the signed distance there and e the face's axis: over a plane of any tilt these add up to its area. Its speed is that of its water cell,
//! whose middle is half a cell off.

use super::Fields;
use crate::setup::rock::Solids;
use glam::DVec3;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Time-mean speed on the skin of a rock.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct SkinRecord {
    /// The rock, as list/id.
    pub part: String,
    /// Surface under open water.
    pub area_m2: f64,
    /// Mean over that surface.
    pub mean_speed_m_s: f64,
    /// A tenth of the surface is slower.
    pub slow_tenth_m_s: f64,
    /// A tenth of the surface is faster.
    pub fast_tenth_m_s: f64,
    /// Share of the surface under the dead speed.
    pub still_share: f64,
}

/// A piece of skin.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// Its middle, m.
    pub at: [f64; 3],
    /// The cell of the water on it.
    pub cell: usize,
    /// Index of the part it belongs to in [`Solids::parts`].
    pub part: usize,
    /// True surface that it stands for, m².
    pub area: f64,
}

/// How far off the rock the water is that its skin feels, in cells of edge `h` (m): the middle of the first cell.
pub fn off(h: f64) -> f64 {
    h / 2.0
}

/// The skin of every rock; `shape` has the water.
pub fn patches(shape: &Fields, solids: &Solids) -> Vec<Patch> {
    (0..shape.len()).into_par_iter().filter(|&cell| shape.water[cell] > 0.0).flat_map_iter(|cell| of_cell(shape, solids, cell)).collect()
}

fn of_cell<'a>(shape: &'a Fields, solids: &'a Solids, cell: usize) -> impl Iterator<Item = Patch> + 'a {
    shape.neighbours(cell).filter(|&other| shape.water[other] == 0.0).filter_map(move |other| patch(shape, solids, cell, other))
}

fn patch(shape: &Fields, solids: &Solids, cell: usize, other: usize) -> Option<Patch> {
    let (water, rock) = (DVec3::from_array(shape.centre(cell)), DVec3::from_array(shape.centre(other)));
    let at = (water + rock) / 2.0;
    let distances = solids.parts().iter().map(|part| part.distance(at)).enumerate();
    let (part, _) = distances.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let solid = solids.parts().get(part).filter(|solid| solid.part.starts_with("rocks/"))?;
    let step = shape.h / 4.0;
    let slope = |axis: DVec3| solid.distance(at + step * axis) - solid.distance(at - step * axis);
    let outward = DVec3::new(slope(DVec3::X), slope(DVec3::Y), slope(DVec3::Z)).normalize_or_zero();
    let area = shape.h * shape.h * outward.dot((water - rock) / shape.h).abs();
    Some(Patch { at: at.to_array(), cell, part, area })
}

/// Time-mean speed on each patch, m/s, in their order.
pub fn skin(fields: &Fields, patches: &[Patch]) -> Vec<f64> {
    patches.iter().map(|patch| f64::from(fields.mean_speed[patch.cell])).collect()
}

/// Time-mean speed in the cells with water that touch something solid, m/s; 0 in all others.
pub fn at_cells(fields: &Fields) -> Vec<f32> {
    let touches = |cell: usize| fields.water[cell] > 0.0 && fields.neighbours(cell).any(|other| fields.water[other] == 0.0);
    (0..fields.len()).map(|cell| if touches(cell) { fields.mean_speed[cell] } else { 0.0 }).collect()
}

/// The skin of each rock that has any, in the order of the parts; `still` is the speed under which water counts as still, m/s.
pub fn records(fields: &Fields, patches: &[Patch], solids: &Solids, still: f64) -> Vec<SkinRecord> {
    let speeds = skin(fields, patches);
    let of = |(index, solid): (usize, &crate::layout::solid::Solid)| {
        let mine = patches.iter().zip(&speeds).filter(|(patch, _)| patch.part == index);
        let mut weighed: Vec<(f64, f64)> = mine.map(|(patch, &speed)| (speed, patch.area)).collect();
        weighed.sort_by(|a, b| a.0.total_cmp(&b.0));
        record(&solid.part, &weighed, still)
    };
    solids.parts().iter().enumerate().filter_map(of).collect()
}

/// From (speed, area), slowest first.
fn record(part: &str, weighed: &[(f64, f64)], still: f64) -> Option<SkinRecord> {
    let area: f64 = weighed.iter().map(|(_, area)| area).sum();
    let under = |share: f64| {
        let mut passed = 0.0;
        let reached = |&&(_, patch): &&(f64, f64)| {
            passed += patch;
            passed >= share * area
        };
        weighed.iter().find(reached).map_or(0.0, |(speed, _)| *speed)
    };
    (area > 0.0).then(|| SkinRecord {
        part: part.to_owned(),
        area_m2: area,
        mean_speed_m_s: weighed.iter().map(|(speed, area)| speed * area).sum::<f64>() / area,
        slow_tenth_m_s: under(0.1),
        fast_tenth_m_s: under(0.9),
        still_share: weighed.iter().filter(|(speed, _)| *speed < still).map(|(_, area)| area).sum::<f64>() / area,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Layout, demo};

    /// A rock alone in 1 m of water; mean speed 10 cm/s times the height over the floor.
    fn around(rock: &str) -> (Fields, Solids) {
        let mut layout: Layout = demo();
        (layout.rocks, layout.sand) = (vec![ron::from_str(rock).unwrap()], None);
        layout.overflows.clear();
        layout.tank.bracing.clear();
        let solids = Solids::new(&layout);
        let mut fields = Fields { n: [50, 50, 50], h: 0.02, ..Fields::default() };
        let wet = |cell: usize| solids.distance(DVec3::from_array(fields.centre(cell))) >= 0.0;
        fields.water = (0..125_000).map(|cell| if wet(cell) { 1.0 } else { 0.0 }).collect();
        fields.mean_speed = (0..125_000).map(|cell| 0.1 * fields.centre(cell)[2] as f32).collect();
        (fields, solids)
    }

    /// Ball of 60 cm in mid-water: π d² = 1.1310 m²; by Archimedes its skin is spread evenly over its height, so that the mean speed is that
    /// of its middle, and a tenth of it lies in the lowest 6 cm.
    #[test]
    fn a_ball_has_its_area_and_archimedes_tenths() {
        let ball = r#"(id:"ball",shape:ellipsoid(size:("60 cm","60 cm","60 cm")),at:("50 cm","50 cm","20 cm"))"#;
        let (fields, solids) = around(ball);
        let all = records(&fields, &patches(&fields, &solids), &solids, 0.05);
        let [found] = all.as_slice() else { panic!("{all:?}") };
        println!("{found:?}");
        assert_eq!(found.part, "rocks/ball");
        assert!((found.area_m2 / 1.130_97 - 1.0).abs() < 0.03, "{found:?}");
        assert!((found.mean_speed_m_s - 0.05).abs() < 5e-4, "{found:?}");
        // Water is half a cell off: 1 mm/s either way.
        assert!((found.slow_tenth_m_s - 0.026).abs() < 2e-3 && (found.fast_tenth_m_s - 0.074).abs() < 2e-3, "{found:?}");
        assert!((found.still_share - 0.5).abs() < 0.02, "{found:?}");
    }

    /// A tilted block's area is exact but for its edges: 40 × 40 × 20 cm has 0.64 m², 0.16 m² of it more or less by rims of a cell.
    #[test]
    fn a_tilted_block_has_its_area() {
        let block =
            r#"(id:"block",shape:box(size:("40 cm","40 cm","20 cm")),at:("50 cm","50 cm","40 cm"),turn:(yaw:"30 deg",pitch:"20 deg"))"#;
        let (fields, solids) = around(block);
        let area: f64 = patches(&fields, &solids).iter().map(|patch| patch.area).sum();
        println!("{area}");
        assert!((area / 0.64 - 1.0).abs() < 0.05, "{area}");
    }

    #[test]
    fn only_water_that_touches_something_is_on_a_skin() {
        let fields = Fields { n: [3, 1, 1], h: 0.1, water: vec![0.0, 1.0, 1.0], mean_speed: vec![0.0, 0.2, 0.3], ..Fields::default() };
        assert_eq!(at_cells(&fields), [0.0, 0.2, 0.0]);
    }
}
