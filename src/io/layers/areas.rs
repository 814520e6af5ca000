//! `areas.geojson`: the squares of `areas.csv`, for everybody.

use super::{Feature, Geometry, Layer, Properties, box_of, positions};
use crate::pole::Place;
use crate::space::{BoundingBox, bounding_box};
use crate::tables::ColumnInfo;
use crate::tables::areas::{Area, areas, squares};
use crate::tables::audience::public_part;
use crate::words::Case;
use std::io::{self, Write};

/// What the properties are.
pub fn properties(fleet: Case<'_>) -> Vec<ColumnInfo> {
    public_part(areas(fleet)).map_or_else(Vec::new, |sheet| sheet.columns)
}

/// Writes the squares that have a place and says how many there are.
///
/// # Errors
/// When `out` does not take it.
pub fn write_areas(fleet: Case<'_>, out: impl Write) -> io::Result<usize> {
    let all = squares(fleet);
    let corners: Vec<Place> = all
        .iter()
        .filter_map(Area::corners)
        .flat_map(|(low, high)| [low, high])
        .collect();
    let mut layer = Layer::begin(out, bounding_box(&corners))?;
    let Some(sheet) = public_part(areas(fleet)) else {
        return layer.end();
    };
    for (row, area) in all.iter().enumerate() {
        let Some((low, high)) = area.corners() else {
            continue;
        };
        let values = sheet.row(row);
        let named = sheet.columns.iter().map(|column| column.name).zip(&values);
        let mut feature = Feature::new(
            Geometry::Polygon(vec![positions(&ring(low, high))]),
            Properties(named.collect()),
        );
        feature.bbox = Some(box_of(BoundingBox {
            west: low.longitude,
            south: low.latitude,
            east: high.longitude,
            north: high.latitude,
        }));
        layer.add(&feature)?;
    }
    layer.end()
}

/// A square's ring, counterclockwise.
fn ring(low: Place, high: Place) -> [Place; 5] {
    let at = |longitude: f64, latitude: f64| Place {
        longitude,
        latitude,
    };
    [
        low,
        at(high.longitude, low.latitude),
        high,
        at(low.longitude, high.latitude),
        low,
    ]
}
