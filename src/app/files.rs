//! The system's file dialogs and files dropped on the window.

use super::Desktop;
use super::action::Action;
use super::desk::Prompt;
use bevy::prelude::*;
use bevy::tasks::{AsyncComputeTaskPool, Task, futures::check_ready};
use bevy::window::{FileDragAndDrop, WindowCloseRequested};
use std::path::PathBuf;

/// What a dialog answered.
pub enum Answer {
    /// Read this.
    Open(Option<PathBuf>),
    /// Write this.
    Save(Option<PathBuf>),
}

/// The dialog that is open, if any.
#[derive(Resource, Default)]
pub struct Dialogs(Option<Task<Answer>>);

impl Dialogs {
    /// Show one, unless one is shown already.
    pub fn start(&mut self, task: Task<Answer>) {
        if self.0.is_none() {
            self.0 = Some(task);
        }
    }
}

/// Dialogs, drops, and the window's close button.
pub fn plugin(app: &mut App) {
    app.init_resource::<Dialogs>();
    app.add_systems(Update, (answers, drops, closing));
}

fn dialog() -> rfd::AsyncFileDialog {
    rfd::AsyncFileDialog::new().add_filter("Slackwater layout", &["ron"])
}

/// Ask for a file to read.
pub fn pick_open() -> Task<Answer> {
    let asked = dialog().set_title("Open a layout").pick_file();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Open(asked.await.map(|f| f.path().to_owned())) })
}

/// Ask for a file to write.
pub fn pick_save(name: &str) -> Task<Answer> {
    let asked = dialog().set_title("Save the layout").set_file_name(name).save_file();
    AsyncComputeTaskPool::get().spawn(async move { Answer::Save(asked.await.map(|f| f.path().to_owned())) })
}

fn answers(mut dialogs: ResMut<Dialogs>, mut desktop: ResMut<Desktop>) {
    let Some(answer) = dialogs.0.as_mut().and_then(check_ready) else { return };
    dialogs.0 = None;
    let action = match answer {
        Answer::Open(Some(path)) => Action::OpenPath(path),
        Answer::Save(Some(path)) => Action::SavePath(path),
        Answer::Open(None) | Answer::Save(None) => return,
    };
    desktop.queue.push(action);
}

fn drops(mut dropped: MessageReader<FileDragAndDrop>, mut desktop: ResMut<Desktop>) {
    for event in dropped.read() {
        if let FileDragAndDrop::DroppedFile { path_buf, .. } = event {
            desktop.queue.push(Action::OpenPath(path_buf.clone()));
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
