//! Everything a person can do, as one closed list, and the table that menus, keys and help are made of.

use super::clip::Wish;
use super::desk::{Axis, Layer, Lower, Prompt, Quantity, Slice, Wanted};
use super::document::Edit;
use super::fresh::Fresh;
use super::full_study::StudyWish;
use super::kept::{Compare, Keep};
use super::mirror::Mirror;
use super::part::Part;
use super::shelf::Rescued;
use super::template::Template;
use bevy_egui::egui::{Key, KeyboardShortcut, Modifiers};
use std::path::PathBuf;

/// Something a person does.
#[derive(Debug, Clone, PartialEq)]
pub enum Action {
    /// Change the layout.
    Edit(Edit),
    /// One step back.
    Undo,
    /// One step forward again.
    Redo,
    /// Add a new part.
    Add(Fresh),
    /// A button of the mouse went down: another step of the history begins.
    Press,
    /// A button of the mouse went up.
    Release,
    /// Add a copy of the selected parts.
    Duplicate,
    /// Take the selected parts away.
    Delete,
    /// Exchange the selected parts for what a mirror shows.
    Mirror(Mirror),
    /// Add what a mirror shows of the selected parts.
    MirrorCopy(Mirror),
    /// Move the selected parts by so many steps of the grid along length, width and height.
    Nudge([i8; 3]),
    /// Turn the selected rock and jets by this about the vertical, degrees.
    Spin(f64),
    /// Make the selected rock larger or smaller by this factor.
    Grow(f64),
    /// Let the next click in the tank say what the selected jets are aimed at.
    PickAim,
    /// Aim the selected jets at a place in the tank, m.
    AimAt([f64; 3]),
    /// Use the next sequence of the layout.
    NextSequence,
    /// Ask what to start a new layout from.
    New,
    /// Start from this.
    NewFrom(Template),
    /// Open the embedded demo.
    Demo,
    /// Ask for a file to open.
    Open,
    /// Read this file.
    OpenPath(PathBuf),
    /// Write to the file it came from, or ask.
    Save,
    /// Ask for a file to write.
    SaveAs,
    /// Write this file.
    SavePath(PathBuf),
    /// Ask for a mesh file.
    ImportRock,
    /// Add the mesh in this file as rock.
    ImportPath(PathBuf),
    /// Let the system's dialog pick a mesh file.
    BrowseRock,
    /// Let the system's dialog pick the layout to compare with.
    BrowseBeside,
    /// Let the system's dialog pick the file to open.
    BrowseOpen,
    /// Let the system's dialog pick the file to write.
    BrowseSave,
    /// Read a file that takes long no further.
    StopReading,
    /// Ask what a full study shall be, or show the one that there is.
    AskStudy,
    /// Run a full study beside the window.
    StartStudy(StudyWish),
    /// End it; the verdict is on what there is.
    StopStudy,
    /// Write the last full study's report into this folder.
    WriteReport(PathBuf),
    /// Draw the sheets of the handover and show them.
    AskSheets,
    /// Write them into this folder.
    WriteSheets(PathBuf),
    /// Write them no further.
    StopSheets,
    /// Let the system's dialog pick a folder to write this into.
    BrowseFolder(Wanted),
    /// Close the window.
    Quit,
    /// Yes to the question about unsaved changes: lose them.
    Discard,
    /// Save, then do what the question about unsaved changes was asked for.
    SaveFirst,
    /// Read the file again.
    Reload,
    /// Leave what another program wrote into the file unread.
    KeepMine,
    /// Go on with what a window that was ended by force left.
    TakeUp(Rescued),
    /// Throw it away.
    ThrowAway(Rescued),
    /// Let time go on, or hold it.
    PlayPause,
    /// Wanted seconds of tank time per second.
    Pace(f64),
    /// Half the pace.
    Slower,
    /// Twice the pace.
    Faster,
    /// Hold time and look at this moment of the sequence, s.
    Scrub(f64),
    /// Begin averaging again.
    RestartMean,
    /// Cell edge, m; `None`: chosen for this machine.
    Cell(Option<f64>),
    /// What the slice shows.
    Show(Quantity),
    /// Put the slice somewhere.
    Slice(Slice),
    /// Leave the slice where it is and move another.
    PinSlice,
    /// Take the pinned slices away.
    UnpinSlices,
    /// Let the camera go slowly round, or stop it.
    Orbit,
    /// A picture of the tank, 3840 by 2160, beside the layout's file.
    Still,
    /// Ask what kind of clip to record.
    Clip,
    /// Another kind of clip is wanted.
    Wish(Wish),
    /// Record it.
    Record,
    /// Stop recording, and keep nothing.
    StopRecording,
    /// Keep something of this layout to compare with.
    Keep(Keep),
    /// Ask for a layout file to compare with.
    KeepFile,
    /// Compare with the layout in this file.
    KeepPath(PathBuf),
    /// Make the kept layout the open one again.
    TakeKept,
    /// Stop comparing.
    LetGo,
    /// What of the two is in sight.
    Compare(Compare),
    /// The next way of seeing the two.
    NextCompare,
    /// Show the verdicts against each other, or the verdict on the open layout.
    Against(bool),
    /// Speed at the bottom of the colour scale, m/s.
    Low(f32),
    /// Turn the slice to the next axis.
    TurnSlice,
    /// Move the slice by a share of the tank.
    NudgeSlice(f32),
    /// Speed at the top of the colour scale, m/s; `None`: fitted.
    Top(Option<f32>),
    /// Show or hide.
    Toggle(Layer),
    /// The full picture though the processor draws, or the light one.
    FullPicture,
    /// US or metric.
    Units,
    /// Dark or light.
    Look,
    /// Larger or smaller words and panels: the factor, or 0 for the usual size.
    Text(f32),
    /// Pick a part, or nothing.
    Select(Option<Part>),
    /// Pick a part besides those picked already, or let go of it.
    SelectAlso(Part),
    /// Pick every part of the selected part's list.
    SelectList,
    /// Look closely at the selected part.
    Frame,
    /// Look at a finding, by its place in the list.
    ShowFinding(usize),
    /// Look at the next finding.
    NextFinding,
    /// Look at a dead spot, by rank.
    ShowDeadSpot(u16),
    /// Look from here.
    View(View),
    /// Show this in the lower panel.
    Lower(Lower),
    /// Lay something over the window, or take it away.
    Prompt(Option<Prompt>),
    /// Search the list of actions.
    Search(String),
    /// The notice was read.
    Dismiss,
}

/// Fixed points of view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum View {
    Home,
    Front,
    Left,
    Right,
    Back,
    Top,
}

/// Where a command stands in the menus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Menu {
    File,
    Edit,
    Flow,
    See,
    Compare,
    Camera,
    Screen,
    Help,
}

impl Menu {
    /// In the order of the menu bar.
    pub const ALL: [Self; 8] = [Self::File, Self::Edit, Self::Flow, Self::See, Self::Compare, Self::Camera, Self::Screen, Self::Help];

    /// Word on the menu bar.
    pub fn word(self) -> &'static str {
        match self {
            Self::File => "File",
            Self::Edit => "Edit",
            Self::Flow => "Flow",
            Self::See => "See",
            Self::Compare => "Compare",
            Self::Camera => "Camera",
            Self::Screen => "Screen",
            Self::Help => "Help",
        }
    }
}

/// An action that needs nothing more to be said: it has a name, a key and a line of help.
pub struct Command {
    /// Where it stands.
    pub menu: Menu,
    /// What it is called.
    pub name: &'static str,
    /// What it is good for.
    pub help: &'static str,
    /// Its key.
    pub key: Option<KeyboardShortcut>,
    /// What it does.
    pub action: Action,
}

const fn plain(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::NONE, key))
}

const fn command(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::COMMAND, key))
}

const fn shifted(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key))
}

const fn shifted_only(key: Key) -> Option<KeyboardShortcut> {
    Some(KeyboardShortcut::new(Modifiers::SHIFT, key))
}

const fn entry(menu: Menu, name: &'static str, key: Option<KeyboardShortcut>, action: Action, help: &'static str) -> Command {
    Command { menu, name, help, key, action }
}

/// All commands. A key with more modifiers stands before the same key with fewer, so that it is met first.
pub static COMMANDS: &[Command] = &[
    entry(Menu::File, "New…", command(Key::N), Action::New, "Start from an empty tank or from an example"),
    entry(Menu::File, "Open…", command(Key::O), Action::Open, "Read a layout file; dropping one on the window does the same"),
    entry(Menu::File, "Open the demo", None, Action::Demo, "The peninsula that comes with the program"),
    entry(
        Menu::File,
        "Import rock…",
        command(Key::I),
        Action::ImportRock,
        "A scan or a model as STL, OBJ or GLB; dropping one on the window does the same",
    ),
    entry(Menu::File, "Read the file again", None, Action::Reload, "Take what the file holds now; undo goes back"),
    entry(Menu::File, "Save as…", shifted(Key::S), Action::SaveAs, "Write to another file"),
    entry(Menu::File, "Save", command(Key::S), Action::Save, "Write to the layout's own file, comments kept"),
    entry(
        Menu::File,
        "Handover sheets…",
        command(Key::P),
        Action::AskSheets,
        "What is drilled, bought, glued and set: look at every page, then write them into a folder",
    ),
    entry(Menu::File, "Quit", command(Key::Q), Action::Quit, "Close the window; unsaved changes are asked about"),
    entry(Menu::Edit, "Redo", shifted(Key::Z), Action::Redo, "Do again what was undone"),
    entry(Menu::Edit, "Undo", command(Key::Z), Action::Undo, "Take back the last change, without limit"),
    entry(Menu::Edit, "Duplicate", command(Key::D), Action::Duplicate, "Add a copy of what is selected"),
    entry(Menu::Edit, "Delete", plain(Key::Delete), Action::Delete, "Take what is selected out of the layout"),
    entry(
        Menu::Edit,
        "Mirror left and right",
        plain(Key::M),
        Action::Mirror(Mirror::LeftRight),
        "Exchange what is selected for its mirror image",
    ),
    entry(Menu::Edit, "Mirror front and back", None, Action::Mirror(Mirror::FrontBack), "Exchange what is selected for its mirror image"),
    entry(Menu::Edit, "Add mirror image, left and right", command(Key::M), Action::MirrorCopy(Mirror::LeftRight), "A symmetrical pair"),
    entry(Menu::Edit, "Add mirror image, front and back", None, Action::MirrorCopy(Mirror::FrontBack), "A symmetrical pair"),
    entry(Menu::Edit, "Aim at a point…", plain(Key::A), Action::PickAim, "Then click what the selected jets shall blow at"),
    entry(
        Menu::Edit,
        "Select all of its kind",
        command(Key::A),
        Action::SelectList,
        "All nozzles, all rock, …; Shift with a click adds one",
    ),
    entry(Menu::Edit, "Turn left", plain(Key::Minus), Action::Spin(5.0), "Turn rock and jets by 5 degrees, anticlockwise seen from above"),
    entry(Menu::Edit, "Turn right", plain(Key::Equals), Action::Spin(-5.0), "Turn rock and jets by 5 degrees, clockwise seen from above"),
    entry(Menu::Edit, "Larger", plain(Key::PageUp), Action::Grow(1.05), "Rock a twentieth larger"),
    entry(Menu::Edit, "Smaller", plain(Key::PageDown), Action::Grow(1.0 / 1.05), "Rock a twentieth smaller"),
    entry(Menu::Edit, "Move left", plain(Key::ArrowLeft), Action::Nudge([-1, 0, 0]), "By a step of the grid: 5 mm or a quarter inch"),
    entry(Menu::Edit, "Move right", plain(Key::ArrowRight), Action::Nudge([1, 0, 0]), "By a step of the grid"),
    entry(Menu::Edit, "Move back", shifted_only(Key::ArrowUp), Action::Nudge([0, 1, 0]), "By a step of the grid"),
    entry(Menu::Edit, "Move forward", shifted_only(Key::ArrowDown), Action::Nudge([0, -1, 0]), "By a step of the grid"),
    entry(Menu::Edit, "Move up", plain(Key::ArrowUp), Action::Nudge([0, 0, 1]), "By a step of the grid"),
    entry(Menu::Edit, "Move down", plain(Key::ArrowDown), Action::Nudge([0, 0, -1]), "By a step of the grid"),
    entry(Menu::Edit, "Next sequence", plain(Key::Q), Action::NextSequence, "Switch to the layout's next alternation sequence"),
    entry(Menu::Flow, "Play or pause", plain(Key::Space), Action::PlayPause, "Let the water go on, or hold it"),
    entry(Menu::Flow, "Slower", plain(Key::Comma), Action::Slower, "Half the pace"),
    entry(Menu::Flow, "Faster", plain(Key::Period), Action::Faster, "Twice the pace, as far as this machine can follow"),
    entry(Menu::Flow, "Start the mean again", plain(Key::R), Action::RestartMean, "Forget the average so far; the water goes on"),
    entry(
        Menu::Flow,
        "Full study…",
        command(Key::R),
        Action::AskStudy,
        "Whole cycles on finer cells, beside the window: the verdict to drill by, and its report",
    ),
    entry(Menu::See, "Speed now", plain(Key::Num1), Action::Show(Quantity::Now), "Slice shows the speed at this moment"),
    entry(Menu::See, "Time-mean speed", plain(Key::Num2), Action::Show(Quantity::Mean), "Slice shows the average"),
    entry(Menu::See, "RMS fluctuation", plain(Key::Num3), Action::Show(Quantity::Rms), "Slice shows how much the flow swings"),
    entry(Menu::See, "Peak speed", plain(Key::Num4), Action::Show(Quantity::Peak), "Slice shows the largest speed met"),
    entry(Menu::See, "Share of time still", plain(Key::Num5), Action::Show(Quantity::Still), "Slice shows where the water mostly stands"),
    entry(Menu::See, "Pin the slice", plain(Key::N), Action::PinSlice, "Leave it where it is and move another"),
    entry(Menu::See, "Take pinned slices away", None, Action::UnpinSlices, "Only the one that moves stays"),
    entry(Menu::See, "Streamlines", plain(Key::J), Action::Toggle(Layer::Streams), "Of the mean flow, from points over the slice's place"),
    entry(Menu::See, "Change of direction", plain(Key::Num6), Action::Show(Quantity::Turning), "Where the water goes to and fro"),
    entry(
        Menu::See,
        "Skin of rock and sand",
        plain(Key::I),
        Action::Toggle(Layer::Skin),
        "Coloured by the water just off them: what lives there feels",
    ),
    entry(Menu::See, "Arrows", plain(Key::Y), Action::Toggle(Layer::Arrows), "Which way the water goes, on the slice's place"),
    entry(Menu::See, "Surface film", None, Action::Toggle(Layer::Film), "Which way the film drifts on average"),
    entry(Menu::See, "Tracers", plain(Key::T), Action::Toggle(Layer::Tracers), "Specks that drift with the water"),
    entry(Menu::See, "Slice", plain(Key::C), Action::Toggle(Layer::Slice), "A coloured plane through the water"),
    entry(Menu::See, "Turn the slice", plain(Key::X), Action::TurnSlice, "Upright, level, across"),
    entry(Menu::See, "Slice back", plain(Key::OpenBracket), Action::NudgeSlice(-0.02), "Move the slice one way"),
    entry(Menu::See, "Slice on", plain(Key::CloseBracket), Action::NudgeSlice(0.02), "Move the slice the other way"),
    entry(Menu::See, "Dead spots", plain(Key::D), Action::Toggle(Layer::DeadSpots), "Water that stays slow, numbered by size"),
    entry(Menu::See, "Labels", plain(Key::L), Action::Toggle(Layer::Labels), "Names of nozzles and intakes"),
    entry(Menu::See, "Water surface", plain(Key::W), Action::Toggle(Layer::Water), "The surface and its tint"),
    entry(Menu::Screen, "Only the tank", plain(Key::H), Action::Toggle(Layer::Panels), "Hide every panel to show a client"),
    entry(
        Menu::Compare,
        "Keep as A, to compare",
        plain(Key::E),
        Action::Keep(Keep::Now),
        "What you change from now on stands beside it as B",
    ),
    entry(
        Menu::Compare,
        "Compare with before the change",
        None,
        Action::Keep(Keep::Before),
        "A is the layout as it was before the last change; both in the same water",
    ),
    entry(
        Menu::Compare,
        "Compare with the next sequence",
        None,
        Action::Keep(Keep::OtherSequence),
        "A is this layout with its next sequence",
    ),
    entry(Menu::Compare, "Compare with a file…", None, Action::KeepFile, "A is another layout; both start from water at rest"),
    entry(Menu::Compare, "Side by side, difference, B alone", plain(Key::Tab), Action::NextCompare, "The next way of seeing A and B"),
    entry(Menu::Compare, "Go back to A", None, Action::TakeKept, "The layout becomes what was kept; undo brings B back"),
    entry(Menu::Compare, "Stop comparing", None, Action::LetGo, "A is let go"),
    entry(Menu::Screen, "Sequence", plain(Key::S), Action::Lower(Lower::Sequence), "Which outlet is open when; edited in the lower panel"),
    entry(
        Menu::Screen,
        "Plumbing",
        plain(Key::G),
        Action::Lower(Lower::Plumbing),
        "The pipework drawn, with flows and speeds at the playhead",
    ),
    entry(
        Menu::Screen,
        "US or metric units",
        plain(Key::U),
        Action::Units,
        "Inches and gallons per hour, or millimetres and litres per hour",
    ),
    entry(Menu::Screen, "Dark or light", plain(Key::K), Action::Look, "Whichever reads better where you are"),
    entry(
        Menu::Screen,
        "Full picture or light",
        None,
        Action::FullPicture,
        "Without a graphics card the light picture has fewer tracers and unsmoothed edges; the full one is drawn slower",
    ),
    entry(Menu::Screen, "Larger text", command(Key::Equals), Action::Text(1.125), "Words and panels larger"),
    entry(Menu::Screen, "Smaller text", command(Key::Minus), Action::Text(1.0 / 1.125), "Words and panels smaller"),
    entry(Menu::Screen, "Usual text", command(Key::Num0), Action::Text(0.0), "Words and panels as they came"),
    entry(Menu::Camera, "Whole tank", plain(Key::Home), Action::View(View::Home), "From the front, a little above"),
    entry(Menu::Camera, "Front", plain(Key::F), Action::View(View::Front), "Square on the front panel"),
    entry(Menu::Camera, "Back", plain(Key::B), Action::View(View::Back), "Square on the back panel"),
    entry(Menu::Camera, "Left", None, Action::View(View::Left), "Square on the left panel"),
    entry(Menu::Camera, "Right", None, Action::View(View::Right), "Square on the right panel"),
    entry(Menu::Camera, "Top", plain(Key::P), Action::View(View::Top), "Straight down, the plan"),
    entry(Menu::Camera, "Slowly round", plain(Key::O), Action::Orbit, "The camera goes round the tank; O stops it"),
    entry(Menu::Camera, "Still, 3840 × 2160", plain(Key::F9), Action::Still, "A PNG of the tank beside the layout's file"),
    entry(Menu::Camera, "Clip…", plain(Key::F10), Action::Clip, "Record the moving water: a GIF, or numbered pictures"),
    entry(Menu::Camera, "Selected part", plain(Key::Z), Action::Frame, "Close to the selected part"),
    entry(Menu::Camera, "Next finding", plain(Key::V), Action::NextFinding, "Go through the verdict, worst first"),
    entry(Menu::Help, "All actions", plain(Key::F1), Action::Prompt(Some(Prompt::Help)), "This list, searchable"),
];

/// Button steps of the pace.
pub const PACES: [f64; 5] = [0.25, 0.5, 1.0, 2.0, 4.0];

/// Cell edges on offer, m.
pub const CELLS: [f64; 8] = [0.015, 0.02, 0.025, 0.03, 0.04, 0.05, 0.06, 0.08];

impl Axis {
    /// The one after.
    pub fn next(self) -> Self {
        Self::ALL[(self.index() + 1) % Self::ALL.len()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_has_one_meaning() {
        for (i, a) in COMMANDS.iter().enumerate() {
            for b in &COMMANDS[i + 1..] {
                assert!(a.key.is_none() || a.key != b.key, "{} and {}", a.name, b.name);
                assert_ne!(a.name, b.name);
            }
        }
    }
}
