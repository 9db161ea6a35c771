//! The system's file dialogs and files dropped on the window.

use super::action::Action;
use super::desk::{Prompt, Wanted};
use super::{Desktop, Phase};
use crate::finding::Grade;
use bevy::prelude::*;
use bevy::tasks::{AsyncComputeTaskPool, Task, futures::check_ready};
use bevy::window::{FileDragAndDrop, WindowCloseRequested};
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// What a dialog answered.
pub enum Answer {
    /// Read this.
    Open(Option<PathBuf>),
    /// Write this.
    Save(Option<PathBuf>),
    /// Compare with this.
    Beside(Option<PathBuf>),
    /// Read this mesh.
    Rock(Option<PathBuf>),
    /// Write this into that folder.
    Folder(Wanted, Option<PathBuf>),
}

/// The dialog that is open, if any, and since when.
#[derive(Resource, Default)]
pub struct Dialogs(Option<(Task<Answer>, Instant)>);

/// An empty answer within this time is no person's: the desktop has no dialog to show.
const NO_PERSON: Duration = Duration::from_millis(500);

impl Dialogs {
    /// Show one, unless one is shown already.
    pub fn start(&mut self, task: Task<Answer>) {
        if self.0.is_none() {
            self.0 = Some((task, Instant::now()));
        }
    }
}

/// Dialogs, drops, and the window's close button.
pub fn plugin(app: &mut App) {
    app.init_resource::<Dialogs>();
    app.add_systems(Update, (answers, drops, closing, watch, rescue).chain().in_set(Phase::Hear));
}

fn dialog() -> rfd::AsyncFileDialog {
    rfd::AsyncFileDialog::new().add_filter("Slackwater layout", &["ron"])
}

/// Ask for a file to read.
pub fn pick_open() -> Task<Answer> {
    let asked = dialog().set_title("Open a layout").pick_file();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Open(asked.await.map(|f| f.path().to_owned())) })
}

/// Ask for a layout to compare with.
pub fn pick_beside() -> Task<Answer> {
    let asked = dialog().set_title("Compare with a layout").pick_file();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Beside(asked.await.map(|f| f.path().to_owned())) })
}

/// Ask for a mesh file.
pub fn pick_rock() -> Task<Answer> {
    let asked = rfd::AsyncFileDialog::new().add_filter("Mesh", &["stl", "obj", "glb"]).set_title("Import rock").pick_file();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Rock(asked.await.map(|f| f.path().to_owned())) })
}

/// Ask for a folder to write into.
pub fn pick_folder(wanted: Wanted) -> Task<Answer> {
    let asked = rfd::AsyncFileDialog::new().set_title("Write into a folder").pick_folder();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Folder(wanted, asked.await.map(|f| f.path().to_owned())) })
}

/// Ask for a file to write.
pub fn pick_save(name: &str) -> Task<Answer> {
    let asked = dialog().set_title("Save the layout").set_file_name(name).save_file();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Save(asked.await.map(|f| f.path().to_owned())) })
}

fn answers(mut dialogs: ResMut<Dialogs>, mut desktop: ResMut<Desktop>) {
    let Some((answer, since)) = dialogs.0.as_mut().and_then(|(task, since)| Some((check_ready(task)?, *since))) else { return };
    dialogs.0 = None;
    let action = match answer {
        Answer::Open(Some(path)) => Action::OpenPath(path),
        Answer::Save(Some(path)) => Action::SavePath(path),
        Answer::Beside(Some(path)) => Action::KeepPath(path),
        Answer::Rock(Some(path)) => Action::ImportPath(path),
        Answer::Folder(Wanted::Report, Some(path)) => Action::WriteReport(path),
        Answer::Folder(Wanted::Sheets, Some(path)) => Action::WriteSheets(path),
        Answer::Folder(_, None) | Answer::Open(None) | Answer::Beside(None) | Answer::Save(None) | Answer::Rock(None) => {
            if since.elapsed() < NO_PERSON {
                desktop.say(
                    Grade::Caution,
                    "This desktop shows no file dialogs (they take xdg-desktop-portal or zenity). Type the path instead",
                );
            }
            return;
        }
    };
    desktop.queue.push(action);
}

fn drops(mut dropped: MessageReader<FileDragAndDrop>, mut desktop: ResMut<Desktop>) {
    for event in dropped.read() {
        if let FileDragAndDrop::DroppedFile { path_buf, .. } = event {
            let kind = path_buf.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
            let mesh = matches!(kind.as_str(), "stl" | "obj" | "glb" | "gltf");
            let path = path_buf.clone();
            desktop.queue.push(if mesh { Action::ImportPath(path) } else { Action::OpenPath(path) });
        }
    }
}

/// The window's close button asks about unsaved changes too; a second press closes.
fn closing(mut asked: MessageReader<WindowCloseRequested>, mut desktop: ResMut<Desktop>, mut exit: MessageWriter<AppExit>) {
    for _ in asked.read() {
        if matches!(desktop.desk.prompt, Some(Prompt::Unsaved(_))) {
            exit.write(AppExit::Success);
        }
        desktop.queue.push(Action::Quit);
    }
}

/// How often the file is looked at, s.
const LOOK_EVERY: f64 = 1.5;
/// How often a changed layout is kept for the case of a crash, s.
const RESCUE_EVERY: f64 = 10.0;

/// Another program may change the file.
fn watch(mut desktop: ResMut<Desktop>, mut looked: Local<f64>) {
    if desktop.now - *looked < LOOK_EVERY {
        return;
    }
    *looked = desktop.now;
    if desktop.document.changed_on_disk() {
        desktop.changed_on_disk();
    }
}

/// Keep unsaved changes where they outlive a crash.
fn rescue(mut desktop: ResMut<Desktop>, mut kept: Local<(f64, u64)>) {
    let (now, revision) = (desktop.now, desktop.document.revision());
    if now - kept.0 < RESCUE_EVERY || kept.1 == revision {
        return;
    }
    *kept = (now, revision);
    if !desktop.document.unsaved() {
        return desktop.shelf.forget();
    }
    let text = crate::layout::write(desktop.document.layout(), desktop.document.text.as_deref());
    if let Err(error) = desktop.shelf.rescue(desktop.document.path.as_deref(), &text) {
        desktop.say(Grade::Caution, format!("Changes can't be kept for the case of a crash: {error}. Save often."));
    }
}
