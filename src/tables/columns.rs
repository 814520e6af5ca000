//! `columns.csv`: every column of every file that is written, with its unit and meaning.

use super::audience::Audience;
use super::{ColumnInfo, Holds, Sheet, Value, column};

/// How texts that a spreadsheet could take for formulas are written; stands in the first row.
const HARMLESS: &str = "all texts: one that begins with = + - @, an apostrophe, a tab or a line end has an apostrophe put before it; to read it back take that one apostrophe off. Numbers are never changed, Parquet and layers hold the plain text";

/// One row.
pub struct Line {
    file: String,
    info: ColumnInfo,
}

/// The columns of these files, and of `columns.csv` itself.
pub fn columns(files: &[(String, Vec<ColumnInfo>)]) -> Sheet<'static> {
    let own = vec![
        column("file", Holds::Text, "file", |line: &Line| {
            Value::text(line.file.as_str())
        }),
        column(
            "column",
            Holds::Text,
            "column, or property of a layer",
            |line| Value::text(line.info.name),
        ),
        column(
            "holds",
            Holds::Text,
            "text, whole number, number or day",
            |line| {
                Value::text(match line.info.holds {
                    Holds::Text => "text",
                    Holds::Whole => "whole number",
                    Holds::Number => "number",
                    Holds::Day => "day",
                })
            },
        ),
        column(
            "unit",
            Holds::Text,
            "unit; empty where there is none",
            |line| Value::text(line.info.unit.as_str()),
        ),
        column("meaning", Holds::Text, "meaning", |line| {
            Value::text(line.info.meaning)
        }),
    ];
    let mut rows = vec![(
        "*.csv".to_owned(),
        ColumnInfo {
            name: "*",
            holds: Holds::Text,
            unit: String::new(),
            meaning: HARMLESS,
            audience: Audience::Public,
        },
    )];
    for (file, infos) in files {
        rows.extend(infos.iter().map(|info| (file.clone(), info.clone())));
    }
    rows.extend(
        own.iter()
            .map(|column| ("columns.csv".to_owned(), column.info.clone())),
    );
    Sheet::new("columns", own, rows.len(), move |row| {
        let (file, info) = rows[row].clone();
        Line { file, info }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::tests::assert_typed;
    use crate::tables::{calibration, quantities, schedule};
    use crate::words::sample;
    use std::collections::BTreeSet;

    #[test]
    fn every_column_of_every_file_has_a_meaning() {
        let sample = sample::fleet();
        let fleet = sample.case(PoleIndex(0));
        let files: Vec<(String, Vec<ColumnInfo>)> = [
            schedule::schedule(fleet),
            quantities::quantities(fleet),
            calibration::calibration(fleet),
        ]
        .into_iter()
        .map(|sheet| (format!("{}.csv", sheet.name), sheet.columns))
        .collect();
        let sheet = columns(&files);
        assert_typed(&sheet);
        let expected = 1 + files.iter().map(|(_, infos)| infos.len()).sum::<usize>() + 5;
        assert_eq!(sheet.len, expected);
        let mut seen = BTreeSet::new();
        for row in sheet.rows() {
            assert!(
                row.iter()
                    .all(|value| *value != Value::Empty || row[3] == Value::Empty)
            );
            assert_ne!(row[4], Value::Empty);
            assert!(seen.insert((row[0].cell().into_owned(), row[1].cell().into_owned())));
        }
    }
}
