//! Free jets at every angle and bore, far from the nozzle and near it, against the published round jet.

use crate::at_once::all;
use crate::chart::{Chart, Curve};
use crate::jet_rig::{H, Mouth, Rig, Scene, Section, mouth, norm, open_box};
use slackwater::flow::Side;
use std::path::Path;

/// A free jet: bore in cells, angles in degrees about z and up.
#[derive(Clone, Copy)]
pub struct Free {
    bore: f32,
    turn: f32,
    /// Above zero: out of the plane of two axes of the grid.
    pub rise: f32,
    /// Its nozzle sits in a wall; otherwise it ends in open water, [`CLEAR`] cells from an open side.
    walled: bool,
}

/// Cells of open water behind a nozzle without a wall.
const CLEAR: usize = 12;

/// Distances from the mouth at which its sections are printed, in cells.
const STATIONS: [f32; 7] = [12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0];

impl Free {
    /// Its box, and its mouth in that box.
    fn scene(&self) -> (Scene, Mouth) {
        let (turn, rise) = (self.turn.to_radians(), self.rise.to_radians());
        let direction = [turn.cos() * rise.cos(), turn.sin() * rise.cos(), rise.sin()];
        // Wide enough that an oblique jet with all that it draws in fits until 50 h.
        let wide = if self.rise > 0.0 { 80 } else { 56 };
        let side = |tilted: bool| if tilted { (0.22 * wide as f32).floor() } else { 0.5 * wide as f32 };
        let behind = if self.walled { 0 } else { CLEAR };
        let m = mouth([behind as f32, side(self.turn > 0.0) + 0.02, side(self.rise > 0.0)], direction, self.bore);
        let mut scene = open_box([96 + behind, wide, wide], vec![m]);
        if !self.walled {
            scene.sides[0] = Side::Open;
        }
        (scene, m)
    }

    /// Mean sections at all stations.
    fn sections(&self) -> Vec<Section> {
        let (scene, m) = self.scene();
        let mut rig = Rig::new(&scene);
        let span = 900.0 / self.bore.max(1.0);
        rig.run(span);
        let means = rig.measure(span, 5);
        STATIONS.map(|x| means.section(&m, x)).to_vec()
    }

    /// What its line of a table begins with.
    fn name(&self) -> String {
        format!("D {:.2} h {:>2}+{:<2} deg", self.bore, self.turn, self.rise)
    }
}

/// Every bore at every angle.
fn grid_of_jets() -> Vec<Free> {
    let bores = [2.0 / 3.0, 1.0, 1.5, 2.0, 3.0];
    let angles = [(0.0, 0.0), (15.0, 0.0), (30.0, 0.0), (45.0, 0.0), (30.0, 30.0)];
    bores.iter().flat_map(|&bore| angles.map(|(turn, rise)| Free { bore, turn, rise, walled: true })).collect()
}

/// Rows of issue part 1: centreline within 8 % of 6 D/x from 20 h (5 % aligned), half-width 0.094 to 0.106 x, momentum within 2 %, offset < 0.5 h.
pub fn free_jets(is_asked: &dyn Fn(&Free) -> bool) {
    let cases: Vec<Free> = grid_of_jets().into_iter().filter(is_asked).collect();
    let found = all(&cases, Free::sections);
    plot_decay(&cases, &found);
    println!("free jets, x/h = {STATIONS:?}: centreline error %, half-width/x, momentum/M0, offset/h");
    print_sections(&cases, &found);
}

/// The same without the wall that the nozzle sits in: how far that draws an oblique jet aside.
pub fn jets_without_a_wall() {
    let cases: Vec<Free> = grid_of_jets().into_iter().map(|case| Free { walled: false, ..case }).collect();
    println!("the same from a nozzle in open water");
    print_sections(&cases, &all(&cases, Free::sections));
}

fn print_sections(cases: &[Free], found: &[Vec<Section>]) {
    for (case, sections) in cases.iter().zip(found) {
        let list = |of: &dyn Fn(&Section) -> String| sections.iter().map(of).collect::<Vec<_>>().join(" ");
        println!(
            "{} | {} | {} | {} | {}",
            case.name(),
            list(&|s| format!("{:+5.1}", 100.0 * (s.centre * s.x / (6.0 * case.bore) - 1.0))),
            list(&|s| format!("{:.3}", s.half_width / s.x)),
            list(&|s| format!("{:.3}", s.momentum)),
            list(&|s| format!("{:.2}", s.offset)),
        );
    }
}

/// Decay along the axis of all bores at one angle, and half-widths, beside the published laws.
fn plot_decay(cases: &[Free], found: &[Vec<Section>]) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/jets");
    for (turn, rise) in [(0.0, 0.0), (30.0, 0.0), (45.0, 0.0), (30.0, 30.0)] {
        let curves = |of: &dyn Fn(&Free, &Section) -> [f64; 2]| -> Vec<Curve> {
            let here = cases.iter().zip(found).filter(|(case, _)| case.turn == turn && case.rise == rise);
            here.map(|(case, sections)| Curve {
                name: format!("D = {:.2} h", case.bore),
                points: sections.iter().map(|s| of(case, s)).collect(),
            })
            .collect()
        };
        let law = |of: fn(f64) -> f64| (2..=20).map(|n| [4.0 * f64::from(n), of(4.0 * f64::from(n))]).collect::<Vec<_>>();
        let chart = |what: &str, axes, curves: Vec<Curve>, published| {
            if !curves.is_empty() {
                Chart { name: format!("{what} at {turn} and {rise} degrees"), axes, curves, published }.write(&folder);
            }
        };
        let decay = curves(&|case, s| [f64::from(s.x / case.bore), f64::from(s.centre)]);
        chart("decay of free jets", ["x/D", "Uc/U0"], decay, law(|x| 6.0 / x));
        let widths = curves(&|case, s| [f64::from(s.x / case.bore), f64::from(s.half_width / case.bore)]);
        chart("half-width of free jets", ["x/D", "half-width/D"], widths, law(|x| 0.098 * x));
    }
}

/// Row 2: what is told near the nozzle, along the straight axis, over the law.
pub fn near_fields() {
    let cases = grid_of_jets();
    println!("told near the nozzle, % off the law at x = 6 D, 8 D, 10 D, then 12.5 15 17.5 20 22.5 25 30 h");
    for (case, errors) in cases.iter().zip(all(&cases, errors_near)) {
        println!("{} | {errors}", case.name());
    }
}

/// How far what is told is off the law, in per cent, at places along the straight axis.
fn errors_near(case: &Free) -> String {
    let (scene, m) = case.scene();
    let mut rig = Rig::new(&scene);
    rig.run(300.0 / case.bore.max(1.0));
    let places: Vec<f32> = [6.0, 8.0, 10.0].map(|x| x * case.bore).into_iter().chain([12.5, 15.0, 17.5, 20.0, 22.5, 25.0, 30.0]).collect();
    let told = told_along(&mut rig, &m, &places);
    let errors = places.iter().zip(told).map(|(x, u)| format!("{:+.0}", 100.0 * (u / (6.0 * case.bore / x).min(1.0) - 1.0)));
    errors.collect::<Vec<_>>().join(" ")
}

/// Mean over forty samples of the speed told at places along the straight axis of a mouth.
fn told_along(rig: &mut Rig, m: &Mouth, places: &[f32]) -> Vec<f32> {
    let mut sums = vec![0.0f32; places.len()];
    let samples = 40;
    for _ in 0..samples {
        for _ in 0..8 {
            rig.step();
        }
        rig.near.trace(&rig.flow);
        for (x, sum) in places.iter().zip(&mut sums) {
            let place = std::array::from_fn(|d| H * (m.at[d] + x * m.direction[d]));
            *sum += rig.near.at(&rig.flow, place).map_or(0.0, |(u, _)| norm(u)) / samples as f32;
        }
    }
    sums
}
