//! A table with its columns bound to our fields, and its rows as they are asked for by field.

use super::cells::{is_blank, is_error, read_back, trimmed};
use super::guess::{unit_of, unnumbered, words};
use super::rows::{Cells, Part, Rows};
use super::unread::unread;
use crate::Error;
use crate::parallel::fold_ranges;
use crate::problem::{Cell, Code, Problem, Source};
use crate::programme::sources::{FIELDS, Field, FieldInfo, SourceKind, TableSource};
use crate::programme::text::suggestion;
use crate::projection::Projection;
use crate::units::LengthUnit;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::PathBuf;

/// A file's content as text cells.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Table {
    /// File name as the programme writes it.
    pub file: String,
    /// Column names, as they stand.
    pub columns: Vec<String>,
    /// Rows, each with the physical line (or feature number) where it starts.
    pub rows: Rows,
    /// What the reading of the file noticed.
    pub noticed: Vec<Noticed>,
    /// The line of the header, where it was looked for below a title and found.
    pub header_row: Option<u32>,
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
    pub kind: SourceKind,
    columns: Columns,
    /// What turns the coordinates into degrees, where they are none.
    pub projection: Option<Projection>,
}

/// What fills which field.
#[derive(Debug, Default)]
struct Columns {
    /// In the order of the fields.
    fillings: BTreeMap<Field, Filling>,
    /// The same at the field's own number: every cell of every row is asked for by it.
    by_number: Vec<Option<Fill>>,
    /// The unit of its lengths, at the same number.
    units: Vec<Option<LengthUnit>>,
    /// Fields that are only carried along and that a column fills, in their order in [`FIELDS`].
    carried: Vec<&'static FieldInfo>,
}

/// Where the text of a field comes from.
#[derive(Debug, Clone, Copy)]
enum Fill {
    /// One column, by its place.
    Column(u32),
    /// Several, joined.
    Joined,
}

impl Columns {
    fn insert(&mut self, source: &TableSource, field: Field, filling: Filling) {
        let number = field as usize;
        if self.by_number.len() <= number {
            self.by_number.resize(number + 1, None);
            self.units.resize(number + 1, None);
        }
        self.units[number] = source.units.get(&field).copied().or(field.info().unit);
        self.by_number[number] = Some(match filling.places[..] {
            [place] => Fill::Column(place as u32),
            _ => Fill::Joined,
        });
        self.fillings.insert(field, filling);
        let carried = FIELDS.iter().filter(|info| info.is_carried);
        self.carried = carried
            .filter(|info| self.fillings.contains_key(&info.field))
            .collect();
    }

    #[inline]
    fn fill(&self, field: Field) -> Option<Fill> {
        self.by_number.get(field as usize).copied().flatten()
    }
}

/// The columns that fill a field.
#[derive(Debug, Clone)]
struct Filling {
    places: Vec<usize>,
    /// The owner's names of them.
    name: String,
    /// The joined cells of each row, one text a row, where there are several columns.
    joined: Rows,
}

/// One row of a bound table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row<'a> {
    pub bound: &'a Bound<'a>,
    pub line: u32,
    place: u32,
    /// Its place in its part of the table: a row is copied for each pole and visit, and kept small.
    part: &'a Part,
    in_part: u32,
}

impl<'a> Bound<'a> {
    /// Binds the columns that the programme names, and those that are named like our fields.
    pub(super) fn new(
        table: &'a Table,
        source: &'a TableSource,
        file: u16,
        kind: SourceKind,
    ) -> Result<Self, Error> {
        let mut bound = Self {
            table,
            source,
            file,
            kind,
            columns: Columns::default(),
            projection: projection(table, source)?,
        };
        for (field, names) in &source.columns {
            let places = names.iter().map(|name| place_of(table, *field, name));
            let filling = filling(table, source, *field, places.collect::<Result<_, _>>()?);
            bound.columns.insert(source, *field, filling);
        }
        if kind != SourceKind::LastInspections {
            bound.bind_by_name();
        }
        Ok(bound)
    }

    /// Binds the columns that are named like our fields and fill nothing yet.
    fn bind_by_name(&mut self) {
        for info in FIELDS {
            let fits = self.kind.has(info);
            // In a list with ids a column of that name counts something else, unless the programme says so.
            let other_count = info.field == Field::Count && self.has(Field::Id);
            if !fits || other_count || self.has(info.field) {
                continue;
            }
            let place = self.table.columns.iter().position(|column| {
                let plain = column.trim().to_lowercase().replace([' ', '-'], "_");
                let of_pole =
                    plain == "pole_id" || (plain == "pole" && self.kind == SourceKind::Decisions);
                plain == info.name || (info.field == Field::Id && of_pole)
            });
            let places = match place.filter(|place| !self.fills(*place)) {
                Some(place) => vec![place],
                None => self.called_like(info),
            };
            if !places.is_empty() {
                let filling = filling(self.table, self.source, info.field, places);
                self.columns.insert(self.source, info.field, filling);
            }
        }
    }

    /// The columns that are called like a field but for its own unit at the end (`pocket_depth_mm`), or for numbers, where
    /// the field may have several readings (`pocket_1_width`); none where there are more than it may have.
    fn called_like(&self, info: &FieldInfo) -> Vec<usize> {
        let unit = self.source.units.get(&info.field).copied().or(info.unit);
        let may_repeat = info.field.most_columns() > 1 && info.field.is_measured();
        let wanted = words(info.name);
        let is_one = |name: &String| {
            let all = words(name);
            let (named, own) = unit_of(&all);
            let same_unit = named.is_none() || named == unit;
            same_unit && (own == wanted || (may_repeat && unnumbered(own) == wanted))
        };
        let columns = self.table.columns.iter().enumerate();
        let places: Vec<usize> = columns
            .filter(|(place, name)| !self.fills(*place) && is_one(name))
            .map(|(place, _)| place)
            .collect();
        let most = if may_repeat {
            info.field.most_columns()
        } else {
            1
        };
        if places.len() <= most {
            places
        } else {
            Vec::new()
        }
    }

    /// Whether the column at `place` fills a field.
    pub(super) fn fills(&self, place: usize) -> bool {
        self.columns
            .fillings
            .values()
            .any(|own| own.places.contains(&place))
    }

    /// The last inspections on the rows of this pole list, where the programme says how to read them.
    pub(super) fn last_inspections(&self) -> Option<Result<Bound<'a>, Error>> {
        let source = self.source.last_inspection.as_deref()?;
        let bound = Bound::new(self.table, source, self.file, SourceKind::LastInspections);
        Some(bound.map(|mut bound| {
            if let Some(id) = self.columns.fillings.get(&Field::Id) {
                bound.columns.insert(source, Field::Id, id.clone());
            }
            bound
        }))
    }

    /// The unit in which a field's lengths are written where none stands behind them.
    pub(super) fn unit(&self, field: Field) -> Option<LengthUnit> {
        self.columns.units.get(field as usize).copied().flatten()
    }

    /// Fields that are only carried along and that a column fills.
    pub(super) fn carried(&self) -> &[&'static FieldInfo] {
        &self.columns.carried
    }

    /// Whether a column fills the field.
    pub(super) fn has(&self, field: Field) -> bool {
        self.columns.fill(field).is_some()
    }

    /// An error unless a column fills the field.
    pub(super) fn needs(&self, field: Field) -> Result<(), Error> {
        if self.has(field) {
            return Ok(());
        }
        let info = field.info();
        let place = match self.kind {
            SourceKind::LastInspections => " below [poles.last_inspection]",
            _ => "",
        };
        Err(Error::Programme {
            path: PathBuf::from(&self.table.file),
            what: format!("no column is the field {}: {}", info.name, info.meaning),
            help: format!(
                "name it in the programme{place}: columns = {{ {} = \"...\" }}; columns of the file: {}{}",
                info.name,
                self.table.columns.join(", "),
                header_hint(self.table)
            ),
        })
    }

    /// The owner's name of the column of a field, or names where there are several; ours where there is none.
    pub(super) fn column(&self, field: Field) -> &str {
        self.columns
            .fillings
            .get(&field)
            .map_or(field.info().name, |filling| filling.name.as_str())
    }

    pub(super) fn rows(&'a self) -> impl Iterator<Item = Row<'a>> {
        (0..self.len()).map(|place| self.row(place))
    }

    /// How many rows there are.
    pub(super) fn len(&self) -> usize {
        self.table.rows.len()
    }

    /// The row at `place`, counted from 0.
    pub(super) fn row(&'a self, place: usize) -> Row<'a> {
        let (part, row) = self.table.rows.find(place);
        Row {
            bound: self,
            line: self.table.rows.cells(part, row).line(),
            place: place as u32,
            part,
            in_part: row,
        }
    }

    /// Problems of the table as such: what was noticed on reading, ragged rows, columns of the same name.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let header = self.source.header_row.unwrap_or(1);
        let mut problems: Vec<Problem> = self
            .table
            .noticed
            .iter()
            .map(|noticed| self.problem(noticed.row, noticed.code, &noticed.what))
            .collect();
        for place in self
            .columns
            .fillings
            .values()
            .flat_map(|filling| &filling.places)
        {
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
                    ..self.problem(header, Code::RepeatedColumn, &what)
                });
            }
        }
        let width = self.table.columns.len();
        for (line, cells) in self
            .table
            .rows
            .iter()
            .filter(|(_, cells)| cells.len() != width)
        {
            let beyond_is_blank = cells.iter().skip(width).all(|cell| cell.trim().is_empty());
            if cells.len() < width || !beyond_is_blank {
                let what = format!("the row has {} cells, the header {width}", cells.len());
                problems.push(self.problem(line, Code::RaggedRow, &what));
            }
        }
        problems.extend(self.error_cells());
        problems.extend(unread(self));
        problems
    }

    /// Problems with cells in which a spreadsheet's formula failed. They say nothing, wherever they are read.
    pub(super) fn error_cells(&self) -> Vec<Problem> {
        // Every one of them begins with it, and few lists have it anywhere.
        if !self.table.rows.contain('#') {
            return Vec::new();
        }
        let fields: Vec<_> = self
            .columns
            .fillings
            .iter()
            .filter(|(field, _)| self.kind != SourceKind::LastInspections || **field != Field::Id)
            .flat_map(|(_, filling)| &filling.places)
            .collect();
        let mut problems = Vec::new();
        let of_rows = |rows: Range<usize>| {
            let cells = rows.flat_map(|place| {
                let row = self.row(place);
                let cells = row.cells();
                let cell = move |place: &&usize| Some((**place, cells.get(**place)?));
                let failed = fields
                    .iter()
                    .filter_map(cell)
                    .filter(|(_, cell)| is_error(cell));
                failed.map(move |(place, cell)| self.error_cell(row, place, cell))
            });
            cells.collect::<Vec<_>>()
        };
        fold_ranges(self.len(), of_rows, |own| problems.extend(own));
        problems
    }

    fn error_cell(&self, row: Row<'_>, place: usize, cell: &str) -> Problem {
        let what = format!(
            "{} is what a spreadsheet shows where a formula failed",
            cell.trim()
        );
        Problem {
            cell: Some(Cell {
                column: self.table.columns[place].trim().to_owned(),
                raw: cell.to_owned(),
            }),
            pole: row.filled(Field::Id).map(str::to_owned),
            ..self.problem(row.line, Code::ErrorCell, &what)
        }
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
                Code::ErrorCell => "taken as unknown",
                _ => "kept; missing cells are unknown",
            }
            .to_owned(),
        }
    }
}

impl<'a> Row<'a> {
    fn cells(&self) -> Cells<'a> {
        self.bound.table.rows.cells(self.part, self.in_part)
    }

    /// The cell as it stands, or the joined cells of several columns; empty where there is none.
    #[inline]
    pub(super) fn raw(&self, field: Field) -> &'a str {
        let columns = &self.bound.columns;
        let cell = match columns.fill(field) {
            None => None,
            Some(Fill::Column(place)) => self.cells().get(place as usize),
            Some(Fill::Joined) => {
                let joined = columns.fillings.get(&field).map(|own| &own.joined);
                joined.and_then(|joined| joined.get(self.place as usize).get(0))
            }
        };
        cell.unwrap_or("")
    }

    /// The cell without blanks around it and without the apostrophe that our own lists put before a text like a
    /// formula, if there is anything in it.
    pub(super) fn filled(&self, field: Field) -> Option<&'a str> {
        let raw = self.raw(field);
        if raw.is_empty() {
            return None;
        }
        Some(trimmed(read_back(trimmed(raw)))).filter(|text| !text.is_empty() && !is_error(text))
    }

    /// All cells of the row, mapped or not, without blanks around them.
    pub(super) fn cells_as_written(&self) -> impl Iterator<Item = &'a str> {
        self.cells().iter().map(trimmed)
    }

    /// The readings of a field that may have several: a text for each of its columns, empty where the cell is, or the
    /// parts of its only cell between `;` or `|`.
    pub(super) fn readings(&self, field: Field) -> Vec<&'a str> {
        let says = |cell: &'a str| {
            let text = trimmed(read_back(trimmed(cell)));
            if is_error(text) { "" } else { text }
        };
        let Some(filling) = self.bound.columns.fillings.get(&field) else {
            return Vec::new();
        };
        if let [place] = filling.places[..] {
            let cell = self.cells().get(place).unwrap_or("");
            return says(cell).split([';', '|']).map(str::trim).collect();
        }
        let cells = filling.places.iter().map(|place| self.cells().get(*place));
        cells.map(|cell| says(cell.unwrap_or(""))).collect()
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
            .fillings
            .keys()
            .filter_map(|field| self.text(*field).map(|text| (*field, text)))
            .collect()
    }
}

/// The place of the column that the programme reads a field from.
fn place_of(table: &Table, field: Field, name: &str) -> Result<usize, Error> {
    let wanted = name.trim();
    let place = table.columns.iter().position(|c| c.trim() == wanted);
    place.ok_or_else(|| no_column(table, field, wanted))
}

/// What fills a field from the columns at `places`. Of several cells those that say nothing are left out.
fn filling(table: &Table, source: &TableSource, field: Field, places: Vec<usize>) -> Filling {
    let names = places.iter().map(|place| table.columns[*place].trim());
    let name = names.collect::<Vec<_>>().join(", ");
    let says = |text: &&str| {
        let nothing = text.is_empty() || is_error(text);
        !nothing && (field == Field::Id || !is_blank(text))
    };
    let joined = |(_, cells): (u32, Cells<'_>)| {
        let parts = places.iter().filter_map(|place| cells.get(*place));
        let parts = parts.map(|cell| read_back(cell.trim()).trim()).filter(says);
        parts.collect::<Vec<_>>().join(source.between(field))
    };
    let mut all = Rows::default();
    if places.len() != 1 {
        for row in table.rows.iter() {
            all.push(row.0, &[joined(row)]);
        }
    }
    Filling {
        places,
        name,
        joined: all,
    }
}

/// A hint for a file whose first row is a title.
fn header_hint(table: &Table) -> &'static str {
    let filled = table.columns.iter().filter(|name| !name.trim().is_empty());
    if filled.count() < 2 {
        "; if the header stands further down, set header_row"
    } else {
        ""
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
        help: suggestion(wanted, known, "columns of the file") + header_hint(table),
    }
}
