//! A table with its columns bound to our fields, and its rows as they are asked for by field.

use super::cells::{is_blank, read_back};
use crate::Error;
use crate::problem::{Cell, Code, Problem, Source};
use crate::programme::sources::{FIELDS, Field, SourceKind, TableSource};
use crate::programme::text::suggestion;
use crate::projection::Projection;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// A file's content as text cells.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// File name as the programme writes it.
    pub file: String,
    /// Column names, as they stand.
    pub columns: Vec<String>,
    /// Rows: the physical line (or feature number) where each starts, and its cells.
    pub rows: Vec<(u32, Vec<String>)>,
    /// What the reading of the file noticed.
    pub noticed: Vec<Noticed>,
}

/// Something that only whoever read the file could see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Noticed {
    /// The line or feature.
    pub row: u32,
    /// What kind of problem.
    pub code: Code,
    /// What is wrong, in one sentence.
    pub what: String,
}

/// A table whose columns are bound to fields.
#[derive(Debug)]
pub(super) struct Bound<'a> {
    pub table: &'a Table,
    pub source: &'a TableSource,
    pub file: u16,
    columns: BTreeMap<Field, usize>,
    /// What turns the coordinates into degrees, where they are none.
    pub projection: Option<Projection>,
}

/// One row of a bound table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row<'a> {
    pub bound: &'a Bound<'a>,
    pub line: u32,
    cells: &'a [String],
}

impl<'a> Bound<'a> {
    /// Binds the columns that the programme names, and those that are named like our fields.
    pub(super) fn new(
        table: &'a Table,
        source: &'a TableSource,
        file: u16,
        kind: SourceKind,
    ) -> Result<Self, Error> {
        let mut columns = BTreeMap::new();
        for (field, name) in &source.columns {
            let wanted = name.trim();
            let Some(place) = table.columns.iter().position(|c| c.trim() == wanted) else {
                return Err(no_column(table, *field, wanted));
            };
            columns.insert(*field, place);
        }
        for info in FIELDS {
            if !kind.has(info) || columns.contains_key(&info.field) {
                continue;
            }
            let place = table.columns.iter().position(|column| {
                let plain = column.trim().to_lowercase().replace([' ', '-'], "_");
                plain == info.name || (info.field == Field::Id && plain == "pole_id")
            });
            if let Some(place) = place.filter(|place| !columns.values().any(|used| used == place)) {
                columns.insert(info.field, place);
            }
        }
        Ok(Self {
            table,
            source,
            file,
            columns,
            projection: projection(table, source)?,
        })
    }

    /// Whether a column fills the field.
    pub(super) fn has(&self, field: Field) -> bool {
        self.columns.contains_key(&field)
    }

    /// An error unless a column fills the field.
    pub(super) fn needs(&self, field: Field) -> Result<(), Error> {
        if self.has(field) {
            return Ok(());
        }
        let info = field.info();
        Err(Error::Programme {
            path: PathBuf::from(&self.table.file),
            what: format!("no column is the field {}: {}", info.name, info.meaning),
            help: format!(
                "name it in the programme: columns = {{ {} = \"...\" }}; columns of the file: {}",
                info.name,
                self.table.columns.join(", ")
            ),
        })
    }

    /// The owner's name of the column of a field; ours where there is none.
    pub(super) fn column(&self, field: Field) -> &'a str {
        self.columns
            .get(&field)
            .map_or(field.info().name, |place| self.table.columns[*place].trim())
    }

    pub(super) fn rows(&'a self) -> impl Iterator<Item = Row<'a>> {
        self.table.rows.iter().map(move |(line, cells)| Row {
            bound: self,
            line: *line,
            cells,
        })
    }

    /// Problems of the table as such: what was noticed on reading, ragged rows, columns of the same name.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let mut problems: Vec<Problem> = self
            .table
            .noticed
            .iter()
            .map(|noticed| self.problem(noticed.row, noticed.code, &noticed.what))
            .collect();
        for place in self.columns.values() {
            let name = self.table.columns[*place].trim();
            let same = |column: &&String| column.trim() == name;
            let count = self.table.columns.iter().filter(same).count();
            if count > 1 {
                let what = format!("{count} columns are called \"{name}\"");
                problems.push(Problem {
                    cell: Some(Cell {
                        column: name.to_owned(),
                        raw: name.to_owned(),
                    }),
                    ..self.problem(1, Code::RepeatedColumn, &what)
                });
            }
        }
        let width = self.table.columns.len();
        for (line, cells) in &self.table.rows {
            let beyond_is_blank = cells.iter().skip(width).all(|cell| cell.trim().is_empty());
            if cells.len() < width || !beyond_is_blank {
                let what = format!("the row has {} cells, the header {width}", cells.len());
                problems.push(self.problem(*line, Code::RaggedRow, &what));
            }
        }
        problems
    }

    fn problem(&self, line: u32, code: Code, what: &str) -> Problem {
        Problem {
            code,
            source: Source {
                file: self.file,
                row: line,
            },
            cell: None,
            pole: None,
            what: what.to_owned(),
            done: match code {
                Code::UnclosedQuote => "read line by line",
                Code::NotAPoint => "set aside",
                Code::RepeatedColumn => "the first was read",
                _ => "kept; missing cells are unknown",
            }
            .to_owned(),
        }
    }
}

impl<'a> Row<'a> {
    /// The cell as it stands; empty where there is none.
    pub(super) fn raw(&self, field: Field) -> &'a str {
        self.bound
            .columns
            .get(&field)
            .and_then(|place| self.cells.get(*place))
            .map_or("", |cell| cell.as_str())
    }

    /// The cell without blanks around it and without the apostrophe that our own lists put before a text like a
    /// formula, if there is anything in it.
    pub(super) fn filled(&self, field: Field) -> Option<&'a str> {
        Some(read_back(self.raw(field).trim()).trim()).filter(|text| !text.is_empty())
    }

    /// The cell without blanks around it, if it says anything: "n/a" and the like do not.
    pub(super) fn text(&self, field: Field) -> Option<&'a str> {
        self.filled(field).filter(|text| !is_blank(text))
    }

    pub(super) fn source(&self) -> Source {
        Source {
            file: self.bound.file,
            row: self.line,
        }
    }

    /// A problem with one cell of this row, about the pole `id`.
    pub(super) fn problem(
        &self,
        code: Code,
        field: Field,
        id: &str,
        what: String,
        done: &str,
    ) -> Problem {
        Problem {
            code,
            source: self.source(),
            cell: Some(Cell {
                column: self.bound.column(field).to_owned(),
                raw: self.raw(field).to_owned(),
            }),
            pole: (!id.is_empty()).then(|| id.to_owned()),
            what,
            done: done.to_owned(),
        }
    }

    /// Every mapped cell, field by field: the content that decides between rows of one id.
    pub(super) fn content(&self) -> Vec<(Field, &'a str)> {
        self.bound
            .columns
            .keys()
            .filter_map(|field| self.text(*field).map(|text| (*field, text)))
            .collect()
    }
}

/// The projection of a table's coordinates.
fn projection(table: &Table, source: &TableSource) -> Result<Option<Projection>, Error> {
    let of = |code| {
        Projection::of(code).map_err(|refused| Error::Programme {
            path: PathBuf::from(&table.file),
            what: format!("epsg = {code}: {code} {}", refused.sentence()),
            help: "look the code up where the coordinates come from, or export them as longitude and latitude (WGS 84)"
                .to_owned(),
        })
    };
    source.epsg.map(of).transpose()
}

fn no_column(table: &Table, field: Field, wanted: &str) -> Error {
    let known = table.columns.iter().map(|column| column.trim());
    Error::Programme {
        path: PathBuf::from(&table.file),
        what: format!(
            "the programme reads {} from column \"{wanted}\", which the file does not have",
            field.info().name
        ),
        help: suggestion(wanted, known, "columns of the file"),
    }
}
