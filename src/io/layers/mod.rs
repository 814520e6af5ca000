//! Layers for a map: RFC 7946 (WGS 84, longitude before latitude, seven decimals at most), and the style that draws them.
//!
//! Written feature by feature, so that a national fleet needs no second copy in memory, and with the properties in the
//! order of the columns: the feature writer of the `geojson` library sorts them by name. Knows values and places, nothing
//! of plans.

pub mod areas;
pub mod packages;
pub mod poles;
pub mod style;

use crate::pole::Place;
use crate::space::BoundingBox;
use crate::tables::Value;
use crate::words::quantities::to_decimals;
use serde::Serialize;
use serde::ser::{SerializeMap, SerializeSeq, Serializer};
use std::io::{self, Write};

/// Seven decimals of a degree are about a centimetre: more would claim what no list knows.
const DECIMALS: usize = 7;

/// A collection that is being written.
struct Layer<W: Write> {
    out: W,
    written: usize,
}

impl<W: Write> Layer<W> {
    /// Opens a collection with its bounds; without any where it will hold nothing.
    fn begin(mut out: W, bounds: Option<BoundingBox>) -> io::Result<Self> {
        out.write_all(b"{\"type\":\"FeatureCollection\",")?;
        if let Some(bounds) = bounds {
            out.write_all(b"\"bbox\":")?;
            serde_json::to_writer(&mut out, &box_of(bounds))?;
            out.write_all(b",")?;
        }
        out.write_all(b"\"features\":[")?;
        Ok(Self { out, written: 0 })
    }

    /// Adds one feature on a line of its own.
    fn add(&mut self, feature: &Feature<'_>) -> io::Result<()> {
        self.out
            .write_all(if self.written == 0 { b"\n" } else { b",\n" })?;
        serde_json::to_writer(&mut self.out, feature)?;
        self.written += 1;
        Ok(())
    }

    /// Closes the collection and says how many features it holds.
    fn end(mut self) -> io::Result<usize> {
        self.out.write_all(b"\n]}\n")?;
        Ok(self.written)
    }
}

#[derive(Serialize)]
struct Feature<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    bbox: Option<[f64; 4]>,
    geometry: Geometry,
    properties: Properties<'a>,
}

impl<'a> Feature<'a> {
    const fn new(geometry: Geometry, properties: Properties<'a>) -> Self {
        Self {
            kind: "Feature",
            bbox: None,
            geometry,
            properties,
        }
    }
}

#[derive(Serialize)]
#[serde(tag = "type", content = "coordinates")]
enum Geometry {
    Point(Position),
    LineString(Vec<Position>),
    MultiLineString(Vec<Vec<Position>>),
    Polygon(Vec<Vec<Position>>),
    MultiPolygon(Vec<Vec<Vec<Position>>>),
}

/// Longitude and latitude.
struct Position(Place);

impl Serialize for Position {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut pair = serializer.serialize_seq(Some(2))?;
        pair.serialize_element(&to_decimals(self.0.longitude, DECIMALS))?;
        pair.serialize_element(&to_decimals(self.0.latitude, DECIMALS))?;
        pair.end()
    }
}

fn positions(places: &[Place]) -> Vec<Position> {
    places.iter().copied().map(Position).collect()
}

/// West, south, east, north.
fn box_of(bounds: BoundingBox) -> [f64; 4] {
    [bounds.west, bounds.south, bounds.east, bounds.north]
        .map(|degrees| to_decimals(degrees, DECIMALS))
}

/// Properties in the order in which they are given.
struct Properties<'a>(Vec<(&'static str, &'a Value)>);

impl Serialize for Properties<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, value) in &self.0 {
            match value {
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
