//! What the program has to say about a design: one type for the layout check, the wet-side checks and the study.

use serde::{Deserialize, Serialize};

/// How much a finding matters. Always shown as a word, never by colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// Worth knowing; nothing to mend.
    Note,
    /// Look at it before you drill.
    Caution,
    /// Do not drill, buy or glue before this is mended.
    Fault,
}

impl Grade {
    /// The word shown to people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Fault => "fault",
        }
    }
}

/// One statement about one part of a design: what, where, why, and how to mend it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// How much it matters.
    pub grade: Grade,
    /// Stable machine name of the rule, for instance `screen-speed`.
    pub rule: String,
    /// The part it is about, as `list/id`, for instance `nozzles/N3`; empty for the whole layout.
    pub part: String,
    /// What is the case, with the number and its unit.
    pub what: String,
    /// Why that matters, with the limit and its source.
    pub why: String,
    /// What to do about it.
    pub mend: String,
    /// Where in the tank, m, if it has a place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<[f64; 3]>,
    /// The layout can't be computed until this is mended.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub blocks: bool,
}

impl Finding {
    /// A finding without a place.
    pub fn new(
        grade: Grade,
        rule: &str,
        part: impl Into<String>,
        what: impl Into<String>,
        why: impl Into<String>,
        mend: impl Into<String>,
    ) -> Self {
        Self {
            grade,
            rule: rule.into(),
            part: part.into(),
            what: what.into(),
            why: why.into(),
            mend: mend.into(),
            place: None,
            blocks: false,
        }
    }

    /// The same, at a place in the tank, m.
    pub fn at(mut self, place: [f64; 3]) -> Self {
        self.place = Some(place);
        self
    }

    /// The same, as a fault that makes the layout impossible to compute.
    pub fn blocking(mut self) -> Self {
        self.blocks = true;
        self.grade = Grade::Fault;
        self
    }
}

/// The worst grade of a list, `None` when it is empty.
pub fn worst(findings: &[Finding]) -> Option<Grade> {
    findings.iter().map(|f| f.grade).max()
}

/// The part a finding is about, in words: `intakes/I2` becomes "intake I2".
pub fn part(path: &str) -> String {
    if path.is_empty() {
        return "the layout".to_owned();
    }
    let mut said = String::new();
    let mut after_list = false;
    for word in path.split('/') {
        let list = SINGULAR.iter().find(|(many, _)| *many == word).map(|(_, one)| *one);
        let shown = list.unwrap_or(word);
        let names_itself = after_list && format!(" {} ", shown.to_lowercase()).contains(&format!(" {} ", said.to_lowercase()));
        said = match (said.is_empty() || names_itself, after_list) {
            (true, _) => shown.to_owned(),
            (false, true) => format!("{said} {shown}"),
            (false, false) => format!("{said}, {shown}"),
        };
        after_list = list.is_some();
    }
    said
}

const SINGULAR: [(&str, &str); 18] = [
    ("rocks", "rock"),
    ("overflows", "overflow"),
    ("drains", "drain"),
    ("pumps", "pump"),
    ("drums", "drum unit"),
    ("outlets", "outlet"),
    ("intakes", "intake"),
    ("nozzles", "nozzle"),
    ("circuits", "circuit"),
    ("runs", "run"),
    ("links", "run"),
    ("propellers", "propeller pump"),
    ("sequences", "sequence"),
    ("colonies", "colony"),
    ("zones", "zone"),
    ("probes", "probe"),
    ("panels", "panel"),
    ("dead_spots", "dead spot"),
];
