//! How the person looks at the layout: never saved, never undone.

use super::clip::Wish;
use super::full_study::StudyWish;
use super::kept::Compare;
use super::live::Which;
use super::part::Part;
use super::shelf::Rescued;
use super::sight::Sight;
use super::template::Template;
use crate::finding::Grade;
use crate::units::Display;
use std::path::PathBuf;

/// Dark or light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Look {
    #[default]
    Dark,
    Light,
}

/// What the slice and its legend show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Quantity {
    /// Speed at this moment.
    #[default]
    Now,
    /// Time-mean speed.
    Mean,
    /// Root mean square of the velocity's fluctuation.
    Rms,
    /// Largest speed so far.
    Peak,
    /// Share of the time that the water stood still.
    Still,
    /// How much the direction changes.
    Turning,
}

impl Quantity {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Now, Self::Mean, Self::Rms, Self::Peak, Self::Still, Self::Turning];

    /// The colours stand for a share, 0 to 1, not for a speed.
    pub fn is_share(self) -> bool {
        matches!(self, Self::Still | Self::Turning)
    }

    /// Short word for a button.
    pub fn word(self) -> &'static str {
        match self {
            Self::Now => "Now",
            Self::Mean => "Mean",
            Self::Rms => "RMS",
            Self::Peak => "Peak",
            Self::Still => "Still",
            Self::Turning => "Turning",
        }
    }

    /// Title of the legend.
    pub fn title(self) -> &'static str {
        match self {
            Self::Now => "Speed now",
            Self::Mean => "Time-mean speed",
            Self::Rms => "RMS fluctuation",
            Self::Peak => "Peak speed",
            Self::Still => "Share of time still",
            Self::Turning => "Change of direction",
        }
    }

    /// What it tells.
    pub fn help(self) -> &'static str {
        match self {
            Self::Now => "Speed of the water at this moment",
            Self::Mean => "Speed averaged since the mean was last started: what a coral lives in",
            Self::Rms => "How much the velocity swings about its mean: surge and turbulence",
            Self::Peak => "Largest speed met since the mean was last started: what blasts a colony",
            Self::Still => "Share of the time in which the water was slower than the dead speed: where detritus settles",
            Self::Turning => "0 % where the water always goes one way, 100 % where it comes back as much as it goes: what colonies like",
        }
    }
}

/// Direction a slice is moved along.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Axis {
    Length,
    #[default]
    Width,
    Height,
}

impl Axis {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Length, Self::Width, Self::Height];

    /// 0, 1, 2.
    pub fn index(self) -> usize {
        self as usize
    }

    /// Word for a button.
    pub fn word(self) -> &'static str {
        match self {
            Self::Length => "across",
            Self::Width => "upright",
            Self::Height => "level",
        }
    }
}

/// A plane through the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// It moves along this.
    pub axis: Axis,
    /// How far: 0 to 1 of the inside size.
    pub share: f32,
}

/// Things that can be hidden.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Layer {
    Tracers,
    Slice,
    DeadSpots,
    Labels,
    Water,
    Panels,
    Streams,
    Arrows,
    Film,
    Skin,
}

/// Which things are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "named as the layers")]
pub struct Shown {
    pub tracers: bool,
    pub slice: bool,
    pub dead_spots: bool,
    pub labels: bool,
    pub water: bool,
    pub panels: bool,
    pub streams: bool,
    pub arrows: bool,
    pub film: bool,
    pub skin: bool,
}

impl Shown {
    /// The switch of a layer.
    pub fn of(&mut self, layer: Layer) -> &mut bool {
        match layer {
            Layer::Tracers => &mut self.tracers,
            Layer::Slice => &mut self.slice,
            Layer::DeadSpots => &mut self.dead_spots,
            Layer::Labels => &mut self.labels,
            Layer::Water => &mut self.water,
            Layer::Panels => &mut self.panels,
            Layer::Streams => &mut self.streams,
            Layer::Arrows => &mut self.arrows,
            Layer::Film => &mut self.film,
            Layer::Skin => &mut self.skin,
        }
    }
}

/// What the lower panel shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Lower {
    /// The sequence over its joint cycle.
    #[default]
    Sequence,
    /// The pipework of every circuit.
    Plumbing,
}

impl Lower {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Sequence, Self::Plumbing];

    /// Word on its tab.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sequence => "Sequence",
            Self::Plumbing => "Plumbing",
        }
    }
}

/// A question or a list laid over the window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Prompt {
    /// All actions with their keys.
    Help,
    /// A path to read from.
    Open(String),
    /// A path to write to.
    SaveAs(String),
    /// A path of a layout to compare with.
    Beside(String),
    /// A path of a mesh file.
    Import(String),
    /// What kind of clip to record.
    Clip,
    /// What to start a new layout from.
    New,
    /// There are unsaved changes; then do this.
    Unsaved(Next),
    /// What a full study is asked for.
    Study(StudyWish),
    /// What the last full study found.
    Studied,
    /// The pages of the handover; this one is shown.
    Sheets(usize),
    /// Another program changed the file while there are unsaved changes.
    Changed,
    /// A window that was ended by force left this.
    Rescue(Rescued),
}

/// What is written into a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// The report of the last full study.
    Report,
    /// The sheets of the handover.
    Sheets,
}

/// What waits for the answer about unsaved changes.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Next {
    From(Template),
    Open(Option<PathBuf>),
    Quit,
}

/// One line to the user about what just happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// How bad.
    pub grade: Grade,
    /// What to say.
    pub text: String,
    /// When it appeared, s.
    pub since: f64,
}

/// How far a clip is that is being recorded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recording {
    /// Share of the pictures taken.
    pub done: f32,
    /// All are taken, and the file is being written.
    pub writing: bool,
}

/// How the person looks at the layout.
#[derive(Debug, Clone)]
pub struct Desk {
    /// Units on screen.
    pub display: Display,
    /// Colours.
    pub look: Look,
    /// Size of words and panels over the usual one.
    pub text: f32,
    /// Time goes on.
    pub playing: bool,
    /// Wanted seconds of tank time per second.
    pub pace: f64,
    /// Where in time the picture is, s of tank time.
    pub playhead: f64,
    /// Cell edge, m; `None`: chosen for this machine.
    pub cell: Option<f64>,
    /// What the slice shows.
    pub quantity: Quantity,
    /// Where the slice is.
    pub slice: Slice,
    /// Slices that stay where they are.
    pub pinned: Vec<Slice>,
    /// The camera goes slowly round the tank.
    pub orbiting: bool,
    /// What is shown at all.
    pub shown: Shown,
    /// The processor draws; there is no graphics card.
    pub software: bool,
    /// The full picture is wanted even so.
    pub full: bool,
    /// What is wanted of clips, and whether stills have captions.
    pub clip: Wish,
    /// The clip that is being recorded.
    pub recording: Option<Recording>,
    /// What is in sight of two layouts that are compared.
    pub compare: Compare,
    /// The panel on the right holds the verdicts of A and B against each other.
    pub against: bool,
    /// Speed at the top of the colour scale, m/s; `None`: fitted to the picture.
    pub top: Option<f32>,
    /// Speed at the bottom of the colour scale, m/s.
    pub low: f32,
    /// Ends of the colour scale just now, m/s or shares.
    pub scale: [f32; 2],
    /// The part whose fields are shown.
    pub selected: Option<Part>,
    /// Further parts that are selected with it.
    pub also: Vec<Part>,
    /// The next click in the tank says what the selected jets are aimed at.
    pub picking: bool,
    /// Rank of the dead spot that is pointed out.
    pub dead_spot: Option<u16>,
    /// The finding that is opened.
    pub finding: Option<Which>,
    /// How the tank is seen.
    pub sight: Option<Sight>,
    /// What the lower panel shows.
    pub lower: Lower,
    /// What lies over the window.
    pub prompt: Option<Prompt>,
    /// What is done once the layout is saved.
    pub waiting: Option<Next>,
    /// Files opened or saved lately, the newest first.
    pub recent: Vec<PathBuf>,
    /// What the user is being told.
    pub notice: Option<Notice>,
    /// Typed into the list of actions.
    pub search: String,
}

impl Desk {
    /// As the window opens.
    pub fn new(display: Display) -> Self {
        Self {
            display,
            look: Look::Dark,
            text: 1.0,
            playing: true,
            pace: 1.0,
            playhead: 0.0,
            cell: None,
            quantity: Quantity::Now,
            slice: Slice { axis: Axis::Width, share: 0.5 },
            pinned: Vec::new(),
            orbiting: false,
            shown: Shown {
                tracers: true,
                slice: false,
                dead_spots: true,
                labels: true,
                water: true,
                panels: true,
                streams: false,
                arrows: false,
                film: false,
                skin: false,
            },
            software: false,
            full: false,
            clip: Wish::default(),
            recording: None,
            compare: Compare::Beside,
            against: false,
            top: None,
            low: 0.0,
            scale: [0.0, 0.2],
            selected: None,
            also: Vec::new(),
            picking: false,
            dead_spot: None,
            finding: None,
            sight: None,
            lower: Lower::Sequence,
            prompt: None,
            waiting: None,
            recent: Vec::new(),
            notice: None,
            search: String::new(),
        }
    }

    /// The picture is drawn with fewer tracers and without smoothed edges.
    pub fn light(&self) -> bool {
        self.software && !self.full
    }

    /// A slice or the skin of rock and sand shows the quantity in colours.
    pub fn colours_surfaces(&self) -> bool {
        self.shown.slice || self.shown.skin
    }

    /// The slice that is moved, and those that stay.
    pub fn all_slices(&self) -> impl Iterator<Item = Slice> {
        [self.slice].into_iter().chain(self.pinned.iter().copied())
    }

    /// All selected parts, the one whose fields are shown first.
    pub fn all_selected(&self) -> impl Iterator<Item = Part> {
        self.selected.into_iter().chain(self.also.iter().copied())
    }

    /// The part is selected, alone or with others.
    pub fn is_selected(&self, part: Part) -> bool {
        self.all_selected().any(|p| p == part)
    }
}
