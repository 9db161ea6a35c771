//! Where the time of a picture goes: marks between the schedules of the window's world and of the drawing one.

use bevy::app::MainScheduleOrder;
use bevy::ecs::schedule::ScheduleLabel;
use bevy::prelude::*;
use bevy::render::render_resource::PollType;
use bevy::render::renderer::{RenderDevice, RenderQueue};
use bevy::render::{Render, RenderApp, RenderSystems};
use slackwater::app::document::Document;
use slackwater::app::{off_screen, off_screen_in_step};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;
use wgpu::SubmissionIndex;

/// Pictures that may be on their way to the card, as in a window.
const AHEAD: usize = 2;

/// The program, drawn picture by picture.
pub struct Studio {
    pub app: App,
    in_step: bool,
    sent: VecDeque<SubmissionIndex>,
    drawn: Drawn,
}

/// Seconds of the last picture.
#[derive(Clone, Copy, Default)]
pub struct Spent {
    pub whole: f64,
    /// Input and the flow's news; scene, tracers and other pictures of the flow; panels and what is in sight; handing all that over (in
    /// step: with waiting for the picture before); waiting for the drawing.
    pub parts: [f64; 5],
    /// The drawing world: preparing, and encoding with what the driver does at once.
    pub drawing: [f64; 2],
}

#[derive(ScheduleLabel, Debug, Clone, PartialEq, Eq, Hash)]
struct Mark(usize);

#[derive(Resource)]
struct Marks([Instant; 3]);

/// When the drawing world began, and what it took in the picture that it drew last.
#[derive(Resource, Clone)]
struct Drawn(Arc<Mutex<(Instant, [f64; 2])>>);

impl Drawn {
    fn note(&self, what: usize) {
        let mut drawn = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if what > 0 {
            drawn.1[what - 1] = drawn.0.elapsed().as_secs_f64();
        }
        drawn.0 = Instant::now();
    }
}

impl Studio {
    /// Each picture is waited for before the next is begun, or, `in_step`, drawn while the next is prepared.
    pub fn new(document: Document, size: [u32; 2], in_step: bool) -> Self {
        let drawn = Drawn(Arc::new(Mutex::new((Instant::now(), [0.0; 2]))));
        let mut app = match in_step {
            true => off_screen_in_step(document, size, |app| mark_drawing(app, &drawn)).0,
            false => off_screen(document, size).0,
        };
        if !in_step {
            mark_drawing(&mut app, &drawn);
        }
        app.insert_resource(Marks([Instant::now(); 3]));
        for which in 0..3 {
            app.add_systems(Mark(which), move |mut marks: ResMut<Marks>| marks.0[which] = Instant::now());
        }
        let mut order = app.world_mut().resource_mut::<MainScheduleOrder>();
        order.insert_before(Update, Mark(0));
        order.insert_after(Update, Mark(1));
        order.insert_after(PostUpdate, Mark(2));
        Self { app, in_step, sent: VecDeque::new(), drawn }
    }

    /// One picture.
    pub fn picture(&mut self) -> Spent {
        let begun = Instant::now();
        self.app.update();
        let (marks, handed) = (self.app.world().resource::<Marks>().0, Instant::now());
        self.wait();
        let times = [begun, marks[0], marks[1], marks[2], handed, Instant::now()];
        let drawing = self.drawn.0.lock().unwrap_or_else(PoisonError::into_inner).1;
        let parts = std::array::from_fn(|i| (times[i + 1] - times[i]).as_secs_f64());
        Spent { whole: begun.elapsed().as_secs_f64(), parts, drawing }
    }

    fn wait(&mut self) {
        let world = self.app.world();
        self.sent.push_back(world.resource::<RenderQueue>().submit([]));
        let device = world.resource::<RenderDevice>().wgpu_device();
        while self.sent.len() > if self.in_step { AHEAD } else { 0 } {
            let submission_index = self.sent.pop_front();
            device.poll(PollType::Wait { submission_index, timeout: None }).expect("the device answers");
        }
    }
}

fn mark_drawing(app: &mut App, drawn: &Drawn) {
    let render = app.sub_app_mut(RenderApp);
    render.insert_resource(drawn.clone());
    render.add_systems(
        Render,
        (
            (|drawn: Res<Drawn>| drawn.note(0)).in_set(RenderSystems::ExtractCommands),
            (|drawn: Res<Drawn>| drawn.note(1)).after(RenderSystems::PrepareBindGroups).before(RenderSystems::Render),
            (|drawn: Res<Drawn>| drawn.note(2)).in_set(RenderSystems::Cleanup),
        ),
    );
}
