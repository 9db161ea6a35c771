//! Pictures per second of the whole window, drawn off screen with the solver running beside it.
//!
//! `cargo bench --bench frames -- [--size 1920x1080] [--tracers 100000 | --tracers own] [--seconds 8] [--waited | --in-step] [--import rock.stl]`. Twice: with each
//! picture waited for before the next is begun, which no window does, and in step as a window draws: one picture is prepared while the one before is
//! drawn, and no more than two wait for the card. No picture is copied back in either. `--window` with `--import` opens a real window instead and tells
//! how long its pictures take while the mesh is read.

#[path = "frame_clock.rs"]
mod clock;
#[path = "frame_window.rs"]
mod window;

use clock::{Spent, Studio};
use slackwater::app::action::Action;
use slackwater::app::desk::Layer;
use slackwater::app::document::{Document, Edit};
use slackwater::app::kept::Keep;
use slackwater::app::part::Item;
use slackwater::app::view::tracers::Tracers;
use slackwater::app::{Desktop, machine};
use slackwater::layout::{Aim, Mount};
use slackwater::units::{Angle, Length};
use std::path::PathBuf;
use std::time::Instant;

/// What is measured.
struct Plan {
    size: [u32; 2],
    /// In all; `None`: as many as the window draws here by itself.
    tracers: Option<usize>,
    seconds: f64,
    ways: Vec<bool>,
    import: Option<PathBuf>,
    window: bool,
}

/// As typed; what is not understood is left at its default.
fn plan() -> Plan {
    let args: Vec<String> = std::env::args().collect();
    let after = |name: &str| args.iter().position(|a| a == name).and_then(|i| args.get(i + 1));
    let size = after("--size").and_then(|s| s.split_once('x')).and_then(|(w, h)| Some([w.parse().ok()?, h.parse().ok()?]));
    let only = |name: &str| args.iter().any(|a| a == name);
    Plan {
        size: size.unwrap_or([1920, 1080]),
        tracers: after("--tracers").map_or(Some(100_000), |n| n.parse().ok()),
        seconds: after("--seconds").and_then(|n| n.parse().ok()).unwrap_or(8.0),
        ways: [false, true].into_iter().filter(|in_step| !only(if *in_step { "--waited" } else { "--in-step" })).collect(),
        import: after("--import").map(PathBuf::from),
        window: only("--window"),
    }
}

fn main() {
    let plan = plan();
    match machine::adapter() {
        Ok(about) => println!("{} ({:?}, {:?})", about.name, about.device_type, about.backend),
        Err(why) => return println!("nothing was measured: {why}"),
    }
    let ([wide, high], threads) = (plan.size, std::thread::available_parallelism().map_or(1, usize::from));
    println!("{wide} x {high}, {} tracers, {threads} threads", plan.tracers.map_or("its own".to_owned(), |n| n.to_string()));
    if let Some(path) = plan.import.as_ref().filter(|_| plan.window) {
        return window::import(path.clone());
    }
    for in_step in &plan.ways {
        println!("{}", if *in_step { "In step, as a window draws:" } else { "Each picture waited for before the next is begun:" });
        show(&plan, *in_step);
    }
}

fn show(plan: &Plan, in_step: bool) {
    let mut studio = Studio::new(Document::new(slackwater::layout::demo(), None, None), plan.size, in_step);
    if let Some(tracers) = plan.tracers {
        studio.app.insert_resource(Tracers(tracers));
    }
    warm_up(&mut studio);
    measure(&mut studio, plan, "tracers, as the window opens");
    react(&mut studio);
    let steps: [(&str, &[Action]); 5] = [
        ("the same without panels", &[Action::Toggle(Layer::Panels)]),
        ("the same without tracers", &[Action::Toggle(Layer::Panels), Action::Toggle(Layer::Tracers)]),
        ("panels, slice and arrows", &[Action::Toggle(Layer::Tracers), Action::Toggle(Layer::Slice), Action::Toggle(Layer::Arrows)]),
        ("skin of rock and sand", &[Action::Toggle(Layer::Slice), Action::Toggle(Layer::Arrows), Action::Toggle(Layer::Skin)]),
        ("two layouts side by side", &[Action::Toggle(Layer::Skin), Action::Keep(Keep::Now)]),
    ];
    for (name, actions) in steps {
        studio.app.world_mut().resource_mut::<Desktop>().queue.extend(actions.iter().cloned());
        for _ in 0..5 {
            studio.picture();
        }
        measure(&mut studio, plan, name);
    }
    if let Some(path) = &plan.import {
        import(&mut studio, path.clone());
    }
}

/// The pictures while a mesh is read and becomes rock, the slowest of them first.
fn import(studio: &mut Studio, path: PathBuf) {
    let rocks = |app: &bevy::app::App| app.world().resource::<Desktop>().document.layout().rocks.len();
    let (before, start) = (rocks(&studio.app), Instant::now());
    studio.app.world_mut().resource_mut::<Desktop>().queue.push(Action::ImportPath(path));
    let (mut took, mut there) = (Vec::new(), None);
    while there.is_none_or(|at: f64| start.elapsed().as_secs_f64() < at + 5.0) && start.elapsed().as_secs_f64() < 60.0 {
        took.push(studio.picture().whole);
        if there.is_none() && rocks(&studio.app) > before {
            there = Some(start.elapsed().as_secs_f64());
        }
    }
    took.sort_by(|a, b| b.total_cmp(a));
    took.truncate(5);
    println!("a mesh became rock after {there:.1?} s; slowest pictures meanwhile and in the 5 s after: {took:.3?} s");
}

/// Until the water moves and every shader is compiled.
fn warm_up(studio: &mut Studio) {
    let start = Instant::now();
    let moves = |app: &bevy::app::App| app.world().resource::<Desktop>().live.flow().is_some_and(|flow| flow.time > 0.5);
    while !moves(&studio.app) && start.elapsed().as_secs_f64() < 60.0 {
        studio.picture();
    }
    for _ in 0..10 {
        studio.picture();
    }
}

fn measure(studio: &mut Studio, plan: &Plan, name: &str) {
    let start = Instant::now();
    let mut took: Vec<Spent> = Vec::new();
    while start.elapsed().as_secs_f64() < plan.seconds {
        took.push(studio.picture());
    }
    let mean = |part: &dyn Fn(&Spent) -> f64| 1e3 * took.iter().map(part).sum::<f64>() / took.len() as f64;
    let mut whole: Vec<f64> = took.iter().map(|spent| spent.whole).collect();
    whole.sort_by(f64::total_cmp);
    let slow = whole[(whole.len() - 1) * 95 / 100];
    let flow = &studio.app.world().resource::<Desktop>().live.snapshot;
    let solver = flow.as_ref().map_or(0.0, |s| s.real_time_factor);
    let rate = 1e3 / mean(&|spent| spent.whole);
    println!("{rate:>7.1} pictures a second (95 % within {:>6.1} ms), solver at {solver:.2} x real time: {name}", 1e3 * slow);
    let parts: [f64; 5] = std::array::from_fn(|i| mean(&|spent| spent.parts[i]));
    let drawing: [f64; 2] = std::array::from_fn(|i| mean(&|spent| spent.drawing[i]));
    println!(
        "        ms: {:.1} hearing, {:.1} scene and tracers, {:.1} panels, {:.1} handing over, {:.1} waiting; the drawing world {:.1} preparing, {:.1} encoding",
        parts[0], parts[1], parts[2], parts[3], parts[4], drawing[0], drawing[1]
    );
}

/// How long after an edit the first picture is drawn with a flow that knows of it: a jet is turned, then a nozzle moved, again and again.
fn react(studio: &mut Studio) {
    for (name, turn, slide) in [("a jet is turned", 3.0, 0.0), ("a nozzle is moved", 0.0, 5.0)] {
        let mut took: Vec<f64> =
            (0..12).map(|i| drawn_after(studio, if i % 2 == 0 { turn } else { -turn }, if i % 2 == 0 { slide } else { -slide })).collect();
        took.sort_by(f64::total_cmp);
        println!("{:>7.0} ms, the middle of 12 ({:.0} at most), until the picture shows that {name}", 1e3 * took[6], 1e3 * took[11]);
    }
}

fn drawn_after(studio: &mut Studio, turn: f64, slide: f64) -> f64 {
    let mut nozzle = studio.app.world().resource::<Desktop>().document.layout().nozzles[0].clone();
    if let Aim::Angles { azimuth, .. } = &mut nozzle.aim {
        *azimuth = Angle::new(azimuth.si().to_degrees() + turn, "deg");
    }
    if let Mount::Hole { along, .. } = &mut nozzle.mount {
        *along = Length::new(along.si() * 1e3 + slide, "mm");
    }
    // Between two edits of a drag the window draws.
    for _ in 0..3 {
        studio.picture();
    }
    let layouts = |app: &bevy::app::App| app.world().resource::<Desktop>().live.snapshot.as_ref().map_or(0, |s| s.layouts);
    let (before, start) = (layouts(&studio.app), Instant::now());
    studio.app.world_mut().resource_mut::<Desktop>().queue.push(Action::Edit(Edit::Put(0, Box::new(Item::Nozzle(nozzle)))));
    while layouts(&studio.app) == before && start.elapsed().as_secs_f64() < 20.0 {
        studio.picture();
    }
    start.elapsed().as_secs_f64()
}
