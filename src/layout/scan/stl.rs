//! STL: triangles without a unit, as 50-byte records or as words.

use super::Mesh;
use glam::Vec3;

/// Triangles of a binary or a text file.
pub fn read(bytes: &[u8]) -> Result<Mesh, String> {
    binary(bytes).or_else(|| text(bytes)).ok_or_else(|| "it is neither a binary nor a text STL file, or it is cut off".to_owned())
}

/// An 80-byte head, a count, then normal, three corners and two spare bytes for each triangle. Some binary files begin with
/// "solid" like text files: the length decides.
fn binary(bytes: &[u8]) -> Option<Mesh> {
    let count = u32::from_le_bytes(bytes.get(80..84)?.try_into().ok()?) as usize;
    let records = bytes.get(84..)?;
    if count == 0 || records.len() != count.checked_mul(50)? {
        return None;
    }
    let mut mesh = Mesh::default();
    for record in records.chunks_exact(50) {
        let number = |i: usize| f32::from_le_bytes([record[i], record[i + 1], record[i + 2], record[i + 3]]);
        let first = mesh.points.len() as u32;
        mesh.points.extend([12, 24, 36].map(|i| Vec3::new(number(i), number(i + 4), number(i + 8))));
        mesh.triangles.push([first, first + 1, first + 2]);
    }
    Some(mesh)
}

fn text(bytes: &[u8]) -> Option<Mesh> {
    let text = std::str::from_utf8(bytes).ok()?;
    text.trim_start().starts_with("solid").then_some(())?;
    let mut mesh = Mesh::default();
    for line in text.lines().filter_map(|l| l.trim().strip_prefix("vertex")) {
        let mut numbers = line.split_whitespace().map(str::parse::<f32>);
        let mut next = || numbers.next()?.ok();
        mesh.points.push(Vec3::new(next()?, next()?, next()?));
    }
    mesh.triangles = (0..mesh.points.len() as u32 / 3).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect();
    (!mesh.triangles.is_empty()).then_some(mesh)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn binary_and_text_give_the_same() {
        let text_file =
            b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1.5 0 0\nvertex 0 2e0 -1\nendloop\nendfacet\nendsolid a\n";
        let mut file = b"solid but binary".to_vec();
        file.resize(80, b' ');
        file.extend(1u32.to_le_bytes());
        let numbers = [0f32, 0.0, 1.0, 0.0, 0.0, 0.0, 1.5, 0.0, 0.0, 0.0, 2.0, -1.0];
        numbers.iter().for_each(|n| file.extend(n.to_le_bytes()));
        file.extend([0, 0]);
        let (a, b) = (read(text_file).unwrap(), read(&file).unwrap());
        assert_eq!(a, b);
        assert_eq!((a.triangles.len(), a.points[2]), (1, Vec3::new(0.0, 2.0, -1.0)));
        assert!(read(&file[..100]).is_err());
    }
}
