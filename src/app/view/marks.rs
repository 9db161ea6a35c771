//! Where names of parts and numbers of dead spots stand on the screen.

use crate::app::camera::Eye;
use crate::app::part::{List, Part};
use crate::app::space::place;
use crate::app::ui::marks::{Kind, Mark};
use crate::app::{Desktop, Marks};
use bevy::prelude::*;
use bevy_egui::egui::Pos2;
use glam::DVec3;

/// Smaller dead spots than the largest so many get no number.
const MOST_SPOTS: usize = 12;

/// Names and numbers.
pub fn plugin(app: &mut App) {
    app.add_systems(PostUpdate, locate.after(TransformSystems::Propagate).before(super::super::shell::run));
}

fn locate(desktop: Res<Desktop>, eyes: Query<(&Camera, &GlobalTransform), With<Eye>>, mut marks: ResMut<Marks>) {
    marks.0.clear();
    let Ok((camera, transform)) = eyes.single() else { return };
    let mut put = |at: DVec3, text: String, kind: Kind, strong: bool, part: Option<Part>| {
        if let Ok(p) = camera.world_to_viewport(transform, place(at)) {
            marks.0.push(Mark { at: Pos2::new(p.x, p.y), text, kind, strong, part });
        }
    };
    let (layout, desk) = (desktop.document.layout(), &desktop.desk);
    if desk.shown.dead_spots {
        for spot in desktop.live.verdict().iter().flat_map(|r| &r.dead_spots).take(MOST_SPOTS) {
            let rank = spot.rank as u16;
            put(DVec3::from_array(spot.centre_m), rank.to_string(), Kind::DeadSpot(rank), desk.dead_spot == Some(rank), None);
        }
    }
    let lists =
        [(List::Nozzles, Kind::Nozzle), (List::Intakes, Kind::Intake), (List::Propellers, Kind::Nozzle), (List::Colonies, Kind::Colony)];
    for (list, kind) in lists {
        for (index, id) in crate::app::part::ids(layout, list).into_iter().enumerate() {
            let part = Part { list, index };
            let strong = desk.selected == Some(part);
            if let Some(at) = part.place(layout).filter(|_| desk.shown.labels || strong) {
                put(at, id.to_owned(), kind, strong, Some(part));
            }
        }
    }
    if let Some(part) = desk.selected
        && !lists.iter().any(|(list, _)| *list == part.list)
        && let Some(at) = part.place(layout)
    {
        put(at, part.label(layout), Kind::Other, true, Some(part));
    }
}
