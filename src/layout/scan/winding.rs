//! How often a mesh winds round a place: 1 inside a closed one, 0 outside, in between where it has holes (Jacobson and others 2013).
//! Far groups of triangles count as one small patch with their summed area (Barill and others 2018, first term).

use super::triangle::solid_angle;
use glam::Vec3;
use std::f32::consts::PI;

/// A group is far when it is this many of its radii away. The first term alone is good to about 1 % there.
const FAR: f32 = 2.3;
/// Triangles of a group that is not divided further.
const FEW: usize = 8;

/// Triangles in a tree of groups.
#[derive(Debug)]
pub struct Winding {
    triangles: Vec<[Vec3; 3]>,
    groups: Vec<Group>,
}

#[derive(Debug, Clone, Copy)]
struct Group {
    /// Area-weighted middle.
    middle: Vec3,
    /// From there to the farthest corner.
    radius: f32,
    /// Sum of the areas times their normals.
    area: Vec3,
    first: u32,
    count: u32,
    /// Number of the second half; the first follows its parent. Zero: not divided.
    second: u32,
}

impl Winding {
    /// Of these triangles, anticlockwise seen from outside.
    pub fn new(mut triangles: Vec<[Vec3; 3]>) -> Self {
        let mut groups = Vec::new();
        if !triangles.is_empty() {
            divide(&mut triangles, 0, &mut groups);
        }
        Self { triangles, groups }
    }

    /// How often it winds round a place.
    pub fn at(&self, p: Vec3) -> f32 {
        let mut angle = 0.0;
        let mut todo = [0u32; 96];
        let mut left = usize::from(!self.groups.is_empty());
        while left > 0 {
            left -= 1;
            let number = todo[left];
            let group = &self.groups[number as usize];
            let away = group.middle - p;
            let distance = away.length();
            if distance > FAR * group.radius {
                angle += group.area.dot(away) / distance.powi(3);
            } else if group.second == 0 || left + 2 > todo.len() {
                let own = &self.triangles[group.first as usize..(group.first + group.count) as usize];
                angle += own.iter().map(|t| solid_angle(p, *t)).sum::<f32>();
            } else {
                (todo[left], todo[left + 1]) = (number + 1, group.second);
                left += 2;
            }
        }
        angle / (4.0 * PI)
    }
}

/// Makes the group of these triangles and of its halves, cut at the median of its longest side.
fn divide(triangles: &mut [[Vec3; 3]], first: usize, groups: &mut Vec<Group>) {
    let number = groups.len();
    groups.push(group(triangles, first));
    if triangles.len() <= FEW {
        return;
    }
    let middles = || triangles.iter().map(|t| (t[0] + t[1] + t[2]) / 3.0);
    let side = middles().fold(Vec3::NEG_INFINITY, Vec3::max) - middles().fold(Vec3::INFINITY, Vec3::min);
    let axis = side.max_position();
    let half = triangles.len() / 2;
    triangles.select_nth_unstable_by(half, |a, b| {
        let along = |t: &[Vec3; 3]| t[0][axis] + t[1][axis] + t[2][axis];
        along(a).total_cmp(&along(b))
    });
    let (low, high) = triangles.split_at_mut(half);
    divide(low, first, groups);
    groups[number].second = groups.len() as u32;
    divide(high, first + half, groups);
}

fn group(triangles: &[[Vec3; 3]], first: usize) -> Group {
    let (mut area, mut middle, mut whole) = (Vec3::ZERO, Vec3::ZERO, 0.0);
    for t in triangles {
        let normal = (t[1] - t[0]).cross(t[2] - t[0]) / 2.0;
        let size = normal.length();
        area += normal;
        middle += (t[0] + t[1] + t[2]) / 3.0 * size;
        whole += size;
    }
    let middle = if whole > 0.0 { middle / whole } else { triangles[0][0] };
    let radius = triangles.iter().flatten().map(|p| p.distance(middle)).fold(0.0, f32::max);
    Group { middle, radius, area, first: first as u32, count: triangles.len() as u32, second: 0 }
}
