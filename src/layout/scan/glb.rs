//! glTF 2.0 binary: the triangles of its default scene, each where the tree of nodes puts it. Compressed meshes are refused.

use super::Mesh;
use glam::{Mat4, Quat, Vec3};
use serde_json::Value;

/// Deeper trees of nodes than this go round in circles.
const DEEPEST: usize = 64;

/// Triangles of a file.
pub fn read(bytes: &[u8]) -> Result<Mesh, String> {
    let (json, buffer) = chunks(bytes).ok_or("it is not a glTF binary file (version 2), or it is cut off")?;
    let root: Value = serde_json::from_slice(json).map_err(|error| format!("its description can't be read: {error}"))?;
    let needs = root["extensionsRequired"].as_array().into_iter().flatten().filter_map(Value::as_str).collect::<Vec<_>>();
    if !needs.is_empty() {
        return Err(format!("it needs {}; export it without compression", needs.join(", ")));
    }
    let file = File { root: &root, buffer };
    let mut mesh = Mesh::default();
    let scene = &root["scenes"][root["scene"].as_u64().unwrap_or(0) as usize];
    for node in scene["nodes"].as_array().into_iter().flatten() {
        file.node(index(node), Mat4::IDENTITY, 0, &mut mesh)?;
    }
    Ok(mesh)
}

/// The JSON text and the bytes after it.
fn chunks(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let word = |at: usize| Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?));
    (bytes.get(..4)? == b"glTF" && word(4)? == 2 && bytes.get(16..20)? == b"JSON").then_some(())?;
    let end = 20usize.checked_add(word(12)? as usize)?;
    let json = bytes.get(20..end)?;
    let Some(length) = word(end) else { return Some((json, &[])) };
    Some((json, bytes.get(end + 8..(end + 8).checked_add(length as usize)?)?))
}

fn index(value: &Value) -> usize {
    value.as_u64().map_or(usize::MAX, |n| n as usize)
}

/// A list of numbers.
struct Numbers<'a> {
    bytes: &'a [u8],
    stride: Option<usize>,
    count: usize,
    /// Code of their kind.
    kind: u64,
}

struct File<'a> {
    root: &'a Value,
    buffer: &'a [u8],
}

impl File<'_> {
    fn node(&self, number: usize, above: Mat4, depth: usize, out: &mut Mesh) -> Result<(), String> {
        let node = &self.root["nodes"][number];
        if node.is_null() || depth > DEEPEST {
            return Err("its tree of nodes can't be followed".to_owned());
        }
        let here = above * placed(node);
        if let Some(mesh) = node["mesh"].as_u64() {
            for part in self.root["meshes"][mesh as usize]["primitives"].as_array().into_iter().flatten() {
                self.part(part, here, out)?;
            }
        }
        node["children"].as_array().into_iter().flatten().try_for_each(|child| self.node(index(child), here, depth + 1, out))
    }

    /// One primitive; those that aren't made of triangles are passed over.
    fn part(&self, part: &Value, here: Mat4, out: &mut Mesh) -> Result<(), String> {
        if part["mode"].as_u64().unwrap_or(4) != 4 {
            return Ok(());
        }
        let first = out.points.len() as u32;
        let Numbers { bytes, stride, count, kind } = self.accessor(&part["attributes"]["POSITION"])?;
        if kind != 5126 {
            return Err("its corners are not plain numbers; export it without quantisation".to_owned());
        }
        let number = |at: usize| f32::from_le_bytes([bytes[at], bytes[at + 1], bytes[at + 2], bytes[at + 3]]);
        let stride = stride.unwrap_or(12);
        room(bytes, stride, count, 12)?;
        out.points.extend((0..count).map(|i| {
            let at = i * stride;
            here.transform_point3(Vec3::new(number(at), number(at + 4), number(at + 8)))
        }));
        let order: Vec<u32> = if part["indices"].is_null() { (0..count as u32).collect() } else { self.indices(&part["indices"])? };
        if order.iter().any(|i| *i as usize >= count) {
            return Err("a triangle names a corner that isn't there".to_owned());
        }
        let flipped = here.determinant() < 0.0;
        out.triangles.extend(order.chunks_exact(3).map(|t| {
            let [a, b, c] = [t[0] + first, t[1] + first, t[2] + first];
            if flipped { [a, c, b] } else { [a, b, c] }
        }));
        Ok(())
    }

    fn indices(&self, accessor: &Value) -> Result<Vec<u32>, String> {
        let Numbers { bytes, count, kind, .. } = self.accessor(accessor)?;
        let size = match kind {
            5121 => 1,
            5123 => 2,
            5125 => 4,
            _ => return Err("its triangles are numbered in an unknown way".to_owned()),
        };
        room(bytes, size, count, size)?;
        let number = |at: usize| (0..size).fold(0u32, |sum, b| sum | u32::from(bytes[at + b]) << (8 * b));
        Ok((0..count).map(|i| number(i * size)).collect())
    }

    fn accessor(&self, value: &Value) -> Result<Numbers<'_>, String> {
        let accessor = &self.root["accessors"][index(value)];
        let view = &self.root["bufferViews"][index(&accessor["bufferView"])];
        let (Some(count), Some(kind)) = (accessor["count"].as_u64(), accessor["componentType"].as_u64()) else {
            return Err("its lists of numbers are incomplete".to_owned());
        };
        let start = view["byteOffset"].as_u64().unwrap_or(0) as usize;
        let end = start.saturating_add(view["byteLength"].as_u64().unwrap_or(0) as usize);
        let inside = accessor["byteOffset"].as_u64().unwrap_or(0) as usize;
        let bytes =
            self.buffer.get(start..end).and_then(|b| b.get(inside..)).ok_or("it is cut off, or keeps its numbers in another file")?;
        Ok(Numbers { bytes, stride: view["byteStride"].as_u64().map(|s| s as usize), count: count as usize, kind })
    }
}

fn room(bytes: &[u8], stride: usize, count: usize, size: usize) -> Result<(), String> {
    let needed = count.checked_sub(1).and_then(|n| n.checked_mul(stride)?.checked_add(size)).unwrap_or(0);
    if needed <= bytes.len() { Ok(()) } else { Err("it is cut off".to_owned()) }
}

/// Where a node puts what is in it: a matrix, or shift, turn and scale.
fn placed(node: &Value) -> Mat4 {
    let numbers =
        |name: &str| -> Vec<f32> { node[name].as_array().into_iter().flatten().filter_map(Value::as_f64).map(|x| x as f32).collect() };
    if let Ok(matrix) = <[f32; 16]>::try_from(numbers("matrix")) {
        return Mat4::from_cols_array(&matrix);
    }
    let shift = <[f32; 3]>::try_from(numbers("translation")).map_or(Vec3::ZERO, Vec3::from_array);
    let turn = <[f32; 4]>::try_from(numbers("rotation")).map_or(Quat::IDENTITY, Quat::from_array);
    let scale = <[f32; 3]>::try_from(numbers("scale")).map_or(Vec3::ONE, Vec3::from_array);
    Mat4::from_scale_rotation_translation(scale, turn, shift)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One triangle, its corners after its numbers, under a node that shifts and one that scales.
    fn file(json: &str, numbers: &[u8]) -> Vec<u8> {
        let mut json = json.as_bytes().to_vec();
        json.resize(json.len().next_multiple_of(4), b' ');
        let mut bytes = b"glTF".to_vec();
        bytes.extend(2u32.to_le_bytes());
        bytes.extend(((28 + json.len() + numbers.len()) as u32).to_le_bytes());
        bytes.extend((json.len() as u32).to_le_bytes());
        bytes.extend(b"JSON");
        bytes.extend(&json);
        bytes.extend((numbers.len() as u32).to_le_bytes());
        bytes.extend(b"BIN\0");
        bytes.extend(numbers);
        bytes
    }

    const TRIANGLE: &str = r#"{"asset":{"version":"2.0"},"scene":0,"scenes":[{"nodes":[0]}],
        "nodes":[{"translation":[1,0,0],"children":[1]},{"scale":[2,2,2],"mesh":0}],
        "meshes":[{"primitives":[{"attributes":{"POSITION":0},"indices":1}]}],
        "accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"},{"bufferView":1,"componentType":5123,"count":3,"type":"SCALAR"}],
        "bufferViews":[{"buffer":0,"byteLength":36},{"buffer":0,"byteOffset":36,"byteLength":6}],"buffers":[{"byteLength":44}]}"#;

    #[test]
    fn nodes_place_their_triangles() {
        let mut numbers: Vec<u8> = [0f32, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0].iter().flat_map(|n| n.to_le_bytes()).collect();
        numbers.extend([0u16, 1, 2].iter().flat_map(|n| n.to_le_bytes()));
        numbers.extend([0, 0]);
        let whole = file(TRIANGLE, &numbers);
        let mesh = read(&whole).unwrap();
        assert_eq!(mesh.points, vec![Vec3::new(1.0, 0.0, 0.0), Vec3::new(3.0, 0.0, 0.0), Vec3::new(1.0, 2.0, 0.0)]);
        assert_eq!(mesh.triangles, vec![[0, 1, 2]]);
        assert!(read(&file(TRIANGLE, &numbers[..20])).is_err());
        assert!((0..whole.len()).all(|n| read(&whole[..n]).is_err()), "a file cut off anywhere is refused");
    }
}
