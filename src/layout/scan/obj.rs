//! OBJ: corners and faces as words; faces of more than three corners are cut into fans.

use super::Mesh;
use glam::Vec3;

/// Corners and faces; everything else in the file is passed over.
pub fn read(bytes: &[u8]) -> Result<Mesh, String> {
    let text = String::from_utf8_lossy(bytes);
    let mut mesh = Mesh::default();
    for (number, line) in text.lines().enumerate() {
        let mut words = line.split_whitespace();
        let fine = match words.next() {
            Some("v") => corner(words).map(|p| mesh.points.push(p)).is_some(),
            Some("f") => face(words, mesh.points.len()).map(|corners| fan(&corners, &mut mesh.triangles)).is_some(),
            _ => true,
        };
        if !fine {
            return Err(format!("line {} can't be read: {}", number + 1, line.chars().take(60).collect::<String>()));
        }
    }
    Ok(mesh)
}

fn corner<'a>(mut words: impl Iterator<Item = &'a str>) -> Option<Vec3> {
    let mut next = || words.next()?.parse().ok();
    Some(Vec3::new(next()?, next()?, next()?))
}

/// Numbers from 1, or from the last corner backwards; what stands after a slash is about texture and light.
fn face<'a>(words: impl Iterator<Item = &'a str>, known: usize) -> Option<Vec<u32>> {
    let index = |word: &str| -> Option<u32> {
        let number: i64 = word.split('/').next()?.parse().ok()?;
        let index = if number < 0 { known as i64 + number } else { number - 1 };
        (index >= 0 && index < known as i64).then_some(index as u32)
    };
    let corners = words.map(index).collect::<Option<Vec<u32>>>()?;
    (corners.len() >= 3).then_some(corners)
}

fn fan(corners: &[u32], triangles: &mut Vec<[u32; 3]>) {
    triangles.extend(corners[1..].windows(2).map(|w| [corners[0], w[0], w[1]]));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_by_number_and_backwards() {
        let text = b"# a square\nv 0 0 0\nv 1 0 0 1.0\nv 1 1 0\nv 0 1 0\nvt 0 0\nf 1/1/1 2//1 3 4\nf -4 -3 -2\n";
        let mesh = read(text).unwrap();
        assert_eq!(mesh.triangles, vec![[0, 1, 2], [0, 2, 3], [0, 1, 2]]);
        assert!(read(b"v 0 0 0\nf 1 2 3\n").unwrap_err().starts_with("line 2"));
    }
}
