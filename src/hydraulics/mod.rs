#![doc = include_str!("METHOD.md")]

mod coupling;
mod curve;
mod friction;
mod law;
mod loss;
mod network;
mod report;
mod solve;
mod stack;
pub mod surge;
pub mod tee;
pub mod weir;

pub use curve::{Curve, CurveError, LossCurve, Regime};
pub use friction::{FrictionFactor, colebrook, friction_factor};
pub use law::{Law, Loss};
pub use loss::{contraction, expansion, gradual_contraction, gradual_expansion, port_area_ratio, screen, thin_orifice};
pub use network::{Fluid, Link, Network, Node, Solution};
pub use report::{Note, Report};
pub use stack::{STACK_SHARE, full_drain, open_stack};
