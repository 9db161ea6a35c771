//! Changes of the layout that act on what is selected.

use super::document::{Document, Edit};
use super::fresh::Fresh;
use super::mirror::{Mirror, mirrored};
use super::model::{Errand, Model};
use super::part::{Item, List, Part, ids};
use super::{reach, snap};
use crate::finding::Grade;
use crate::layout::{Aim, Supply};
use crate::setup::Schedule;
use crate::units::{Angle, VolumeFlow};
use glam::DVec3;

impl Model {
    pub(super) fn edit(&mut self, edit: Edit) -> Vec<Errand> {
        self.document.apply(edit, self.now);
        self.drop_lost_selection();
        Vec::new()
    }

    pub(super) fn hold(&mut self, held: bool) -> Vec<Errand> {
        self.document.hold(held);
        Vec::new()
    }

    pub(super) fn step(&mut self, step: fn(&mut Document) -> bool, nothing: &str) -> Vec<Errand> {
        if step(&mut self.document) {
            // What a note said of the last change is no longer so.
            self.desk.notice = self.desk.notice.take().filter(|notice| notice.grade != Grade::Note);
        } else {
            self.say(Grade::Note, nothing);
        }
        self.drop_lost_selection();
        Vec::new()
    }

    pub(super) fn drop_lost_selection(&mut self) {
        let layout = self.document.layout();
        self.desk.also.retain(|part| part.get(layout).is_some());
        self.desk.selected = self.desk.selected.filter(|part| part.get(layout).is_some());
        if self.desk.selected.is_none() && !self.desk.also.is_empty() {
            self.desk.selected = Some(self.desk.also.remove(0));
        }
    }

    pub(super) fn select(&mut self, part: Option<Part>) -> Vec<Errand> {
        let layout = self.document.layout();
        self.desk.selected = part.filter(|p| p.get(layout).is_some());
        self.desk.also.clear();
        self.desk.picking = false;
        Vec::new()
    }

    pub(super) fn select_also(&mut self, part: Part) -> Vec<Errand> {
        if part.get(self.document.layout()).is_none() {
            return Vec::new();
        }
        let desk = &mut self.desk;
        if desk.selected == Some(part) {
            desk.selected = desk.also.pop();
        } else if desk.also.contains(&part) {
            desk.also.retain(|p| *p != part);
        } else if let Some(before) = desk.selected.replace(part) {
            desk.also.push(before);
        }
        Vec::new()
    }

    pub(super) fn select_list(&mut self) -> Vec<Errand> {
        let Some(part) = self.desk.selected else { return self.nothing_selected() };
        let count = ids(self.document.layout(), part.list).len();
        self.desk.also = (0..count).map(|index| Part { list: part.list, index }).filter(|p| *p != part).collect();
        Vec::new()
    }

    /// Add parts as one step and select them.
    pub(super) fn add(&mut self, edits: Vec<Edit>) -> Vec<Errand> {
        if edits.is_empty() {
            self.say(Grade::Note, "There is one already, or nothing to copy");
            return Vec::new();
        }
        let added = |edit: &Edit| if let Edit::Add(item) = edit { Some(item.list()) } else { None };
        let lists: Vec<List> = edits.iter().filter_map(added).collect();
        if self.document.apply(Edit::All(edits), self.now) {
            let layout = self.document.layout();
            let mut parts: Vec<Part> = Vec::new();
            for list in lists.into_iter().rev() {
                let later = parts.iter().filter(|p| p.list == list).count();
                parts.push(Part { list, index: (ids(layout, list).len()).saturating_sub(1 + later) });
            }
            self.desk.selected = parts.pop();
            self.desk.also = parts;
        }
        Vec::new()
    }

    /// Add a fresh part. Of a whole loop the first nozzle is selected, for it is the first thing to be placed.
    pub(super) fn add_fresh(&mut self, fresh: Fresh) -> Vec<Errand> {
        let first = self.document.layout().nozzles.len();
        let errands = self.add(fresh.edits(self.document.layout()));
        let nozzle = Part { list: List::Nozzles, index: first };
        if fresh == Fresh::Loop && nozzle.get(self.document.layout()).is_some() {
            self.select(Some(nozzle));
            self.say(Grade::Note, "A loop of 10 parts was added. Drag each nozzle and intake to its place");
        }
        errands
    }

    /// Copies stand a little aside, so that they are seen.
    pub(super) fn duplicate(&mut self) -> Vec<Errand> {
        let (layout, display) = (self.document.layout().clone(), self.desk.display);
        let aside = |part: Part| {
            let size = layout.tank.size();
            let at = part.place(&layout)?;
            let side = |x: f64, whole: f64| if x < whole * 0.8 { whole * 0.06 } else { -whole * 0.06 };
            reach::shifted(&layout, part, DVec3::new(side(at.x, size.x), side(at.y, size.y) * 0.5, 0.0), display)
        };
        self.add_copies(|part| aside(part).or_else(|| part.get(&layout)))
    }

    pub(super) fn mirror_copy(&mut self, mirror: Mirror) -> Vec<Errand> {
        let (layout, display) = (self.document.layout().clone(), self.desk.display);
        self.add_copies(|part| mirrored(&layout, part, mirror, display))
    }

    fn add_copies(&mut self, copy: impl Fn(Part) -> Option<Item>) -> Vec<Errand> {
        if self.desk.selected.is_none() {
            return self.nothing_selected();
        }
        let copies = self.desk.all_selected().filter(|p| p.list != List::Tank).filter_map(|part| Some((part, copy(part)?)));
        let copies = copies.map(|(part, item)| Edit::Add(Box::new(self.unplumbed(part, item)))).collect();
        self.add(copies)
    }

    /// A copy hangs on no pipe; it gets the original's largest flow, fixed, so that it runs.
    fn unplumbed(&self, part: Part, mut item: Item) -> Item {
        match &mut item {
            Item::Nozzle(nozzle) => nozzle.supply = self.largest(|s, t| s.nozzle_at(part.index, t).0),
            Item::Intake(intake) => intake.supply = self.largest(|s, t| s.intake_at(part.index, t)),
            _ => {}
        }
        item
    }

    fn largest(&self, flow: impl Fn(&Schedule, f64) -> f64) -> Supply {
        let most = self.live.schedule.as_ref().map_or(0.0, |s| s.times.iter().map(|t| flow(s, *t)).fold(0.0, f64::max));
        Supply::Fixed(VolumeFlow::from_si(most.max(1e-4), self.desk.display))
    }

    pub(super) fn delete(&mut self) -> Vec<Errand> {
        let Some(part) = self.desk.selected else { return self.nothing_selected() };
        let layout = self.document.layout();
        let mut parts: Vec<Part> = self.desk.all_selected().collect();
        let told = match parts.len() {
            1 => format!("{} taken out; undo brings it back", part.label(layout)),
            many => format!("{many} parts taken out; undo brings them back"),
        };
        // From the end of each list, so that what is left keeps its place until its turn.
        parts.sort_by_key(|p| std::cmp::Reverse(p.index));
        if self.document.apply(Edit::All(parts.into_iter().map(Edit::Remove).collect()), self.now) {
            self.say(Grade::Note, told);
            return self.select(None);
        }
        self.say(Grade::Note, "The tank stays");
        Vec::new()
    }

    pub(super) fn mirror(&mut self, mirror: Mirror) -> Vec<Errand> {
        let (layout, display) = (self.document.layout().clone(), self.desk.display);
        self.change(|part| mirrored(&layout, part, mirror, display))
    }

    pub(super) fn nudge(&mut self, steps: [i8; 3]) -> Vec<Errand> {
        let (layout, display) = (self.document.layout().clone(), self.desk.display);
        let by = DVec3::from_array(steps.map(|s| f64::from(s) * snap::step(display)));
        self.change(|part| reach::shifted(&layout, part, by, display))
    }

    pub(super) fn spin(&mut self, degrees: f64) -> Vec<Errand> {
        let layout = self.document.layout().clone();
        let turn = |angle: &mut Angle| *angle = Angle::new(angle.in_unit("deg") + degrees, "deg");
        self.change(|part| {
            let mut item = part.get(&layout)?;
            match &mut item {
                Item::Rock(rock) => turn(&mut rock.turn.yaw),
                other => {
                    let from = part.place(&layout)?;
                    let aim = reach::aim_of(other)?;
                    if let Aim::Toward(_) = aim {
                        *aim = reach::angles(aim.direction(from));
                    }
                    if let Aim::Angles { azimuth, .. } = aim {
                        turn(azimuth);
                    }
                }
            }
            Some(item)
        })
    }

    pub(super) fn grow(&mut self, by: f64) -> Vec<Errand> {
        let (layout, display) = (self.document.layout().clone(), self.desk.display);
        self.change(|part| {
            let Item::Rock(mut rock) = part.get(&layout)? else { return None };
            reach::scale(&mut rock.shape, by, display);
            Some(Item::Rock(rock))
        })
    }

    pub(super) fn pick_aim(&mut self) -> Vec<Errand> {
        let layout = self.document.layout();
        let jets = self.desk.all_selected().any(|p| p.get(layout).is_some_and(|mut item| reach::aim_of(&mut item).is_some()));
        if jets {
            self.desk.picking = true;
            self.say(Grade::Note, "Click the rock, the sand or the panel that the jet shall blow at");
        } else {
            self.say(Grade::Note, "Select a nozzle or a propeller pump first");
        }
        Vec::new()
    }

    pub(super) fn aim_at(&mut self, place: DVec3) -> Vec<Errand> {
        // What was asked for is done.
        (self.desk.picking, self.desk.notice) = (false, None);
        let (layout, display) = (self.document.layout().clone(), self.desk.display);
        self.change(|part| reach::aimed_at(&layout, part, place, display))
    }

    /// Put changed copies of the selected parts in their place, as one step.
    fn change(&mut self, change: impl Fn(Part) -> Option<Item>) -> Vec<Errand> {
        if self.desk.selected.is_none() {
            return self.nothing_selected();
        }
        let puts: Vec<Edit> = self.desk.all_selected().filter_map(|part| Some(Edit::Put(part.index, Box::new(change(part)?)))).collect();
        if puts.is_empty() {
            self.say(Grade::Note, "That can't be done with what is selected");
            return Vec::new();
        }
        self.edit(Edit::All(puts))
    }

    pub(super) fn nothing_selected(&mut self) -> Vec<Errand> {
        self.say(Grade::Note, "Select a part first, in the list or in the tank");
        Vec::new()
    }
}
