//! What a new layout starts from.

use crate::layout;

/// Layouts that come with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Template {
    /// A tank of water and nothing else.
    Empty,
    /// A commented small loop.
    Small,
    /// The demo.
    Peninsula,
    /// Against three walls.
    Alcove,
    /// Several loops.
    Lagoon,
}

impl Template {
    /// In the order of the list.
    pub const ALL: [Self; 5] = [Self::Empty, Self::Small, Self::Peninsula, Self::Alcove, Self::Lagoon];

    /// For messages.
    pub fn name(self) -> &'static str {
        match self {
            Self::Empty => "Empty tank",
            Self::Small => "Small loop",
            Self::Peninsula => "Peninsula",
            Self::Alcove => "Alcove",
            Self::Lagoon => "Lagoon",
        }
    }

    /// What it has.
    pub fn help(self) -> &'static str {
        match self {
            Self::Empty => "Glass and water, about 1 200 L (317 gal). Set its sizes, then add a closed loop and rock",
            Self::Small => {
                "About 600 L (159 gal) with one closed loop, a drum unit of four outlets and rock, commented for people who read the file"
            }
            Self::Peninsula => "The demo: seen from three sides, one loop, a return",
            Self::Alcove => "In a niche, with a dead spot to find",
            Self::Lagoon => "Large and shallow, several drum units",
        }
    }

    /// Its file.
    pub fn text(self) -> &'static str {
        match self {
            Self::Empty => include_str!("../../assets/empty.ron"),
            Self::Small => layout::template(),
            Self::Peninsula => layout::DEMO,
            Self::Alcove => include_str!("../../layouts/alcove.ron"),
            Self::Lagoon => include_str!("../../layouts/lagoon.ron"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_template_is_read_and_none_is_blocked() {
        for template in Template::ALL {
            let layout = layout::read(template.name(), template.text().as_bytes()).unwrap().layout;
            let found = layout::check(&layout, crate::catalog::Catalog::builtin());
            assert!(!found.iter().any(|f| f.blocks), "{}: {found:?}", template.name());
        }
        let empty = layout::read("", Template::Empty.text().as_bytes()).unwrap().layout;
        let size = empty.tank.size();
        assert!((size.x * size.y * empty.tank.water_level.si() - 1.2).abs() < 0.05);
    }
}
