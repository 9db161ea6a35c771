//! The program itself in a real window under Xvfb, worked with keys and mouse by xdotool. Where one of the two is missing the test says so.

use assert_cmd::cargo::cargo_bin;
use slackwater::layout;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A display and the program on it; both end with it.
struct Screen {
    display: String,
    server: Child,
    program: Child,
}

impl Drop for Screen {
    fn drop(&mut self) {
        for child in [&mut self.program, &mut self.server] {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

fn is_there(program: &str) -> bool {
    Command::new(program).arg("-version").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok()
}

impl Screen {
    /// `None`, with a word, where there is nothing to show a window on.
    fn open(file: &Path, state: &Path) -> Option<Self> {
        if !is_there("Xvfb") || !is_there("xdotool") || super::machine::adapter().is_err() {
            eprintln!("SKIPPED, no window was opened: it takes Xvfb, xdotool and a Vulkan driver");
            return None;
        }
        let display = format!(":{}", 100 + std::process::id() % 20_000);
        // Without -noreset the server starts anew when the program's first look at the display ends, and shuts the window out.
        let screen = ["-screen", "0", "1280x720x24", "-nolisten", "tcp", "-noreset"];
        let mut quiet = Command::new("Xvfb");
        let server = quiet.arg(&display).args(screen).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let number = display.trim_start_matches(':').to_owned();
        wait("the display", || Path::new("/tmp/.X11-unix").join(format!("X{number}")).exists().then_some(()));
        let mut program = Command::new(cargo_bin!("slackwater"));
        let program = program.arg("open").arg(file).env("DISPLAY", &display).env_remove("WAYLAND_DISPLAY").env("SLACKWATER_STATE", state);
        let program = program.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        Some(Self { display, server, program })
    }

    fn xdotool(&self, words: &[&str]) -> String {
        let run = Command::new("xdotool").args(words).env("DISPLAY", &self.display).stderr(Stdio::null()).output().unwrap();
        String::from_utf8_lossy(&run.stdout).trim().to_owned()
    }

    /// Title of the window.
    fn title(&self) -> String {
        let window = self.xdotool(&["search", "--name", "Slackwater"]);
        self.xdotool(&["getwindowname", window.lines().next().unwrap_or_default()])
    }

    fn key(&self, key: &str) {
        self.xdotool(&["key", key]);
    }

    fn click(&self, [x, y]: [u32; 2]) {
        self.xdotool(&["mousemove", &x.to_string(), &y.to_string()]);
        std::thread::sleep(Duration::from_millis(400));
        self.xdotool(&["click", "1"]);
    }
}

/// Asks until there is an answer.
fn wait<T>(what: &str, mut ask: impl FnMut() -> Option<T>) -> T {
    let started = Instant::now();
    loop {
        if let Some(answer) = ask() {
            return answer;
        }
        assert!(started.elapsed() < Duration::from_secs(120), "waited too long for {what}");
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// A sequence is switched, taken back, switched again and saved with keys; a part is picked in the list with the mouse and deleted; what is
/// unsaved is asked about, saved, and the window closes.
#[test]
fn keys_and_mouse_do_the_work_in_a_real_window() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("tank.ron");
    std::fs::write(&file, layout::DEMO).unwrap();
    let Some(mut screen) = Screen::open(&file, &folder.path().join("state")) else { return };
    let first = wait("the window", || Some(screen.title()).filter(|t| t.contains("Slackwater")));
    assert!(!first.contains("unsaved"), "{first}");
    screen.xdotool(&["search", "--name", "Slackwater", "windowfocus"]);
    let unsaved = |screen: &Screen, wanted: bool| wait("the title", || (screen.title().contains("(unsaved)") == wanted).then_some(()));
    // The first keys may come before the window listens, or be heard late and together: pressed until another sequence is in the file.
    wait("another sequence in the file", || {
        screen.key("q");
        std::thread::sleep(Duration::from_millis(1500));
        screen.key("ctrl+s");
        std::thread::sleep(Duration::from_millis(1500));
        (layout::load(&file).unwrap().layout.sequence != layout::demo().sequence).then_some(())
    });
    std::thread::sleep(Duration::from_secs(2));
    screen.key("ctrl+s");
    unsaved(&screen, false);
    screen.key("q");
    unsaved(&screen, true);
    screen.key("ctrl+z");
    unsaved(&screen, false);
    // "Sand bed" in the list of parts.
    screen.click([50, 131]);
    std::thread::sleep(Duration::from_secs(1));
    screen.key("Delete");
    unsaved(&screen, true);
    screen.key("ctrl+q");
    std::thread::sleep(Duration::from_secs(1));
    assert!(screen.program.try_wait().unwrap().is_none(), "it asks about unsaved changes first");
    screen.key("ctrl+s");
    unsaved(&screen, false);
    assert!(layout::load(&file).unwrap().layout.sand.is_none());
    screen.key("Escape");
    std::thread::sleep(Duration::from_millis(700));
    screen.key("ctrl+q");
    let status = wait("the end", || screen.program.try_wait().unwrap());
    assert!(status.success(), "{status}");
}
