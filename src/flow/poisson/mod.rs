//! The pressure equation Σ a (xₙ − x) = b over the faces of every cell, by geometric multigrid.
//!
//! Cells are kept by colour, red and black like a chess board, each colour in its own array: a sweep over one colour reads only the
//! other, so it runs with unit stride, on any number of threads, with the same bits. One V(1,1) cycle: red-black Gauss-Seidel,
//! residual of the red cells (black ones have none left), sum to a grid of twice the cell size, correct by trilinear interpolation.
//! Boxes of odd size are padded with solid cells. Trottenberg, Oosterlee, Schüller 2001, Multigrid, ch. 2 and 5.
//!
//! Every cycle starts from x = 0 for what the last one left; so the red cells' residual is what their black neighbours brought, and only
//! black cells need the coarse correction: the red ones are relaxed next.

mod conjugate;
mod cycle;
mod finest;
mod level;
mod relax;
mod share;

pub(super) use cycle::Multigrid;
pub(super) use finest::{Finest, start};
pub(super) use level::Ends;
