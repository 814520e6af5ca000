//! Parquet: copies of sheets, with numbers as numbers, and owners' lists as tables of text cells; the only file that names
//! polars.
//!
//! Layers of points are `GeoParquet` 1.1.0 (Open Geospatial Consortium): a column of well-known binary, and its description
//! in the file's metadata.
//!
//! Texts are written as they are: no spreadsheet opens these files. Days are texts of the form `2026-01-31`. Nothing that
//! is read is interpreted: a number keeps its digits, a day becomes its ISO text.

use super::read::MOST_TEXT_BYTES;
use super::read::figures::{day_text, moment_text, number_text};
use crate::Error;
use crate::intake::Table;
use crate::pole::Place;
use crate::space::bounding_box;
use crate::tables::{Holds, Sheet, Value};
use polars::prelude::{
    AnyValue, ArrowDataType, Column, DataFrame, DataType, KeyValueMetadata, NamedFrom,
    ParquetReader, ParquetWriter, PolarsError, PolarsResult, Schema, SerReader, Series, TimeUnit,
};
use std::io::{self, Cursor, Write};
use std::path::Path;

/// Rows turned into columns at a time: bounds the memory of a national fleet.
const BATCH: usize = 100_000;

/// Cells of a list that is read: a national fleet with a hundred columns, and what a machine holds as text.
const MOST_CELLS: usize = 100_000_000;

/// Writes a sheet as Parquet.
///
/// # Errors
/// When `out` does not take it.
pub fn write(sheet: &Sheet<'_>, out: impl Write) -> io::Result<()> {
    write_batches(sheet, None, out, BATCH).map_err(io::Error::other)
}

/// Writes a sheet as a layer of points, WGS 84, one place a row.
///
/// # Errors
/// When `out` does not take it.
pub fn write_points(sheet: &Sheet<'_>, places: &[Place], out: impl Write) -> io::Result<()> {
    write_batches(sheet, Some(places), out, BATCH).map_err(io::Error::other)
}

fn write_batches(
    sheet: &Sheet<'_>,
    places: Option<&[Place]>,
    out: impl Write,
    batch: usize,
) -> PolarsResult<()> {
    let mut schema: Schema = sheet
        .columns
        .iter()
        .map(|column| (column.name.into(), data_type(column.holds)))
        .collect();
    let mut writer = ParquetWriter::new(out);
    if let Some(places) = places {
        schema.with_column(GEOMETRY.into(), DataType::Binary);
        let described = vec![("geo".to_owned(), geo(places))];
        writer = writer.with_key_value_metadata(Some(KeyValueMetadata::from_static(described)));
    }
    let mut writer = writer.batched(&schema)?;
    let mut start = 0;
    while start < sheet.len {
        let end = (start + batch).min(sheet.len);
        let mut frame = frame(sheet, start, end)?;
        if let Some(places) = places {
            frame.with_column(geometry(&places[start..end]))?;
        }
        writer.write_batch(&frame)?;
        start = end;
    }
    writer.finish()?;
    Ok(())
}

/// Name of the column of places.
const GEOMETRY: &str = "geometry";

/// What `GeoParquet` wants to know of the column; coordinates are longitude and latitude on WGS 84 unless it says otherwise.
fn geo(places: &[Place]) -> String {
    let mut column = serde_json::json!({ "encoding": "WKB", "geometry_types": ["Point"] });
    if let Some(all) = bounding_box(places) {
        column["bbox"] = serde_json::json!([all.west, all.south, all.east, all.north]);
    }
    serde_json::json!({
        "version": "1.1.0",
        "primary_column": GEOMETRY,
        "columns": { GEOMETRY: column },
    })
    .to_string()
}

/// Places as well-known binary: the order of bytes, the kind, longitude, latitude.
fn geometry(places: &[Place]) -> Column {
    let points: Vec<[u8; POINT_BYTES]> = places.iter().map(point).collect();
    let slices: Vec<&[u8]> = points.iter().map(<[u8; POINT_BYTES]>::as_slice).collect();
    Column::from(Series::new(GEOMETRY.into(), slices))
}

/// Bytes of a point.
const POINT_BYTES: usize = 21;

fn point(place: &Place) -> [u8; POINT_BYTES] {
    let mut bytes = [0; POINT_BYTES];
    // 1: the least byte first; then 1 as a number of four bytes: a point.
    bytes[0] = 1;
    bytes[1..5].copy_from_slice(&1_u32.to_le_bytes());
    bytes[5..13].copy_from_slice(&place.longitude.to_le_bytes());
    bytes[13..].copy_from_slice(&place.latitude.to_le_bytes());
    bytes
}

const fn data_type(holds: Holds) -> DataType {
    match holds {
        Holds::Text | Holds::Day => DataType::String,
        Holds::Whole => DataType::Int64,
        Holds::Number => DataType::Float64,
    }
}

/// Some rows of a sheet, column by column.
fn frame(sheet: &Sheet<'_>, start: usize, end: usize) -> PolarsResult<DataFrame> {
    let mut columns: Vec<Vec<Value>> = sheet
        .columns
        .iter()
        .map(|_| Vec::with_capacity(end - start))
        .collect();
    for number in start..end {
        for (column, value) in columns.iter_mut().zip(sheet.row(number)) {
            column.push(value);
        }
    }
    let series = sheet
        .columns
        .iter()
        .zip(columns)
        .map(|(info, values)| Column::from(series(info.name, info.holds, values)))
        .collect();
    DataFrame::new(end - start, series)
}

fn series(name: &str, holds: Holds, values: Vec<Value>) -> Series {
    match holds {
        Holds::Text | Holds::Day => {
            let texts: Vec<Option<String>> = values.into_iter().map(text).collect();
            Series::new(name.into(), texts)
        }
        Holds::Whole => {
            let numbers: Vec<Option<i64>> = values.iter().map(whole).collect();
            Series::new(name.into(), numbers)
        }
        Holds::Number => {
            let numbers: Vec<Option<f64>> = values.iter().map(number).collect();
            Series::new(name.into(), numbers)
        }
    }
}

fn text(value: Value) -> Option<String> {
    match value {
        Value::Empty => None,
        Value::Text(text) => Some(text),
        Value::Day(day) => Some(day.to_string()),
        Value::Whole(number) => Some(number.to_string()),
        Value::Number(number) => Some(number.to_string()),
    }
}

fn whole(value: &Value) -> Option<i64> {
    match value {
        Value::Whole(number) => Some(*number),
        _ => None,
    }
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(number) => Some(*number),
        Value::Whole(number) => Some(*number as f64),
        _ => None,
    }
}

/// The table in the bytes of a Parquet file; `file` is its name in the programme, `path` is for messages.
///
/// Columns of texts, numbers, days and yes or no are read; those of bytes, lists and structures hold no cell and are left
/// out. Rows are numbered from 1.
///
/// # Errors
/// When the bytes are no whole Parquet file, and when it has too many cells.
pub fn read(bytes: &[u8], file: &str, path: &Path) -> Result<Table, Error> {
    let refused = |what: String, help: &str| Error::Unreadable {
        path: path.to_owned(),
        what,
        help: help.to_owned(),
    };
    let broken = |cause: PolarsError| {
        refused(
            format!("this is not a whole Parquet file: {cause}"),
            "was the export finished? otherwise save the list as CSV",
        )
    };
    let mut reader = ParquetReader::new(Cursor::new(bytes));
    let schema = reader.schema().map_err(broken)?;
    let fields = schema.iter_values();
    let columns: Vec<String> = fields
        .filter(|field| holds_cells(field.dtype()))
        .map(|field| field.name.to_string())
        .collect();
    if columns.is_empty() {
        return Err(refused(
            "the file has no column of texts, numbers or days".to_owned(),
            "is this the right file?",
        ));
    }
    let rows = reader.num_rows().map_err(broken)?;
    if rows.saturating_mul(columns.len()) > MOST_CELLS {
        return Err(refused(
            format!("the file has {rows} rows of {} columns", columns.len()),
            "leave out the columns that the programme does not name",
        ));
    }
    let frame = reader.with_columns(Some(columns.clone())).finish();
    let frame = frame.map_err(broken)?;
    let room = || Vec::with_capacity(columns.len());
    let mut cells: Vec<Vec<String>> = std::iter::repeat_with(room).take(frame.height()).collect();
    let mut bytes = 0;
    for name in &columns {
        let column = frame.column(name).map_err(broken)?;
        let values = column.as_materialized_series().rechunk();
        for (row, value) in cells.iter_mut().zip(values.iter()) {
            let text = cell_text(&value);
            bytes += text.len() as u64;
            // One text of the file's dictionary may stand in every cell.
            if bytes > MOST_TEXT_BYTES {
                return Err(refused(
                    format!(
                        "its cells hold more than {} MB of text",
                        MOST_TEXT_BYTES >> 20
                    ),
                    "is this a list, one row for each pole or visit?",
                ));
            }
            row.push(text);
        }
    }
    Ok(Table {
        file: file.to_owned(),
        columns,
        rows: (1..).zip(cells).collect(),
        ..Table::default()
    })
}

/// Whether values of this kind are cells of a list.
fn holds_cells(kind: &ArrowDataType) -> bool {
    match kind {
        ArrowDataType::Dictionary(_, values, _) => holds_cells(values),
        ArrowDataType::Boolean
        | ArrowDataType::Int8
        | ArrowDataType::Int16
        | ArrowDataType::Int32
        | ArrowDataType::Int64
        | ArrowDataType::UInt8
        | ArrowDataType::UInt16
        | ArrowDataType::UInt32
        | ArrowDataType::UInt64
        | ArrowDataType::Float32
        | ArrowDataType::Float64
        | ArrowDataType::Decimal(_, _)
        | ArrowDataType::Date32
        | ArrowDataType::Date64
        | ArrowDataType::Timestamp(_, _)
        | ArrowDataType::Utf8
        | ArrowDataType::LargeUtf8
        | ArrowDataType::Utf8View => true,
        _ => false,
    }
}

/// One value as the text that a person would see.
fn cell_text(value: &AnyValue<'_>) -> String {
    match value {
        AnyValue::Null => String::new(),
        AnyValue::Boolean(holds) => if *holds { "TRUE" } else { "FALSE" }.to_owned(),
        AnyValue::Float64(number) => number_text(*number),
        // The shortest digits that give the same single-precision number back: 12.3, not 12.300000190734863.
        AnyValue::Float32(number) => number.to_string(),
        AnyValue::Date(days) => day_text(i64::from(*days)),
        AnyValue::Datetime(ticks, unit, _) => moment_text(*ticks, ticks_a_second(*unit)),
        other => other
            .get_str()
            .map_or_else(|| other.to_string(), str::to_owned),
    }
}

const fn ticks_a_second(unit: TimeUnit) -> i64 {
    match unit {
        TimeUnit::Nanoseconds => 1_000_000_000,
        TimeUnit::Microseconds => 1_000_000,
        TimeUnit::Milliseconds => 1_000,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io::layers::poles::points;
    use crate::pole::PoleIndex;
    use crate::tables::{quantities::quantities, schedule::schedule};
    use crate::words::sample;
    use polars::prelude::IntoColumn;

    fn round_trip(sheet: &Sheet<'_>, batch: usize) -> DataFrame {
        let mut bytes = Vec::new();
        write_batches(sheet, None, &mut bytes, batch).expect("memory takes it");
        ParquetReader::new(Cursor::new(bytes))
            .finish()
            .expect("it reads back")
    }

    #[test]
    fn a_parquet_copy_reads_back_typed_whatever_the_batch() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        for batch in [2, BATCH] {
            let frame = round_trip(&sheet, batch);
            assert_eq!(frame.shape(), (sheet.len, sheet.columns.len()));
            for info in &sheet.columns {
                let column = frame.column(info.name).expect("every column is there");
                assert_eq!(column.dtype(), &data_type(info.holds), "{}", info.name);
            }
            let chances = frame.column("p_below_limit_now").expect("a column");
            let chances: Vec<Option<f64>> = chances.f64().expect("numbers").iter().collect();
            // The sample's 0.97, 0.8, 0.111, 0.366 and 0.00002 to two figures with the bottom of tables.
            assert_eq!(
                chances,
                [Some(0.97), Some(0.8), Some(0.11), Some(0.37), Some(0.001)]
            );
            let places = frame.column("longitude").expect("a column");
            assert_eq!(places.null_count(), 1);
        }
    }

    #[test]
    fn quantities_keep_their_totals() {
        let sample = sample::fleet();
        let sheet = quantities(sample.case(PoleIndex(0)));
        let frame = round_trip(&sheet, BATCH);
        assert_eq!(frame.height(), 7);
        assert_eq!(frame.column("year").expect("a column").null_count(), 2);
    }

    #[test]
    fn a_layer_of_points_says_what_its_geometry_is() {
        let sample = sample::fleet();
        let (sheet, places) = points(schedule(sample.case(PoleIndex(0))));
        assert_eq!((sheet.len, places.len()), (4, 4));
        let mut bytes = Vec::new();
        write_points(&sheet, &places, &mut bytes).expect("memory takes it");
        let mut reader = ParquetReader::new(Cursor::new(bytes));
        let metadata = reader.get_metadata().expect("metadata").clone();
        let described = metadata.key_value_metadata.as_ref().expect("pairs");
        let geo = described.iter().find(|pair| pair.key == "geo");
        let geo = geo.and_then(|pair| pair.value.as_deref()).expect("geo");
        let geo: serde_json::Value = serde_json::from_str(geo).expect("JSON");
        assert_eq!(geo["columns"][GEOMETRY]["encoding"], "WKB");
        assert_eq!(geo["columns"][GEOMETRY]["bbox"][1], 45.123_456_8);
        let frame = reader.finish().expect("it reads back");
        assert_eq!(frame.shape(), (4, sheet.columns.len() + 1));
        let column = frame.column(GEOMETRY).expect("the geometry");
        let first = column.binary().expect("bytes").get(0).expect("a point");
        // B-2, which is not due, comes first: -120.006, 45.1234568. Little endian, kind 1, east, north.
        assert_eq!(first[..5], [1, 1, 0, 0, 0]);
        assert_eq!(first[5..13], (-120.006_f64).to_le_bytes());
        assert_eq!(first[13..], 45.123_456_8_f64.to_le_bytes());
    }

    fn written(columns: Vec<Column>) -> Vec<u8> {
        let mut frame = DataFrame::new(columns[0].len(), columns).expect("columns of one length");
        let mut bytes = Vec::new();
        let writer = ParquetWriter::new(&mut bytes);
        writer.finish(&mut frame).expect("memory takes it");
        bytes
    }

    #[test]
    fn an_owners_list_is_read_as_texts() {
        let cast = |series: Series, kind: &DataType| {
            let cast = series.cast(kind).expect("a cast");
            cast.into_column()
        };
        let days = Series::new("set".into(), [Some(5_659_i32), None]);
        // 1985-06-30 is day 5,659 from 1970-01-01; 12:30 is 45,000 s later.
        let moments = Series::new("seen".into(), [5_659_i64 * 86_400_000 + 45_000_000, 0]);
        let kinds = Series::new("kind".into(), ["pine", "oak"]);
        let bytes = written(vec![
            Column::new("id".into(), [7_i64, 1_234_567_890_123]),
            Column::new("length".into(), [Some(12.0_f64), None]),
            Column::new("dia".into(), [12.3_f32, 310.0]),
            Column::new("bored".into(), [Some(true), None]),
            cast(days, &DataType::Date),
            cast(moments, &DataType::Datetime(TimeUnit::Milliseconds, None)),
            cast(
                kinds.clone(),
                &DataType::from_categories(polars::prelude::Categories::global()),
            ),
            cast(Series::new("zone".into(), [3_i32, 4]), &DataType::UInt8),
            cast(kinds, &DataType::Binary).with_name("shape".into()),
        ]);
        let table = read(&bytes, "p.parquet", Path::new("p.parquet")).expect("a list");
        assert_eq!(
            table.columns,
            [
                "id", "length", "dia", "bored", "set", "seen", "kind", "zone"
            ]
        );
        let rows: Vec<(u32, String)> = table
            .rows
            .iter()
            .map(|(row, cells)| (row, cells.iter().collect::<Vec<_>>().join("|")))
            .collect();
        assert_eq!(
            rows,
            [
                (
                    1,
                    "7|12|12.3|TRUE|1985-06-30|1985-06-30 12:30:00|pine|3".to_owned()
                ),
                (2, "1234567890123||310|||1970-01-01|oak|4".to_owned()),
            ]
        );
    }

    #[test]
    fn half_a_file_is_refused() {
        let bytes = written(vec![Column::new("id".into(), [7_i64, 8])]);
        let half = &bytes[..bytes.len() / 2];
        let refused = read(half, "p.parquet", Path::new("p.parquet"));
        let message = refused.expect_err("half a file").to_string();
        assert!(message.contains("not a whole Parquet file"), "{message}");
    }
}
