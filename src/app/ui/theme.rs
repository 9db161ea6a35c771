//! Every colour and size of the window. Nothing else in `app` names a colour.

use crate::app::desk::Look;
use crate::finding::Grade;
use bevy_egui::egui::{Color32, Context, CornerRadius, FontDefinitions, FontFamily, FontId, Margin, Shadow, Stroke, TextStyle, Visuals};

/// Colours of one look.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs, reason = "the names say it")]
pub struct Theme {
    pub look: Look,
    pub canvas: Color32,
    pub panel: Color32,
    pub raised: Color32,
    pub hover: Color32,
    pub line: Color32,
    pub text: Color32,
    pub muted: Color32,
    pub accent: Color32,
    pub on_accent: Color32,
    pub fault: Color32,
    pub caution: Color32,
    pub note: Color32,
    pub edge: Color32,
    pub glass: Color32,
    pub opaque: Color32,
    pub water: Color32,
    pub rock: Color32,
    pub sand: Color32,
    pub brace: Color32,
    pub overflow: Color32,
    pub pipe: Color32,
    pub jet: Color32,
    pub idle: Color32,
    pub screen: Color32,
    pub colony: Color32,
    pub dead: Color32,
    pub speck: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

const DARK: Theme = Theme {
    look: Look::Dark,
    canvas: rgb(0x0b1216),
    panel: rgb(0x141c21),
    raised: rgb(0x1d272d),
    hover: rgb(0x293640),
    line: rgb(0x2b3840),
    text: rgb(0xdde6ea),
    muted: rgb(0x93a4ae),
    accent: rgb(0x63c5b5),
    on_accent: rgb(0x07201c),
    fault: rgb(0xf0836a),
    caution: rgb(0xe3b45c),
    note: rgb(0x8fb6d6),
    edge: rgb(0x6f8794),
    glass: rgb(0x8fb4c4),
    opaque: rgb(0x3a464d),
    water: rgb(0x4fa3b8),
    rock: rgb(0x9a8c86),
    sand: rgb(0x7d7567),
    brace: rgb(0x7d929d),
    overflow: rgb(0x4c5a63),
    pipe: rgb(0x9aa6ad),
    jet: rgb(0x63c5b5),
    idle: rgb(0x4d5d67),
    screen: rgb(0x7a6a9e),
    colony: rgb(0xd98f78),
    dead: rgb(0xd36fb0),
    speck: rgb(0xd7e3e8),
};

const LIGHT: Theme = Theme {
    look: Look::Light,
    canvas: rgb(0xcfdadf),
    panel: rgb(0xf3f6f7),
    raised: rgb(0xffffff),
    hover: rgb(0xe3eaed),
    line: rgb(0xcdd7dc),
    text: rgb(0x17242b),
    muted: rgb(0x536671),
    accent: rgb(0x0a6f66),
    on_accent: rgb(0xffffff),
    fault: rgb(0xab3720),
    caution: rgb(0x7d5800),
    note: rgb(0x2b5f87),
    edge: rgb(0x5a707c),
    glass: rgb(0x6d95a7),
    opaque: rgb(0x8d9aa1),
    water: rgb(0x3d8fa8),
    rock: rgb(0x8d7f79),
    sand: rgb(0xb3a790),
    brace: rgb(0x7d929d),
    overflow: rgb(0x6a7982),
    pipe: rgb(0xb2b8bb),
    jet: rgb(0x0a6f66),
    idle: rgb(0x8b9aa3),
    screen: rgb(0x6b5a94),
    colony: rgb(0xb9644a),
    dead: rgb(0xa23b80),
    speck: rgb(0x23323a),
};

/// Space between things, points.
pub const GAP: f32 = 6.0;
/// Space inside a panel, points.
pub const PAD: i8 = 10;
/// Width of the panel of parts, points.
pub const LEFT: f32 = 238.0;
/// Width of the verdict, points.
pub const RIGHT: f32 = 276.0;
/// Least and most height of the timeline, points.
pub const BOTTOM: (f32, f32) = (100.0, 230.0);
/// Under this window width the panel of parts gives way, points.
pub const NARROW: f32 = 900.0;
/// Under this window width the verdict gives way too, points.
pub const TINY: f32 = 600.0;
/// Under this window height the timeline gives way, points.
pub const LOW: f32 = 420.0;
/// Ordinary text, points.
pub const BODY: f32 = 13.5;
/// Secondary text, points.
pub const SMALL: f32 = 11.5;
/// Headings, points.
pub const TITLE: f32 = 15.0;

/// A button that is held longer than this, s, is not taken for a click.
const LONGEST_CLICK: f64 = 10.0;

/// A panel that finds its height is laid out again within the same picture, at most so often in all.
const PASSES: std::num::NonZeroUsize = std::num::NonZeroUsize::new(4).unwrap();

/// The usual fonts; the one of even width stands in for signs that the others lack, such as arrows.
fn fonts() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let spare = fonts.families.get(&FontFamily::Monospace).cloned().unwrap_or_default();
    fonts.families.entry(FontFamily::Proportional).or_default().extend(spare);
    fonts
}

impl Theme {
    /// The colours of a look.
    pub fn of(look: Look) -> Self {
        match look {
            Look::Dark => DARK,
            Look::Light => LIGHT,
        }
    }

    /// The accent, faint on a panel. Mixed here rather than drawn half clear: half clear colours come out dark in the light look.
    pub fn tint(&self, share: f32) -> Color32 {
        let mix = |a: u8, b: u8| (f32::from(a) * (1.0 - share) + f32::from(b) * share) as u8;
        let (p, a) = (self.panel, self.accent);
        Color32::from_rgb(mix(p.r(), a.r()), mix(p.g(), a.g()), mix(p.b(), a.b()))
    }

    /// The colour that goes with a grade's mark and word.
    pub fn grade(&self, grade: Grade) -> Color32 {
        match grade {
            Grade::Fault => self.fault,
            Grade::Caution => self.caution,
            Grade::Note => self.note,
        }
    }

    /// Make egui look like this.
    pub fn dress(&self, ctx: &Context) {
        ctx.set_visuals(self.visuals());
        // Where pictures come slowly, press and release of one click can lie in pictures a second apart.
        ctx.options_mut(|o| {
            o.input_options.max_click_duration = LONGEST_CLICK;
            o.max_passes = PASSES;
            // The size of text is an action of ours.
            o.zoom_with_keyboard = false;
        });
        ctx.all_styles_mut(|style| {
            style.spacing.item_spacing = [GAP, GAP].into();
            style.spacing.button_padding = [8.0, 3.0].into();
            style.spacing.interact_size.y = 22.0;
            style.spacing.scroll.fade.strength = 0.0;
            style.text_styles = [
                (TextStyle::Body, FontId::new(BODY, FontFamily::Proportional)),
                (TextStyle::Button, FontId::new(BODY, FontFamily::Proportional)),
                (TextStyle::Small, FontId::new(SMALL, FontFamily::Proportional)),
                (TextStyle::Heading, FontId::new(TITLE, FontFamily::Proportional)),
                (TextStyle::Monospace, FontId::new(SMALL, FontFamily::Monospace)),
            ]
            .into();
        });
    }

    /// Give egui our letters: once, as it draws nothing in the picture in which they change.
    pub fn letters(ctx: &Context) {
        ctx.set_fonts(fonts());
    }

    fn visuals(&self) -> Visuals {
        let mut v = if self.look == Look::Dark { Visuals::dark() } else { Visuals::light() };
        v.panel_fill = self.panel;
        v.window_fill = self.raised;
        v.window_stroke = Stroke::new(1.0, self.line);
        v.window_shadow = Shadow { offset: [0, 6], blur: 24, spread: 0, color: Color32::from_black_alpha(90) };
        v.popup_shadow = v.window_shadow;
        v.extreme_bg_color = self.canvas;
        v.faint_bg_color = self.raised;
        v.override_text_color = None;
        v.hyperlink_color = self.accent;
        v.selection.bg_fill = self.tint(0.3);
        v.selection.stroke = Stroke::new(1.0, self.accent);
        for (widget, fill, text) in [
            (&mut v.widgets.noninteractive, self.panel, self.text),
            (&mut v.widgets.inactive, self.raised, self.text),
            (&mut v.widgets.hovered, self.hover, self.text),
            (&mut v.widgets.active, self.hover, self.text),
            (&mut v.widgets.open, self.hover, self.text),
        ] {
            widget.bg_fill = fill;
            widget.weak_bg_fill = fill;
            widget.bg_stroke = Stroke::new(1.0, self.line);
            widget.fg_stroke = Stroke::new(1.0, text);
            widget.corner_radius = CornerRadius::same(4);
            widget.expansion = 0.0;
        }
        v.widgets.noninteractive.bg_stroke = Stroke::new(1.0, self.line);
        v.widgets.hovered.bg_stroke = Stroke::new(1.0, self.muted);
        v
    }
}

/// Space around the content of panels.
pub fn margin() -> Margin {
    Margin::same(PAD)
}
