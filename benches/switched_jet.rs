//! A jet that starts and stops.

use crate::at_once::all;
use crate::jet_rig::{H, Rig, Scene, mouth, norm, open_box};
use slackwater::flow::Rates;

/// Row 7: a jet that starts and stops; whole-cycle means with the step halved.
pub fn switching() {
    starting();
    cycles();
}

/// The jet, in its box.
fn scene() -> Scene {
    open_box([64, 40, 40], vec![mouth([0.0, 20.0, 20.0], [1.0, 0.0, 0.0], 1.0)])
}

/// The place on its axis so many cells from the mouth, in metres.
fn on_axis(x: f32) -> [f32; 3] {
    [x * H, 20.0 * H, 20.0 * H]
}

/// How far its front has come, some times after it starts.
fn starting() {
    println!(
        "front of a jet that starts: place where the axis has half of the law's speed, against (8 U0 D t)^1/2 (Hill and Ouellette 1999, from memory)"
    );
    let mut rig = Rig::new(&scene());
    for t in [25.0f32, 50.0, 100.0, 200.0] {
        rig.run(t - rig.flow.time() as f32 / H);
        rig.near.trace(&rig.flow);
        let computed = front(|x| rig.flow.sample(on_axis(x)).map_or(0.0, |u| u[0]));
        let told = front(|x| rig.near.at(&rig.flow, on_axis(x)).map_or(0.0, |(u, _)| u[0]));
        println!("    t = {t} h/U0: wanted {:.1}  computed {computed:.1}  told {told:.1}", (8.0 * t).sqrt());
    }
}

/// Farthest place, in cells, where the speed along the axis is over half of the law's.
fn front(speed: impl Fn(f32) -> f32) -> f32 {
    (6..120).map(|n| 0.5 * n as f32).filter(|x| speed(*x) > 3.0 / x).fold(0.0, f32::max)
}

/// Means over whole cycles of a jet that goes on and off, for three lengths of the step.
fn cycles() {
    let courants = [0.7f32, 0.35, 0.175];
    println!("mean speed on the axis of a jet that is on and off for 40 h/U0 each, x/h = 10 15 20 25 30");
    for (courant, means) in courants.iter().zip(all(&courants, cycle)) {
        println!("    Courant {courant}: {means:.4?}");
    }
}

/// Mean speed at five places of the axis over eight cycles, after two that don't count.
fn cycle(courant: &f32) -> [f64; 5] {
    let mut rig = Rig::new(&Scene { courant: *courant, ..scene() });
    let (on, off) = (rig.rates.clone(), Rates::shut(rig.flow.ports()));
    let mut sums = [0.0f64; 5];
    let (period, cycles) = (80.0f32, 10);
    for n in 0..cycles {
        for half in [&on, &off] {
            rig.rates = half.clone();
            let end = rig.flow.time() + f64::from(0.5 * period * H);
            while rig.flow.time() < end {
                let dt = f64::from(rig.step());
                for (sum, x) in sums.iter_mut().zip([10.0f32, 15.0, 20.0, 25.0, 30.0]).filter(|_| n >= 2) {
                    *sum += dt * rig.flow.sample(on_axis(x)).map_or(0.0, |u| f64::from(norm(u)));
                }
            }
        }
    }
    sums.map(|s| s / f64::from(period * H * (cycles - 2) as f32))
}
