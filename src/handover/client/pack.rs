//! Numbers for the page: bytes one after the other, deflated (zlib, RFC 1950), in base64 (RFC 4648).

use crate::study::motion::Motion;
use base64::Engine;

/// Effort of the compression, 0 to 10.
const EFFORT: u8 = 7;

/// Bytes as text.
pub fn text(bytes: &[u8]) -> String {
    base64::engine::general_purpose::STANDARD.encode(miniz_oxide::deflate::compress_to_vec_zlib(bytes, EFFORT))
}

/// The frames as differences from the frame before (the first from zero), component by component: slow water gives small numbers.
pub fn frames(motion: &Motion) -> Vec<u8> {
    let cells = motion.n.iter().product();
    let mut before = vec![[0i8; 3]; cells];
    let mut bytes = Vec::with_capacity(3 * cells * motion.frames.len());
    for frame in &motion.frames {
        for axis in 0..3 {
            bytes.extend(frame.iter().zip(&before).map(|(now, old)| now[axis].wrapping_sub(old[axis]) as u8));
        }
        before.clone_from(frame);
    }
    bytes
}

/// One bit a cell, eight to a byte, lowest first.
pub fn bits(flags: &[bool]) -> Vec<u8> {
    flags.chunks(8).map(|eight| eight.iter().enumerate().fold(0, |byte, (i, flag)| byte | u8::from(*flag) << i)).collect()
}

/// A share, 0 to 1, in a byte.
pub fn share(share: f32) -> u8 {
    (share.clamp(0.0, 1.0) * 255.0).round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::Grid;

    #[test]
    fn bits_start_at_the_low_end() {
        assert_eq!(bits(&[true, false, true, false, false, false, false, false, true]), vec![5, 1]);
    }

    #[test]
    fn frames_are_differences() {
        let motion = Motion {
            n: [2, 1, 1],
            h: 0.1,
            water: vec![1.0; 2],
            grid: Grid { n: [2, 1, 1], h: 0.1 },
            wet: vec![true; 2],
            start: 0.0,
            times: vec![0.0, 1.0],
            top: 1.0,
            frames: vec![vec![[1, 2, 3], [4, 5, 6]], vec![[1, 2, 4], [-4, 5, 6]]],
        };
        assert_eq!(frames(&motion), [vec![1, 4, 2, 5, 3, 6], vec![0, 248, 0, 0, 1, 0]].concat());
    }

    #[test]
    fn text_is_read_back() {
        let bytes: Vec<u8> = (0..1000u32).map(|i| (i * i % 251) as u8).collect();
        let packed = base64::engine::general_purpose::STANDARD.decode(text(&bytes)).unwrap();
        assert_eq!(miniz_oxide::inflate::decompress_to_vec_zlib(&packed).unwrap(), bytes);
    }
}
