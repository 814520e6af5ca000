//! `packages.geojson`: each package as the area of its poles, and as the way from pole to pole in the order of its sheet.
//!
//! Both features of a package carry all its columns; `shape` tells them apart. A package whose poles have no coordinates is
//! no feature, and one with a single place has an area and no way.

use super::{Feature, Geometry, Layer, Position, Properties, box_of, positions};
use crate::pole::Place;
use crate::space::outline::{Rings, outline, way_along};
use crate::space::{BoundingBox, bounding_box};
use crate::tables::audience::Audience;
use crate::tables::packages::{packages, planned};
use crate::tables::{ColumnInfo, Holds, Value};
use crate::words::Case;
use std::io::{self, Write};

/// Metres that an area reaches beyond its poles and the hops between them: about half a span, so that one pole, two and a
/// straight line are seen and neighbouring packages hardly overlap (judgement).
const MARGIN: f64 = 25.0;

/// Longest hop in metres from pole to pole that an area covers: a few spans, poles that need no visit left out; a longer one
/// is a drive, over ground that is not the package's (judgement).
const LONGEST_HOP: f64 = 500.0;

const SHAPE: ColumnInfo = ColumnInfo {
    name: "shape",
    holds: Holds::Text,
    unit: String::new(),
    meaning: "area: the ground within 25 m of the package's poles and of the hops of at most 500 m between them; route: the way from pole to pole in the order of the sheet, as the crow flies",
    audience: Audience::Owner,
};

/// What the properties are.
pub fn properties(fleet: Case<'_>) -> Vec<ColumnInfo> {
    let mut all = vec![SHAPE];
    all.extend(packages(fleet).columns);
    all
}

/// Writes the planned packages that have a pole with coordinates, an area and a way each, and says how many features
/// that makes.
///
/// # Errors
/// When `out` does not take it.
pub fn write_packages(fleet: Case<'_>, out: impl Write) -> io::Result<usize> {
    let sheet = packages(fleet);
    let places_of = |poles: &[_]| -> Vec<Place> {
        let places = poles.iter();
        places
            .filter_map(|pole| fleet.inventory.pole(*pole).place)
            .collect()
    };
    let corners: Vec<Place> = planned(fleet)
        .flat_map(|(_, package)| ground(&places_of(&package.poles)))
        .filter_map(|rings| rings.into_iter().next())
        .flatten()
        .collect();
    let mut layer = Layer::begin(out, bounding_box(&corners))?;
    for (row, (_, package)) in planned(fleet).enumerate() {
        let places = places_of(&package.poles);
        let values = sheet.row(row);
        for (word, shape) in shapes(&places) {
            let shape_word = Value::text(word);
            let named = sheet.columns.iter().map(|column| column.name).zip(&values);
            let properties = std::iter::once((SHAPE.name, &shape_word)).chain(named);
            let mut feature = Feature::new(shape.geometry, Properties(properties.collect()));
            feature.bbox = Some(box_of(shape.bounds));
            layer.add(&feature)?;
        }
    }
    layer.end()
}

struct Shape {
    geometry: Geometry,
    bounds: BoundingBox,
}

/// The area of some places and the way along them, as far as they have them.
fn shapes(places: &[Place]) -> impl Iterator<Item = (&'static str, Shape)> {
    let shape = |geometry: Option<Geometry>, lines: &[Vec<Place>]| {
        Some(Shape {
            geometry: geometry?,
            bounds: bounding_box(&lines.concat())?,
        })
    };
    let grounds = ground(places);
    let ways = way_along(places);
    let area = shape(area(&grounds), &grounds.concat()).map(|shape| ("area", shape));
    let route = shape(route(&ways), &ways).map(|shape| ("route", shape));
    area.into_iter().chain(route)
}

/// The ground of a package.
fn ground(places: &[Place]) -> Vec<Rings> {
    outline(places, MARGIN, LONGEST_HOP)
}

fn area(parts: &[Rings]) -> Option<Geometry> {
    let polygon = |rings: &Rings| -> Vec<Vec<Position>> {
        rings.iter().map(|ring| positions(ring)).collect()
    };
    match parts {
        [] => None,
        [rings] => Some(Geometry::Polygon(polygon(rings))),
        parts => Some(Geometry::MultiPolygon(parts.iter().map(polygon).collect())),
    }
}

fn route(ways: &[Vec<Place>]) -> Option<Geometry> {
    match ways {
        [] => None,
        [way] => Some(Geometry::LineString(positions(way))),
        ways => Some(Geometry::MultiLineString(
            ways.iter().map(|way| positions(way)).collect(),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::words::sample;

    fn collection(sample: &sample::Sample) -> geojson::FeatureCollection {
        let mut bytes = Vec::new();
        let fleet = sample.case(PoleIndex(0));
        let written = write_packages(fleet, &mut bytes).expect("memory takes it");
        let found = String::from_utf8(bytes)
            .expect("UTF-8")
            .parse::<geojson::GeoJson>()
            .and_then(geojson::FeatureCollection::try_from)
            .expect("a feature collection");
        assert_eq!(found.features.len(), written);
        found
    }

    #[test]
    fn a_package_is_an_area_and_a_way_with_its_columns_and_its_caution() {
        let mut sample = sample::fleet();
        let poles: Vec<PoleIndex> = sample.inventory.indices().collect();
        sample.plan.schedule.packages[0].poles = poles;
        let found = collection(&sample);
        let shapes: Vec<&str> = found
            .features
            .iter()
            .filter_map(|feature| feature.property("shape")?.as_str())
            .collect();
        assert_eq!(shapes[..2], ["area", "route"]);
        let names: Vec<&str> = properties(sample.case(PoleIndex(0)))
            .iter()
            .map(|column| column.name)
            .collect();
        for feature in &found.features {
            let properties = feature.properties.as_ref().expect("properties");
            assert_eq!(properties.len(), names.len());
            assert!(names.iter().all(|name| properties.contains_key(*name)));
            let caution = feature.property("caution").and_then(|text| text.as_str());
            assert!(caution.is_some_and(|text| text.contains("never clears a pole")));
            assert_eq!(feature.bbox.as_ref().map(Vec::len), Some(4));
        }
        assert_eq!(found.bbox.as_ref().map(Vec::len), Some(4));
    }

    #[test]
    fn a_single_pole_has_an_area_and_no_way_and_one_without_a_place_has_neither() {
        let mut sample = sample::fleet();
        let at = |id: &str| sample.inventory.find(id).expect("a pole");
        let (placed, placeless) = (at("A-3"), at("B-1"));
        sample.plan.schedule.packages.truncate(1);
        sample.plan.schedule.packages[0].poles = vec![placed];
        let found = collection(&sample);
        assert_eq!(found.features.len(), 1);
        let geometry = found.features[0].geometry.as_ref().expect("a geometry");
        assert!(matches!(
            geometry.value,
            geojson::GeometryValue::Polygon { .. }
        ));
        sample.plan.schedule.packages[0].poles = vec![placeless];
        let found = collection(&sample);
        assert!(found.features.is_empty() && found.bbox.is_none());
    }
}
