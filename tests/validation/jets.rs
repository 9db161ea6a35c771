//! Jets against the published round jet. The full tables and plots: `cargo bench --no-default-features --bench jets`.

use super::jet_rig::{Means, Mouth, Rig, Scene, WALL, mouth, norm, open_box};
use slackwater::flow::{Resistance, Side};

/// References 5.1 to 5.3: Uc/U₀ = 6 D/x, virtual origin at the mouth; core to 6 D.
fn law(m: &Mouth, x: f32) -> f32 {
    m.speed * (6.0 * m.bore / x).min(1.0)
}

fn ahead(m: &Mouth, x: f32) -> [f32; 3] {
    std::array::from_fn(|d| m.at[d] + x * m.direction[d])
}

fn near_speed(rig: &Rig, place: [f32; 3]) -> Option<f32> {
    let place = place.map(|x| x * super::jet_rig::H);
    rig.near.at(&rig.flow, place).map(|(u, _)| norm(u))
}

/// A jet in a small open box, developed to some 25 cells.
fn small(bore: f32, direction: [f32; 3]) -> (Scene, Mouth) {
    let sideways = |d: usize| if direction[d] > 0.1 { 8.0 } else { 16.0 } + 0.02;
    let m = mouth([0.0, sideways(1), sideways(2)], direction, bore);
    (open_box([40, 32, 32], vec![m]), m)
}

/// References 5.1 to 5.3 on the bare grid: centreline within 8 % of 6 D/x (5 % along the grid) and axis within half a cell;
/// momentum flux within 2 % along the grid (oblique jets lack 2 to 3 %, which the wall takes: next test).
#[test]
fn the_grid_alone_carries_a_free_jet() {
    for (direction, tolerance) in [([1.0, 0.0, 0.0], 0.05), ([0.87, 0.5, 0.0], 0.08)] {
        let (scene, m) = small(1.0, direction);
        let mut rig = Rig::new(&scene);
        rig.run(250.0);
        let means = rig.measure(100.0, 5);
        for x in [20.0, 24.0] {
            let section = means.section(&m, x);
            let error = section.centre / law(&m, x) - 1.0;
            println!("{direction:?}: {:+.1} % off the law; {section:?}", 100.0 * error);
            assert!(error.abs() < tolerance, "{direction:?}: {section:?}");
            assert!(section.offset < 0.5, "{direction:?}: {section:?}");
            if direction[0] == 1.0 {
                assert!((section.momentum - 1.0).abs() < 0.02, "{section:?}");
            }
        }
    }
}

/// Twelve cells of open water behind the nozzle: the axis stays straight. What turns an oblique jet aside is the wall that its nozzle sits in, as
/// that lets no water in from behind. (Its momentum, whole there too, needs the bench's wider box.)
#[test]
fn away_from_walls_an_oblique_jet_goes_straight() {
    for direction in [[0.71, 0.71, 0.0], [0.75, 0.43, 0.5]] {
        let m = mouth([12.0, 14.02, if direction[2] > 0.0 { 14.02 } else { 24.02 }], direction, 1.0);
        let mut scene = open_box([52, 48, 48], vec![m]);
        scene.sides[0] = Side::Open;
        let mut rig = Rig::new(&scene);
        rig.run(250.0);
        let means = rig.measure(100.0, 5);
        for x in [20.0, 24.0] {
            let section = means.section(&m, x);
            println!("{direction:?}: {section:?}");
            assert!(section.offset < 0.25, "{direction:?}: {section:?}");
        }
    }
}

/// Issue row 2: from 6 D on within 15 % of the law, joined without a jump.
#[test]
fn near_a_nozzle_the_published_jet_is_told() {
    for (bore, direction) in [(1.0, [1.0, 0.0, 0.0]), (1.0, [0.87, 0.5, 0.0]), (2.0, [0.75, 0.43, 0.5])] {
        let (scene, m) = small(bore, direction);
        let mut rig = Rig::new(&scene);
        rig.run(250.0 / bore);
        rig.near.trace(&rig.flow);
        let mut before = 1.0;
        for n in 0..=40 {
            let x = 6.0 * bore + 0.5 * n as f32;
            let Some(got) = near_speed(&rig, ahead(&m, x)).filter(|_| x <= 24.0) else { break };
            let ratio = got / law(&m, x);
            println!("D = {bore} h, {direction:?}, x = {x} h: {:+.1} % of the law", 100.0 * (ratio - 1.0));
            assert!((ratio - 1.0).abs() < 0.15, "D = {bore} h, {direction:?}, x = {x} h: {ratio}");
            assert!((ratio - before).abs() < 0.05, "a jump at x = {x} h: {before} to {ratio}");
            before = ratio;
        }
    }
}

/// The wide slow mouth of an ejector that has taken in four times its own flow: as a round jet of that bore and speed, within 15 % (issue row 3).
#[test]
fn an_ejector_is_a_wide_slow_jet() {
    let (mut scene, m) = small(2.5, [1.0, 0.0, 0.0]);
    let m = Mouth { speed: 0.4, ..m };
    scene.mouths = vec![m];
    let mut rig = Rig::new(&scene);
    rig.run(250.0);
    let means = rig.measure(100.0, 5);
    for x in [24.0, 28.0] {
        let error = means.section(&m, x).centre / law(&m, x) - 1.0;
        println!("ejector, x = {x} h: {:+.1} % off the law", 100.0 * error);
        assert!(error.abs() < 0.15, "{x}: {error}");
    }
}

/// u′/Uc about 0.25 on the axis, in the mean square and in the peaks (three standard deviations).
#[test]
fn a_jet_is_told_with_its_turbulence() {
    let (scene, m) = small(1.0, [1.0, 0.0, 0.0]);
    let mut rig = Rig::new(&scene);
    rig.run(200.0);
    let means: Means = rig.measure(20.0, 4);
    for x in [16usize, 20, 24, 30] {
        // The four cells round the axis, which runs between them.
        let cell = x + 40 * (16 + 32 * 16);
        let centre = law(&m, x as f32 + 0.5);
        let along = (means.variance[cell] / means.seconds).sqrt() as f32 / (1.0f32 + 2.0 * 0.64).sqrt() / centre;
        let peak = means.fastest[cell] / centre;
        println!("x = {x}.5 h: u'/Uc {along:.3}, peak/Uc {peak:.2}");
        assert!((along - 0.25).abs() < 0.04, "{along}");
        assert!((peak - 1.75).abs() < 0.15 * 1.75, "{peak}");
    }
}

#[test]
fn a_jet_that_is_shut_off_fades_from_its_mouth() {
    let (scene, m) = small(1.0, [1.0, 0.0, 0.0]);
    let mut rig = Rig::new(&scene);
    rig.run(120.0);
    rig.rates.jets[0] = Default::default();
    for (after, x, most) in [(10.0, 3.0, 0.2), (60.0, 3.0, 0.05), (60.0, 10.0, 0.25)] {
        while rig.flow.time() < f64::from((120.0 + after) * super::jet_rig::H) {
            rig.step();
        }
        rig.near.trace(&rig.flow);
        let got = near_speed(&rig, ahead(&m, x)).unwrap();
        println!("{after} h/U0 after the end, x = {x} h: {got:.3} U0");
        assert!(got < most, "{after}, {x}: {got}");
    }
}

/// A slab of rock at 14 cells: the law to a little before it, none behind it.
#[test]
fn a_jet_ends_where_it_strikes() {
    let (mut scene, m) = small(1.0, [1.0, 0.0, 0.0]);
    scene.solid = |p| (p[0] - 15.5).abs() - 1.5;
    scene.sides = [WALL, WALL, Side::Open, Side::Open, Side::Open, Side::Open];
    let mut rig = Rig::new(&scene);
    rig.run(120.0);
    rig.near.trace(&rig.flow);
    for x in [6.0, 8.0, 10.0] {
        let ratio = near_speed(&rig, ahead(&m, x)).unwrap() / law(&m, x);
        assert!((ratio - 1.0).abs() < 0.15, "{x}: {ratio}");
    }
    let at_the_face = near_speed(&rig, ahead(&m, 13.7)).unwrap();
    assert!(at_the_face < 0.6 * law(&m, 13.7), "{at_the_face}");
    for x in [18.0, 22.0] {
        let behind = near_speed(&rig, ahead(&m, x)).unwrap();
        assert!(behind < 0.05, "{x}: {behind}");
    }
}

/// A canopy from 10 cells on, so dense that a jet loses e-fold of its momentum in 20: by dM/dx = −b M exactly, as fluctuations and the way aside
/// are small. The grid's own momentum within 10 %, what is told from 6 D on within 15 % (as for free jets) of the law times √(M/M₀).
#[test]
fn a_canopy_takes_a_jets_momentum() {
    const FROM: f32 = 10.0;
    let (scene, m) = small(2.0, [1.0, 0.0, 0.0]);
    let mut rig = Rig::new(&scene);
    let h = super::jet_rig::H;
    let canopy = Resistance { linear: 0.0, quadratic: 1.0 / (20.0 * h) };
    rig.flow.set_resistance(&move |p| if p[0] > FROM * h { canopy } else { Resistance::default() });
    let left = |x: f32| (-(x - FROM).max(0.0) / 20.0).exp();
    rig.run(250.0);
    let means = rig.measure(100.0, 5);
    for x in [16.0, 20.0, 24.0] {
        let momentum = means.section(&m, x).momentum;
        println!("canopy, x = {x} h: momentum {momentum:.3}, wanted {:.3}", left(x));
        assert!((momentum / left(x) - 1.0).abs() < 0.10, "{x}: {momentum}");
    }
    rig.near.trace(&rig.flow);
    for x in [12.0, 16.0, 20.0, 24.0] {
        let ratio = near_speed(&rig, ahead(&m, x)).unwrap() / (law(&m, x) * left(x).sqrt());
        println!("canopy, x = {x} h: told {:+.1} % off", 100.0 * (ratio - 1.0));
        assert!((ratio - 1.0).abs() < 0.15, "{x}: {ratio}");
    }
}

/// Along a smooth wall the same code with the jet resolved finds 1.18 to 1.31 of the free jet's law at 15 and 20 bores, in two runs
/// (`benches/jet_twins.rs`); within 15 % of their mean. With a mixing length that knew no wall it was a fifth too slow.
#[test]
fn along_a_wall_a_jet_is_as_fast_as_a_resolved_one() {
    let m = mouth([0.0, 20.0, 2.0], [1.0, 0.0, 0.0], 2.0);
    let mut scene = open_box([46, 40, 22], vec![m]);
    scene.sides[4] = WALL;
    let mut rig = Rig::new(&scene);
    rig.run(180.0);
    let means = rig.measure(160.0, 5);
    for x in [30.0, 40.0] {
        let share = means.fastest_across(&m, x) / law(&m, x);
        println!("{x} h along a wall: {share:.2} of the free jet's law");
        assert!((share / 1.24 - 1.0).abs() < 0.15, "{share}");
    }
}

/// Water spreads on rock that it strikes as on a wall of the box: one mixing length for both.
#[test]
fn a_jet_spreads_on_rock_as_on_a_wall() {
    let along = |rock: bool| {
        let m = mouth([4.0, 16.0, 16.0], [1.0, 0.0, 0.0], 1.0);
        let mut scene = open_box([if rock { 20 } else { 16 }, 32, 32], vec![m]);
        scene.sides[0] = Side::Open;
        if rock {
            scene.solid = |p| 16.0 - p[0];
        }
        scene.sides[1] = WALL;
        let mut rig = Rig::new(&scene);
        rig.run(120.0);
        let means = rig.measure(80.0, 5);
        // Mean over four ways of the speed along the surface in the cell before it.
        let ways = [[10.5, 16.0], [21.5, 16.0], [16.0, 10.5], [16.0, 21.5]];
        ways.iter().map(|[y, z]| means.at([15.5, *y, *z])).map(|u| 0.25 * u[1].hypot(u[2])).sum::<f32>()
    };
    let (wall, rock) = (along(false), along(true));
    println!("5.5 h from where it strikes: wall {wall:.4}, rock {rock:.4} m/s");
    assert!(wall > 0.05 && (rock / wall - 1.0).abs() < 0.1, "wall {wall}, rock {rock}");
}
