//! How well a run says how well it is known: means begun elsewhere in the cycle, other seeds, longer averages.

use super::jet_rig::{H, Rig, mouth, norm, open_box};
use slackwater::catalog::Catalog;
use slackwater::flow::Rates;
use slackwater::layout::load;
use slackwater::study::{Control, Settings, Span, Study, run};
use std::path::Path;

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

fn studied(seed: u64, seconds: f64) -> Study {
    let layout = load(Path::new("layouts/alcove.ron")).unwrap().layout;
    let settings = Settings { cell: 0.05, spin_up: 60.0, span: Span::Seconds(seconds), seed, ..Settings::default() };
    run(&layout, Catalog::builtin(), &settings, &mut |_| Control::Go).unwrap()
}

/// Time-mean speeds of two runs that differ in the seed of the first noise alone agree within their own error bars: at least the share of cells that
/// Student's t with 2 (batches − 1) degrees of freedom puts within two standard errors of the difference, less 0.1 (cells know of each other). More
/// may: on such cells the water of a small tank all but repeats itself from cycle to cycle. A run of twice the length leaves the share of slow water,
/// at every limit, within the bounds that the shorter one gave: the cells that are slow with two standard errors added, and taken off.
#[test]
fn seeds_agree_and_longer_runs_stay_within_the_error_bars() {
    let seconds = 200.0;
    let [one, other] = [1, 2].map(|seed| studied(seed, seconds));
    let batches = one.record.run.batches;
    let (first, second) = (&one.fields, &other.fields);
    let is_within = |cell: usize| {
        let error = first.error(cell).unwrap().hypot(second.error(cell).unwrap());
        f64::from(first.mean_speed[cell] - second.mean_speed[cell]).abs() < 2.0 * error
    };
    let cells: Vec<usize> = (0..first.mean_speed.len()).filter(|&cell| first.water[cell] > 0.5).collect();
    let within = cells.iter().filter(|&&cell| is_within(cell)).count() as f64 / cells.len() as f64;
    // P(|t| < 2) at 8 degrees of freedom: 0.92 (tables of Student's t, from memory: 0.95 at 2.306, 0.90 at 1.860).
    println!("two seeds, {batches} batches: {within:.3} of {} cells within two standard errors, expected 0.92", cells.len());
    assert_eq!(batches, 5);
    assert!(cells.len() > 1000 && within > 0.82, "{within}");
    let long = studied(1, 2.0 * seconds);
    for (short, longer) in one.record.share_under.iter().zip(&long.record.share_under) {
        let (low, high) = (short.share_low.unwrap(), short.share_high.unwrap());
        println!(
            "under {} m/s: {:.4} ({low:.4} to {high:.4}) of the tank; {:.4} after twice the time",
            short.limit_m_s, short.share, longer.share
        );
        assert!((low..=high).contains(&longer.share), "{short:?}, then {longer:?}");
    }
}
