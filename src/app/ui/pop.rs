//! Fields that a click opens where it was made. Lists inside stay usable: it closes with Escape, another click on the same thing, or a click
//! or drag elsewhere while no list is open.

use bevy_egui::egui::{Context, Id, Key, Popup, PopupCloseBehavior, Pos2, Rect, Response, Ui};

/// Fields over whatever was clicked.
pub fn fields(response: &Response, content: impl FnOnce(&mut Ui)) {
    let ctx = response.ctx.clone();
    let key = response.id.with("fields");
    let before: Option<Pos2> = ctx.data(|d| d.get_temp(key));
    let at = match (response.clicked(), before) {
        (true, None) => response.interact_pointer_pos(),
        (true, Some(_)) => None,
        (false, before) => before,
    };
    let listed = Popup::is_any_open(&ctx);
    let mut open = at.is_some();
    if let Some(at) = at {
        let popup = Popup::new(key.with("popup"), ctx.clone(), at, response.layer_id).open_bool(&mut open);
        let shown = popup.gap(8.0).close_behavior(PopupCloseBehavior::IgnoreClicks).show(content);
        let elsewhere = shown.is_some_and(|s| s.response.clicked_elsewhere() || dragged_beside(&ctx, s.response.rect));
        open &= !elsewhere || listed || before.is_none();
        open &= !ctx.input(|i| i.key_pressed(Key::Escape));
        ctx.data_mut(|d| d.insert_temp(shown_key(), true));
    }
    ctx.data_mut(|d| match at.filter(|_| open) {
        Some(at) => drop(d.insert_temp(key, at)),
        None => drop(d.remove_temp::<Pos2>(key)),
    });
}

fn dragged_beside(ctx: &Context, rect: Rect) -> bool {
    let from = ctx.input(|i| i.pointer.press_origin().filter(|_| i.pointer.is_decidedly_dragging()));
    from.is_some_and(|from| !rect.contains(from))
}

fn shown_key() -> Id {
    Id::new("popped")
}

/// Whether fields lay over something in the pass before; asked once a pass.
pub fn was_shown(ctx: &Context) -> bool {
    ctx.data_mut(|d| d.remove_temp::<bool>(shown_key())).is_some()
}
