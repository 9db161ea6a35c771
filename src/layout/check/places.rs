//! Where things are: in the tank, under water, clear of rock, aimed at water.

use super::{caution, fault, length};
use crate::finding::{Finding, Grade};
use crate::layout::solid::{Solid, solids};
use crate::layout::{Layout, Mount, PanelName};
use glam::DVec3;

/// A jet that meets something within this many bores hardly spreads before it does. Our own choice.
const CLEAR_BORES: f64 = 4.0;

/// How far a strainer on a floor bulkhead is taken to stand above the sand, m. Our own choice.
const STANDING: f64 = 0.1;

pub(super) fn check(layout: &Layout) -> Vec<Finding> {
    let room = Room { layout, solids: solids(layout), size: layout.tank.size(), level: layout.tank.water_level.si() };
    let mut found = Vec::new();
    for nozzle in &layout.nozzles {
        let at = room.opening(&nozzle.mount);
        let mouth = Mouth { part: format!("nozzles/{}", nozzle.id), at, radius: nozzle.bore.si() / 2.0 };
        found.extend(room.mouth(&mouth));
        found.extend(room.jet(&mouth, nozzle.aim.direction(at), nozzle.mount.panel().map(|panel| panel.inward())));
    }
    for propeller in &layout.propellers {
        let at = propeller.at.metres();
        let mouth = Mouth { part: format!("propellers/{}", propeller.id), at, radius: propeller.bore.si() / 2.0 };
        found.extend(room.mouth(&mouth));
        found.extend(room.jet(&mouth, propeller.aim.direction(at), None));
    }
    for intake in &layout.intakes {
        let mouth = Mouth { part: format!("intakes/{}", intake.id), at: room.opening(&intake.mount), radius: intake.bore.si() / 2.0 };
        found.extend(room.mouth(&mouth));
        let faces = intake.facing.as_ref().is_some_and(|aim| aim.direction(mouth.at).length() > 0.5);
        if matches!(intake.mount, Mount::PipeEnd(_)) && !faces {
            let why = "an intake on a pipe end draws from the side that its screen looks to";
            let mend = "add `facing: angles(azimuth: ..., elevation: ...)`";
            found.push(fault("no-facing", mouth.part, "nothing says which way its screen looks".into(), why, mend).blocking());
        }
    }
    found.extend(room.overflows());
    found.extend(room.life());
    found
}

struct Room<'a> {
    layout: &'a Layout,
    solids: Vec<Solid>,
    size: DVec3,
    level: f64,
}

struct Mouth {
    part: String,
    at: DVec3,
    radius: f64,
}

impl Room<'_> {
    /// Where the opening is; what comes through the floor stands up through the sand.
    fn opening(&self, mount: &Mount) -> DVec3 {
        let at = mount.centre(self.size);
        let sand = self.layout.sand.as_ref().map_or(0.0, |sand| sand.depth.si());
        if mount.panel() == Some(PanelName::Bottom) { at.with_z(sand + STANDING) } else { at }
    }

    fn nearest(&self, at: DVec3) -> Option<(&Solid, f64)> {
        self.solids.iter().map(|solid| (solid, solid.distance(at))).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    fn holds(&self, at: DVec3) -> bool {
        at.cmpge(DVec3::splat(-1e-6)).all() && at.cmple(self.size + 1e-6).all()
    }

    /// In the tank, under water, clear of rock.
    fn mouth(&self, mouth: &Mouth) -> Option<Finding> {
        let display = self.layout.display;
        let part = mouth.part.clone();
        let place = mouth.at.to_array();
        if !self.holds(mouth.at) {
            let why = "x runs along the length, y along the width, z up from the inside floor";
            return Some(fault("outside", part, "its place is outside the tank".into(), why, "move it into the tank").at(place).blocking());
        }
        if mouth.at.z > self.level {
            let what = format!("it is {} above the water", length(mouth.at.z - self.level, display));
            return Some(fault("above-water", part, what, "it would draw or blow air", "lower it").at(place).blocking());
        }
        if let Some((solid, distance)) = self.nearest(mouth.at)
            && distance < mouth.radius * 0.5
        {
            let inside = distance < 0.0;
            let how = if inside { "is inside" } else { "lies against" };
            let what = format!("it {how} {}", words(&solid.part));
            let why = "what stands before an opening turns or stops its flow";
            let finding = if inside {
                fault("in-solid", part, what, why, "move one of the two")
            } else {
                caution("against-solid", part, what, why, "leave at least its own bore free")
            };
            return Some(finding.at(place));
        }
        (mouth.at.z + mouth.radius > self.level).then(|| {
            caution(
                "breaks-surface",
                part,
                "its opening reaches above the water".into(),
                "it takes in air, and noise and bubbles follow",
                "lower it",
            )
            .at(place)
        })
    }

    /// Aimed at open water.
    fn jet(&self, mouth: &Mouth, direction: DVec3, inward: Option<DVec3>) -> Option<Finding> {
        let (part, place) = (mouth.part.clone(), mouth.at.to_array());
        if direction.length() < 0.5 || !direction.is_finite() {
            return Some(
                fault(
                    "no-aim",
                    part,
                    "it is aimed at its own place".into(),
                    "the jet has no direction",
                    "aim it at another point, or give angles",
                )
                .at(place)
                .blocking(),
            );
        }
        if inward.is_some_and(|inward| direction.dot(inward) < 0.05) {
            let what = "it is aimed into, or along, the panel that it comes through".to_owned();
            let why = "azimuth counts from the x axis, anticlockwise from above: 0 deg is to the right, 90 deg to the back";
            return Some(fault("into-wall", part, what, why, "turn the aim into the tank").at(place));
        }
        let clear = 2.0 * mouth.radius * CLEAR_BORES;
        let (reach, what) = self.first_hit(mouth.at, direction, clear)?;
        let what = format!("its jet meets {what} after {}", length(reach, self.layout.display));
        let why = format!("within {CLEAR_BORES} bores the jet is hardly slowed: it scours what it hits and is lost to the tank");
        Some(caution("short-jet", part, what, &why, "aim past it, or move it").at(place))
    }

    /// What a ray meets within `clear`, and how far away; solids that hold the start are passed over.
    fn first_hit(&self, from: DVec3, direction: DVec3, clear: f64) -> Option<(f64, String)> {
        let steps = 40;
        (1..=steps).map(|step| clear * f64::from(step) / f64::from(steps)).find_map(|reach| {
            let at = from + direction * reach;
            if !self.holds(at) {
                return Some((reach, "a wall".to_owned()));
            }
            let hit = self.solids.iter().find(|solid| solid.distance(at) < 0.0 && solid.distance(from) > 0.0);
            hit.map(|solid| (reach, words(&solid.part)))
        })
    }

    fn overflows(&self) -> Vec<Finding> {
        let mut found = Vec::new();
        for overflow in &self.layout.overflows {
            let part = format!("overflows/{}", overflow.id);
            let corners = [&overflow.from, &overflow.to].map(|corner| DVec3::new(corner.0.si(), corner.1.si(), 0.0));
            if !corners.iter().all(|corner| self.holds(*corner)) {
                found.push(fault(
                    "outside",
                    part.clone(),
                    "part of its footprint is outside the tank".into(),
                    "boxes stand inside the panels here",
                    "move it into the tank",
                ));
            }
            let crest = overflow.crest.si();
            if crest > self.level {
                let what = format!("its lip is {} above the water", length(crest - self.level, self.layout.display));
                found.push(fault("dry-overflow", part, what, "no water goes over it", "lower the lip, or raise the water level"));
            }
        }
        found
    }

    /// Colonies, zones, probes and rocks.
    fn life(&self) -> Vec<Finding> {
        let mut found = Vec::new();
        for colony in &self.layout.colonies {
            let (at, part) = (colony.at.metres(), format!("colonies/{}", colony.id));
            found.extend(self.in_water(&part, at, -colony.size.si() / 2.0));
        }
        self.layout.probes.iter().for_each(|probe| found.extend(self.in_water(&format!("probes/{}", probe.id), probe.at.metres(), 0.0)));
        for zone in &self.layout.zones {
            let (a, b) = (zone.from.metres(), zone.to.metres());
            let (low, high) = (a.min(b).max(DVec3::ZERO), a.max(b).min(DVec3::new(self.size.x, self.size.y, self.level)));
            if !low.cmplt(high).all() {
                found.push(caution(
                    "no-water-here",
                    format!("zones/{}", zone.id),
                    "it holds no water of this tank".into(),
                    "nothing can be said about it",
                    "correct its corners",
                ));
            }
        }
        for rock in &self.layout.rocks {
            let at = rock.at.metres();
            let over = DVec3::new(at.x, at.y, at.z.clamp(0.0, self.size.z));
            if !self.holds(over) {
                found.push(caution(
                    "outside",
                    format!("rocks/{}", rock.id),
                    "its place is outside the tank".into(),
                    "what is outside plays no part",
                    "move it into the tank",
                ));
            }
        }
        found
    }

    /// `depth`: signed distance below which it counts as buried.
    fn in_water(&self, part: &str, at: DVec3, depth: f64) -> Option<Finding> {
        if !self.holds(at) || at.z > self.level {
            return Some(
                caution(
                    "no-water-here",
                    part.into(),
                    "it is outside the water".into(),
                    "no flow can be told for it",
                    "move it into the water",
                )
                .at(at.to_array()),
            );
        }
        let (solid, distance) = self.nearest(at)?;
        let what = format!("it is {} inside {}", length(-distance, self.layout.display), words(&solid.part));
        (distance < depth).then(|| {
            Finding::new(Grade::Caution, "buried", part, what, "no water moves there", "move it out of the rock").at(at.to_array())
        })
    }
}

/// `rocks/left arch` as `the rock left arch`.
fn words(part: &str) -> String {
    match part.rsplit_once('/') {
        Some(("rocks", id)) => format!("the rock `{id}`"),
        Some(("overflows", id)) => format!("the overflow box `{id}`"),
        Some((_, id)) => format!("the brace `{id}`"),
        None => "the sand bed".to_owned(),
    }
}
