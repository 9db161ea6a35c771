//! A real Chromium for tests of our pages, driven over its DevTools protocol through a pair of pipes: nothing to install, no network.
//! Where there is no Chromium, [`Browser::start`] says so and the test is passed over.

use serde_json::{Value, json};
use std::{
    io::{BufRead, BufReader, Write},
    path::Path,
    process::{Child, ChildStdin, Command, Stdio},
    sync::mpsc::{Receiver, channel},
    time::{Duration, Instant},
};

/// Longest wait for an answer.
const PATIENCE: Duration = Duration::from_secs(90);

/// Names under which it is installed.
const NAMES: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];

/// A page in a browser.
pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    next: u64,
    session: String,
    /// Everything that it told by itself, oldest first.
    pub events: Vec<Value>,
    _profile: tempfile::TempDir,
}

impl Browser {
    /// An empty page; `None`, with a sentence, when this machine has no Chromium.
    pub fn start() -> Option<Self> {
        let Some(name) = NAMES.iter().find(|name| on_path(name)) else {
            eprintln!("passed over: no Chromium on this machine, so the page was not tried in a browser");
            return None;
        };
        let profile = tempfile::tempdir().unwrap();
        let mut child = spawned(name, profile.path());
        let (to, out) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let (sender, from) = channel();
        std::thread::spawn(move || {
            for message in BufReader::new(out).split(0).map_while(Result::ok) {
                if let Ok(value) = serde_json::from_slice(&message)
                    && sender.send(value).is_err()
                {
                    return;
                }
            }
        });
        let mut browser = Self { child, to, from, next: 0, session: String::new(), events: Vec::new(), _profile: profile };
        let target = browser.call("Target.createTarget", json!({"url": "about:blank"}));
        let attached = browser.call("Target.attachToTarget", json!({"targetId": target["targetId"], "flatten": true}));
        browser.session = attached["sessionId"].as_str().unwrap().to_owned();
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.call(&format!("{domain}.enable"), json!({}));
        }
        Some(browser)
    }

    /// The answer to a command.
    pub fn call(&mut self, method: &str, params: Value) -> Value {
        self.next += 1;
        let mut message = json!({"id": self.next, "method": method, "params": params});
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        self.to.write_all(message.to_string().as_bytes()).unwrap();
        self.to.write_all(&[0]).unwrap();
        loop {
            let answer = self.from.recv_timeout(PATIENCE).unwrap_or_else(|_| panic!("Chromium did not answer {method}"));
            if answer["id"] == self.next {
                assert!(answer["error"].is_null(), "{method}: {}", answer["error"]);
                return answer["result"].clone();
            }
            self.events.push(answer);
        }
    }

    /// Sets the size of the page in CSS pixels.
    pub fn resize(&mut self, width: u32, height: u32) {
        let size = json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600});
        self.call("Emulation.setDeviceMetricsOverride", size);
    }

    /// Opens a file and waits until it has loaded.
    pub fn open(&mut self, file: &Path) {
        self.events.clear();
        self.call("Page.navigate", json!({"url": format!("file://{}", file.display())}));
        self.wait_for("document.readyState === 'complete' && location.protocol === 'file:'");
    }

    /// The value of an expression; promises are waited for.
    pub fn evaluate(&mut self, expression: &str) -> Value {
        let asked = json!({"expression": expression, "returnByValue": true, "awaitPromise": true});
        let answer = self.call("Runtime.evaluate", asked);
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {}", answer["exceptionDetails"]);
        answer["result"]["value"].clone()
    }

    /// Waits until an expression is true.
    pub fn wait_for(&mut self, expression: &str) {
        let started = Instant::now();
        while self.evaluate(expression) != json!(true) {
            assert!(started.elapsed() < PATIENCE, "never true: {expression}");
            self.evaluate("new Promise((done) => setTimeout(done, 50))");
        }
    }

    /// Presses and lets go of a key, named as in KeyboardEvent.key.
    pub fn press(&mut self, key: &str) {
        let text = if key.chars().count() == 1 { json!(key) } else { Value::Null };
        let code = if key == " " { "Space" } else { key };
        for kind in ["keyDown", "keyUp"] {
            let mut event = json!({"type": kind, "key": key, "code": code});
            if kind == "keyDown" && !text.is_null() {
                event["text"] = text.clone();
            }
            self.call("Input.dispatchKeyEvent", event);
        }
    }

    /// A picture of what is in the window, as PNG bytes in base64.
    pub fn screenshot(&mut self) -> String {
        let shot = self.call("Page.captureScreenshot", json!({"format": "png"}));
        shot["data"].as_str().unwrap().to_owned()
    }

    /// Errors and warnings in the console, exceptions, and everything that was fetched from anywhere but the file itself.
    pub fn complaints(&self) -> Vec<String> {
        self.events.iter().filter_map(complaint).collect()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn complaint(event: &Value) -> Option<String> {
    let params = &event["params"];
    match event["method"].as_str()? {
        "Runtime.exceptionThrown" => Some(params["exceptionDetails"].to_string()),
        "Runtime.consoleAPICalled" if ["error", "warning", "assert"].contains(&params["type"].as_str()?) => {
            Some(params["args"].to_string())
        }
        "Log.entryAdded" if params["entry"]["level"] == "error" => Some(params["entry"].to_string()),
        "Network.requestWillBeSent" => {
            let url = params["request"]["url"].as_str()?;
            (!url.starts_with("file:") && !url.starts_with("data:") && !url.starts_with("blob:")).then(|| format!("fetched {url}"))
        }
        _ => None,
    }
}

fn on_path(name: &str) -> bool {
    std::env::var_os("PATH").is_some_and(|path| std::env::split_paths(&path).any(|folder| folder.join(name).is_file()))
}

/// Chromium speaks DevTools on descriptors 3 and 4; a shell turns our pipes into these.
fn spawned(name: &str, profile: &Path) -> Child {
    const PIPES: &str = "exec \"$@\" 3<&0 4>&1 </dev/null >/dev/null 2>/dev/null";
    let mut command = Command::new("sh");
    command.args([
        "-c",
        PIPES,
        "sh",
        name,
        "--headless",
        "--no-sandbox",
        "--remote-debugging-pipe",
        "--no-first-run",
        "--disable-gpu-sandbox",
    ]);
    command.args(["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--force-device-scale-factor=1", "--disable-dev-shm-usage"]);
    command.arg(format!("--user-data-dir={}", profile.display()));
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap()
}
