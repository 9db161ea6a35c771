//! A jet that starts and stops.

use crate::at_once::all;
use crate::jet_rig::{H, Rig, mouth, norm, open_box};

/// Row 7: a jet that starts and stops; whole-cycle means with the step halved.
pub fn switching() {
    let m = mouth([0.0, 20.0, 20.0], [1.0, 0.0, 0.0], 1.0);
    println!(
        "front of a jet that starts: place where the axis has half of the law's speed, against (8 U0 D t)^1/2 (Hill and Ouellette 1999, from memory)"
    );
    let mut rig = Rig::new(&open_box([64, 40, 40], vec![m]));
    for t in [25.0f32, 50.0, 100.0, 200.0] {
        rig.run(t - rig.flow.time() as f32 / H);
        rig.near.trace(&rig.flow);
        let speed = |x: f32| rig.flow.sample([x * H, 20.0 * H, 20.0 * H]).map_or(0.0, |u| u[0]);
        let told = |x: f32| rig.near.at(&rig.flow, [x * H, 20.0 * H, 20.0 * H]).map_or(0.0, |(u, _)| u[0]);
        let front = |speed: &dyn Fn(f32) -> f32| (6..120).map(|n| 0.5 * n as f32).filter(|x| speed(*x) > 3.0 / x).fold(0.0, f32::max);
        println!("    t = {t} h/U0: wanted {:.1}  computed {:.1}  told {:.1}", (8.0 * t).sqrt(), front(&speed), front(&told));
    }
    let cycle = |courant: &f32| {
        let mut scene = open_box([64, 40, 40], vec![m]);
        scene.courant = *courant;
        let mut rig = Rig::new(&scene);
        let (on, off) = (rig.rates.clone(), slackwater::flow::Rates::shut(rig.flow.ports()));
        let mut sums = [0.0f64; 5];
        let (period, cycles) = (80.0f32, 10);
        for n in 0..cycles {
            for half in [&on, &off] {
                rig.rates = half.clone();
                let end = rig.flow.time() + f64::from(0.5 * period * H);
                while rig.flow.time() < end {
                    let dt = f64::from(rig.step());
                    for (sum, x) in sums.iter_mut().zip([10.0f32, 15.0, 20.0, 25.0, 30.0]).filter(|_| n >= 2) {
                        *sum += dt * rig.flow.sample([x * H, 20.0 * H, 20.0 * H]).map_or(0.0, |u| f64::from(norm(u)));
                    }
                }
            }
        }
        sums.map(|s| s / f64::from(period * H * (cycles - 2) as f32))
    };
    let courants = [0.7f32, 0.35, 0.175];
    println!("mean speed on the axis of a jet that is on and off for 40 h/U0 each, x/h = 10 15 20 25 30");
    for (courant, means) in courants.iter().zip(all(&courants, cycle)) {
        println!("    Courant {courant}: {means:.4?}");
    }
}
