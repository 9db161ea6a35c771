//! Pictures per second of the whole window, drawn off screen with the solver running beside it.
//!
//! `cargo bench --bench frames -- [--size 1920x1080] [--tracers 100000] [--seconds 8] [--import rock.stl]`. Each picture is waited for before the next one is
//! begun, so that the number is a lower bound of what a window shows, which prepares one picture while the card draws another.

use bevy::prelude::*;
use bevy::render::render_resource::PollType;
use bevy::render::renderer::RenderDevice;
use slackwater::app::action::Action;
use slackwater::app::desk::Layer;
use slackwater::app::document::{Document, Edit};
use slackwater::app::kept::Keep;
use slackwater::app::part::Item;
use slackwater::app::view::tracers::Tracers;
use slackwater::app::{Desktop, machine, off_screen};
use slackwater::layout::{Aim, Mount};
use slackwater::units::{Angle, Length};
use std::path::PathBuf;
use std::time::Instant;

/// What is measured.
struct Plan {
    size: [u32; 2],
    tracers: usize,
    seconds: f64,
    import: Option<PathBuf>,
}

/// As typed; what is not understood is left at its default.
fn plan() -> Plan {
    let args: Vec<String> = std::env::args().collect();
    let after = |name: &str| args.iter().position(|a| a == name).and_then(|i| args.get(i + 1));
    let size = after("--size").and_then(|s| s.split_once('x')).and_then(|(w, h)| Some([w.parse().ok()?, h.parse().ok()?]));
    Plan {
        size: size.unwrap_or([1920, 1080]),
        tracers: after("--tracers").and_then(|n| n.parse().ok()).unwrap_or(100_000),
        seconds: after("--seconds").and_then(|n| n.parse().ok()).unwrap_or(8.0),
        import: after("--import").map(PathBuf::from),
    }
}

fn main() {
    let plan = plan();
    match machine::adapter() {
        Ok(about) => println!("{} ({:?}, {:?})", about.name, about.device_type, about.backend),
        Err(why) => return println!("nothing was measured: {why}"),
    }
    println!(
        "{} x {}, {} tracers, {} threads",
        plan.size[0],
        plan.size[1],
        plan.tracers,
        std::thread::available_parallelism().map_or(1, usize::from)
    );
    let (mut app, _) = off_screen(Document::new(slackwater::layout::demo(), None, None), plan.size);
    app.insert_resource(Tracers(plan.tracers)).insert_resource(Ready(Instant::now()));
    app.add_systems(Last, |mut ready: ResMut<Ready>| ready.0 = Instant::now());
    warm_up(&mut app);
    measure(&mut app, &plan, "tracers, as the window opens");
    react(&mut app);
    let steps: [(&str, &[Action]); 4] = [
        ("the same without panels", &[Action::Toggle(Layer::Panels)]),
        ("panels, slice and arrows", &[Action::Toggle(Layer::Panels), Action::Toggle(Layer::Slice), Action::Toggle(Layer::Arrows)]),
        ("skin of rock and sand", &[Action::Toggle(Layer::Slice), Action::Toggle(Layer::Arrows), Action::Toggle(Layer::Skin)]),
        ("two layouts side by side", &[Action::Toggle(Layer::Skin), Action::Keep(Keep::Now)]),
    ];
    for (name, actions) in steps {
        app.world_mut().resource_mut::<Desktop>().queue.extend(actions.iter().cloned());
        for _ in 0..5 {
            frame(&mut app);
        }
        measure(&mut app, &plan, name);
    }
    if let Some(path) = plan.import {
        import(&mut app, path);
    }
}

/// The pictures while a mesh is read and becomes rock, the slowest of them first.
fn import(app: &mut bevy::app::App, path: PathBuf) {
    let rocks = |app: &bevy::app::App| app.world().resource::<Desktop>().document.layout().rocks.len();
    let (before, start) = (rocks(app), Instant::now());
    app.world_mut().resource_mut::<Desktop>().queue.push(Action::ImportPath(path));
    let (mut took, mut there) = (Vec::new(), None);
    while there.is_none_or(|at: f64| start.elapsed().as_secs_f64() < at + 5.0) && start.elapsed().as_secs_f64() < 60.0 {
        took.push(frame(app).iter().sum::<f64>());
        if there.is_none() && rocks(app) > before {
            there = Some(start.elapsed().as_secs_f64());
        }
    }
    took.sort_by(|a, b| b.total_cmp(a));
    took.truncate(5);
    println!("a mesh became rock after {there:.1?} s; slowest pictures meanwhile and in the 5 s after: {took:.3?} s");
}

/// When the window's own systems and the panels were done.
#[derive(Resource)]
struct Ready(Instant);

/// How long it took, s: our systems and the panels, preparing and ordering the drawing, waiting for it.
fn frame(app: &mut bevy::app::App) -> [f64; 3] {
    let begun = Instant::now();
    app.update();
    let (ready, ordered) = (app.world().resource::<Ready>().0, Instant::now());
    let device = app.world().resource::<RenderDevice>();
    device.wgpu_device().poll(PollType::Wait { submission_index: None, timeout: None }).expect("the device answers");
    [ready - begun, ordered - ready, ordered.elapsed()].map(|time| time.as_secs_f64())
}

/// Until the water moves and every shader is compiled.
fn warm_up(app: &mut bevy::app::App) {
    let start = Instant::now();
    let moves = |app: &bevy::app::App| app.world().resource::<Desktop>().live.flow().is_some_and(|flow| flow.time > 0.5);
    while !moves(app) && start.elapsed().as_secs_f64() < 60.0 {
        frame(app);
    }
    for _ in 0..10 {
        frame(app);
    }
}

fn measure(app: &mut bevy::app::App, plan: &Plan, name: &str) {
    let start = Instant::now();
    let (mut took, mut parts) = (Vec::new(), [0.0; 3]);
    while start.elapsed().as_secs_f64() < plan.seconds {
        let spent = frame(app);
        took.push(spent.iter().sum::<f64>());
        (0..3).for_each(|i| parts[i] += spent[i]);
    }
    let [systems, ordering, drawing] = parts.map(|s| 1e3 * s / took.len() as f64);
    took.sort_by(f64::total_cmp);
    let (mean, slow) = (took.iter().sum::<f64>() / took.len() as f64, took[(took.len() - 1) * 95 / 100]);
    let desktop = app.world().resource::<Desktop>();
    let solver = desktop.live.snapshot.as_ref().map_or(0.0, |s| s.real_time_factor);
    println!("{:>7.1} pictures a second (95 % within {:>6.1} ms), solver at {solver:.2} x real time: {name}", 1.0 / mean, 1e3 * slow);
    println!(
        "        of each picture {systems:.1} ms our systems and panels, {ordering:.1} ms preparing, {drawing:.1} ms waiting for the drawing"
    );
}

/// How long after an edit the first picture is drawn with a flow that knows of it: a jet is turned, then a nozzle moved, again and again.
fn react(app: &mut bevy::app::App) {
    for (name, turn, slide) in [("a jet is turned", 3.0, 0.0), ("a nozzle is moved", 0.0, 5.0)] {
        let mut took: Vec<f64> =
            (0..12).map(|i| drawn_after(app, if i % 2 == 0 { turn } else { -turn }, if i % 2 == 0 { slide } else { -slide })).collect();
        took.sort_by(f64::total_cmp);
        println!("{:>7.0} ms, the middle of 12 ({:.0} at most), until the picture shows that {name}", 1e3 * took[6], 1e3 * took[11]);
    }
}

fn drawn_after(app: &mut bevy::app::App, turn: f64, slide: f64) -> f64 {
    let mut nozzle = app.world().resource::<Desktop>().document.layout().nozzles[0].clone();
    if let Aim::Angles { azimuth, .. } = &mut nozzle.aim {
        *azimuth = Angle::new(azimuth.si().to_degrees() + turn, "deg");
    }
    if let Mount::Hole { along, .. } = &mut nozzle.mount {
        *along = Length::new(along.si() * 1e3 + slide, "mm");
    }
    // Between two edits of a drag the window draws.
    for _ in 0..3 {
        frame(app);
    }
    let layouts = |app: &bevy::app::App| app.world().resource::<Desktop>().live.snapshot.as_ref().map_or(0, |s| s.layouts);
    let (before, start) = (layouts(app), Instant::now());
    app.world_mut().resource_mut::<Desktop>().queue.push(Action::Edit(Edit::Put(0, Box::new(Item::Nozzle(nozzle)))));
    while layouts(app) == before && start.elapsed().as_secs_f64() < 20.0 {
        frame(app);
    }
    start.elapsed().as_secs_f64()
}
