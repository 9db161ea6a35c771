//! The surface where a sampled number changes sign, as triangles: naive surface nets (Gibson 1998, "Constrained elastic surface
//! nets"): one vertex in each cell that the surface crosses, at the mean of the crossings of its edges.

/// A closed or open surface.
#[derive(Debug, Default)]
pub struct Surface {
    /// Vertices, in steps of the grid.
    pub points: Vec<[f32; 3]>,
    /// Triangles, counter-clockwise seen from outside (where the number is positive).
    pub triangles: Vec<u32>,
}

/// Corners of a cell, x fastest.
const CORNERS: [[usize; 3]; 8] = [[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [0, 0, 1], [1, 0, 1], [0, 1, 1], [1, 1, 1]];
const EDGES: [[usize; 2]; 12] = [[0, 1], [2, 3], [4, 5], [6, 7], [0, 2], [1, 3], [4, 6], [5, 7], [0, 4], [1, 5], [2, 6], [3, 7]];

/// The surface of `n` samples, x fastest; inside where the sample is negative.
pub fn surface(n: [usize; 3], samples: &[f32]) -> Surface {
    let mut out = Surface::default();
    if n.iter().any(|&m| m < 2) || samples.len() != n[0] * n[1] * n[2] {
        return out;
    }
    let vertex = vertices(n, samples, &mut out);
    faces(n, samples, &vertex, &mut out);
    out
}

const NONE: u32 = u32::MAX;

fn vertices(n: [usize; 3], samples: &[f32], out: &mut Surface) -> Vec<u32> {
    let stride = [1, n[0], n[0] * n[1]];
    let mut vertex = vec![NONE; samples.len()];
    for k in 0..n[2] - 1 {
        for j in 0..n[1] - 1 {
            for i in 0..n[0] - 1 {
                let base = i + stride[1] * j + stride[2] * k;
                let values = CORNERS.map(|c| samples[base + c[0] + c[1] * stride[1] + c[2] * stride[2]]);
                if let Some(p) = mean_crossing(&values) {
                    vertex[base] = out.points.len() as u32;
                    out.points.push([i as f32 + p[0], j as f32 + p[1], k as f32 + p[2]]);
                }
            }
        }
    }
    vertex
}

fn mean_crossing(values: &[f32; 8]) -> Option<[f32; 3]> {
    let (mut sum, mut count) = ([0.0; 3], 0.0);
    for [a, b] in EDGES {
        let (va, vb) = (values[a], values[b]);
        if (va < 0.0) != (vb < 0.0) {
            let t = va / (va - vb);
            for axis in 0..3 {
                let (ca, cb) = (CORNERS[a][axis] as f32, CORNERS[b][axis] as f32);
                sum[axis] += ca + t * (cb - ca);
            }
            count += 1.0;
        }
    }
    (count > 0.0).then(|| sum.map(|s| s / count))
}

/// One quad around every grid edge that the surface crosses.
fn faces(n: [usize; 3], samples: &[f32], vertex: &[u32], out: &mut Surface) {
    let stride = [1, n[0], n[0] * n[1]];
    for k in 0..n[2] {
        for j in 0..n[1] {
            for i in 0..n[0] {
                let (cell, at) = ([i, j, k], i + stride[1] * j + stride[2] * k);
                for axis in 0..3 {
                    let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
                    if cell[axis] + 1 >= n[axis] || cell[u] == 0 || cell[v] == 0 {
                        continue;
                    }
                    let (inside, beyond) = (samples[at] < 0.0, samples[at + stride[axis]] < 0.0);
                    if inside != beyond {
                        let quad = [at - stride[u] - stride[v], at - stride[v], at, at - stride[u]].map(|c| vertex[c]);
                        push_quad(quad, inside, out);
                    }
                }
            }
        }
    }
}

fn push_quad(q: [u32; 4], outward: bool, out: &mut Surface) {
    if q.contains(&NONE) {
        return;
    }
    let order = if outward { [0, 1, 2, 0, 2, 3] } else { [0, 2, 1, 0, 3, 2] };
    out.triangles.extend(order.map(|i| q[i]));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ball_has_its_volume() {
        let (n, radius) = (24, 8.0f32);
        let middle = 11.5;
        let samples: Vec<f32> = (0..n * n * n)
            .map(|c| {
                let p = [c % n, c / n % n, c / (n * n)].map(|x| x as f32 - middle);
                (p[0] * p[0] + p[1] * p[1] + p[2] * p[2]).sqrt() - radius
            })
            .collect();
        let ball = surface([n, n, n], &samples);
        let volume: f32 = ball.triangles.chunks(3).map(|t| signed(&ball, t)).sum();
        let exact = 4.0 / 3.0 * std::f32::consts::PI * radius.powi(3);
        assert!((volume / exact - 1.0).abs() < 0.03, "{volume} against {exact}");
    }

    fn signed(s: &Surface, t: &[u32]) -> f32 {
        let [a, b, c] = [0, 1, 2].map(|i| s.points[t[i] as usize].map(|x| x - 11.5));
        (a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])) / 6.0
    }
}
