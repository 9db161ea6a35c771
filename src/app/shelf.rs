//! What outlives the window in the user's own folder: files opened lately, and layouts of windows that were not closed properly.

use std::path::{Path, PathBuf};
use std::{fs, io, process};

/// So many recent files are kept.
const MOST_RECENT: usize = 8;
/// First line of a rescued layout, before the path that it belongs to.
const HEAD: &str = "// Slackwater rescued this from: ";

/// The folder, if there is one.
#[derive(Debug, Clone, Default)]
pub struct Shelf(Option<PathBuf>);

/// A layout that a window left behind when it was ended by force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rescued {
    /// Where it lies on the shelf.
    pub kept: PathBuf,
    /// The file that it belongs to, if it had one.
    pub path: Option<PathBuf>,
    /// Its text.
    pub text: String,
}

impl Shelf {
    /// The user's own: `SLACKWATER_STATE`, or where the system keeps the state of programs.
    pub fn of_user() -> Self {
        let var = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
        let home = || var("HOME");
        let base = if cfg!(windows) {
            var("LOCALAPPDATA")
        } else if cfg!(target_os = "macos") {
            home().map(|h| h.join("Library/Application Support"))
        } else {
            var("XDG_STATE_HOME").or_else(|| home().map(|h| h.join(".local/state")))
        };
        Self(var("SLACKWATER_STATE").or_else(|| base.map(|b| b.join("slackwater"))))
    }

    /// This folder.
    pub fn at(folder: &Path) -> Self {
        Self(Some(folder.to_owned()))
    }

    /// Files opened or saved lately, the newest first; those that are gone are left out.
    pub fn recent(&self) -> Vec<PathBuf> {
        let Some(list) = self.0.as_ref().and_then(|f| fs::read_to_string(f.join("recent")).ok()) else { return Vec::new() };
        list.lines().map(PathBuf::from).filter(|p| p.is_file()).take(MOST_RECENT).collect()
    }

    /// Put a file at the head of the recent ones. A shelf that can't be written forgets it: nothing depends on it.
    pub fn remember(&self, path: &Path) {
        let Some(folder) = &self.0 else { return };
        let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let mut list = self.recent();
        list.retain(|p| *p != path);
        list.insert(0, path);
        list.truncate(MOST_RECENT);
        let text: String = list.iter().map(|p| format!("{}\n", p.display())).collect();
        let _ = fs::create_dir_all(folder).and_then(|()| write(&folder.join("recent"), &text));
    }

    fn own(&self) -> Option<PathBuf> {
        self.0.as_ref().map(|f| f.join(format!("open-{}.ron", process::id())))
    }

    /// Keep this window's layout for the case that it ends by force.
    ///
    /// # Errors
    /// When the folder can't be written.
    pub fn rescue(&self, path: Option<&Path>, text: &str) -> io::Result<()> {
        let (Some(folder), Some(own)) = (&self.0, self.own()) else { return Ok(()) };
        fs::create_dir_all(folder)?;
        let from = path.map(|p| p.canonicalize().unwrap_or_else(|_| p.to_owned()).display().to_string()).unwrap_or_default();
        write(&own, &format!("{HEAD}{from}\n{text}"))
    }

    /// This window's layout is safe in its file, or no longer wanted.
    pub fn forget(&self) {
        if let Some(own) = self.own() {
            let _ = fs::remove_file(own);
        }
    }

    /// What windows that run no more left behind.
    pub fn left_behind(&self) -> Vec<Rescued> {
        let entries = self.0.iter().filter_map(|f| fs::read_dir(f).ok()).flatten().flatten();
        let mut found: Vec<Rescued> = entries.filter_map(|e| rescued(&e.path())).collect();
        found.sort_by(|a, b| a.kept.cmp(&b.kept));
        found
    }
}

/// Throw a rescued layout away.
pub fn discard(kept: &Path) {
    let _ = fs::remove_file(kept);
}

fn rescued(kept: &Path) -> Option<Rescued> {
    let name = kept.file_name()?.to_str()?;
    let pid: u32 = name.strip_prefix("open-")?.strip_suffix(".ron")?.parse().ok()?;
    if pid == process::id() || is_running(pid) {
        return None;
    }
    let all = fs::read_to_string(kept).ok()?;
    let (head, text) = all.split_once('\n')?;
    let from = head.strip_prefix(HEAD)?;
    Some(Rescued { kept: kept.to_owned(), path: (!from.is_empty()).then(|| from.into()), text: text.to_owned() })
}

/// On Linux by asking the system; elsewhere every other process is taken to have ended.
fn is_running(pid: u32) -> bool {
    cfg!(target_os = "linux") && fs::read_to_string(format!("/proc/{pid}/comm")).is_ok_and(|name| name.starts_with("slackwater"))
}

/// Either the old file or the new one is there after a crash.
fn write(path: &Path, text: &str) -> io::Result<()> {
    let beside = path.with_extension("tmp");
    fs::write(&beside, text)?;
    fs::rename(&beside, path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn recent_files_newest_first() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::at(&folder.path().join("state"));
        let files: Vec<PathBuf> = (0..10).map(|i| folder.path().join(format!("{i}.ron"))).collect();
        for file in &files {
            fs::write(file, "x").unwrap();
            shelf.remember(file);
        }
        shelf.remember(&files[5]);
        let recent = shelf.recent();
        assert_eq!((recent.len(), recent[0].file_name(), recent[1].file_name()), (8, files[5].file_name(), files[9].file_name()));
        fs::remove_file(&files[5]).unwrap();
        assert_eq!(shelf.recent()[0].file_name(), files[9].file_name());
    }

    #[test]
    fn what_a_dead_window_left_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::at(folder.path());
        shelf.rescue(None, "(own)").unwrap();
        assert_eq!(shelf.left_behind(), Vec::new(), "a window's own copy is no orphan");
        // No process has this number: it is above the system's limit.
        fs::write(folder.path().join("open-4200000.ron"), format!("{HEAD}/tank.ron\n(theirs)")).unwrap();
        let found = shelf.left_behind();
        assert_eq!((found.len(), found[0].path.as_deref(), found[0].text.as_str()), (1, Some(Path::new("/tank.ron")), "(theirs)"));
        discard(&found[0].kept);
        shelf.forget();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn without_a_folder_nothing_happens() {
        let shelf = Shelf::default();
        shelf.remember(Path::new("x.ron"));
        shelf.rescue(None, "").unwrap();
        assert!(shelf.recent().is_empty() && shelf.left_behind().is_empty());
    }
}
