//! Lettering: the report's font, widths of text in it, and breaking text into lines.

use deunicode::deunicode_with_tofu;
use resvg::usvg::fontdb::Database;
use std::borrow::Cow;
use std::sync::{Arc, LazyLock};
use ttf_parser::Face;

const REGULAR: &[u8] = include_bytes!("../../../assets/fonts/NotoSans-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../../assets/fonts/NotoSans-Bold.ttf");

/// Family name of the font.
pub const FAMILY: &str = "Noto Sans";

static FACES: LazyLock<[Option<Face<'static>>; 2]> = LazyLock::new(|| [Face::parse(REGULAR, 0).ok(), Face::parse(BOLD, 0).ok()]);

static OWN: LazyLock<Arc<Database>> = LazyLock::new(|| Arc::new(own()));

/// With the machine's own fonts behind ours, for letters that ours lacks.
static WITH_SYSTEM: LazyLock<Arc<Database>> = LazyLock::new(|| {
    let mut fonts = own();
    fonts.load_system_fonts();
    Arc::new(fonts)
});

fn own() -> Database {
    let mut fonts = Database::new();
    fonts.load_font_data(REGULAR.to_vec());
    fonts.load_font_data(BOLD.to_vec());
    fonts
}

/// Fonts for these texts: ours alone where they suffice, so that sheets look the same on every machine.
pub fn fonts<'a>(mut texts: impl Iterator<Item = &'a str>) -> Arc<Database> {
    if texts.all(|text| text.chars().all(|c| advance(c, false).is_some())) { OWN.clone() } else { WITH_SYSTEM.clone() }
}

/// The text with letters that neither our font nor this machine's can draw written in plain Latin letters: none may print as an empty box.
pub fn printable(text: &str) -> Cow<'_, str> {
    if text.chars().all(|c| advance(c, false).is_some() || c.is_whitespace() || c.is_control()) {
        return Cow::Borrowed(text);
    }
    with_latin(text, &|c| advance(c, false).is_some() || c.is_whitespace() || has_glyph(&WITH_SYSTEM, c))
}

/// Each stretch of letters that can't be drawn in Latin letters, `?` where there are none.
fn with_latin<'t>(text: &'t str, can_draw: &dyn Fn(char) -> bool) -> Cow<'t, str> {
    if text.chars().all(can_draw) {
        return Cow::Borrowed(text);
    }
    let stretches = text.split_inclusive(|_| true).map(|c| (c.chars().all(can_draw), c));
    let mut written = String::new();
    let mut foreign = String::new();
    for (drawn, c) in stretches.chain([(true, "")]) {
        if drawn {
            written.push_str(deunicode_with_tofu(&std::mem::take(&mut foreign), "?").trim_end());
            written.push_str(c);
        } else {
            foreign.push_str(c);
        }
    }
    Cow::Owned(written)
}

/// Whether some letters of a text are written in Latin letters for want of a font.
pub fn is_transliterated(text: &str) -> bool {
    matches!(printable(text), Cow::Owned(_))
}

fn has_glyph(fonts: &Database, c: char) -> bool {
    fonts.faces().any(|face| {
        let found =
            fonts.with_face_data(face.id, |data, index| Face::parse(data, index).ok().and_then(|face| face.glyph_index(c)).is_some());
        found.unwrap_or(false)
    })
}

/// Width of a letter as a share of the size; `None` where our font lacks it.
fn advance(c: char, bold: bool) -> Option<f64> {
    let face = FACES[usize::from(bold)].as_ref()?;
    let glyph = face.glyph_index(c)?;
    Some(f64::from(face.glyph_hor_advance(glyph)?) / f64::from(face.units_per_em()))
}

/// Width of a line in the unit of `size`. Letters our font lacks count as square, as in fonts that have them.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    printable(text).chars().map(|c| advance(c, bold).unwrap_or(1.0)).sum::<f64>() * size
}

/// Lines no wider than `most`, broken at spaces but not between a number and its fraction or unit; a word that is wider alone is cut.
pub fn wrapped(text: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words(&printable(text)).iter().flat_map(|word| pieces(word, size, bold, most)) {
        let last = lines.last_mut().expect("there is always a line");
        let joined = if last.is_empty() { word.clone() } else { format!("{last} {word}") };
        if last.is_empty() || width(&joined, size, bold) <= most { *last = joined } else { lines.push(word) }
    }
    lines
}

/// Words as a line may be broken between: "6 11/16 in" is one.
pub fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match words.last_mut().filter(|last| last.ends_with(|c: char| c.is_ascii_digit()) && belongs_to_number(word)) {
            Some(number) => number.extend([" ", word]),
            None => words.push(word.to_owned()),
        }
    }
    words
}

/// Whether it is a unit or a fraction of an inch.
fn belongs_to_number(word: &str) -> bool {
    const UNITS: [&str; 18] =
        ["mm", "cm", "m", "in", "ft", "deg", "%", "s", "min", "L", "gal", "L/h", "gph", "L/s", "cm/s", "in/s", "kPa", "psi"];
    let word = word.trim_end_matches([')', ',', ';', ':', '.']);
    UNITS.contains(&word) || word.split_once('/').is_some_and(|(a, b)| [a, b].iter().all(|n| n.parse::<u32>().is_ok()))
}

fn pieces(word: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for c in word.chars() {
        let last = pieces.last_mut().expect("there is always a piece");
        let mut longer = last.clone();
        longer.push(c);
        if last.is_empty() || width(&longer, size, bold) <= most { *last = longer } else { pieces.push(c.to_string()) }
    }
    pieces
}

/// One line no wider than `most`, its end cut off with an ellipsis where it must be.
pub fn shortened(text: &str, size: f64, bold: bool, most: f64) -> String {
    if width(text, size, bold) <= most {
        return printable(text).into_owned();
    }
    let mut kept: String = printable(text).into_owned();
    while kept.pop().is_some() && width(&kept, size, bold) + size > most {}
    format!("{}…", kept.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_to_the_width() {
        let text = "a very long name of a reef tank andonewordthatisfartoolongforanyline of it";
        let lines = wrapped(text, 3.0, false, 30.0);
        assert!(lines.len() > 2 && lines.iter().all(|line| width(line, 3.0, false) <= 30.0), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
        assert_eq!(wrapped("", 3.0, false, 30.0), [""]);
    }

    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(words("drill 45 mm (1 25/32 in), then 3 in 2 rows"), ["drill", "45 mm", "(1 25/32 in),", "then", "3 in", "2", "rows"]);
    }

    #[test]
    fn cuts_with_an_ellipsis() {
        let cut = shortened("a very long name of a reef tank", 3.0, false, 20.0);
        assert!(cut.ends_with('…') && width(&cut, 3.0, false) <= 20.0, "{cut}");
        assert_eq!(shortened("short", 3.0, false, 20.0), "short");
    }

    #[test]
    fn our_font_has_what_sheets_need() {
        assert!(!is_transliterated("Ø ½ é Жук Ωμέγα – — × ≥ ° □ ±"));
    }

    #[test]
    fn letters_without_a_font_become_latin() {
        let latin = |text| with_latin(text, &|c: char| c.is_ascii()).into_owned();
        assert_eq!(latin("tank \u{6c34}\u{65cf} 2"), "tank Shui Zu 2");
        assert_eq!(latin("\u{e000}"), "?");
        assert_eq!(latin("plain"), "plain");
    }
}
