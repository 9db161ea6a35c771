//! A panel as the person with the drill sees it: from outside, the water side behind it. Lengths in mm.

use crate::handover::numbering::Numbering;
use crate::layout::{Layout, Material, PanelName};

/// A panel seen from outside; x to the right and y up from the lower left corner, both from inside faces.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// Which panel.
    pub panel: PanelName,
    /// Inside width as seen.
    pub width: f64,
    /// Inside height as seen.
    pub height: f64,
    /// Of the panel.
    pub thickness: f64,
    /// Of the panel.
    pub material: Material,
    /// What lies at each edge as seen.
    pub edges: Edges,
    /// Its holes.
    pub holes: Vec<SeenHole>,
}

/// What lies at the edges of a view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "the names say it")]
pub struct Edges {
    pub left: Edge,
    pub right: Edge,
    pub bottom: Edge,
    pub top: Edge,
}

/// What lies at an edge: the inside face of a neighbouring panel, or nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// The inside face of this panel.
    Face(PanelName),
    /// The open rim.
    Rim,
}

impl Edge {
    /// For people: "inside face of the right panel".
    pub fn words(self) -> String {
        match self {
            Self::Face(PanelName::Bottom) => "inside face of the floor".to_owned(),
            Self::Face(panel) => format!("inside face of the {} panel", panel.word()),
            Self::Rim => "rim".to_owned(),
        }
    }

    /// One word: "right", "floor", "rim".
    pub fn word(self) -> &'static str {
        match self {
            Self::Face(PanelName::Bottom) => "floor",
            Self::Face(panel) => panel.word(),
            Self::Rim => "rim",
        }
    }
}

/// A hole in a view.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenHole {
    /// "H3".
    pub tag: String,
    /// "intake A1".
    pub serves: String,
    /// Centre from the left edge of the view.
    pub x: f64,
    /// Centre from the bottom edge of the view.
    pub y: f64,
    /// Diameter to drill; `None`: not given.
    pub drill: Option<f64>,
}

impl View {
    /// The view of a panel with its holes.
    pub fn new(layout: &Layout, numbering: &Numbering, panel: PanelName) -> Self {
        let (width, height, edges) = frame(layout, panel);
        let own = layout.tank.panels.get(panel);
        let holes = numbering.holes_in(panel).map(|hole| {
            let x = if is_mirrored(panel) { width - hole.along } else { hole.along };
            SeenHole { tag: hole.tag.clone(), serves: hole.serves.clone(), x, y: hole.up, drill: hole.drill }
        });
        Self { panel, width, height, thickness: 1e3 * own.thickness.si(), material: own.material, edges, holes: holes.collect() }
    }

    /// Whether a hole's centre lies on the panel.
    pub fn holds(&self, hole: &SeenHole) -> bool {
        (0.0..=self.width).contains(&hole.x) && (0.0..=self.height).contains(&hole.y)
    }

    /// "lower left corner, where the inside faces of the back panel and of the floor meet".
    pub fn corner_words(&self) -> String {
        format!("the lower left corner as drawn: {} meets {}", self.edges.left.words(), self.edges.bottom.words())
    }
}

/// Inside width and height as seen, and what lies at the edges.
fn frame(layout: &Layout, panel: PanelName) -> (f64, f64, Edges) {
    use PanelName::{Back, Bottom, Front, Left, Right};
    let size = 1e3 * layout.tank.size();
    let wall = |left, right| Edges { left: Edge::Face(left), right: Edge::Face(right), bottom: Edge::Face(Bottom), top: Edge::Rim };
    match panel {
        Front => (size.x, size.z, wall(Left, Right)),
        Back => (size.x, size.z, wall(Right, Left)),
        Left => (size.y, size.z, wall(Back, Front)),
        Right => (size.y, size.z, wall(Front, Back)),
        Bottom => {
            let edges = Edges { left: Edge::Face(Right), right: Edge::Face(Left), bottom: Edge::Face(Front), top: Edge::Face(Back) };
            (size.x, size.y, edges)
        }
    }
}

/// Whether the layout's `along` runs to the left in the view. Looking along d with u up, right is d × u:
/// front y × z = x; back −y × z = −x; left x × z = −y; right −x × z = y; the floor from below, back at the top, z × y = −x.
fn is_mirrored(panel: PanelName) -> bool {
    matches!(panel, PanelName::Back | PanelName::Left | PanelName::Bottom)
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;

    /// Right in the view is the direction of looking × up; checked against what the code says lies at the right edge.
    #[test]
    fn the_right_edge_is_on_the_right() {
        for panel in PanelName::ALL {
            let looking = panel.inward();
            let up = if panel == PanelName::Bottom { DVec3::Y } else { DVec3::Z };
            let right = looking.cross(up);
            let layout: Layout = ron::from_str(SMALL).unwrap();
            let Edge::Face(neighbour) = frame(&layout, panel).2.right else { panic!("the right edge is a panel") };
            assert_eq!(-neighbour.inward(), right, "{panel:?}");
            assert_eq!(is_mirrored(panel), right.dot(DVec3::ONE) < 0.0, "{panel:?}");
        }
    }

    const SMALL: &str = r#"(version: 1, name: "t", tank: (length: "2 m", width: "1 m", height: "0.5 m", water_level: "0.4 m", panels: (
        front: (material: glass, thickness: "10 mm"), back: (material: glass, thickness: "10 mm"), left: (material: glass, thickness: "10 mm"),
        right: (material: glass, thickness: "10 mm"), bottom: (material: glass, thickness: "10 mm"))))"#;
}
