//! The fields as a VTK image file (`.vti`) for general viewers: cell data on the study's own cells.

use crate::study::Fields;
use vtkio::model::{
    Attribute, Attributes, ByteOrder, DataArrayBase, DataSet, ElementType, Extent, IOBuffer, ImageDataPiece, Piece, Version, Vtk,
};

/// The whole file. Arrays: `mean_velocity` (vector), `mean_speed`, `rms`, `peak` in m/s; `share_still` 0 to 1; `solid` 0 in
/// open water to 1 in rock; `dead_spot` rank, 0 for none. Metres, the origin in the tank's lower left front corner.
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
        let read = Vtk::parse_xml(bytes.as_slice()).unwrap();
        let DataSet::ImageData { extent, spacing, pieces, .. } = read.data else { panic!("not an image") };
        assert_eq!(extent.clone().into_ranges().map(|r| r.end() - r.start()), fields.n.map(|n| n as i32));
        assert_eq!(spacing, [fields.h as f32; 3]);
        let Piece::Inline(piece) = &pieces[0] else { panic!("no piece") };
        let of = |name: &str| {
            let found = piece.data.cell.iter().find_map(|a| match a {
                Attribute::DataArray(array) if array.name == name => array.data.clone().cast_into::<f32>(),
                _ => None,
            });
            found.unwrap_or_else(|| panic!("no {name}"))
        };
        assert_eq!(of("mean_speed"), fields.mean_speed);
        assert_eq!(of("mean_velocity"), fields.mean_velocity.concat());
        assert_eq!(of("solid"), fields.water.iter().map(|w| 1.0 - w).collect::<Vec<_>>());
    }
}
