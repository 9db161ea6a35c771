//! Nearest point of a triangle, and the solid angle under which it is seen.

use glam::Vec3;

/// Nearest point of the triangle to `p`, after Ericson, "Real-time collision detection" (2005), 5.1.5.
pub fn nearest(p: Vec3, [a, b, c]: [Vec3; 3]) -> Vec3 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * (d1 / (d1 - d3));
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
    }
    let whole = va + vb + vc;
    if whole > 0.0 { a + ab * (vb / whole) + ac * (vc / whole) } else { a }
}

/// Solid angle of the triangle seen from `p`, positive when seen from inside (van Oosterom and Strackee 1983).
pub fn solid_angle(p: Vec3, corners: [Vec3; 3]) -> f32 {
    let [a, b, c] = corners.map(|corner| corner - p);
    let (la, lb, lc) = (a.length(), b.length(), c.length());
    let over = a.dot(b.cross(c));
    let under = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
    2.0 * over.atan2(under)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_points_of_all_regions() {
        let t = [Vec3::ZERO, Vec3::X, Vec3::Y];
        let cases = [
            ([0.2, 0.2, 1.0], [0.2, 0.2, 0.0]),
            ([-1.0, -1.0, 0.0], [0.0, 0.0, 0.0]),
            ([2.0, -0.5, 0.0], [1.0, 0.0, 0.0]),
            ([-0.5, 2.0, 0.0], [0.0, 1.0, 0.0]),
            ([0.5, -1.0, 0.0], [0.5, 0.0, 0.0]),
            ([-1.0, 0.5, 0.0], [0.0, 0.5, 0.0]),
            ([1.0, 1.0, 0.0], [0.5, 0.5, 0.0]),
        ];
        for (p, expected) in cases {
            assert!(nearest(Vec3::from_array(p), t).distance(Vec3::from_array(expected)) < 1e-6, "{p:?}");
        }
    }

    /// Seen from its centre, a face of a cube takes up a sixth of the sphere; this triangle is half a face.
    #[test]
    fn half_a_face_of_a_cube() {
        let t = [Vec3::new(-1.0, -1.0, 1.0), Vec3::new(1.0, -1.0, 1.0), Vec3::new(1.0, 1.0, 1.0)];
        let twelfth = 4.0 * std::f32::consts::PI / 12.0;
        assert!((solid_angle(Vec3::ZERO, t) - twelfth).abs() < 1e-5);
    }
}
