//! Eddy viscosity at cells: the greater of the sub-grid model and the jet model.
//!
//! Sub-grid: νₜ = l² |S| (Smagorinsky 1963; l see `mixing`). Jets: νₜ = (0.0217 s)² |ω| where the water is marked as jet water that left its
//! nozzle a distance s ago (Prandtl's mixing length, no longer than κ times the distance from a surface), less what the convection scheme itself
//! diffuses. See METHOD.md.

use super::{
    field::{Faces, lanes, lanes_from, lanes_mut, max, min, row, row_mut},
    grid::{LANES, LOW, Lattice},
    physics::{Physics, Side},
    solids::periodic,
    tags::{self, Tags},
};
use multiversion::multiversion;

/// Viscosity where there is no water: makes any mean of four cells that includes one negative, hence no stress.
pub(super) const NO_WATER: f32 = -1e30;
/// Mixing length over distance from the nozzle.
const MIXING_LENGTH: f32 = 0.0217;
/// Scheme diffusion of a jet oblique to the grid.
const SCHEME_DIFFUSION: f32 = 0.2;
/// Standard deviation of a jet's width over distance.
const JET_WIDTH: f32 = 0.094;
/// Largest νₜ dt/h²: half of what the time scheme bears.
const MOST_DIFFUSION: f32 = 0.05;

/// What the model reads.
pub(super) struct Eddies<'a> {
    pub lattice: Lattice,
    pub h: f32,
    pub dt: f32,
    pub physics: &'a Physics,
    pub velocity: &'a Faces,
    /// Square of the sub-grid mixing length, m²; negative where there is no water (padded).
    pub length_squared: &'a [f32],
    pub tags: &'a Tags,
    /// Largest mixing length that the distance from a surface leaves to a jet, m (padded).
    pub longest: &'a [f32],
    /// Is the jet model on, and any water marked?
    pub marked: bool,
}

/// A plane of the padded lattice, and what lies on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Plane {
    Inside(usize),
    /// Beside the box, where its end is joined or open: as this plane.
    Like(usize),
    /// Beside a closed end.
    Nothing,
}

impl Eddies<'_> {
    /// Sub-grid viscosity and squared vorticity of plane k, which may lie beside the box.
    pub fn raw(&self, k: isize, viscosity: &mut [f32], spin: &mut [f32]) {
        match self.at(k) {
            Plane::Inside(k) => smagorinsky(self, k, viscosity, spin),
            _ => spin.fill(0.0),
        }
    }

    /// The whole viscosity of plane k, from its sub-grid part and the vorticity of three planes; values beside the rows filled in.
    pub fn finish(&self, k: isize, spin: [&[f32]; 3], viscosity: &mut [f32], spare: &mut [Vec<f32>; 4], work: &mut [f32]) {
        match self.at(k) {
            Plane::Inside(k) if self.marked => jets(self, k, spin, viscosity, work),
            Plane::Inside(_) => {}
            Plane::Nothing => viscosity.fill(NO_WATER),
            Plane::Like(source) => {
                let [unused, below, here, above] = spare;
                for (k, spin) in [(source as isize - 1, &mut *below), (source as isize + 1, &mut *above), (source as isize, &mut *here)] {
                    self.raw(k, unused, spin);
                }
                viscosity.copy_from_slice(unused);
                if self.marked {
                    jets(self, source, [below, here, above], viscosity, work);
                }
            }
        }
        self.fill_beside(viscosity);
    }

    fn at(&self, k: isize) -> Plane {
        let n = self.lattice.n[2];
        if (0..n as isize).contains(&k) {
            return Plane::Inside(k as usize);
        }
        let (side, near, far) = if k < 0 { (4, 0, n - 1) } else { (5, n - 1, 0) };
        match self.physics.sides[side] {
            _ if periodic(self.physics, 2) => Plane::Like(far),
            Side::Open => Plane::Like(near),
            _ => Plane::Nothing,
        }
    }

    /// One value beside each row, one row beside each plane: as the far end, as the near one, or no water.
    fn fill_beside(&self, plane: &mut [f32]) {
        let pitch = self.lattice.stride[1];
        for (axis, stride, across) in [(0, 1, pitch), (1, pitch, 1)] {
            let n = self.lattice.n[axis];
            let joined = periodic(self.physics, axis);
            let count = if axis == 0 { plane.len() / pitch } else { pitch };
            for (side, near, far, beside) in [(2 * axis, LOW, LOW + n - 1, LOW - 1), (2 * axis + 1, LOW + n - 1, LOW, LOW + n)] {
                let from = match self.physics.sides[side] {
                    _ if joined => Some(far),
                    Side::Open => Some(near),
                    _ => None,
                };
                for place in 0..count {
                    plane[place * across + beside * stride] = from.map_or(NO_WATER, |from| plane[place * across + from * stride]);
                }
            }
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn smagorinsky(eddies: &Eddies, k: usize, viscosity: &mut [f32], spin: &mut [f32]) {
    let lattice = eddies.lattice;
    let ([nx, ny, _], n) = (lattice.n, lattice.width());
    let [sx, sy, sz] = lattice.stride;
    let inverse_h = 1.0 / eddies.h;
    let molecular = eddies.physics.viscosity;
    let most = max(MOST_DIFFUSION * eddies.h * eddies.h / max(eddies.dt, 1e-12), molecular);
    for j in 0..ny {
        let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
        let (viscosity, spin) = (row_mut(viscosity, out, n), row_mut(spin, out, n));
        let square = row(eddies.length_squared, at, n);
        // The two faces of a component in a row of cells; their mean is its value at the centres.
        let pair = |d: usize, p: usize| (row(&eddies.velocity[d], p, n), row(&eddies.velocity[d], p + lattice.stride[d], n));
        let (u, v, w) = (pair(0, at), pair(1, at), pair(2, at));
        let (uyl, uyh, uzl, uzh) = (pair(0, at - sy), pair(0, at + sy), pair(0, at - sz), pair(0, at + sz));
        let (vxl, vxh, vzl, vzh) = (pair(1, at - sx), pair(1, at + sx), pair(1, at - sz), pair(1, at + sz));
        let (wxl, wxh, wyl, wyh) = (pair(2, at - sx), pair(2, at + sx), pair(2, at - sy), pair(2, at + sy));
        let slope =
            |low: (&[f32], &[f32]), high: (&[f32], &[f32]), i: usize| 0.25 * inverse_h * ((high.0[i] + high.1[i]) - (low.0[i] + low.1[i]));
        for i in 0..n {
            let (ux, vy, wz) = (inverse_h * (u.1[i] - u.0[i]), inverse_h * (v.1[i] - v.0[i]), inverse_h * (w.1[i] - w.0[i]));
            let (uy, uz) = (slope(uyl, uyh, i), slope(uzl, uzh, i));
            let (vx, vz) = (slope(vxl, vxh, i), slope(vzl, vzh, i));
            let (wx, wy) = (slope(wxl, wxh, i), slope(wyl, wyh, i));
            let (xy, xz, yz) = (uy + vx, uz + wx, vz + wy);
            let strain = 2.0 * (ux * ux + vy * vy + wz * wz) + (xy * xy + xz * xz + yz * yz);
            let (rx, ry, rz) = (wy - vz, uz - wx, vx - uy);
            spin[i] = if i < nx { rx * rx + ry * ry + rz * rz } else { 0.0 };
            let eddy = min(molecular + square[i] * strain.sqrt(), most);
            viscosity[i] = if square[i] >= 0.0 { eddy } else { NO_WATER };
        }
    }
}

#[allow(unsafe_code, reason = "the macro picks the widest vector instructions that the processor has")]
#[multiversion(targets("x86_64+avx512f+avx512bw+avx512cd+avx512dq+avx512vl", "x86_64+avx2"))]
fn jets(eddies: &Eddies, k: usize, spin: [&[f32]; 3], viscosity: &mut [f32], work: &mut [f32]) {
    let (lattice, tags) = (eddies.lattice, eddies.tags);
    let n = lattice.width();
    for j in (0..lattice.n[1]).filter(|j| tags.row_is_marked(*j, k)) {
        let (at, out) = (lattice.row(j, k), lattice.row_in_plane(j));
        smooth_across(spin, (out - LOW, lattice.stride[1]), work);
        for (from, len) in tags::runs(tags.chunks(j, k), tags.chunk) {
            for from in (from..(from + len).min(n)).step_by(LANES) {
                let spin = lanes_from(work, [LOW - 1 + from, LOW + from, LOW + 1 + from]);
                let raised = eddies.jet_viscosity(at + from, spin, lanes(viscosity, out + from));
                *lanes_mut(viscosity, out + from) = raised;
            }
        }
    }
}

/// Weights 1-2-1 in y and z of the nine rows round the padded one that starts at `first`.
#[inline(always)]
fn smooth_across(planes: [&[f32]; 3], (first, pitch): (usize, usize), out: &mut [f32]) {
    for from in (0..pitch).step_by(LANES) {
        let places = [first - pitch + from, first + from, first + pitch + from];
        let (low, middle, high) = (lanes_from(planes[0], places), lanes_from(planes[1], places), lanes_from(planes[2], places));
        let mut sum = [0.0; LANES];
        for i in 0..LANES {
            let of = |[before, here, after]: [&[f32; LANES]; 3]| before[i] + 2.0 * here[i] + after[i];
            sum[i] = of(low) + 2.0 * of(middle) + of(high);
        }
        *lanes_mut(out, from) = sum;
    }
}

impl Eddies<'_> {
    /// Viscosity of a run of cells, that of the jet water where it is in it; `spin` is 16 times the squared vorticity before, at and after
    /// each. No eddy is larger than its distance from a surface lets it be: the jet's mixing length ends at κ d, and that of the wall's own
    /// layer gives way to the grid's, as the jet has swept that layer away.
    #[inline(always)]
    fn jet_viscosity(&self, at: usize, spin: [&[f32; LANES]; 3], viscosity: &[f32; LANES]) -> [f32; LANES] {
        let molecular = self.physics.viscosity;
        let grid = (self.physics.smagorinsky * self.h).powi(2);
        let (square, longest) = (lanes(self.length_squared, at), lanes(self.longest, at));
        let h = self.h;
        let most = MOST_DIFFUSION * h * h / max(self.dt, 1e-12);
        let (mark, way) = (lanes(&self.tags.mark, at), lanes(&self.tags.way, at));
        let pair = |d: usize| (lanes(&self.velocity[d], at), lanes(&self.velocity[d], at + self.lattice.stride[d]));
        let (u, v, w) = (pair(0), pair(1), pair(2));
        let mut raised = [0.0; LANES];
        for i in 0..LANES {
            let spin = (1.0 / 64.0) * (spin[0][i] + 2.0 * spin[1][i] + spin[2][i]);
            let s = way[i];
            let share = tags::jet_share(mark[i], s, h);
            let length = min(MIXING_LENGTH * s, longest[i]);
            let jet = length * length * spin.sqrt() * share;
            let (a, b, c) = (0.5 * (u.0[i] + u.1[i]), 0.5 * (v.0[i] + v.1[i]), 0.5 * (w.0[i] + w.1[i]));
            let (aa, bb, cc) = (a * a, b * b, c * c);
            let speed2 = max(aa + bb + cc, 1e-20);
            let oblique = a.abs() * (speed2 - aa) + b.abs() * (speed2 - bb) + c.abs() * (speed2 - cc);
            let width = max(JET_WIDTH * s, 1.5 * h);
            let scheme = SCHEME_DIFFUSION * oblique * h * h * h / (speed2 * width * width);
            let eddy = min(jet - scheme, most);
            let own = viscosity[i] - molecular;
            let plain = molecular + own * (1.0 - share * (1.0 - grid / max(square[i], max(grid, 1e-20))));
            // NO_WATER stays: the greater of the two is taken only in water.
            raised[i] = if viscosity[i] > NO_WATER { max(plain, eddy) } else { NO_WATER };
        }
        raised
    }
}
