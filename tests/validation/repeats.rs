//! Averages that are begun elsewhere in the cycle come out the same.

use super::jet_rig::{H, Rig, mouth, norm, open_box};
use slackwater::flow::Rates;

/// A jet that is on and off in turn: means over the same number of whole cycles, begun at four places in the cycle, differ by less than 2 %.
#[test]
fn whole_cycle_means_do_not_depend_on_where_they_begin() {
    let m = mouth([0.0, 16.0, 16.0], [1.0, 0.0, 0.0], 1.0);
    let mut rig = Rig::new(&open_box([40, 32, 32], vec![m]));
    let (on, off) = (rig.rates.clone(), Rates::shut(rig.flow.ports()));
    // Lengths in cells over the mouth's speed.
    let (quarter, spin_up, cycles) = (20.0f32, 2, 8);
    let places = [10.0f32, 15.0, 20.0, 25.0];
    let mut quarters: Vec<[f64; 4]> = Vec::new();
    for n in 0..4 * (spin_up + cycles + 1) {
        rig.rates = if n % 4 < 2 { on.clone() } else { off.clone() };
        let (end, mut sums) = (f64::from((n + 1) as f32 * quarter * H), [0.0f64; 4]);
        while rig.flow.time() < end {
            let dt = f64::from(rig.step());
            for (sum, x) in sums.iter_mut().zip(places) {
                *sum += dt * rig.flow.sample([x * H, 16.0 * H, 16.0 * H]).map_or(0.0, |u| f64::from(norm(u)));
            }
        }
        quarters.push(sums);
    }
    let mean = |start: usize, place: usize| {
        let from = 4 * spin_up + start;
        quarters[from..from + 4 * cycles].iter().map(|sums| sums[place]).sum::<f64>() / f64::from(4.0 * cycles as f32 * quarter * H)
    };
    for (place, x) in places.iter().enumerate() {
        let means: [f64; 4] = std::array::from_fn(|start| mean(start, place));
        let middle = means.iter().sum::<f64>() / 4.0;
        let worst = means.iter().map(|m| (m / middle - 1.0).abs()).fold(0.0, f64::max);
        println!("on and off, x = {x} h: means from four places in the cycle {means:.4?}, {:.2} % off their own mean", 100.0 * worst);
        assert!(worst < 0.02, "x = {x} h: {means:?}");
    }
}
