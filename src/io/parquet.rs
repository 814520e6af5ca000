//! Parquet copies of sheets, with numbers as numbers; the only file that names polars.
//!
//! Texts are written as they are: no spreadsheet opens these files. Days are texts of the form `2026-01-31`.

use crate::tables::{Holds, Sheet, Value};
use polars::prelude::{
    Column, DataFrame, DataType, NamedFrom, ParquetWriter, PolarsResult, Schema, Series,
};
use std::io::{self, Write};

/// Rows turned into columns at a time: bounds the memory of a national fleet.
const BATCH: usize = 100_000;

/// Writes a sheet as Parquet.
///
/// # Errors
/// When `out` does not take it.
pub fn write(sheet: &Sheet<'_>, out: impl Write) -> io::Result<()> {
    write_batches(sheet, out, BATCH).map_err(io::Error::other)
}

fn write_batches(sheet: &Sheet<'_>, out: impl Write, batch: usize) -> PolarsResult<()> {
    let schema: Schema = sheet
        .columns
        .iter()
        .map(|column| (column.name.into(), data_type(column.holds)))
        .collect();
    let mut writer = ParquetWriter::new(out).batched(&schema)?;
    let mut start = 0;
    while start < sheet.len {
        let end = (start + batch).min(sheet.len);
        writer.write_batch(&frame(sheet, start, end)?)?;
        start = end;
    }
    writer.finish()?;
    Ok(())
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::{quantities::quantities, schedule::schedule};
    use crate::words::sample;
    use polars::prelude::{ParquetReader, SerReader};
    use std::io::Cursor;

    fn round_trip(sheet: &Sheet<'_>, batch: usize) -> DataFrame {
        let mut bytes = Vec::new();
        write_batches(sheet, &mut bytes, batch).expect("memory takes it");
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
}
