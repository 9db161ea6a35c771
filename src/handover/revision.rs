//! What every sheet repeats, so that sheets of two designs can't be mixed: name, revision, date.

use crate::layout::Layout;

/// Name, revision and date of a set of sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct Stamp {
    /// Name of the layout.
    pub name: String,
    /// Content hash of the layout, for people: "3f9a 12c4".
    pub revision: String,
    /// As given: "2026-03-01".
    pub date: String,
}

impl Stamp {
    /// The stamp of a layout on a date.
    pub fn new(layout: &Layout, date: &str) -> Self {
        let name = if layout.name.trim().is_empty() { "Layout without a name".to_owned() } else { layout.name.trim().to_owned() };
        Self { name, revision: revision(layout), date: date.to_owned() }
    }
}

/// Eight hex digits that change with anything in the layout: FNV-1a over its plain form, folded to 32 bits.
pub fn revision(layout: &Layout) -> String {
    let text = ron::to_string(layout).unwrap_or_default();
    let hash = fnv1a(text.as_bytes());
    let folded = (hash >> 32) ^ (hash & 0xffff_ffff);
    format!("{:04x} {:04x}", folded >> 16, folded & 0xffff)
}

/// 64-bit FNV-1a (Fowler, Noll, Vo; IETF draft-eastlake-fnv).
fn fnv1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_test_vectors() {
        for (text, hash) in [("", 0xcbf2_9ce4_8422_2325), ("a", 0xaf63_dc4c_8601_ec8c), ("foobar", 0x8594_4171_f739_67e8)] {
            assert_eq!(fnv1a(text.as_bytes()), hash, "{text}");
        }
    }
}
