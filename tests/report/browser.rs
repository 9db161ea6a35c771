//! A plain way to drive Chromium: a script put into a copy of the page writes down what it finds, and the browser hands the page back.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const AUDIT: &str = include_str!("audit.js");
/// Longest that the browser may take for a page.
const PATIENCE: Duration = Duration::from_secs(120);

/// The browser, if there is one.
pub fn find() -> Option<PathBuf> {
    let named = std::env::var_os("CHROMIUM").map(PathBuf::from);
    let usual = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"].map(PathBuf::from);
    named.into_iter().chain(usual).find(|path| path.is_file())
}

/// Everything that is wrong with a page in a window of this width, a line each.
pub fn audit(chromium: &Path, page: &Path, width: u32) -> Vec<String> {
    let text = std::fs::read_to_string(page).unwrap();
    // The listener must be there before anything else runs; the audit runs when all is loaded.
    let script = format!("<head><script>{AUDIT}</script>");
    let copy = page.with_extension("audited.html");
    std::fs::write(&copy, text.replacen("<head>", &script, 1)).unwrap();
    let dom = run(chromium, &copy, &[&format!("--window-size={width},1200"), "--dump-dom"]);
    let dom = String::from_utf8_lossy(&dom);
    let start = dom.rfind("<pre id=\"audit\">").unwrap_or_else(|| panic!("the audit did not run: {} bytes came back", dom.len()));
    let list = dom[start..].split("</pre>").next().unwrap_or_default().replace("<pre id=\"audit\">", "");
    let list = list.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    list.lines().filter(|line| !line.is_empty()).map(str::to_owned).collect()
}

/// The page as a PDF on a paper.
pub fn print(chromium: &Path, page: &Path, paper: &str) -> Vec<u8> {
    let text = std::fs::read_to_string(page).unwrap();
    let copy = page.with_extension(format!("{paper}.html"));
    std::fs::write(&copy, text.replacen("</head>", &format!("<style>@page {{ size: {paper}; }}</style></head>"), 1)).unwrap();
    let pdf = page.with_extension(format!("{paper}.pdf"));
    run(chromium, &copy, &["--no-pdf-header-footer", &format!("--print-to-pdf={}", pdf.display())]);
    std::fs::read(pdf).unwrap()
}

/// Width and height of the first sheet of a PDF, points.
pub fn paper_of(pdf: &[u8]) -> Vec<f64> {
    let text = String::from_utf8_lossy(pdf);
    let at = text.find("/MediaBox").expect("a sheet");
    let numbers = text[at..].split(['[', ']']).nth(1).unwrap_or_default();
    numbers.split_whitespace().skip(2).filter_map(|number| number.parse().ok()).collect()
}

fn run(chromium: &Path, page: &Path, more: &[&str]) -> Vec<u8> {
    let profile = tempfile::tempdir().unwrap();
    let (out, address) = (profile.path().join("out"), format!("file://{}", page.display()));
    let mut child = Command::new(chromium)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-extensions"])
        .arg(format!("--user-data-dir={}", profile.path().display()))
        .args(more)
        .arg(address)
        .stdout(std::fs::File::create(&out).unwrap())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let started = Instant::now();
    while child.try_wait().unwrap().is_none() {
        if started.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("Chromium took more than {} s for {}", PATIENCE.as_secs(), page.display());
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    std::fs::read(out).unwrap()
}
