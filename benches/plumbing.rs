//! The pipe network of the biggest demo: one position, and the whole joint cycle.

use criterion::{Criterion, criterion_group, criterion_main};
use slackwater::catalog::Catalog;
use slackwater::layout::{Layout, read};
use slackwater::setup::{Schedule, plumbing::Plumbing};
use std::hint::black_box;

fn lagoon() -> Layout {
    read("lagoon.ron", include_bytes!("../layouts/lagoon.ron")).expect("the demo is readable").layout
}

fn plumbing(c: &mut Criterion) {
    let (layout, catalog) = (lagoon(), Catalog::builtin());
    let schedule = Schedule::new(&layout, catalog).expect("the demo can be solved");
    let fresh = Plumbing::new(&layout, catalog).expect("the demo can be solved");
    c.bench_function("lagoon, one position, cold", |b| b.iter(|| black_box(fresh.clone().solve(&schedule.open[0]))));
    c.bench_function("lagoon, whole joint cycle", |b| b.iter(|| black_box(Schedule::new(&layout, catalog))));
}

criterion_group!(benches, plumbing);
criterion_main!(benches);
