//! Pipes that water falls down.

use super::law::Law;
use super::network::{Fluid, Network, Node};

/// Loss coefficients of a drain that runs full: entrance 0.5, two bends 1.2, exit 1.0 on its own velocity.
const FULL_DRAIN_K: f64 = 2.7;
/// Share of a stack's section that water may fill while it still falls as a film round a core of air.
pub const STACK_SHARE: f64 = 7.0 / 24.0;

/// Flow of a drain that runs full, m³/s, under a drop from surface to surface, m: the energy equation.
pub fn full_drain(bore: f64, drop: f64, length: f64, roughness: f64, fluid: &Fluid) -> f64 {
    let mut network = Network::default();
    let (top, bottom) = (network.node(Node::Fixed(drop.max(0.0))), network.node(Node::Fixed(0.0)));
    network.link(top, bottom, Law::Series(vec![Law::Pipe { bore, length, roughness }, Law::minor(FULL_DRAIN_K, bore)]));
    network.solve(fluid, None).flow[0]
}

/// Flow of an open upright stack of which `share` is filled, m³/s: Q(gal/min) = 27.8 r^(5/3) d(in)^(8/3), Wyly and Eaton 1961, the
/// basis of US plumbing codes; good to 20 %.
pub fn open_stack(bore: f64, share: f64) -> f64 {
    const GALLON_PER_MINUTE: f64 = 6.309_019_64e-5;
    27.8 * share.powf(5.0 / 3.0) * (bore / 0.0254).powf(8.0 / 3.0) * GALLON_PER_MINUTE
}
