//! Which part of the layout is meant, and a copy of it to put back changed.

use crate::layout::{
    Bar, Circuit, Colony, Drum, End, Intake, Layout, Nozzle, Overflow, Propeller, Pump, Rock, Sand, Sequence, Sump, Tank, Zone,
};
use glam::DVec3;

/// The lists of a layout that a person can pick from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "named as in the layout")]
pub enum List {
    Tank,
    Sand,
    Sump,
    Bracing,
    Rocks,
    Overflows,
    Pumps,
    Drums,
    Intakes,
    Nozzles,
    Circuits,
    Propellers,
    Sequences,
    Colonies,
    Zones,
}

impl List {
    /// In the order the window shows them.
    pub const ALL: [Self; 15] = [
        Self::Tank,
        Self::Sand,
        Self::Bracing,
        Self::Rocks,
        Self::Overflows,
        Self::Sump,
        Self::Nozzles,
        Self::Intakes,
        Self::Propellers,
        Self::Pumps,
        Self::Circuits,
        Self::Drums,
        Self::Sequences,
        Self::Colonies,
        Self::Zones,
    ];

    /// Heading for people.
    pub fn title(self) -> &'static str {
        match self {
            Self::Tank => "Tank",
            Self::Sand => "Sand bed",
            Self::Sump => "Sump",
            Self::Bracing => "Bracing",
            Self::Rocks => "Rockwork",
            Self::Overflows => "Overflow boxes",
            Self::Pumps => "Pumps",
            Self::Drums => "Drum units",
            Self::Intakes => "Intakes",
            Self::Nozzles => "Nozzles",
            Self::Circuits => "Pipework",
            Self::Propellers => "Propeller pumps",
            Self::Sequences => "Sequences",
            Self::Colonies => "Colonies",
            Self::Zones => "Zones",
        }
    }

    /// Name of the list in the layout file and in a finding's `part`.
    pub fn key(self) -> &'static str {
        match self {
            Self::Tank => "tank",
            Self::Sand => "sand",
            Self::Sump => "sump",
            Self::Bracing => "tank/bracing",
            Self::Rocks => "rocks",
            Self::Overflows => "overflows",
            Self::Pumps => "pumps",
            Self::Drums => "drums",
            Self::Intakes => "intakes",
            Self::Nozzles => "nozzles",
            Self::Circuits => "circuits",
            Self::Propellers => "propellers",
            Self::Sequences => "sequences",
            Self::Colonies => "colonies",
            Self::Zones => "zones",
        }
    }
}

/// One part of a layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Part {
    /// Where it stands.
    pub list: List,
    /// Its place in that list; 0 where there is only one.
    pub index: usize,
}

/// A part's content.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs, reason = "named as in the layout")]
pub enum Item {
    Tank(Tank),
    Sand(Sand),
    Sump(Sump),
    Bar(Bar),
    Rock(Rock),
    Overflow(Overflow),
    Pump(Pump),
    Drum(Drum),
    Intake(Intake),
    Nozzle(Nozzle),
    Circuit(Circuit),
    Propeller(Propeller),
    Sequence(Sequence),
    Colony(Colony),
    Zone(Zone),
}

/// The ids in a list, in its order; one empty id where there is only one part.
pub fn ids(layout: &Layout, list: List) -> Vec<&str> {
    match list {
        List::Tank => vec![""],
        List::Sand => layout.sand.iter().map(|_| "").collect(),
        List::Sump => layout.sump.iter().map(|_| "").collect(),
        List::Bracing => layout.tank.bracing.iter().map(|p| p.id.as_str()).collect(),
        List::Rocks => layout.rocks.iter().map(|p| p.id.as_str()).collect(),
        List::Overflows => layout.overflows.iter().map(|p| p.id.as_str()).collect(),
        List::Pumps => layout.pumps.iter().map(|p| p.id.as_str()).collect(),
        List::Drums => layout.drums.iter().map(|p| p.id.as_str()).collect(),
        List::Intakes => layout.intakes.iter().map(|p| p.id.as_str()).collect(),
        List::Nozzles => layout.nozzles.iter().map(|p| p.id.as_str()).collect(),
        List::Circuits => layout.circuits.iter().map(|p| p.id.as_str()).collect(),
        List::Propellers => layout.propellers.iter().map(|p| p.id.as_str()).collect(),
        List::Sequences => layout.sequences.iter().map(|p| p.id.as_str()).collect(),
        List::Colonies => layout.colonies.iter().map(|p| p.id.as_str()).collect(),
        List::Zones => layout.zones.iter().map(|p| p.id.as_str()).collect(),
    }
}

impl Part {
    /// The part a finding is about: `list/id`, perhaps with a piece of it after that: `circuits/loop A/suction/S1`.
    pub fn named(layout: &Layout, name: &str) -> Option<Self> {
        let in_list = |list: List| {
            let rest = name.strip_prefix(list.key())?.trim_start_matches('/');
            let belongs = |id: &&str| rest == *id || (!id.is_empty() && rest.starts_with(&format!("{id}/")));
            ids(layout, list).iter().position(belongs).map(|index| Self { list, index })
        };
        List::ALL.into_iter().find_map(in_list)
    }

    /// What to call it.
    pub fn label(self, layout: &Layout) -> String {
        match ids(layout, self.list).get(self.index) {
            Some(id) if !id.is_empty() => (*id).to_owned(),
            _ => self.list.title().to_owned(),
        }
    }

    /// A copy of it.
    pub fn get(self, layout: &Layout) -> Option<Item> {
        let i = self.index;
        match self.list {
            List::Tank => Some(Item::Tank(layout.tank.clone())),
            List::Sand => layout.sand.clone().map(Item::Sand),
            List::Sump => layout.sump.clone().map(Item::Sump),
            List::Bracing => layout.tank.bracing.get(i).cloned().map(Item::Bar),
            List::Rocks => layout.rocks.get(i).cloned().map(Item::Rock),
            List::Overflows => layout.overflows.get(i).cloned().map(Item::Overflow),
            List::Pumps => layout.pumps.get(i).cloned().map(Item::Pump),
            List::Drums => layout.drums.get(i).cloned().map(Item::Drum),
            List::Intakes => layout.intakes.get(i).cloned().map(Item::Intake),
            List::Nozzles => layout.nozzles.get(i).cloned().map(Item::Nozzle),
            List::Circuits => layout.circuits.get(i).cloned().map(Item::Circuit),
            List::Propellers => layout.propellers.get(i).cloned().map(Item::Propeller),
            List::Sequences => layout.sequences.get(i).cloned().map(Item::Sequence),
            List::Colonies => layout.colonies.get(i).cloned().map(Item::Colony),
            List::Zones => layout.zones.get(i).cloned().map(Item::Zone),
        }
    }

    /// Middle of it in the tank, m, if it stands somewhere.
    pub fn place(self, layout: &Layout) -> Option<DVec3> {
        self.get(layout)?.place(layout.tank.size())
    }

    /// Take it out of its list. The tank stays.
    pub fn remove(self, layout: &mut Layout) -> bool {
        let i = self.index;
        match self.list {
            List::Tank => false,
            List::Sand => layout.sand.take().is_some(),
            List::Sump => layout.sump.take().is_some(),
            List::Bracing => take(&mut layout.tank.bracing, i),
            List::Rocks => take(&mut layout.rocks, i),
            List::Overflows => take(&mut layout.overflows, i),
            List::Pumps => take(&mut layout.pumps, i),
            List::Drums => take(&mut layout.drums, i),
            List::Intakes => take(&mut layout.intakes, i),
            List::Nozzles => take(&mut layout.nozzles, i),
            List::Circuits => take(&mut layout.circuits, i) && drop_joints(layout),
            List::Propellers => take(&mut layout.propellers, i),
            List::Sequences => take(&mut layout.sequences, i),
            List::Colonies => take(&mut layout.colonies, i),
            List::Zones => take(&mut layout.zones, i),
        }
    }
}

impl Item {
    /// Put it at `index` of its list: over what is there, or at the end.
    pub fn put(self, layout: &mut Layout, index: usize) {
        match self {
            Self::Tank(tank) => layout.tank = tank,
            Self::Sand(sand) => layout.sand = Some(sand),
            Self::Sump(sump) => layout.sump = Some(sump),
            Self::Bar(item) => place(&mut layout.tank.bracing, index, item),
            Self::Rock(item) => place(&mut layout.rocks, index, item),
            Self::Overflow(item) => place(&mut layout.overflows, index, item),
            Self::Pump(item) => place(&mut layout.pumps, index, item),
            Self::Drum(item) => place(&mut layout.drums, index, item),
            Self::Intake(item) => place(&mut layout.intakes, index, item),
            Self::Nozzle(item) => place(&mut layout.nozzles, index, item),
            Self::Circuit(item) => place(&mut layout.circuits, index, item),
            Self::Propeller(item) => place(&mut layout.propellers, index, item),
            Self::Sequence(item) => place(&mut layout.sequences, index, item),
            Self::Colony(item) => place(&mut layout.colonies, index, item),
            Self::Zone(item) => place(&mut layout.zones, index, item),
        }
    }

    /// Its id, where it has one.
    pub fn id_mut(&mut self) -> Option<&mut String> {
        match self {
            Self::Tank(_) | Self::Sand(_) | Self::Sump(_) => None,
            Self::Bar(item) => Some(&mut item.id),
            Self::Rock(item) => Some(&mut item.id),
            Self::Overflow(item) => Some(&mut item.id),
            Self::Pump(item) => Some(&mut item.id),
            Self::Drum(item) => Some(&mut item.id),
            Self::Intake(item) => Some(&mut item.id),
            Self::Nozzle(item) => Some(&mut item.id),
            Self::Circuit(item) => Some(&mut item.id),
            Self::Propeller(item) => Some(&mut item.id),
            Self::Sequence(item) => Some(&mut item.id),
            Self::Colony(item) => Some(&mut item.id),
            Self::Zone(item) => Some(&mut item.id),
        }
    }

    /// Middle of it in a tank of this inside size, m, if it stands somewhere.
    pub fn place(&self, size: DVec3) -> Option<DVec3> {
        match self {
            Self::Tank(tank) => Some(tank.size() / 2.0),
            Self::Sand(sand) => Some(DVec3::new(size.x / 2.0, size.y / 2.0, sand.depth.si())),
            Self::Bar(bar) => Some((bar.from.metres() + bar.to.metres()) / 2.0),
            Self::Rock(rock) => Some(rock.at.metres()),
            Self::Overflow(o) => {
                Some(DVec3::new((o.from.0.si() + o.to.0.si()) / 2.0, (o.from.1.si() + o.to.1.si()) / 2.0, o.crest.si() * 0.7))
            }
            Self::Intake(intake) => Some(intake.mount.centre(size)),
            Self::Nozzle(nozzle) => Some(nozzle.mount.centre(size)),
            Self::Propeller(propeller) => Some(propeller.at.metres()),
            Self::Colony(colony) => Some(colony.at.metres()),
            Self::Zone(zone) => Some((zone.from.metres() + zone.to.metres()) / 2.0),
            Self::Sump(_) | Self::Pump(_) | Self::Drum(_) | Self::Circuit(_) | Self::Sequence(_) => None,
        }
    }

    /// The list it belongs to.
    pub fn list(&self) -> List {
        match self {
            Self::Tank(_) => List::Tank,
            Self::Sand(_) => List::Sand,
            Self::Sump(_) => List::Sump,
            Self::Bar(_) => List::Bracing,
            Self::Rock(_) => List::Rocks,
            Self::Overflow(_) => List::Overflows,
            Self::Pump(_) => List::Pumps,
            Self::Drum(_) => List::Drums,
            Self::Intake(_) => List::Intakes,
            Self::Nozzle(_) => List::Nozzles,
            Self::Circuit(_) => List::Circuits,
            Self::Propeller(_) => List::Propellers,
            Self::Sequence(_) => List::Sequences,
            Self::Colony(_) => List::Colonies,
            Self::Zone(_) => List::Zones,
        }
    }
}

/// Joints that no run ends at any more go with their circuit.
fn drop_joints(layout: &mut Layout) -> bool {
    let runs = || layout.circuits.iter().flat_map(|c| c.suction.iter().chain(&c.discharge)).flat_map(|r| [&r.from, &r.to]);
    let named: Vec<String> = runs().filter_map(|end| if let End::Joint(name) = end { Some(name.clone()) } else { None }).collect();
    layout.joints.retain(|joint| named.contains(&joint.id));
    true
}

fn take<T>(list: &mut Vec<T>, index: usize) -> bool {
    let there = index < list.len();
    if there {
        list.remove(index);
    }
    there
}

fn place<T>(list: &mut Vec<T>, index: usize, item: T) {
    match list.get_mut(index) {
        Some(old) => *old = item,
        None => list.push(item),
    }
}
