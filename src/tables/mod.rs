//! Every output column, defined once: its name, its unit, its meaning, and how a row fills it.
//!
//! A [`Sheet`] is a table whose rows are made on demand, so that a million poles need no second copy. The same sheet is
//! written as CSV, as Parquet, as the properties of a layer, and described in `columns.csv`. Opens no files.

pub mod areas;
pub mod audience;
pub mod budget;
pub mod calibration;
pub mod changes;
pub mod columns;
pub mod compare;
pub mod compliance;
pub mod field;
pub mod hindcast;
pub mod notes;
pub mod orders;
pub mod packages;
pub mod practice;
pub mod problems;
pub mod progress;
pub mod quantities;
pub mod schedule;
pub mod sensitivity;
pub mod totals;

use self::audience::Audience;
use crate::intake::RISKY;
pub use crate::intake::read_back;
use crate::programme::sources::{Field, Sources};
use crate::units::{Date, LengthUnit};
use std::borrow::Cow;

/// What a cell holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing is known, or nothing applies.
    Empty,
    /// Text.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number, already rounded to what is known; never infinite.
    Number(f64),
    /// A day.
    Day(Date),
}

impl Value {
    /// A text, or nothing when it is empty.
    pub fn text(text: impl Into<String>) -> Self {
        let text = text.into();
        if text.is_empty() {
            Self::Empty
        } else {
            Self::Text(text)
        }
    }

    /// A text that may be missing.
    pub fn maybe_text<T: Into<String>>(text: Option<T>) -> Self {
        text.map_or(Self::Empty, Self::text)
    }

    /// A whole number.
    pub fn whole(number: impl TryInto<i64>) -> Self {
        number.try_into().map_or(Self::Empty, Self::Whole)
    }

    /// A number; empty when it is not finite.
    pub fn number(number: f64) -> Self {
        if number.is_finite() {
            Self::Number(number)
        } else {
            Self::Empty
        }
    }

    /// The cell of a text table: numbers as they are, texts made harmless.
    pub fn cell(&self) -> Cow<'_, str> {
        match self {
            Self::Empty => Cow::Borrowed(""),
            Self::Text(text) => harmless(text),
            Self::Whole(number) => Cow::Owned(number.to_string()),
            Self::Number(number) => Cow::Owned(number.to_string()),
            Self::Day(day) => Cow::Owned(day.to_string()),
        }
    }
}

/// A text that no spreadsheet takes for a formula: a leading apostrophe where it could.
pub fn harmless(text: &str) -> Cow<'_, str> {
    if text.starts_with(RISKY) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// What all cells of a column hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Text.
    Text,
    /// Whole numbers.
    Whole,
    /// Numbers.
    Number,
    /// Days, `2026-01-31`.
    Day,
}

/// What a column is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnInfo {
    /// Name.
    pub name: &'static str,
    /// What its cells hold.
    pub holds: Holds,
    /// Unit; empty where there is none.
    pub unit: String,
    /// Meaning, in one line.
    pub meaning: &'static str,
    /// Who may see it.
    pub audience: Audience,
}

/// A column of a table whose rows are made from an `R`.
pub struct Column<R> {
    /// What it is.
    pub info: ColumnInfo,
    /// How a row fills it.
    pub fill: fn(&R) -> Value,
}

/// A column without a unit, for the owner alone.
pub fn column<R>(
    name: &'static str,
    holds: Holds,
    meaning: &'static str,
    fill: fn(&R) -> Value,
) -> Column<R> {
    Column {
        info: ColumnInfo {
            name,
            holds,
            unit: String::new(),
            meaning,
            audience: Audience::Owner,
        },
        fill,
    }
}

/// A column with a unit, for the owner alone.
pub fn measured<R>(
    unit: impl Into<String>,
    name: &'static str,
    holds: Holds,
    meaning: &'static str,
    fill: fn(&R) -> Value,
) -> Column<R> {
    let mut column = column(name, holds, meaning, fill);
    column.info.unit = unit.into();
    column
}

/// A table that makes its rows on demand.
pub struct Sheet<'a> {
    /// Name of its file, without ending.
    pub name: &'static str,
    /// The columns.
    pub columns: Vec<ColumnInfo>,
    /// Number of rows.
    pub len: usize,
    row: Box<dyn Fn(usize) -> Vec<Value> + 'a>,
}

impl<'a> Sheet<'a> {
    /// A table of `len` rows, each made from the `R` that `source` gives for its number.
    pub fn new<R: 'a>(
        name: &'static str,
        columns: Vec<Column<R>>,
        len: usize,
        source: impl Fn(usize) -> R + 'a,
    ) -> Self {
        let infos = columns.iter().map(|column| column.info.clone()).collect();
        let fills: Vec<fn(&R) -> Value> = columns.into_iter().map(|column| column.fill).collect();
        Self {
            name,
            columns: infos,
            len,
            row: Box::new(move |number| {
                let row = source(number);
                fills.iter().map(|fill| fill(&row)).collect()
            }),
        }
    }

    /// The same table with some of its rows only.
    pub fn only(self, rows: Vec<usize>) -> Self {
        let Self {
            name, columns, row, ..
        } = self;
        Self {
            name,
            columns,
            len: rows.len(),
            row: Box::new(move |number| row(rows[number])),
        }
    }

    /// The same table with some of its columns only, by their places.
    pub fn with_columns(self, places: Vec<usize>) -> Self {
        let Self {
            name,
            columns,
            len,
            row,
        } = self;
        Self {
            name,
            columns: places.iter().map(|place| columns[*place].clone()).collect(),
            len,
            row: Box::new(move |number| {
                let values = row(number);
                places.iter().map(|place| values[*place].clone()).collect()
            }),
        }
    }

    /// The values of one row.
    pub fn row(&self, number: usize) -> Vec<Value> {
        (self.row)(number)
    }

    /// All rows, in order.
    pub fn rows(&self) -> impl Iterator<Item = Vec<Value>> + '_ {
        (0..self.len).map(|number| self.row(number))
    }

    /// The place of a column.
    pub fn place(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.name == name)
    }
}

/// The unit in which the owner writes pole lengths: that of the first pole file which has them.
pub fn length_unit(sources: &Sources) -> LengthUnit {
    let default = Field::Length.info().unit.unwrap_or(LengthUnit::Metre);
    let unit_in = |field: Field| {
        let source = sources
            .poles
            .iter()
            .find(|source| source.columns.contains_key(&field))?;
        source.units.get(&field).copied().or(field.info().unit)
    };
    unit_in(Field::Length)
        .or_else(|| unit_in(Field::Size))
        .unwrap_or(default)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// The text cells of one row, by column name.
    pub(crate) fn cell(sheet: &Sheet<'_>, row: usize, column: &str) -> String {
        let place = sheet.place(column).expect("a column of the sheet");
        sheet.row(row)[place].cell().into_owned()
    }

    /// Every value is empty or what its column says that it holds.
    pub(crate) fn assert_typed(sheet: &Sheet<'_>) {
        assert!(sheet.len > 0, "{} has no rows", sheet.name);
        for row in sheet.rows() {
            assert_eq!(row.len(), sheet.columns.len());
            for (value, column) in row.iter().zip(&sheet.columns) {
                let fits = match value {
                    Value::Empty => true,
                    Value::Text(_) => column.holds == Holds::Text,
                    Value::Whole(_) => column.holds == Holds::Whole,
                    Value::Number(number) => column.holds == Holds::Number && number.is_finite(),
                    Value::Day(_) => column.holds == Holds::Day,
                };
                assert!(fits, "{}.{}: {value:?}", sheet.name, column.name);
            }
        }
    }

    #[test]
    fn texts_are_made_harmless_and_read_back() {
        for text in [
            "=1+1", "+A1", "-2", "@x", "\tx", "\rx", "'quoted", "''", "'=x", "plain", "", "a=b",
            "'",
        ] {
            let safe = harmless(text);
            assert!(
                !safe.starts_with(['=', '+', '-', '@', '\t', '\r']),
                "{text:?}"
            );
            assert_eq!(read_back(&safe), text);
        }
        assert_eq!(Value::text("=1+1").cell(), "'=1+1");
        assert_eq!(Value::Number(-1.5).cell(), "-1.5");
        assert_eq!(Value::Whole(-3).cell(), "-3");
    }

    #[test]
    fn a_number_that_is_not_finite_is_empty() {
        assert_eq!(Value::number(f64::INFINITY), Value::Empty);
        assert_eq!(Value::number(f64::NAN), Value::Empty);
    }

    #[test]
    fn lengths_are_in_the_owners_unit() {
        let programme = crate::words::sample::programme();
        assert_eq!(length_unit(&programme.sources), LengthUnit::Foot);
        assert_eq!(length_unit(&Sources::default()), LengthUnit::Metre);
    }
}
