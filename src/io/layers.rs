//! `poles.geojson`: the schedule on a map, after RFC 7946 (WGS 84, longitude before latitude, seven decimals at most).
//!
//! Written feature by feature, so that a national fleet needs no second copy in memory. Poles without coordinates are
//! no features; the run's record and the terminal count them.

use crate::pole::Place;
use crate::space::bounding_box;
use crate::tables::{ColumnInfo, Sheet, Value};
use serde::ser::{Serialize, SerializeMap, Serializer};
use std::io::{self, Write};

/// Columns of the schedule that become properties, in this order.
const PROPERTIES: [&str; 16] = [
    "pole_id",
    "line",
    "rank",
    "status",
    "action",
    "method",
    "year",
    "due_date",
    "overdue_days",
    "priority",
    "package",
    "p_below_limit_now",
    "p_below_limit_5y",
    "last_verdict",
    "reason",
    "caution",
];

/// What the properties are.
pub fn properties(schedule: &Sheet<'_>) -> Vec<ColumnInfo> {
    PROPERTIES
        .iter()
        .filter_map(|name| schedule.place(name))
        .map(|place| schedule.columns[place].clone())
        .collect()
}

/// Writes the poles of a schedule that have coordinates and says how many there are.
///
/// # Errors
/// When `out` does not take it.
pub fn write_poles(schedule: &Sheet<'_>, mut out: impl Write) -> io::Result<usize> {
    let places: Vec<(&str, usize)> = PROPERTIES
        .iter()
        .filter_map(|name| schedule.place(name).map(|place| (*name, place)))
        .collect();
    let Some((x, y)) = schedule.place("longitude").zip(schedule.place("latitude")) else {
        return Err(io::Error::other("the schedule has no coordinates"));
    };
    out.write_all(b"{\"type\":\"FeatureCollection\",")?;
    if let Some(bounds) = bounds(schedule, x, y) {
        out.write_all(b"\"bbox\":")?;
        serde_json::to_writer(&mut out, &bounds)?;
        out.write_all(b",")?;
    }
    out.write_all(b"\"features\":[")?;
    let mut written = 0;
    for row in schedule.rows() {
        let (&Value::Number(longitude), &Value::Number(latitude)) = (&row[x], &row[y]) else {
            continue;
        };
        out.write_all(if written == 0 { b"\n" } else { b",\n" })?;
        let feature = Feature {
            kind: "Feature",
            geometry: Point {
                kind: "Point",
                coordinates: [longitude, latitude],
            },
            properties: Properties {
                places: &places,
                row: &row,
            },
        };
        serde_json::to_writer(&mut out, &feature)?;
        written += 1;
    }
    out.write_all(b"\n]}\n")?;
    Ok(written)
}

/// West, south, east, north.
fn bounds(schedule: &Sheet<'_>, x: usize, y: usize) -> Option<[f64; 4]> {
    let places: Vec<Place> = schedule
        .rows()
        .filter_map(|row| match (&row[x], &row[y]) {
            (&Value::Number(longitude), &Value::Number(latitude)) => Some(Place {
                longitude,
                latitude,
            }),
            _ => None,
        })
        .collect();
    bounding_box(&places).map(|all| [all.west, all.south, all.east, all.north])
}

#[derive(serde::Serialize)]
struct Feature<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    geometry: Point,
    properties: Properties<'a>,
}

#[derive(serde::Serialize)]
struct Point {
    #[serde(rename = "type")]
    kind: &'static str,
    coordinates: [f64; 2],
}

/// Properties in the order of [`PROPERTIES`].
struct Properties<'a> {
    places: &'a [(&'static str, usize)],
    row: &'a [Value],
}

impl Serialize for Properties<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.places.len()))?;
        for (name, place) in self.places {
            match &self.row[*place] {
                Value::Empty => map.serialize_entry(name, &())?,
                Value::Text(text) => map.serialize_entry(name, text)?,
                Value::Whole(number) => map.serialize_entry(name, number)?,
                Value::Number(number) => map.serialize_entry(name, number)?,
                Value::Day(day) => map.serialize_entry(name, &day.to_string())?,
            }
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::schedule::schedule;
    use crate::words::sample;

    fn layer() -> String {
        let sample = sample::fleet();
        let mut bytes = Vec::new();
        let sheet = schedule(sample.case(PoleIndex(0)));
        assert_eq!(write_poles(&sheet, &mut bytes).expect("memory takes it"), 4);
        String::from_utf8(bytes).expect("UTF-8")
    }

    #[test]
    fn a_layer_is_valid_and_leaves_out_poles_without_a_place() {
        let collection = layer()
            .parse::<geojson::GeoJson>()
            .and_then(geojson::FeatureCollection::try_from)
            .expect("a feature collection");
        // B-1 of the sample has no coordinates.
        assert_eq!(collection.features.len(), 4);
        let bounds = collection.bbox.expect("bounds");
        assert_eq!(bounds.len(), 4);
        assert!(bounds[0] < bounds[2] && bounds[1] <= bounds[3]);
        for feature in &collection.features {
            let caution = feature.property("caution").and_then(|text| text.as_str());
            assert!(caution.is_some_and(|text| text.contains("never clears a pole")));
            assert!(feature.geometry.is_some());
        }
    }

    #[test]
    fn coordinates_have_at_most_seven_decimals_and_stand_east_first() {
        // Longitude -120.002 and latitude 45.123456789 in the sample.
        assert!(
            layer().contains(r#""coordinates":[-120.002,45.1234568]"#),
            "{}",
            layer()
        );
    }

    #[test]
    fn a_fleet_without_any_place_gives_an_empty_layer() {
        let mut columns = sample::fleet();
        columns.plan.schedule.ranking = vec![columns.inventory.find("B-1").expect("a pole")];
        let mut bytes = Vec::new();
        let sheet = schedule(columns.case(PoleIndex(0)));
        assert_eq!(write_poles(&sheet, &mut bytes).expect("memory takes it"), 0);
        let text = String::from_utf8(bytes).expect("UTF-8");
        let layer: geojson::GeoJson = text.parse().expect("valid");
        assert!(
            matches!(layer, geojson::GeoJson::FeatureCollection(found) if found.features.is_empty() && found.bbox.is_none())
        );
    }
}
