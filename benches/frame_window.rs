//! The pictures of a real window while a mesh is read and becomes rock.

use bevy::prelude::*;
use bevy::winit::{UpdateMode, WinitSettings};
use slackwater::app::action::Action;
use slackwater::app::{Desktop, run_with};
use slackwater::layout::{DEMO, read};
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// When the mesh is asked for after the start, and how long is watched after it became rock, s.
const WATCH: [f64; 2] = [15.0, 5.0];

#[derive(Resource)]
struct Watch {
    path: Option<PathBuf>,
    rocks: usize,
    start: Instant,
    last: Instant,
    there: Option<f64>,
    took: [Vec<f64>; 2],
}

/// Prints how long pictures took before it, and while it came.
pub fn import(path: PathBuf) {
    let loaded = read("the demo", DEMO.as_bytes()).expect("a test reads it");
    let now = Instant::now();
    let rocks = loaded.layout.rocks.len();
    let watch = Watch { path: Some(path), rocks, start: now, last: now, there: None, took: [Vec::new(), Vec::new()] };
    let opened = run_with(loaded, |app| {
        // Without a window manager it never has the focus, and would draw less often.
        let rhythm = UpdateMode::reactive(Duration::from_millis(16));
        app.insert_resource(WinitSettings { focused_mode: rhythm, unfocused_mode: rhythm });
        app.insert_resource(watch).add_systems(Last, look);
    });
    opened.expect("a window");
}

fn look(mut watch: ResMut<Watch>, mut desktop: ResMut<Desktop>, mut exit: MessageWriter<AppExit>) {
    let (took, now) = (watch.last.elapsed().as_secs_f64(), watch.start.elapsed().as_secs_f64());
    watch.last = Instant::now();
    if now > WATCH[0] / 2.0 {
        let stage = usize::from(watch.path.is_none());
        watch.took[stage].push(took);
    }
    if now > WATCH[0] {
        desktop.queue.extend(watch.path.take().map(Action::ImportPath));
    }
    if watch.there.is_none() && desktop.document.layout().rocks.len() > watch.rocks {
        watch.there = Some(now);
        println!("a mesh became rock after {:.1} s", now - WATCH[0]);
    }
    if watch.there.is_some_and(|at| now > at + WATCH[1]) || now > 90.0 {
        for (name, took) in ["before", "while it was read and after"].iter().zip(&mut watch.took) {
            took.sort_by(|a, b| b.total_cmp(a));
            let middle = took.get(took.len() / 2).copied().unwrap_or_default();
            println!("{name}: {} pictures, the usual one {middle:.3} s, the slowest {:.3?} s", took.len(), &took[..took.len().min(5)]);
        }
        exit.write(AppExit::Success);
    }
}
