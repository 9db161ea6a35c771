//! Two layouts compared: which is which in the picture, the switch between ways of seeing them, and what changed in the verdict.

use super::{Seen, theme, words};
use crate::app::action::Action;
use crate::app::kept::{Compare, Kept};
use crate::app::panes::Panes;
use crate::finding::Grade;
use crate::report::compare::{changed, said, table};
use crate::study::compare::findings::Change;
use crate::study::compare::measures::Standing;
use crate::study::compare::{Against, Comparison};
use bevy_egui::egui::{Align2, Pos2};
use bevy_egui::egui::{Area, Color32, Frame, Grid, Id, Label, Margin, Rect, RichText, ScrollArea, Sense, Ui, pos2, vec2};

/// Letters in the picture, and the bar with the ways of seeing.
pub fn overlay(ui: &mut Ui, free: Rect, panes: Panes, seen: &Seen, out: &mut Vec<Action>) {
    let Some(kept) = &seen.model.kept else { return };
    let own = &seen.model.document.layout().name;
    let fits = free.width() > 300.0 && free.height() > 160.0;
    match panes.kept {
        Some(room) => {
            letter(ui, room.left_bottom(), "A", &kept.name, seen);
            letter(ui, over_the_bar(ui, panes.own.left_bottom()), "B", own, seen);
            let line = if room.right() <= panes.own.left() {
                Rect::from_min_max(room.right_top(), panes.own.left_bottom())
            } else {
                Rect::from_min_max(room.left_bottom(), panes.own.right_top())
            };
            ui.painter().rect_filled(line, 0.0, seen.theme().line);
        }
        None if seen.model.desk.compare == Compare::Difference => letter(ui, free.left_bottom(), "B − A", &kept.name, seen),
        None => letter(ui, free.left_bottom(), "B", own, seen),
    }
    if fits && seen.model.desk.shown.panels {
        bar(ui, free, seen, out);
    }
}

/// A corner, or the place above the bar where that reaches so far.
fn over_the_bar(ui: &Ui, corner: Pos2) -> Pos2 {
    let bar = ui.ctx().memory(|m| m.area_rect(Id::new("beside")));
    match bar.filter(|bar| bar.left() < corner.x + 120.0) {
        Some(bar) => corner - vec2(0.0, bar.height() + theme::GAP),
        None => corner,
    }
}

fn letter(ui: &Ui, corner: Pos2, letter: &str, name: &str, seen: &Seen) {
    let colours = seen.theme();
    let painter = ui.painter();
    let at = corner + vec2(12.0, -12.0);
    let name = crate::report::shown::shortened(name, 34);
    let big = painter.layout_no_wrap(letter.to_owned(), bevy_egui::egui::FontId::proportional(theme::TITLE), colours.on_accent);
    let small = painter.layout_no_wrap(name, bevy_egui::egui::FontId::proportional(theme::SMALL), colours.text);
    let badge = Rect::from_min_size(at - vec2(0.0, 22.0), vec2(big.size().x + 14.0, 22.0));
    let whole = badge.with_max_x(badge.right() + small.size().x + 14.0);
    painter.rect_filled(whole, 5.0, colours.panel);
    painter.rect_filled(badge, 5.0, colours.accent);
    painter.galley(Align2::CENTER_CENTER.anchor_size(badge.center(), big.size()).min, big, colours.on_accent);
    painter.galley(pos2(badge.right() + 7.0, badge.center().y - small.size().y / 2.0), small, colours.text);
}

fn bar(ui: &mut Ui, free: Rect, seen: &Seen, out: &mut Vec<Action>) {
    let colours = seen.theme();
    let at = free.right_bottom() - vec2(12.0, 10.0);
    Area::new(Id::new("beside")).pivot(Align2::RIGHT_BOTTOM).fixed_pos(at).show(ui.ctx(), |ui| {
        Frame::new().fill(colours.panel).corner_radius(6).inner_margin(Margin::symmetric(8, 5)).show(ui, |ui| {
            ui.horizontal(|ui| {
                for compare in Compare::ALL {
                    let picked = seen.model.desk.compare == compare;
                    if ui.selectable_label(picked, compare.word()).on_hover_text(compare.help()).clicked() {
                        out.push(Action::Compare(compare));
                    }
                }
                ui.separator();
                if ui.button("Back to A").on_hover_text("The layout becomes A again; undo brings B back").clicked() {
                    out.push(Action::TakeKept);
                }
                if ui.button("Stop").on_hover_text("Stop comparing: A is let go").clicked() {
                    out.push(Action::LetGo);
                }
            });
        });
    });
}

/// Which list the right panel shows.
pub fn tabs(ui: &mut Ui, seen: &Seen, out: &mut Vec<Action>) {
    let against = seen.model.desk.against;
    ui.horizontal(|ui| {
        for (is_against, word) in [(false, "Verdict"), (true, "B against A")] {
            if ui.selectable_label(against == is_against, RichText::new(word).heading()).clicked() {
                out.push(Action::Against(is_against));
            }
        }
    });
}

/// What changed in the verdict.
pub fn panel(ui: &mut Ui, seen: &Seen) {
    let Some(kept) = &seen.model.kept else { return };
    ScrollArea::vertical().auto_shrink(false).id_salt("beside").show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 4.0;
        match &kept.comparison {
            Some(comparison) => compared(ui, comparison, kept, seen),
            None => {
                heading(ui, "What was changed", seen);
                small(ui, &described(kept, seen), seen.theme().text);
                let wait = "The verdicts are held against each other once both have averaged long enough for one.";
                small(ui, wait, seen.theme().muted);
            }
        }
    });
}

fn described(kept: &Kept, seen: &Seen) -> String {
    let lines = changed::lines(&kept.layout, seen.model.document.layout(), seen.model.desk.display);
    if lines.is_empty() { "Nothing yet: B is the same as A.".to_owned() } else { lines.join("\n") }
}

fn compared(ui: &mut Ui, comparison: &Comparison, kept: &Kept, seen: &Seen) {
    let Some(against) = comparison.against_first.first() else { return };
    let colours = seen.theme();
    ui.add(Label::new(said::verdict(comparison, 1)).wrap());
    heading(ui, "What was changed", seen);
    small(ui, &described(kept, seen), colours.text);
    heading(ui, "Findings", seen);
    findings(ui, against, seen);
    if !against.dead_spots.is_empty() {
        heading(ui, "Dead spots", seen);
        spots(ui, against, seen);
    }
    heading(ui, "Measures that differ", seen);
    measures(ui, comparison, seen);
    for caution in &comparison.cautions {
        small(ui, caution, colours.caution);
    }
    small(ui, said::BARS, colours.muted);
}

fn heading(ui: &mut Ui, text: &str, seen: &Seen) {
    ui.add_space(theme::GAP);
    ui.label(RichText::new(text).small().strong().color(seen.theme().accent));
}

fn small(ui: &mut Ui, text: &str, ink: Color32) {
    ui.add(Label::new(RichText::new(text).small().color(ink)).wrap());
}

fn findings(ui: &mut Ui, against: &Against, seen: &Seen) {
    let colours = seen.theme();
    if against.findings.is_empty() {
        small(ui, "The same in both.", colours.muted);
    }
    // A fault that went says more than ten notes that came.
    let mut weightiest: Vec<_> = against.findings.iter().collect();
    weightiest.sort_by_key(|change| std::cmp::Reverse(change.finding.grade));
    for change in weightiest {
        let [how, grade, what] = said::finding(change);
        ui.horizontal_top(|ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(13.0, 15.0), Sense::hover());
            words::mark(ui.painter(), rect.center(), change.finding.grade, colours.grade(change.finding.grade));
            let gone = matches!(change.change, Change::Lost | Change::Milder);
            let ink = if gone { colours.accent } else { colours.grade(change.finding.grade.max(Grade::Caution)) };
            ui.vertical(|ui| {
                ui.label(RichText::new(format!("{how}: {grade}")).small().strong().color(ink));
                small(ui, &what, colours.text);
            });
        });
    }
}

fn spots(ui: &mut Ui, against: &Against, seen: &Seen) {
    let display = seen.model.desk.display;
    Grid::new("spots").num_columns(3).spacing([10.0, 3.0]).show(ui, |ui| {
        for head in ["", "A", "B"] {
            ui.label(RichText::new(head).small().color(seen.theme().muted));
        }
        ui.end_row();
        for spot in &against.dead_spots {
            let [what, before, after, place] = said::spot(spot, &against.letter, display);
            ui.label(RichText::new(what).small()).on_hover_text(place);
            ui.label(RichText::new(before).small());
            ui.label(RichText::new(after).small());
            ui.end_row();
        }
    });
}

/// Those that differ by more than their error bars.
fn measures(ui: &mut Ui, comparison: &Comparison, seen: &Seen) {
    let colours = seen.theme();
    let differs = |standing: Option<Standing>| !matches!(standing, None | Some(Standing::Same | Standing::NotCertain));
    let told: Vec<_> = comparison.measures.iter().filter(|m| differs(m.standings[1])).collect();
    if told.is_empty() {
        small(ui, "None, by more than the error bars.", colours.muted);
    }
    let mut group = "";
    for measure in told {
        if measure.group != group {
            group = &measure.group;
            small(ui, group, colours.muted);
        }
        let row = table::row(measure, seen.model.desk.display);
        let (mark, ink) = match measure.standings[1] {
            Some(Standing::Better) => ("better", colours.accent),
            Some(Standing::Worse) => ("worse", colours.fault),
            Some(standing) => (standing.word(), colours.muted),
            None => ("", colours.muted),
        };
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 5.0;
            ui.label(RichText::new(&row[0]).small());
            ui.label(RichText::new(mark).small().strong().color(ink));
        });
        small(ui, &format!("    {}  →  {}", row[1], row[2]), colours.text);
    }
}
