//! `slackwater` and `slackwater open`: the window; where none can be opened, the embedded layout is studied instead.

use super::study::{Needed, Print, study};
use super::{Exit, input, output};
use crate::catalog::Catalog;
use crate::layout::{self, Loaded};
use crate::study::{Settings, Span};
use std::path::{Path, PathBuf};

/// Where the embedded layout is studied to.
const DEMO_OUT: &str = "slackwater-study";

/// The window on the embedded layout, or its study.
pub fn demo() -> Exit {
    let loaded = match layout::read("the embedded layout", layout::DEMO.as_bytes()) {
        Ok(loaded) => loaded,
        Err(problems) => {
            input::tell("the embedded layout", &problems);
            return Exit::Unusable;
        }
    };
    match window::show(loaded.clone()) {
        Ok(()) => Exit::Fine,
        Err(why) => {
            output::complain(&format!(
                "No window: {why}. Studying the embedded layout into {DEMO_OUT}/ instead, about two minutes on two cores."
            ));
            study(&demo_study(loaded))
        }
    }
}

/// A coarser, shorter study than the command's own: a first look in about two minutes.
fn demo_study(loaded: Loaded) -> Needed {
    let settings = Settings { cell: 0.03, spin_up: 60.0, span: Span::Cycles(1.0), ..Settings::default() };
    let catalog = Catalog::builtin().clone();
    Needed { loaded, catalog, settings, out: PathBuf::from(DEMO_OUT), print: Print::Text, quiet: false, resume: false }
}

/// The window on a file.
pub fn file(path: &Path) -> Exit {
    let Some(loaded) = input::layout(path) else { return Exit::Unusable };
    match window::show(loaded) {
        Ok(()) => Exit::Fine,
        Err(why) => {
            output::complain(&format!("No window: {why}. Try `slackwater study {}` instead.", path.display()));
            Exit::Unusable
        }
    }
}

#[cfg(feature = "app")]
mod window {
    use crate::layout::Loaded;

    /// Open the window and stay until it is closed; or why not.
    pub fn show(loaded: Loaded) -> Result<(), String> {
        match crate::app::no_window() {
            Some(why) => Err(why),
            None => crate::app::run(loaded),
        }
    }
}

#[cfg(not(feature = "app"))]
mod window {
    use crate::layout::Loaded;

    /// Why there is none.
    pub fn show(_: Loaded) -> Result<(), String> {
        Err("this build has none (it was built without the feature `app`)".to_owned())
    }
}
