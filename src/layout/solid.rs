//! Where solid parts are: one signed distance for each part of the tank that water can't fill.
//!
//! Distances are in metres, negative inside, zero on the surface, and nowhere more than the true distance, so a
//! caller may step by them; those to a scan are interpolated, off by less than half a step of its samples. Nothing here judges a design; sizes that make no sense give distances that make no sense.

use super::pile::{Boulder, Heap};
use super::scan::Scan;
use super::{Bar, Layout, Overflow, Rock, Sand, Shape};
use glam::{DMat3, DVec2, DVec3};

/// A solid part, ready to be asked how far away it is.
#[derive(Debug, Clone)]
pub struct Solid {
    /// The part it stands for, as `list/id`: `rocks/left arch`; `sand` for the bed.
    pub part: String,
    at: DVec3,
    to_own_axes: DMat3,
    form: Form,
}

#[derive(Debug, Clone)]
enum Form {
    Ellipsoid { half: DVec3 },
    Block { half: DVec3, rounding: f64 },
    Cylinder { radius: f64, height: f64 },
    Arch { half_span: f64, height: f64, half_depth: f64, thickness: f64 },
    Heap(Heap),
    Scan { scan: Scan, unit: f64 },
    Slab { top: f64 },
}

impl Solid {
    /// A piece of rockwork.
    pub fn rock(rock: &Rock) -> Self {
        let turned = rock.turn.matrix().transpose();
        Self { part: format!("rocks/{}", rock.id), at: rock.at.metres(), to_own_axes: turned, form: Form::of(&rock.shape) }
    }

    /// A brace.
    pub fn bar(bar: &Bar) -> Self {
        Self::upright(format!("tank/bracing/{}", bar.id), bar.from.metres(), bar.to.metres())
    }

    /// An overflow box: its footprint from the floor up to `rim` (m), for its walls stand above its lip.
    pub fn overflow(overflow: &Overflow, rim: f64) -> Self {
        let (from, to) = (&overflow.from, &overflow.to);
        let low = DVec3::new(from.0.si(), from.1.si(), 0.0);
        Self::upright(format!("overflows/{}", overflow.id), low, DVec3::new(to.0.si(), to.1.si(), rim))
    }

    /// The sand bed: everything below its top.
    pub fn sand(sand: &Sand) -> Self {
        Self { part: "sand".into(), at: DVec3::ZERO, to_own_axes: DMat3::IDENTITY, form: Form::Slab { top: sand.depth.si() } }
    }

    /// An upright box between two opposite corners, m.
    fn upright(part: String, a: DVec3, b: DVec3) -> Self {
        let (low, high) = (a.min(b), a.max(b));
        let half = (high - low) / 2.0;
        let at = DVec3::new(low.x + half.x, low.y + half.y, low.z);
        Self { part, at, to_own_axes: DMat3::IDENTITY, form: Form::Block { half, rounding: 0.0 } }
    }

    /// Signed distance of a point, m.
    pub fn distance(&self, point: DVec3) -> f64 {
        self.form.distance(self.to_own_axes * (point - self.at))
    }
}

/// Every solid part of a layout: rocks, braces, overflow boxes, sand.
pub fn solids(layout: &Layout) -> Vec<Solid> {
    let rim = layout.tank.height.si();
    let rocks = layout.rocks.iter().map(Solid::rock);
    let bars = layout.tank.bracing.iter().map(Solid::bar);
    let boxes = layout.overflows.iter().map(|overflow| Solid::overflow(overflow, rim));
    rocks.chain(bars).chain(boxes).chain(layout.sand.iter().map(Solid::sand)).collect()
}

/// Signed distance to the nearest of some solids, m; infinite when there are none.
pub fn distance(solids: &[Solid], point: DVec3) -> f64 {
    solids.iter().map(|solid| solid.distance(point)).fold(f64::INFINITY, f64::min)
}

/// The boulders of a pile in the rock's own axes, origin in the middle of its underside; empty for other shapes.
pub fn boulders(shape: &Shape) -> Vec<Boulder> {
    match Form::of(shape) {
        Form::Heap(heap) => heap.boulders,
        _ => Vec::new(),
    }
}

/// The ring of an arch, in its own plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArchRing {
    /// Height of the ring's centre above the underside, m; negative when the arch is lower than half its span.
    pub centre: f64,
    /// Outer radius, m.
    pub outer: f64,
    /// Inner radius, m.
    pub inner: f64,
}

/// The ring of an arch of this span, height and thickness (m). A tall arch has a half-ring on straight legs; one lower
/// than half its span is the circular segment that spans it.
pub fn arch_ring(half_span: f64, height: f64, thickness: f64) -> ArchRing {
    let outer = if height >= half_span { half_span } else { (height * height + half_span * half_span) / (2.0 * height) };
    ArchRing { centre: height - outer, outer, inner: (outer - thickness).max(0.0) }
}

impl Form {
    fn of(shape: &Shape) -> Self {
        match shape {
            Shape::Ellipsoid { size } => Self::Ellipsoid { half: size.metres() / 2.0 },
            Shape::Box { size } => Self::Block { half: size.metres() / 2.0, rounding: 0.0 },
            Shape::Cylinder { diameter, height } => Self::Cylinder { radius: diameter.si() / 2.0, height: height.si() },
            Shape::Arch { span, height, depth, thickness } => {
                Self::Arch { half_span: span.si() / 2.0, height: height.si(), half_depth: depth.si() / 2.0, thickness: thickness.si() }
            }
            Shape::Shelf { length, depth, thickness } => {
                let half = DVec3::new(length.si(), depth.si(), thickness.si()) / 2.0;
                Self::Block { half, rounding: half.min_element() }
            }
            Shape::Pile { length, depth, height, boulders, count, seed } => {
                let size = DVec3::new(length.si(), depth.si(), height.si());
                Self::Heap(Heap::new(size, (boulders.0.si(), boulders.1.si()), *count, *seed))
            }
            Shape::Scan { unit, scan, .. } => Self::Scan { scan: scan.clone(), unit: unit.si() },
        }
    }

    /// Signed distance in the part's own axes, origin in the middle of its underside.
    fn distance(&self, p: DVec3) -> f64 {
        match self {
            Self::Ellipsoid { half } => ellipsoid(p - DVec3::new(0.0, 0.0, half.z), *half),
            Self::Block { half, rounding } => cuboid(p - DVec3::new(0.0, 0.0, half.z), *half - *rounding) - rounding,
            Self::Cylinder { radius, height } => {
                outside_or_in(DVec2::new(DVec2::new(p.x, p.y).length() - radius, (p.z - height / 2.0).abs() - height / 2.0))
            }
            Self::Arch { half_span, height, half_depth, thickness } => {
                let ring = arch_ring(*half_span, *height, *thickness);
                outside_or_in(DVec2::new(arch_section(DVec2::new(p.x.abs(), p.z), ring), p.y.abs() - half_depth))
            }
            Self::Heap(heap) => heap.distance(p),
            Self::Scan { scan, unit } => scan.distance(p, *unit),
            Self::Slab { top } => p.z - top,
        }
    }
}

/// Combines signed distances along two perpendicular directions.
fn outside_or_in(d: DVec2) -> f64 {
    d.max_element().min(0.0) + d.max(DVec2::ZERO).length()
}

fn cuboid(p: DVec3, half: DVec3) -> f64 {
    let d = p.abs() - half;
    d.max_element().min(0.0) + d.max(DVec3::ZERO).length()
}

/// Arch in its plane: ring above its centre, legs below it, all above the underside. `p` = (distance from the middle, height).
fn arch_section(p: DVec2, ring: ArchRing) -> f64 {
    let middle = (ring.outer + ring.inner) / 2.0;
    let half = (ring.outer - ring.inner) / 2.0;
    let from_axis = if p.y > ring.centre { (p - DVec2::new(0.0, ring.centre)).length() } else { p.x };
    outside_or_in(DVec2::new((from_axis - middle).abs() - half, -p.y))
}

/// Exact signed distance to an ellipsoid with its centre at the origin, after Eberly, "Distance from a point to an ellipse,
/// an ellipsoid, or a hyperellipsoid" (2013): the nearest surface point is x_i = e_i² y_i / (t + e_i²) for the largest root t.
pub(super) fn ellipsoid(p: DVec3, half: DVec3) -> f64 {
    let smallest = half.min_element();
    let y = p.abs().max(half * 1e-9);
    let squares = half * half;
    let above = squares - smallest * smallest;
    let t = ellipsoid_root(half * y, above);
    let nearest = squares * y / (above + t);
    let sign = if (y / half).length_squared() < 1.0 { -1.0 } else { 1.0 };
    sign * (nearest - y).length()
}

/// Root t > 0 of |r| = 1 with r_i = a_i / (t + b_i). Newton's method for 1/|r|, which is nearly straight and nowhere convex, so steps from below
/// the root never pass it (Moré and Sorensen, "Computing a trust region step", 1983, solve the like of it so).
fn ellipsoid_root(a: DVec3, b: DVec3) -> f64 {
    // What is left after a step so small is its square.
    const SMALL: f64 = 1e-8;
    let mut t = (a - b).max_element();
    for _ in 0..60 {
        let r = a / (b + t);
        let length = r.length();
        let step = (length - 1.0) * length * length / (r * r / (b + t)).element_sum();
        if step.is_nan() {
            return t;
        }
        t += step;
        if step <= SMALL * t {
            return t;
        }
    }
    t
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rock(text: &str) -> Solid {
        let shape: Shape = ron::from_str(text).unwrap();
        Solid { part: String::new(), at: DVec3::ZERO, to_own_axes: DMat3::IDENTITY, form: Form::of(&shape) }
    }

    #[test]
    fn known_distances() {
        let cases = [
            (r#"ellipsoid(size:("2 m","2 m","2 m"))"#, [3.0, 0.0, 1.0], 2.0),
            (r#"ellipsoid(size:("2 m","4 m","6 m"))"#, [0.0, 0.0, 3.0], -1.0),
            (r#"ellipsoid(size:("2 m","4 m","6 m"))"#, [0.0, 0.0, 7.0], 1.0),
            (r#"box(size:("2 m","2 m","2 m"))"#, [2.0, 2.0, 1.0], 2f64.sqrt()),
            (r#"box(size:("2 m","2 m","2 m"))"#, [0.0, 0.0, 0.25], -0.25),
            (r#"cylinder(diameter:"2 m",height:"3 m")"#, [0.0, 4.0, 1.0], 3.0),
            (r#"cylinder(diameter:"2 m",height:"3 m")"#, [0.0, 0.0, 3.5], 0.5),
            (r#"arch(span:"2 m",height:"2 m",depth:"1 m",thickness:"0.4 m")"#, [0.0, 0.0, 1.0], 0.6),
            (r#"arch(span:"2 m",height:"2 m",depth:"1 m",thickness:"0.4 m")"#, [0.8, 0.0, 0.5], -0.2),
            (r#"arch(span:"2 m",height:"2 m",depth:"1 m",thickness:"0.4 m")"#, [0.0, 2.5, 2.0], 2.0),
            (r#"arch(span:"8 m",height:"2 m",depth:"1 m",thickness:"0.5 m")"#, [0.0, 0.0, 1.5], 0.0),
            (r#"shelf(length:"2 m",depth:"1 m",thickness:"0.2 m")"#, [0.0, 0.0, 0.3], 0.1),
            (r#"shelf(length:"2 m",depth:"1 m",thickness:"0.2 m")"#, [1.0, 0.0, 0.1], 0.0),
        ];
        for (shape, at, expected) in cases {
            let got = rock(shape).distance(DVec3::from_array(at));
            assert!((got - expected).abs() < 1e-9, "{shape} at {at:?}: {got}, not {expected}");
        }
    }

    #[test]
    fn ellipsoid_distance_is_the_nearest_surface_point() {
        let half = DVec3::new(0.5, 0.2, 0.31);
        for k in 0..200 {
            let a = f64::from(k);
            let p = DVec3::new((1.3 * a).sin(), (2.1 * a).cos(), (0.7 * a).sin()) * half * (0.1 + 0.02 * a);
            let brute = (0..200)
                .flat_map(|i| {
                    (0..400).map(move |j| (f64::from(i) * 0.005 * std::f64::consts::PI, f64::from(j) * 0.005 * std::f64::consts::PI))
                })
                .map(|(s, t)| (DVec3::new(s.sin() * t.cos(), s.sin() * t.sin(), s.cos()) * half - p).length())
                .fold(f64::INFINITY, f64::min);
            let got = ellipsoid(p, half);
            assert!(got.abs() <= brute + 1e-12 && brute - got.abs() < 2e-3, "{p}: {got} against {brute}");
            assert_eq!(got < 0.0, (p / half).length() < 1.0);
        }
    }

    #[test]
    fn placed_and_turned() {
        let text = r#"(id:"slab",shape:box(size:("2 m","1 m","1 m")),at:("5 m","0 m","1 m"),turn:(yaw:"90 deg"))"#;
        let slab = Solid::rock(&ron::from_str(text).unwrap());
        assert!((slab.distance(DVec3::new(5.0, 1.5, 1.5)) - 0.5).abs() < 1e-12);
        assert!((slab.distance(DVec3::new(6.0, 0.0, 1.5)) - 0.5).abs() < 1e-12);
    }
}
