//! The fields as a VTK image file (`.vti`) for general viewers: cell data on the study's own cells.

use crate::study::{Fields, skin};
use vtkio::model::{
    Attribute, Attributes, ByteOrder, DataArrayBase, DataSet, ElementType, Extent, IOBuffer, ImageDataPiece, Piece, Version, Vtk,
};

/// The whole file. Arrays: `mean_velocity` (vector), `mean_speed`, `rms`, `peak` in m/s; `share_still` 0 to 1; `solid` 0 in
/// open water to 1 in rock; `skin_speed` the mean speed in water that touches something solid, 0 elsewhere; `dead_spot` rank, 0 for none. Metres, the origin in the tank's lower left front corner.
///
/// # Errors
/// When it can't be encoded, in words.
pub fn file(fields: &Fields) -> Result<Vec<u8>, String> {
    let [x, y, z] = fields.n.map(|n| n as i32);
    let extent = Extent::Ranges([0..=x, 0..=y, 0..=z]);
    let piece = ImageDataPiece { extent: extent.clone(), data: Attributes { point: Vec::new(), cell: arrays(fields) } };
    let vtk = Vtk {
        version: Version::new_xml(1, 0),
        title: "Slackwater study".into(),
        byte_order: ByteOrder::LittleEndian,
        file_path: None,
        data: DataSet::ImageData {
            extent,
            origin: [0.0; 3],
            spacing: [fields.h as f32; 3],
            meta: None,
            pieces: vec![Piece::Inline(Box::new(piece))],
        },
    };
    let mut bytes = Vec::new();
    vtk.write_xml(&mut bytes).map_err(|e| format!("the fields can't be written as VTK: {e}"))?;
    Ok(bytes)
}

/// The fields of a file that [`file`] wrote. Arrays that it doesn't hold stay empty.
///
/// # Errors
/// When it is not such a file, in words.
pub fn read(bytes: &[u8]) -> Result<Fields, String> {
    let vtk = Vtk::parse_xml(bytes).map_err(|e| format!("the fields can't be read as VTK: {e}"))?;
    let DataSet::ImageData { extent, spacing, mut pieces, .. } = vtk.data else { return Err("the VTK file holds no image".to_owned()) };
    let n = extent.into_ranges().map(|r| usize::try_from(r.end() - r.start()).unwrap_or(0));
    let Some(Piece::Inline(piece)) = pieces.pop() else { return Err("the VTK file holds no cells".to_owned()) };
    let of = |name: &str| piece.data.cell.iter().find_map(|attribute| numbers(attribute, name)).unwrap_or_default();
    #[allow(clippy::needless_update, reason = "arrays that the file doesn't hold stay empty")]
    let fields = Fields {
        n,
        h: f64::from(spacing[0]),
        water: of("solid").into_iter().map(|solid| 1.0 - solid).collect(),
        mean_velocity: of("mean_velocity").chunks_exact(3).map(|v| [v[0], v[1], v[2]]).collect(),
        mean_speed: of("mean_speed"),
        rms: of("rms"),
        peak: of("peak"),
        share_still: of("share_still"),
        dead: of("dead_spot").into_iter().map(|rank| rank as u16).collect(),
        ..Fields::default()
    };
    let lengths = [fields.water.len(), fields.mean_velocity.len(), fields.mean_speed.len(), fields.dead.len()];
    if lengths.iter().all(|length| *length == fields.len()) { Ok(fields) } else { Err("the VTK file lacks cells".to_owned()) }
}

fn numbers(attribute: &Attribute, name: &str) -> Option<Vec<f32>> {
    match attribute {
        Attribute::DataArray(array) if array.name == name => array.data.clone().cast_into::<f32>(),
        _ => None,
    }
}

fn arrays(fields: &Fields) -> Vec<Attribute> {
    let vectors = fields.mean_velocity.iter().flatten().copied().collect();
    let solid = fields.water.iter().map(|w| 1.0 - w).collect();
    vec![
        array("mean_velocity", ElementType::Vectors, IOBuffer::F32(vectors)),
        scalar("mean_speed", IOBuffer::F32(fields.mean_speed.clone())),
        scalar("rms", IOBuffer::F32(fields.rms.clone())),
        scalar("peak", IOBuffer::F32(fields.peak.clone())),
        scalar("share_still", IOBuffer::F32(fields.share_still.clone())),
        scalar("solid", IOBuffer::F32(solid)),
        scalar("skin_speed", IOBuffer::F32(skin::at_cells(fields))),
        scalar("dead_spot", IOBuffer::U16(fields.dead.clone())),
    ]
}

fn scalar(name: &str, data: IOBuffer) -> Attribute {
    array(name, ElementType::Scalars { num_comp: 1, lookup_table: None }, data)
}

fn array(name: &str, elem: ElementType, data: IOBuffer) -> Attribute {
    Attribute::DataArray(DataArrayBase { name: name.to_owned(), elem, data })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn reads_back_the_same() {
        let fields = sample::study(&sample::peninsula(), 0.1).fields;
        let bytes = file(&fields).unwrap();
        assert_eq!(read(&bytes).unwrap(), Fields { h: f64::from(fields.h as f32), ..fields });
        assert!(read(b"<VTKFile").is_err() && read(b"").is_err());
    }
}
