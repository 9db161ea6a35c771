//! Fields that a click opens where it was made. Lists inside stay usable: it closes with Escape, another click on the same thing, or a click
//! elsewhere while no list is open.

use bevy_egui::egui::{Popup, PopupCloseBehavior, Pos2, Response, Ui};

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
        let elsewhere = shown.is_some_and(|s| s.response.clicked_elsewhere());
        open &= !elsewhere || listed || before.is_none();
    }
    ctx.data_mut(|d| match at.filter(|_| open) {
        Some(at) => drop(d.insert_temp(key, at)),
        None => drop(d.remove_temp::<Pos2>(key)),
    });
}
