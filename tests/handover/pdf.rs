//! Just enough of a PDF reader to measure with: page sizes, placed forms, level and upright lines in page millimetres.

const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// x' = a x + c y + e, y' = b x + d y + f.
type Matrix = [f64; 6];

/// A page with what stands on it.
pub struct Page {
    /// mm.
    pub size: [f64; 2],
    /// Straight lines with two ends, mm from the lower left corner.
    pub lines: Vec<[[f64; 2]; 2]>,
    /// Upper left corner and size of each clip rectangle, mm from the upper left corner of the page.
    pub windows: Vec<[f64; 4]>,
}

/// Reads all pages.
pub fn pages(bytes: &[u8]) -> Vec<Page> {
    let objects = objects(bytes);
    objects
        .iter()
        .filter(|(_, head, _)| head.contains("/Type /Page\n") || head.contains("/Type /Page "))
        .map(|(_, head, _)| page(head, &objects))
        .collect()
}

type Object = (u32, String, Vec<u8>);

fn objects(bytes: &[u8]) -> Vec<Object> {
    let find = |from: usize, what: &[u8]| bytes[from..].windows(what.len()).position(|w| w == what).map(|at| from + at);
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = find(at, b" 0 obj") {
        let number = bytes[..start].iter().rev().take_while(|b| b.is_ascii_digit()).count();
        let id = std::str::from_utf8(&bytes[start - number..start]).unwrap().parse().unwrap();
        let end = find(start, b"endobj").unwrap();
        let stream = bytes[start..end].windows(7).position(|w| w == b"stream\n").map(|at| start + at);
        let head = String::from_utf8_lossy(&bytes[start + 6..stream.unwrap_or(end)]).into_owned();
        let (data, end) = match stream {
            Some(stream) => {
                let length = after(&head, "/Length")[0] as usize;
                (bytes[stream + 7..stream + 7 + length].to_vec(), find(stream + 7 + length, b"endobj").unwrap())
            }
            None => (Vec::new(), end),
        };
        let data = if head.contains("FlateDecode") { miniz_oxide::inflate::decompress_to_vec_zlib(&data).unwrap() } else { data };
        found.push((id, head, data));
        at = end;
    }
    found
}

/// Numbers that follow a key, brackets or not.
fn after(head: &str, key: &str) -> Vec<f64> {
    let rest = head.split(key).nth(1).unwrap_or_default();
    let words = rest.split(|c: char| c.is_whitespace() || "[]/>".contains(c)).filter(|word| !word.is_empty());
    words.map_while(|word| word.parse().ok()).collect()
}

fn page(head: &str, objects: &[Object]) -> Page {
    let unit = after(head, "/UserUnit").first().copied().unwrap_or(1.0) / POINTS_PER_MM;
    let media = after(head, "/MediaBox");
    let content = &object(objects, after(head, "/Contents")[0] as u32).2;
    let mut page = Page { size: [media[2] * unit, media[3] * unit], lines: Vec::new(), windows: Vec::new() };
    let names: Vec<(String, u32)> = head
        .split("/XObject")
        .nth(1)
        .unwrap_or_default()
        .split('/')
        .filter_map(|entry| {
            let mut words = entry.split_whitespace();
            Some((words.next()?.to_owned(), words.next()?.parse().ok()?))
        })
        .collect();
    run(content, [unit, 0.0, 0.0, unit, 0.0, 0.0], &names, objects, &mut page);
    page
}

fn object(objects: &[Object], id: u32) -> &Object {
    objects.iter().find(|object| object.0 == id).unwrap()
}

fn run(content: &[u8], start: Matrix, names: &[(String, u32)], objects: &[Object], page: &mut Page) {
    let text = String::from_utf8_lossy(content);
    let (mut now, mut kept, mut numbers, mut path) = (start, Vec::new(), Vec::<f64>::new(), Vec::<[f64; 2]>::new());
    let mut name = "";
    for word in text.split_whitespace() {
        if let Ok(number) = word.parse::<f64>() {
            numbers.push(number);
            continue;
        }
        let place = |n: &[f64]| [now[0] * n[0] + now[2] * n[1] + now[4], now[1] * n[0] + now[3] * n[1] + now[5]];
        match (word, numbers.len()) {
            ("q", _) => kept.push(now),
            ("Q", _) => now = kept.pop().unwrap(),
            ("cm", 6) => now = times(numbers.as_slice().try_into().unwrap(), now),
            ("re", 4) => {
                let (low, high) = (place(&numbers), place(&[numbers[0] + numbers[2], numbers[1] + numbers[3]]));
                page.windows.push([low[0], page.size[1] - high[1], high[0] - low[0], high[1] - low[1]]);
            }
            ("m", 2) => path = vec![place(&numbers)],
            ("l", 2) => path.push(place(&numbers)),
            ("c", 6) => path.push([f64::NAN; 2]),
            ("S", _) => {
                if let [a, b] = path[..] {
                    page.lines.push([a, b]);
                }
                path.clear();
            }
            ("Do", _) => form(name, names, now, objects, page),
            _ => {}
        }
        name = word.strip_prefix('/').unwrap_or(name);
        numbers.clear();
    }
}

fn form(name: &str, names: &[(String, u32)], now: Matrix, objects: &[Object], page: &mut Page) {
    let Some((_, id)) = names.iter().find(|(known, _)| known == name) else { return };
    let (_, head, data) = object(objects, *id);
    let own: Matrix = after(head, "/Matrix").try_into().unwrap();
    run(data, times(own, now), &[], objects, page);
}

/// First `a`, then `b`.
fn times(a: Matrix, b: Matrix) -> Matrix {
    [
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    ]
}

/// Where a level and an upright line of this length cross in their middles, mm from the lower left corner.
pub fn crosshairs(page: &Page, arm: f64) -> Vec<[f64; 2]> {
    let near = |a: f64, b: f64| (a - b).abs() < 0.05;
    let middle = |line: &[[f64; 2]; 2]| [(line[0][0] + line[1][0]) / 2.0, (line[0][1] + line[1][1]) / 2.0];
    let level = page.lines.iter().filter(|l| near(l[0][1], l[1][1]) && near((l[0][0] - l[1][0]).abs(), 2.0 * arm)).map(middle);
    let upright: Vec<[f64; 2]> =
        page.lines.iter().filter(|l| near(l[0][0], l[1][0]) && near((l[0][1] - l[1][1]).abs(), 2.0 * arm)).map(middle).collect();
    level.filter(|a| upright.iter().any(|b| near(a[0], b[0]) && near(a[1], b[1]))).collect()
}
