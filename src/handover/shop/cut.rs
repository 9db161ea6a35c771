//! What pipe to cut: each run in pieces between its fittings, with the socket depths allowed for. Lengths in m.

use super::part::divides;
use super::socket::socket;
use super::stock::{Stick, fewest, pack};
use crate::catalog::Catalog;
use crate::handover::numbering::{Numbered, Numbering};
use crate::units::Display;

/// Width of a saw cut, m.
pub const KERF: f64 = 0.003;

/// The pieces of one run, all of one length.
#[derive(Debug, Clone, PartialEq)]
pub struct RunCut {
    /// Position of the run in the numbering.
    pub run: usize,
    /// Length of straight pipe in the layout: fitting to fitting, without sockets.
    pub visible: f64,
    /// How many pieces the fittings make of it.
    pub pieces: usize,
    /// Couplings added because a piece would be longer than the stock.
    pub couplings: usize,
    /// Depth of a socket.
    pub socket: f64,
    /// Where the depth comes from.
    pub socket_source: &'static str,
    /// Length to cut each piece to: an equal share and a socket depth at either end.
    pub each: f64,
}

/// All pieces of one pipe size, packed.
#[derive(Debug, Clone, PartialEq)]
pub struct Size {
    /// Nominal pipe as in the layout.
    pub pipe: String,
    /// Pieces: position of the run in the numbering, length to cut.
    pub pieces: Vec<(usize, f64)>,
    /// How they come out of the stock.
    pub sticks: Vec<Stick>,
    /// No packing needs fewer.
    pub fewest: usize,
}

/// The whole cut list.
#[derive(Debug, Clone, PartialEq)]
pub struct CutList {
    /// In the order of the numbering; runs whose length or pipe is unusable are left out.
    pub runs: Vec<RunCut>,
    /// One entry a pipe size.
    pub sizes: Vec<Size>,
    /// Length of a stick.
    pub stock: f64,
    /// Numbers of runs that were left out.
    pub left_out: Vec<String>,
}

/// The stock length usual where these units are: 10 ft, or 3 m.
pub fn usual_stock(display: Display) -> f64 {
    match display {
        Display::Us => 10.0 * 0.3048,
        Display::Metric => 3.0,
    }
}

/// Works out the cut list of a layout.
pub fn cut_list(numbering: &Numbering, catalog: &Catalog, stock: f64) -> CutList {
    let mut list = CutList { runs: Vec::new(), sizes: Vec::new(), stock, left_out: Vec::new() };
    for (at, numbered) in numbering.runs.iter().enumerate() {
        match run_cut(at, numbered, catalog, stock) {
            Some(cut) => list.runs.push(cut),
            None => list.left_out.push(numbered.tag.clone()),
        }
    }
    list.sizes = sizes(&list.runs, numbering, stock);
    list
}

/// Longest run that is taken for a real one, m.
const LONGEST_RUN: f64 = 200.0;

fn run_cut(at: usize, numbered: &Numbered, catalog: &Catalog, stock: f64) -> Option<RunCut> {
    let visible = numbered.run.length.si();
    let pipe = catalog.pipe(&numbered.run.pipe)?;
    if !(visible > 0.0 && visible <= LONGEST_RUN) {
        return None;
    }
    let socket = socket(&pipe.name, pipe.outside_m);
    let fittings: usize = numbered.run.fittings.iter().filter(|f| divides(&f.part, numbered.run)).map(|f| f.count.min(100) as usize).sum();
    let asked = fittings + 1;
    // Each piece must come out of one stick, and each coupling that is added brings two more sockets.
    let most = stock - 2.0 * socket.depth;
    let needed = (visible / most).ceil() as usize;
    let pieces = asked.max(needed);
    let each = visible / pieces as f64 + 2.0 * socket.depth;
    Some(RunCut { run: at, visible, pieces, couplings: pieces - asked, socket: socket.depth, socket_source: socket.source, each })
}

fn sizes(runs: &[RunCut], numbering: &Numbering, stock: f64) -> Vec<Size> {
    let mut sizes: Vec<Size> = Vec::new();
    for cut in runs {
        let pipe = &numbering.runs[cut.run].run.pipe;
        let at = sizes.iter().position(|size| size.pipe == *pipe).unwrap_or_else(|| {
            sizes.push(Size { pipe: pipe.clone(), pieces: Vec::new(), sticks: Vec::new(), fewest: 0 });
            sizes.len() - 1
        });
        sizes[at].pieces.extend(std::iter::repeat_n((cut.run, cut.each), cut.pieces));
    }
    for size in &mut sizes {
        let lengths: Vec<f64> = size.pieces.iter().map(|(_, length)| *length).collect();
        size.sticks = pack(&lengths, stock, KERF);
        size.fewest = fewest(&lengths, stock, KERF);
    }
    sizes
}
