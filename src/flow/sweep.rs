//! One sweep through the planes of the box: from the velocity of now to that of the next moment, but for the pressure's last correction.
//!
//! Plane after plane: eddy viscosity, rates of change, friction, the new velocity, the jet marks. What only neighbouring planes need of
//! each other (viscosity, vorticity, rates in work) lives in a few planes of working memory that stay in the cache. Every thread takes
//! one slab of planes and finds the few planes beside it for itself, so that the bits don't depend on how many there are.

use super::{
    advect::{self, Transport},
    carry::{self, Carrier, Rows},
    clock::{Clock, Operator},
    corners::{self, Corners},
    eddy::Eddies,
    field::{Faces, inner_mut, planes_per_slab},
    friction,
    grid::Lattice,
    predict::{self, Prediction},
    tags::{Chunks, Tags},
    wall_faces::Walls,
};
use rayon::prelude::*;

/// What a sweep reads.
pub(super) struct Sweep<'a> {
    pub eddies: Eddies<'a>,
    pub transport: Transport<'a>,
    pub walls: &'a Walls,
    pub corners: &'a Corners,
    pub prediction: Prediction<'a>,
    pub carrier: Carrier<'a>,
    /// Is any water marked?
    pub marked: bool,
}

/// What a sweep writes; `rate` holds the last step's rates before.
pub(super) struct Swept<'a> {
    pub velocity: &'a mut Faces,
    pub rate: &'a mut Faces,
    pub tags: &'a mut Tags,
}

/// Planes of viscosity and vorticity kept at a time.
const KEPT: usize = 4;

/// Working memory of one thread.
#[derive(Debug)]
pub(super) struct Bench {
    /// Plane k lies at k mod 4.
    viscosity: [Vec<f32>; KEPT],
    spin: [Vec<f32>; KEPT],
    /// For the planes beside the box where its ends along z are joined or open.
    spare: [Vec<f32>; KEPT],
    /// Rates of the planes with even and odd k.
    rate: [[Vec<f32>; 3]; 2],
    flux: [Vec<f32>; 2],
    marks: Rows,
    /// Pressure unknowns of two planes in plain order, and one row.
    pub plain: [Vec<f32>; 2],
    pub row: Vec<f32>,
    pub clock: Clock,
    /// Were speeds held at the limit?
    held: bool,
}

impl Bench {
    pub fn new(lattice: &Lattice) -> Self {
        let plane = || vec![0.0; lattice.stride[2]];
        Self {
            viscosity: std::array::from_fn(|_| plane()),
            spin: std::array::from_fn(|_| plane()),
            spare: std::array::from_fn(|_| plane()),
            rate: std::array::from_fn(|_| std::array::from_fn(|_| plane())),
            flux: std::array::from_fn(|_| vec![0.0; lattice.pitch()]),
            marks: Rows::new(lattice),
            plain: std::array::from_fn(|_| plane()),
            row: vec![0.0; lattice.pitch()],
            clock: Clock::new(),
            held: false,
        }
    }
}

/// One thread's part of what is written: its planes.
struct Slab<'a> {
    velocity: [&'a mut [f32]; 3],
    rate: [&'a mut [f32]; 3],
    tags: [&'a mut [f32]; 3],
    marked: &'a mut [Chunks],
}

impl Sweep<'_> {
    /// Runs over all planes; true when speeds had to be held at the limit. There must be a bench for every slab.
    pub fn run(&self, benches: &mut [Bench], swept: Swept) -> bool {
        let lattice = self.transport.lattice;
        let planes = planes_per_slab(lattice.n[2]);
        let size = planes * lattice.stride[2];
        let Tags { mark, way, drive, marked, rows, .. } = swept.tags;
        let marked = &mut marked[*rows..*rows * (lattice.n[2] + 1)];
        let velocity = slabs(swept.velocity.each_mut(), &lattice, size);
        let rate = slabs(swept.rate.each_mut(), &lattice, size);
        let tags = slabs([mark, way, drive], &lattice, size);
        let work = benches.par_iter_mut().zip(velocity).zip(rate).zip(tags).zip(marked.par_chunks_mut(*rows * planes)).enumerate();
        work.for_each(|(slab, ((((bench, velocity), rate), tags), marked))| {
            let range = (slab * planes, ((slab + 1) * planes).min(lattice.n[2]));
            sweep_slab(self, range, bench, Slab { velocity, rate, tags, marked });
        });
        benches.iter().any(|bench| bench.held)
    }
}

/// Three arrays cut into slabs of planes.
fn slabs<'a>(
    arrays: [&'a mut Vec<f32>; 3],
    lattice: &Lattice,
    size: usize,
) -> impl IndexedParallelIterator<Item = [&'a mut [f32]; 3]> + use<'a> {
    let [x, y, z] = arrays;
    let cut = |array: &'a mut Vec<f32>| inner_mut(array, lattice).par_chunks_mut(size);
    cut(x).zip(cut(y)).zip(cut(z)).map(|((x, y), z)| [x, y, z])
}

fn sweep_slab(sweep: &Sweep, (first, end): (usize, usize), bench: &mut Bench, mut slab: Slab) {
    let lattice = sweep.transport.lattice;
    let plane_size = lattice.stride[2];
    bench.clock.start();
    bench.held = false;
    bench.marks.begin();
    let (first_plane, last_plane) = (first as isize - 1, end as isize);
    sweep.eddies.raw(first_plane - 1, ring(&mut bench.viscosity, first_plane - 1), ring(&mut bench.spin, first_plane - 1));
    sweep.eddies.raw(first_plane, ring(&mut bench.viscosity, first_plane), ring(&mut bench.spin, first_plane));
    for k in first_plane..=last_plane {
        sweep.eddies.raw(k + 1, ring(&mut bench.viscosity, k + 1), ring(&mut bench.spin, k + 1));
        let spin = [k - 1, k, k + 1].map(|k| bench.spin[slot(k)].as_slice());
        sweep.eddies.finish(k, spin, ring(&mut bench.viscosity, k), &mut bench.spare, &mut bench.row);
        bench.clock.lap(Operator::Viscosity);
        if k < first as isize {
            continue;
        }
        let (k, viscosity) = (k as usize, |k: isize| bench.viscosity[slot(k)].as_slice());
        let [even, odd] = &mut bench.rate;
        let (here, below) = if k % 2 == 0 { (even, odd) } else { (odd, even) };
        let [flux, other] = &mut bench.flux;
        let at = k as isize;
        advect::plane(&sweep.transport, (k, k > first, k < end), [viscosity(at - 1), viscosity(at)], (here, &mut *below), (flux, other));
        bench.clock.lap(Operator::Transport);
        if k == first {
            continue;
        }
        let done = k - 1;
        friction::drag(sweep.walls, &sweep.transport, done, below);
        corners::pass(sweep.corners, &sweep.transport, done, below);
        bench.clock.lap(Operator::Friction);
        let range = (done - first) * plane_size..(done - first + 1) * plane_size;
        let mut velocity = slab.velocity.each_mut().map(|array| &mut array[range.clone()]);
        let mut rate = slab.rate.each_mut().map(|array| &mut array[range.clone()]);
        bench.held |= predict::plane(&sweep.prediction, done, &mut velocity, &mut rate, below);
        bench.clock.lap(Operator::Prediction);
        if sweep.marked {
            let rows = lattice.n[1] + 2;
            let marks = slab.tags.each_mut().map(|array| &mut array[range.clone()]);
            let marked = &mut slab.marked[(done - first) * rows..][..rows];
            let viscosity = [at - 2, at - 1, at].map(viscosity);
            carry::advance_plane(&sweep.carrier, sweep.eddies.tags, done, viscosity, marks, marked, &mut bench.marks);
            bench.clock.lap(Operator::Marks);
        }
    }
}

fn slot(k: isize) -> usize {
    k.rem_euclid(KEPT as isize) as usize
}

fn ring(planes: &mut [Vec<f32>; KEPT], k: isize) -> &mut [f32] {
    &mut planes[slot(k)]
}
