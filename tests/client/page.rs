//! The client's page in a real browser: it loads, moves, turns, obeys keys, fits a phone, and is told in words as well.

use super::SAMPLE;
use crate::browser::Browser;
use base64::Engine;
use serde_json::json;
use slackwater::handover::client;
use std::path::PathBuf;

/// The page in a folder of its own, and a browser to open it with.
struct Opened {
    browser: Browser,
    file: PathBuf,
    _folder: tempfile::TempDir,
}

fn opened() -> Option<Opened> {
    let browser = Browser::start()?;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(client::PAGE);
    std::fs::write(&file, client::page(&SAMPLE.shown()).unwrap().bytes().unwrap()).unwrap();
    Some(Opened { browser, file, _folder: folder })
}

impl Opened {
    fn open(&mut self, width: u32, height: u32) -> &mut Browser {
        self.browser.resize(width, height);
        self.browser.open(&self.file);
        &mut self.browser
    }
}

/// `SLACKWATER_PICTURES=folder` keeps what the window shows for looking at.
fn keep(browser: &mut Browser, name: &str) {
    if let Some(folder) = std::env::var_os("SLACKWATER_PICTURES") {
        let png = base64::engine::general_purpose::STANDARD.decode(browser.screenshot()).unwrap();
        std::fs::write(std::path::Path::new(&folder).join(name), png).unwrap();
    }
}

/// A number that changes with any pixel of the view.
const PIXELS: &str =
    "(() => { let h = 0; for (const c of document.getElementById('view').toDataURL()) h = (h * 31 + c.charCodeAt(0)) | 0; return h; })()";
/// Two pictures later.
const DRAWN: &str = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 30))))";

#[test]
fn the_page_stands_alone() {
    let page = String::from_utf8(client::page(&SAMPLE.shown()).unwrap().bytes().unwrap()).unwrap();
    assert!(page.len() < 8_000_000, "{} bytes", page.len());
    for address in ["http://", "https://", "src=\"//", "@import", "url("] {
        assert!(!page.contains(address), "{address}");
    }
    for told in ["Alcove", "seen from the front", "What is estimated", "Permission is hereby granted"] {
        assert!(page.contains(told), "{told}");
    }
    assert!(!page.contains("{{"));
}

#[test]
fn it_loads_moves_turns_and_obeys_keys() {
    let Some(mut opened) = opened() else { return };
    let browser = opened.open(1280, 800);
    browser.wait_for("!!window.slackwater && slackwater.state.time > 0.2");
    assert_eq!(browser.complaints(), Vec::<String>::new());
    assert_eq!(browser.evaluate("document.getElementById('still').hidden"), json!(true));

    keep(browser, "client-1280.png");
    browser.press(" ");
    assert_eq!(browser.evaluate("[slackwater.state.playing, document.getElementById('play').textContent]"), json!([false, "Play"]));
    browser.evaluate(DRAWN);
    let before = browser.evaluate(PIXELS);
    browser.evaluate(DRAWN);
    assert_eq!(browser.evaluate(PIXELS), before, "paused, and yet it moves");

    browser.evaluate("document.getElementById('view').focus()");
    browser.press("ArrowRight");
    browser.wait_for("slackwater.state.goal === null");
    browser.evaluate(DRAWN);
    let turned = browser.evaluate(PIXELS);
    assert_ne!(turned, before, "the arrow key did not turn the view");
    browser.press("+");
    browser.evaluate(DRAWN);
    assert_ne!(browser.evaluate(PIXELS), turned, "+ did not come nearer");

    let time = browser.evaluate("slackwater.state.time");
    browser.evaluate("(() => { const t = document.getElementById('time'); t.value = 500; t.dispatchEvent(new Event('input')); })()");
    browser.evaluate(DRAWN);
    assert_ne!(browser.evaluate("slackwater.state.time"), time);
    let half = SAMPLE.motion.length() / 2.0;
    assert!((browser.evaluate("slackwater.state.time").as_f64().unwrap() - half).abs() < 0.1);
    browser.press(" ");
    assert_eq!(browser.evaluate("slackwater.state.playing"), json!(true));
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn the_page_reads_the_water_as_it_was_kept() {
    let Some(mut opened) = opened() else { return };
    let browser = opened.open(1280, 800);
    browser.wait_for("!!window.slackwater");
    let motion = &SAMPLE.motion;
    for (time, place) in [(0.0, [0.45f32, 0.1, 0.4]), (7.3, [0.2, 0.15, 0.3]), (33.3, [0.8, 0.1, 0.2])] {
        let ours = motion.velocity_at(&motion.velocities(time), place);
        let [x, y, z] = place;
        let theirs = browser.evaluate(&format!(
            "(() => {{ const out = [0, 0, 0]; slackwater.water.set({time}); slackwater.water.at({x}, {y}, {z}, out); return out; }})()"
        ));
        for axis in 0..3 {
            let theirs = theirs[axis].as_f64().unwrap();
            // Shares of water are kept in a byte: near walls that moves the interpolation by up to half a per cent of the top.
            assert!((theirs - f64::from(ours[axis])).abs() < 0.005 * f64::from(motion.top), "{time} s at {place:?}: {theirs} and {ours:?}");
        }
    }
    browser.evaluate("for (let i = 0; i < 200; i++) slackwater.drift.advance(0.1, 3)");
    let dry = "(() => { const d = slackwater.drift; let dry = 0; for (let i = 0; i < d.count; i++) dry += !slackwater.water.isWet(...d.places.slice(3 * i, 3 * i + 3)); return dry; })()";
    assert_eq!(browser.evaluate(dry), json!(0), "marks in rock");
}

#[test]
fn it_fits_a_phone_and_is_told_in_words() {
    let Some(mut opened) = opened() else { return };
    let browser = opened.open(390, 844);
    browser.wait_for("!!window.slackwater");
    browser.evaluate(DRAWN);
    keep(browser, "client-390.png");
    assert_eq!(browser.evaluate("document.scrollingElement.scrollWidth"), json!(390), "the page scrolls sideways");
    assert_eq!(browser.evaluate("document.getElementById('view').clientWidth"), json!(390));
    let nameless = "Array.from(document.querySelectorAll('img')).filter((i) => !i.alt).length + \
         Array.from(document.querySelectorAll('canvas, svg')).filter((i) => !i.getAttribute('aria-label')).length + \
         Array.from(document.querySelectorAll('button')).filter((b) => !(b.getAttribute('aria-label') || b.textContent).trim()).length + \
         Array.from(document.querySelectorAll('input, select')).filter((i) => !i.labels.length && !i.getAttribute('aria-label')).length";
    assert_eq!(browser.evaluate(nameless), json!(0));
    assert!(browser.evaluate("document.querySelectorAll('img').length").as_u64() > Some(0));
    let small = "Array.from(document.querySelectorAll('#controls button, #controls select')).filter((b) => b.getBoundingClientRect().height < 40).length";
    assert_eq!(browser.evaluate(small), json!(0), "too small for a finger");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn whoever_wants_it_calm_gets_it_calm() {
    let Some(mut opened) = opened() else { return };
    opened.browser.call("Emulation.setEmulatedMedia", json!({"features": [{"name": "prefers-reduced-motion", "value": "reduce"}]}));
    let browser = opened.open(1280, 800);
    browser.wait_for("!!window.slackwater");
    assert_eq!(browser.evaluate("slackwater.state.playing"), json!(false));
}

#[test]
fn without_webgl_it_stands_still_and_says_so() {
    let Some(mut opened) = opened() else { return };
    let none = json!({"source": "HTMLCanvasElement.prototype.getContext = () => null;"});
    opened.browser.call("Page.addScriptToEvaluateOnNewDocument", none);
    let browser = opened.open(1280, 800);
    let seen = browser.evaluate("[document.getElementById('view').hidden, document.getElementById('controls').hidden, document.querySelector('#still img').naturalWidth > 300]");
    assert_eq!(seen, json!([true, true, true]));
    let why = browser.evaluate("document.getElementById('why-still').innerText");
    assert!(why.as_str().unwrap().contains("no WebGL"), "{why}");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}
