//! The reader's errors in plain words.

use super::problem::Problem;
use std::ops::Range;

/// What a value at `span` did wrong.
pub(super) fn explain(text: &str, span: Range<usize>, error: &ron::Error) -> Problem {
    // The reader counts bytes: whole letters only.
    let span = text.floor_char_boundary(span.start)..text.ceil_char_boundary(span.end);
    let found = shorten(&text[span.clone()]);
    let (what, why, mend) = match error {
        ron::Error::NoSuchStructField { expected, found, outer } => unknown("field", found, expected, outer.as_deref()),
        ron::Error::NoSuchEnumVariant { expected, found, outer } => unknown("choice", found, expected, outer.as_deref()),
        ron::Error::MissingStructField { field, outer } => {
            let owner = owner(outer.as_deref());
            (format!("`{field}` is missing"), format!("{owner} needs it"), format!("add `{field}: ...`"))
        }
        ron::Error::DuplicateStructField { field, .. } => {
            (format!("`{field}` is given twice"), "only one of them can count".into(), "remove one".into())
        }
        ron::Error::ExpectedString => (
            format!("`{found}` stands where a text in quotes belongs"),
            "names are texts, and every quantity is a text with its unit".into(),
            "put it in quotes; a quantity with its unit, for instance \"12 mm\"".into(),
        ),
        ron::Error::ExpectedInteger | ron::Error::IntegerOutOfBounds | ron::Error::InvalidIntegerDigit { .. } => {
            (format!("`{found}` is not a whole number that fits here"), "a count is expected".into(), "write a whole number from 0".into())
        }
        ron::Error::ExpectedFloat => {
            (format!("`{found}` is not a number"), "a plain number is expected".into(), "write for instance 0.5".into())
        }
        ron::Error::ExpectedArray => (format!("`{found}` is not a list"), "a list is expected".into(), "put it in `[` and `]`".into()),
        ron::Error::ExpectedNamedStructLike(_) | ron::Error::ExpectedStructLike => {
            (format!("`{found}` is not in round brackets"), "several values belong together here".into(), "put them in `(` and `)`".into())
        }
        ron::Error::ExpectedDifferentLength { expected, found: number } => {
            let wanted: String = expected.chars().filter(char::is_ascii_digit).collect();
            (format!("{number} values stand here"), format!("{wanted} are expected"), format!("give {wanted} values"))
        }
        ron::Error::ExpectedStructLikeEnd => {
            (format!("`{found}` is one value too many"), "the brackets should close before it".into(), "remove it".into())
        }
        other => (format!("`{found}` can't be read here"), plain(&other.to_string()), "compare layouts/README.md".into()),
    };
    Problem::at(text, span, what, why, mend)
}

fn unknown(kind: &str, found: &str, expected: &[&str], outer: Option<&str>) -> (String, String, String) {
    let why = format!("{} knows {}", owner(outer), quoted(expected));
    let mend = match nearest(found, expected.iter().copied()) {
        Some(name) => format!("did you mean `{name}`?"),
        None => "take one of those, or remove it".into(),
    };
    (format!("`{}` is not a known {kind}", shorten(found)), why, mend)
}

/// The name that a misspelt one most likely means, if any is near.
pub(super) fn nearest<'a>(found: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let found = found.to_lowercase();
    let far = |name: &str| strsim::damerau_levenshtein(&found, &name.to_lowercase());
    let close = |name: &&str| found.len() < 100 && far(name) <= 1 + name.len() / 4;
    known.filter(close).min_by_key(|name| far(name))
}

fn owner(outer: Option<&str>) -> String {
    match outer {
        Some("Layout") | None => "the layout".into(),
        Some(name) => format!("`{}`", snake(name)),
    }
}

/// `CurvePoint` as `curve point`.
fn snake(name: &str) -> String {
    let spaced: String = name.chars().flat_map(|c| if c.is_uppercase() { vec![' ', c.to_ascii_lowercase()] } else { vec![c] }).collect();
    spaced.trim().to_owned()
}

fn quoted(names: &[&str]) -> String {
    if names.is_empty() { "no names here".into() } else { names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ") }
}

/// The first line of a text, at most a few words of it.
fn shorten(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default();
    let short: String = line.chars().filter(|c| !c.is_control()).take(40).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}

/// One sentence without its capital.
fn plain(message: &str) -> String {
    let mut rest = message.chars();
    rest.next().map_or_else(String::new, |first| first.to_lowercase().chain(rest).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_of_two_bytes_is_not_cut() {
        let problem = explain("(size: é)", 7..8, &ron::Error::ExpectedFloat);
        assert!(format!("{problem:?}").contains("`é` is not a number"), "{problem:?}");
    }
}
