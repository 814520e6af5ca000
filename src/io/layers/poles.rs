//! `poles.geojson`: the schedule on a map, a point a pole.
//!
//! The least urgent pole comes first: maps draw in this order, so that nothing covers a pole that is to be made safe.
//! Poles without coordinates are no features; the run's record and the terminal count them.

use super::{Feature, Geometry, Layer, Position, Properties};
use crate::pole::Place;
use crate::space::{BoundingBox, bounding_box};
use crate::tables::{ColumnInfo, Sheet, Value};
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
pub fn write_poles(schedule: &Sheet<'_>, out: impl Write) -> io::Result<usize> {
    let places: Vec<(&str, usize)> = PROPERTIES
        .iter()
        .filter_map(|name| schedule.place(name).map(|place| (*name, place)))
        .collect();
    let Some((x, y)) = schedule.place("longitude").zip(schedule.place("latitude")) else {
        return Err(io::Error::other("the schedule has no coordinates"));
    };
    let mut layer = Layer::begin(out, bounds(schedule, x, y))?;
    for number in (0..schedule.len).rev() {
        let row = schedule.row(number);
        let Some(place) = place_in(&row, x, y) else {
            continue;
        };
        let properties = places.iter().map(|(name, at)| (*name, &row[*at]));
        layer.add(&Feature::new(
            Geometry::Point(Position(place)),
            Properties(properties.collect()),
        ))?;
    }
    layer.end()
}

/// The layer as a table with a place for each row, for other forms.
pub fn points(schedule: Sheet<'_>) -> (Sheet<'_>, Vec<Place>) {
    let places: Vec<usize> = PROPERTIES
        .iter()
        .filter_map(|name| schedule.place(name))
        .collect();
    let at = schedule.place("longitude").zip(schedule.place("latitude"));
    let mut rows = Vec::new();
    let mut found = Vec::new();
    for number in (0..schedule.len).rev() {
        if let Some(place) = at.and_then(|(x, y)| place_in(&schedule.row(number), x, y)) {
            rows.push(number);
            found.push(place);
        }
    }
    (schedule.only(rows).with_columns(places), found)
}

fn bounds(schedule: &Sheet<'_>, x: usize, y: usize) -> Option<BoundingBox> {
    let places: Vec<Place> = schedule
        .rows()
        .filter_map(|row| place_in(&row, x, y))
        .collect();
    bounding_box(&places)
}

/// The coordinates in two cells of a row.
fn place_in(row: &[Value], x: usize, y: usize) -> Option<Place> {
    match (&row[x], &row[y]) {
        (&Value::Number(longitude), &Value::Number(latitude)) => Some(Place {
            longitude,
            latitude,
        }),
        _ => None,
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
    fn the_most_urgent_pole_is_drawn_last() {
        let ranks: Vec<u64> = layer()
            .parse::<geojson::FeatureCollection>()
            .expect("a feature collection")
            .features
            .iter()
            .filter_map(|feature| feature.property("rank")?.as_u64())
            .collect();
        assert_eq!(ranks, [5, 3, 2, 1]);
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
