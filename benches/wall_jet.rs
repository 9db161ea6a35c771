//! What is read off a jet along a wall, or off one that strikes it, in whatever field it is found.

/// Where a jet along the floor has half of its fastest speed: height over the floor, and distance sideways at the height of the fastest.
/// `speed` is asked so many cells aside of its middle and so many up, at most as many as `wide` and `high` say.
pub fn half_widths([wide, high]: [usize; 2], speed: impl Fn(usize, usize) -> f32) -> [f32; 2] {
    let up: Vec<f32> = (0..high).map(|k| speed(0, k)).collect();
    let highest = (0..high).max_by(|a, b| up[*a].total_cmp(&up[*b])).unwrap_or(0);
    let aside: Vec<f32> = (0..wide).map(|j| speed(j, highest)).collect();
    let half = 0.5 * up[highest];
    [falls_to(half, &up, highest), falls_to(half, &aside, 0)]
}

/// Where a line of speeds at the middles of cells falls below this one, beyond the cell `from`.
fn falls_to(speed: f32, line: &[f32], from: usize) -> f32 {
    let at = (from + 1..line.len()).find(|n| line[*n] < speed).unwrap_or(line.len() - 1);
    at as f32 + 0.5 - (speed - line[at]) / (line[at - 1] - line[at])
}

/// Speed away from the axis of a jet along x: mean over 16 places round it, the first turned by a share of the angle between two.
/// `velocity` is asked so far aside of the axis along y and z.
pub fn outward(distance: f32, turned: f32, velocity: impl Fn([f32; 2]) -> [f32; 3]) -> f32 {
    let one = |n: usize| {
        let (sine, cosine) = ((n as f32 + turned) * std::f32::consts::TAU / 16.0).sin_cos();
        let u = velocity([distance * cosine, distance * sine]);
        (u[1] * cosine + u[2] * sine) / 16.0
    };
    (0..16).map(one).sum()
}
