//! A mark that changes with anything in a layout, so that papers of two designs can't be mixed.

use super::Layout;

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
