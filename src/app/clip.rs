//! Clips of the tank: what is wanted, and how the moving water is recorded picture by picture while the window goes on.

use super::caption::Caption;
use super::clock::Clock;
use super::lens::{self, Lens, Seeing};
use super::reel::{Reel, Shot};
use super::still::WARM_UP;
use super::worker::Worker;
use super::{Desktop, Phase, desk, worker};
use crate::finding::Grade;
use crate::session::Command;
use bevy::prelude::*;
use bevy::render::view::screenshot::{Screenshot, ScreenshotCaptured};
use std::path::PathBuf;

/// Pictures in a second of the clip.
pub const PER_SECOND: f64 = 12.5;
/// Pictures that may be on their way from the graphics card, and to the disk.
const ON_THE_WAY: usize = 3;
const WAITING: usize = 8;
/// The flow is held while it is so far ahead of the picture, and goes on when it is this little ahead, s.
const AHEAD: [f64; 2] = [0.8, 0.3];
/// How far the eye swings to each side, radians.
const SWING: f32 = 0.42;

/// What kind of clip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Form {
    /// One file that plays in every browser, messenger and slide show.
    #[default]
    Gif,
    /// A folder of numbered pictures, for film programs.
    Pictures,
}

/// Sizes on offer, pixels.
pub const SIZES: [[u32; 2]; 3] = [[640, 360], [960, 540], [1920, 1080]];
/// Lengths on offer, s.
pub const LENGTHS: [f64; 4] = [6.0, 12.0, 24.0, 60.0];

/// What is wanted of a clip; captions also of stills.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// What kind.
    pub form: Form,
    /// Pixels.
    pub size: [u32; 2],
    /// How long it plays, s.
    pub length: f64,
    /// The eye swings slowly to and fro.
    pub swing: bool,
    /// Words and the colour scale stand on it.
    pub captions: bool,
    /// The user's words; empty: the layout's name.
    pub words: String,
}

impl Default for Wish {
    fn default() -> Self {
        Self { form: Form::Gif, size: SIZES[1], length: 12.0, swing: true, captions: true, words: String::new() }
    }
}

/// What the shell asks of the recorder.
#[derive(Resource, Default)]
pub enum Order {
    /// Nothing.
    #[default]
    None,
    /// Record into this file or folder.
    Record(PathBuf),
    /// Stop, and keep nothing.
    Cancel,
}

/// The clip that is being recorded.
#[derive(Resource, Default)]
struct Recorder(Option<Take>);

struct Take {
    lens: Lens,
    wish: Wish,
    reel: Reel,
    path: PathBuf,
    drawn: u32,
    shot: usize,
    arrived: usize,
    held: bool,
}

/// Clips.
pub fn plugin(app: &mut App) {
    app.init_resource::<Order>().init_resource::<Recorder>();
    app.add_systems(PreUpdate, pace.after(worker::together).before(super::clock::tick));
    app.add_systems(Update, (obey, roll).chain().in_set(Phase::Clip));
}

impl Take {
    fn count(&self) -> usize {
        (self.wish.length * PER_SECOND).round() as usize
    }

    fn is_ready(&self) -> bool {
        self.drawn >= WARM_UP && self.shot < self.count() && self.shot - self.arrived < ON_THE_WAY && self.reel.waiting() < WAITING
    }

    /// From where the tank is seen in the picture that comes next.
    fn place(&self) -> Transform {
        let share = self.shot as f32 / self.count() as f32;
        let angle = if self.wish.swing { SWING * (share * std::f32::consts::TAU).sin() } else { 0.0 };
        let mut place = self.lens.from;
        place.rotate_around(self.lens.focus, Quat::from_rotation_y(angle));
        place
    }
}

/// The picture's time goes on by the same step from picture to picture; the flow is held when it gets too far ahead.
fn pace(mut clock: ResMut<Clock>, mut recorder: ResMut<Recorder>, desktop: Res<Desktop>, worker: Res<Worker>) {
    clock.paced = recorder.0.as_ref().map(|take| if take.is_ready() { desktop.desk.pace / PER_SECOND } else { 0.0 });
    let Some(take) = recorder.0.as_mut().filter(|_| desktop.desk.playing) else { return };
    let hold = holds(take.held, clock.behind(&desktop), desktop.desk.pace / PER_SECOND);
    if hold != take.held {
        take.held = hold;
        worker.tell_all(if hold { Command::Pause } else { Command::Play });
    }
}

/// Whether flow that is so far ahead (s) of the picture is held. What is held always suffices for the next picture, a step (s) later.
fn holds(held: bool, ahead: f64, step: f64) -> bool {
    ahead > step + if held { AHEAD[1] } else { AHEAD[0] }
}

fn obey(
    mut commands: Commands,
    mut order: ResMut<Order>,
    mut recorder: ResMut<Recorder>,
    mut images: ResMut<Assets<Image>>,
    (mut desktop, worker): (ResMut<Desktop>, Res<Worker>),
    eyes: Query<Seeing, lens::Window>,
) {
    match std::mem::take(&mut *order) {
        Order::None => {}
        Order::Cancel => {
            if let Some(take) = recorder.0.take() {
                take.reel.cancel();
                end(&mut commands, &take.lens, take.held, &mut desktop, &worker);
                desktop.say(Grade::Note, "The clip was stopped; nothing was written");
            }
        }
        Order::Record(path) => {
            let (Ok(eye), true) = (eyes.single(), recorder.0.is_none()) else { return };
            let wish = desktop.desk.clip.clone();
            let lens = Lens::new(&mut commands, &mut images, &desktop, eye, wish.size);
            let reel = Reel::start(wish.form, wish.size, path.clone());
            recorder.0 = Some(Take { lens, wish, reel, path, drawn: 0, shot: 0, arrived: 0, held: false });
        }
    }
}

fn end(commands: &mut Commands, lens: &Lens, held: bool, desktop: &mut Desktop, worker: &Worker) {
    lens.put_away(commands);
    desktop.desk.recording = None;
    if held && desktop.desk.playing {
        worker.tell_all(Command::Play);
    }
}

fn roll(
    mut commands: Commands,
    mut recorder: ResMut<Recorder>,
    clock: Res<Clock>,
    (mut desktop, worker): (ResMut<Desktop>, Res<Worker>),
    mut places: Query<&mut Transform, With<lens::OffScreen>>,
) {
    let Some(take) = &mut recorder.0 else { return };
    take.drawn += 1;
    // Held water is recorded as it stands.
    let moved = clock.step > 0.0 || !desktop.desk.playing;
    if take.is_ready() && moved {
        let place = take.place();
        for eye in &take.lens.eyes {
            if let Ok(mut at) = places.get_mut(*eye) {
                *at = place;
            }
        }
        let caption = take.wish.captions.then(|| Caption::new(&desktop, &take.wish.words, &take.lens.rooms));
        shoot(&mut commands, take, caption);
        desktop.desk.recording = Some(desk::Recording { done: take.shot as f32 / take.count() as f32, writing: false });
    }
    if take.arrived == take.count() {
        take.reel.close();
        desktop.desk.recording = Some(desk::Recording { done: 1.0, writing: true });
    }
    if let Some(answer) = take.reel.answer() {
        let Some(take) = recorder.0.take() else { return };
        end(&mut commands, &take.lens, take.held, &mut desktop, &worker);
        match answer {
            Ok(bytes) => desktop.say(Grade::Note, format!("Clip saved: {}, {:.1} MB", take.path.display(), bytes as f64 / 1e6)),
            Err(error) => desktop.say(Grade::Fault, format!("No clip: {}: {error}", take.path.display())),
        }
    }
}

fn shoot(commands: &mut Commands, take: &mut Take, caption: Option<Caption>) {
    let number = take.shot;
    take.shot += 1;
    commands.spawn(Screenshot::image(take.lens.picture.clone())).observe(
        move |shot: On<ScreenshotCaptured>, mut recorder: ResMut<Recorder>| {
            if let Some(take) = &mut recorder.0 {
                take.arrived += 1;
                take.reel.add(Shot { number, image: shot.image.clone(), caption: caption.clone() });
            }
        },
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::action::PACES;

    #[test]
    fn held_flow_suffices_for_the_next_picture() {
        for pace in PACES {
            let step = pace / PER_SECOND;
            assert!(!holds(true, step, step) && !holds(true, step + 0.2, step), "at {pace} the flow must go on");
            assert!(holds(false, step + 1.0, step) && holds(true, step + 0.5, step) && !holds(false, step + 0.5, step));
        }
    }
}
