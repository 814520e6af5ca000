//! Layers of points (RFC 7946) to tables of text cells: properties, the feature's id and its coordinates as columns.
//!
//! Features that are no points are noted, not dropped; nothing is interpreted.

use crate::Error;
use crate::intake::{Noticed, Table};
use crate::problem::Code;
use geojson::GeometryValue;
use serde_json::Value;
use std::path::Path;

/// Cells of a layer that is read, the empty ones counted: every feature may have properties of its own, and the table has
/// a column for each.
const MOST_CELLS: usize = 50_000_000;

/// A layer (RFC 7946): properties, the feature's id and its coordinates as columns.
pub(super) fn layer(text: &str, file: &str, path: &Path) -> Result<Table, Error> {
    let refuse = |what: String| Error::Unreadable {
        path: path.to_owned(),
        what,
        help: "export the poles as a GeoJSON FeatureCollection of points".to_owned(),
    };
    let document: Value = serde_json::from_str(text)
        .map_err(|error| refuse(format!("this is not valid JSON: {error}")))?;
    let features = document
        .get("features")
        .and_then(Value::as_array)
        .filter(|_| document.get("type") == Some(&Value::from("FeatureCollection")))
        .ok_or_else(|| refuse("this is not a FeatureCollection".to_owned()))?;
    if features.is_empty() {
        return Err(refuse("the layer has no feature".to_owned()));
    }
    let mut table = Table {
        file: file.to_owned(),
        ..Table::default()
    };
    let mut points = Vec::new();
    for (place, feature) in features.iter().enumerate() {
        let row = place as u32 + 1;
        match point(feature) {
            Ok(point) => points.push((row, point)),
            Err(what) => table.noticed.push(Noticed {
                row,
                code: Code::NotAPoint,
                what,
            }),
        }
    }
    let (columns, id_column) = layer_columns(points.iter().map(|(_, point)| point));
    if points.len().saturating_mul(columns.len()) > MOST_CELLS {
        return Err(Error::Unreadable {
            path: path.to_owned(),
            what: format!(
                "the layer has {} points with {} different properties",
                points.len(),
                columns.len()
            ),
            help: "leave out the properties that the programme does not name".to_owned(),
        });
    }
    for (row, point) in points {
        let cells = columns.iter().map(|column| match column.as_str() {
            name if Some(name) == id_column => point.id.clone(),
            "longitude" => point.longitude.clone(),
            "latitude" => point.latitude.clone(),
            name => point.properties.get(name).map_or(String::new(), cell_of),
        });
        table.rows.push(row, &cells.collect::<Vec<String>>());
    }
    table.columns = columns;
    Ok(table)
}

/// One point of a layer, as text.
struct Point {
    id: String,
    longitude: String,
    latitude: String,
    properties: serde_json::Map<String, Value>,
}

fn point(feature: &Value) -> Result<Point, String> {
    let feature = serde_json::from_value::<geojson::Feature>(feature.clone())
        .map_err(|error| format!("this is not a valid feature: {error}"))?;
    let geometry = feature
        .geometry
        .ok_or_else(|| "the feature has no geometry".to_owned())?;
    let GeometryValue::Point { coordinates } = &geometry.value else {
        return Err(format!("the feature is a {}", geometry.value.type_name()));
    };
    let at = coordinates.as_slice();
    if at.len() < 2 {
        return Err("the point has no two coordinates".to_owned());
    }
    Ok(Point {
        id: match feature.id {
            Some(geojson::feature::Id::String(id)) => id,
            Some(geojson::feature::Id::Number(number)) => number.to_string(),
            None => String::new(),
        },
        longitude: at[0].to_string(),
        latitude: at[1].to_string(),
        properties: feature.properties.unwrap_or_default(),
    })
}

/// The columns of a layer and which of them is the feature's own id: `id`, or `@id` where a property is called that.
///
/// Longitude and latitude are the geometry's; properties of the same names give way. Properties follow in the order of
/// the alphabet.
fn layer_columns<'a>(
    points: impl Iterator<Item = &'a Point>,
) -> (Vec<String>, Option<&'static str>) {
    let mut names = std::collections::BTreeSet::new();
    for point in points {
        names.extend(point.properties.keys().cloned());
    }
    let id = ["id", "@id"]
        .into_iter()
        .find(|free| !names.contains(*free));
    let own = id.into_iter().chain(["longitude", "latitude"]);
    let mut columns: Vec<String> = own.map(str::to_owned).collect();
    names.retain(|name| !columns.contains(name));
    columns.extend(names);
    (columns, id)
}

fn cell_of(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{fault, rows, table};
    use crate::problem::Code;

    #[test]
    fn a_layer_is_a_table_of_its_points() {
        let read = table(
            br#"{"type":"FeatureCollection","features":[
              {"type":"Feature","id":"n/1","geometry":{"type":"Point","coordinates":[11.5,50.25]},"properties":{"id":7,"set":null}},
              {"type":"Feature","geometry":{"type":"LineString","coordinates":[[0,1],[2,3]]},"properties":{}}]}"#,
        );
        assert_eq!(read.columns, ["@id", "longitude", "latitude", "id", "set"]);
        assert_eq!(rows(&read), [(1, "n/1|11.5|50.25|7|".to_owned())]);
        assert_eq!(
            (read.noticed[0].row, read.noticed[0].code),
            (2, Code::NotAPoint)
        );
    }

    #[test]
    fn properties_of_each_features_own_cannot_fill_the_memory() {
        // 8,000 points with a property each of their own: 64 million cells from a file of a megabyte.
        let point = r#""type":"Feature","geometry":{"type":"Point","coordinates":[1,2]}"#;
        let features: Vec<String> = (0..8_000)
            .map(|number| format!(r#"{{{point},"properties":{{"k{number}":1}}}}"#))
            .collect();
        let layer = format!(
            r#"{{"type":"FeatureCollection","features":[{}]}}"#,
            features.join(",")
        );
        let said = fault(layer.as_bytes());
        assert!(
            said.contains("8000 points with 8003 different properties"),
            "{said}"
        );
    }
}
