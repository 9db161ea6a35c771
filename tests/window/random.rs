//! Random input to the whole program, drawn off screen: nothing panics, and memory doesn't grow.
//!
//! A few seconds in `cargo test`; `SLACKWATER_RANDOM_SECONDS=1800 cargo test --release --test all random_input -- --nocapture` goes on for half
//! an hour and prints what memory it took. `SLACKWATER_RANDOM_SEED` repeats a run's choices.

use super::holdings::holdings;
use bevy::input::ButtonState;
use bevy::input::mouse::{MouseButtonInput, MouseMotion};
use bevy::prelude::*;
use bevy_egui::egui::{Event, Key, Modifiers, MouseWheelUnit, PointerButton, Pos2, TouchPhase, vec2};
use bevy_egui::{PrimaryEguiContext, input::EguiInputEvent};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use slackwater::app::action::{Action, COMMANDS};
use slackwater::app::document::Document;
use slackwater::app::template::Template;
use slackwater::app::{Desktop, machine, off_screen};
use slackwater::layout::demo;
use std::process::Command;
use std::time::{Duration, Instant};

const SIZE: [u32; 2] = [1000, 640];
/// Memory is looked at this often, s.
const EVERY: f64 = 60.0;
/// Memory may be this much more at the end than two thirds of the way in: what allocators keep. Own judgement, no source.
const ROOM_MB: f64 = 60.0;

fn asked(name: &str) -> Option<f64> {
    std::env::var(name).ok()?.parse().ok()
}

/// In a process and a folder of its own: what is written by chance lies there, and memory is its own.
#[test]
fn random_input_neither_breaks_it_nor_makes_it_grow() {
    if let Err(why) = machine::adapter() {
        eprintln!("SKIPPED, nothing was drawn: {why}");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut program = Command::new(std::env::current_exe().unwrap());
    program.args(["--ignored", "--exact", "window::random::storm", "--nocapture"]).current_dir(folder.path());
    for display in ["DISPLAY", "WAYLAND_DISPLAY", "DBUS_SESSION_BUS_ADDRESS"] {
        program.env_remove(display);
    }
    let status = program.env("SLACKWATER_STATE", folder.path().join("state")).status().unwrap();
    assert!(status.success(), "{status}");
}

#[test]
#[ignore = "started by random_input_neither_breaks_it_nor_makes_it_grow"]
fn storm() {
    std::panic::set_hook(Box::new(|what| {
        eprintln!("{what}");
        std::process::exit(101);
    }));
    let seconds = asked("SLACKWATER_RANDOM_SECONDS").unwrap_or(6.0);
    let seed = asked("SLACKWATER_RANDOM_SEED").unwrap_or_else(|| f64::from(std::process::id())) as u64;
    let mut storm = Storm::new(seed);
    let (start, mut looks) = (Instant::now(), Vec::new());
    while start.elapsed().as_secs_f64() < seconds {
        let calm = start.elapsed() + Duration::from_secs_f64(EVERY.min(seconds / 3.0));
        while start.elapsed() < calm {
            storm.gust();
        }
        storm.rest();
        looks.push(machine::resident_mb().unwrap_or_default());
        let done = (start.elapsed().as_secs_f64(), storm.events, storm.pictures, looks[looks.len() - 1]);
        let cells = storm.cells();
        println!("after {:.0} s: {} events, {} pictures, {:.0} MB at rest, {cells} cells (seed {seed})", done.0, done.1, done.2, done.3);
        println!("{}", holdings(&storm.app));
    }
    // By two thirds everything large has been met once: stills, studies, pages, second tanks; a short run says nothing of growth.
    let (early, last) = (looks[looks.len() * 2 / 3], looks[looks.len() - 1]);
    assert!(last < early + ROOM_MB, "memory at rest grew from {early:.0} to {last:.0} MB: {looks:?}");
}

struct Storm {
    app: App,
    panels: Entity,
    rng: ChaCha8Rng,
    at: Pos2,
    events: usize,
    pictures: usize,
}

impl Storm {
    fn new(seed: u64) -> Self {
        let file = std::env::current_dir().unwrap().join("tank.ron");
        let (mut app, _) = off_screen(Document::new(demo(), Some(file), None), SIZE);
        app.update();
        let panels = app.world_mut().query_filtered::<Entity, With<PrimaryEguiContext>>().single(app.world()).unwrap();
        Self { app, panels, rng: ChaCha8Rng::seed_from_u64(seed), at: Pos2::ZERO, events: 0, pictures: 1 }
    }

    fn cells(&self) -> usize {
        let desktop = self.app.world().resource::<Desktop>();
        desktop.live.snapshot.as_ref().map_or(0, |flow| flow.water.len())
    }

    fn picture(&mut self) {
        super::drawing::frame(&mut self.app);
        self.pictures += 1;
    }

    fn send(&mut self, event: Event) {
        self.events += 1;
        let context = self.panels;
        self.app.world_mut().write_message(EguiInputEvent { context, event });
    }

    fn one_of<T: Clone>(&mut self, all: &[T]) -> T {
        all[self.rng.random_range(0..all.len())].clone()
    }

    /// Something that a hand might do.
    fn gust(&mut self) {
        match self.rng.random_range(0..20) {
            0..8 => self.click(),
            8..12 => self.drag(),
            12..16 => self.key(),
            16 | 17 => self.write(),
            18 => self.wheel(),
            _ => {
                let all: Vec<Action> = COMMANDS.iter().map(|command| command.action.clone()).collect();
                let action = self.one_of(&all);
                self.app.world_mut().resource_mut::<Desktop>().queue.push(action);
            }
        }
        self.picture();
    }

    fn go(&mut self) {
        let (x, y) = (self.rng.random::<f32>(), self.rng.random::<f32>());
        self.at = Pos2::new(x * SIZE[0] as f32, y * SIZE[1] as f32);
        self.send(Event::PointerMoved(self.at));
    }

    fn button(&mut self, pressed: bool, modifiers: Modifiers) {
        let event = Event::PointerButton { pos: self.at, button: PointerButton::Primary, pressed, modifiers };
        self.send(event);
        let state = if pressed { ButtonState::Pressed } else { ButtonState::Released };
        // The eye that turns listens to Bevy, the panels to egui.
        self.app.world_mut().write_message(MouseButtonInput { button: MouseButton::Left, state, window: Entity::PLACEHOLDER });
    }

    fn held(&mut self) -> Modifiers {
        self.one_of(&[Modifiers::NONE, Modifiers::NONE, Modifiers::COMMAND, Modifiers::SHIFT, Modifiers::ALT])
    }

    fn click(&mut self) {
        self.go();
        self.picture();
        let modifiers = self.held();
        self.button(true, modifiers);
        self.picture();
        self.button(false, modifiers);
    }

    fn drag(&mut self) {
        self.go();
        self.picture();
        let modifiers = self.held();
        self.button(true, modifiers);
        for _ in 0..self.rng.random_range(1..6) {
            self.picture();
            let by = vec2(self.rng.random::<f32>() - 0.5, self.rng.random::<f32>() - 0.5) * 120.0;
            self.at += by;
            self.send(Event::PointerMoved(self.at));
            self.app.world_mut().write_message(MouseMotion { delta: Vec2::new(by.x, by.y) });
        }
        self.button(false, modifiers);
    }

    fn key(&mut self) {
        let (key, modifiers) = (self.one_of(Key::ALL), self.held());
        for pressed in [true, false] {
            self.send(Event::Key { key, physical_key: None, pressed, repeat: false, modifiers });
        }
    }

    fn write(&mut self) {
        let texts =
            ["12 in", "-3 mm", "1e999", "0", "99999 gph", "\u{1f4a7}é", " ", "nozzles/A1", "..", "30 deg", "1.5in", "NaN", "4000 l/h"];
        let text = self.one_of(&texts);
        self.send(Event::Text(text.into()));
        if self.rng.random() {
            for pressed in [true, false] {
                self.send(Event::Key { key: Key::Enter, physical_key: None, pressed, repeat: false, modifiers: Modifiers::NONE });
            }
        }
    }

    fn wheel(&mut self) {
        let delta = vec2(0.0, self.rng.random::<f32>() * 10.0 - 5.0);
        let modifiers = self.held();
        self.send(Event::MouseWheel { unit: MouseWheelUnit::Line, delta, phase: TouchPhase::Move, modifiers });
    }

    /// Everything that is allowed to take memory is let go: steps to undo, the layout compared with, a study under way.
    fn rest(&mut self) {
        let template = self.one_of(&Template::ALL);
        if self.app.world().resource::<Desktop>().desk.full {
            self.app.world_mut().resource_mut::<Desktop>().queue.push(Action::FullPicture);
        }
        let calm = [
            Action::Prompt(None),
            Action::StopRecording,
            Action::StopStudy,
            Action::StopReading,
            Action::LetGo,
            // Not the automatic ones: they follow how busy the machine is, and memory follows them.
            Action::Cell(Some(0.05)),
            Action::NewFrom(template),
            Action::Discard,
            Action::NewFrom(Template::Peninsula),
            Action::Discard,
        ];
        self.app.world_mut().resource_mut::<Desktop>().queue.extend(calm);
        (0..40).for_each(|_| self.picture());
    }
}
