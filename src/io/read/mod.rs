//! Files to tables of text cells, whatever form they arrive in; one file below for each kind of file.
//!
//! Nothing is interpreted here: numbers, dates and codes are `intake`'s. Every row keeps the physical line (in a
//! workbook the sheet's own row, in a layer the feature's number) where it starts, and what only a reader can notice is
//! noted.

mod archive;
pub(in crate::io) mod figures;
mod layer;
mod pieces;
mod previous;
mod splitter;
mod text;
mod workbook;

pub use previous::read_previous;

use super::guard::unless_it_gives_up;
use super::parquet;
use crate::Error;
use crate::intake::{Part, Rows, Table, Tables};
use crate::parallel::both;
use crate::programme::Programme;
use crate::programme::sources::TableSource;
use std::borrow::Cow;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Bytes of a file that is read. A national fleet takes some six times the size of its lists in memory.
const MOST_FILE_BYTES: u64 = 4 << 30;
/// Bytes of a cell: a spreadsheet's own limit is 32,767 letters, and whoever writes more has lost a quote.
const MOST_CELL_BYTES: usize = 1 << 20;
/// Bytes of text in all cells of a workbook or a Parquet file, in which one text can stand for many cells.
pub(in crate::io) const MOST_TEXT_BYTES: u64 = 2 << 30;

/// Whether a byte ends a line of separated text, or is one of the two that do.
const fn is_line_end(byte: u8) -> bool {
    matches!(byte, b'\r' | b'\n')
}

/// Tables of all files of a programme, in its order, and the digest of each file's bytes.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadSources {
    /// Pole lists.
    pub poles: Vec<Table>,
    /// Inspection records.
    pub inspections: Vec<Table>,
    /// Work that was done.
    pub work_done: Vec<Table>,
    /// Poles that failed.
    pub failures: Vec<Table>,
    /// The owner's decisions.
    pub decisions: Vec<Table>,
    /// Every file as the programme writes it, with the BLAKE3 digest of its bytes in hexadecimal.
    pub digests: Vec<(String, String)>,
}

impl ReadSources {
    /// The tables, as they are taken in.
    pub fn tables(&self) -> Tables<'_> {
        Tables {
            poles: &self.poles,
            inspections: &self.inspections,
            work_done: &self.work_done,
            failures: &self.failures,
            decisions: &self.decisions,
        }
    }
}

/// Reads every file that the programme names, relative to `folder`.
///
/// # Errors
/// When the programme names no pole list, and on files that are missing, empty or neither a table nor a layer.
pub fn read_sources(programme: &Programme, folder: &Path) -> Result<ReadSources, Error> {
    let sources = &programme.sources;
    if sources.poles.is_empty() {
        return Err(Error::Programme {
            path: folder.to_owned(),
            what: "the programme names no pole list".to_owned(),
            help: "add [[poles]] with file = \"poles.csv\"".to_owned(),
        });
    }
    let mut read = ReadSources::default();
    let mut all = |list: &[TableSource]| {
        let mut tables = Vec::with_capacity(list.len());
        for source in list {
            let path = folder.join(&source.file);
            let bytes = bytes_of(&path, IN_ITS_FOLDER)?;
            let (digest, found) = both(
                || blake3::hash(&bytes).to_hex().to_string(),
                || found_in(&bytes, source, &path),
            );
            read.digests.push((source.file.clone(), digest));
            tables.push(found?.table(bytes, &path)?);
        }
        Ok::<_, Error>(tables)
    };
    let poles = all(&sources.poles)?;
    let inspections = all(&sources.inspections)?;
    let work_done = all(&sources.work_done)?;
    let failures = all(&sources.failures)?;
    let decisions = all(&sources.decisions)?;
    Ok(ReadSources {
        poles,
        inspections,
        work_done,
        failures,
        decisions,
        ..read
    })
}

/// Reads one table by its path from where the command runs. In a text whose first line is a title the header is looked for
/// below it.
///
/// # Errors
/// When the file is missing, empty or neither a table nor a layer.
pub fn read_table(path: &Path) -> Result<Table, Error> {
    let help = "the path counts from where the command runs";
    let bytes = bytes_of(path, help)?;
    let source = TableSource {
        file: path.display().to_string(),
        header_row: match kind_of(&bytes, path)? {
            (Kind::Text, text) => text::header_below_a_title(&text),
            _ => None,
        },
        ..TableSource::default()
    };
    let found = found_in(&bytes, &source, path)?;
    let table = found.table(bytes, path)?;
    Ok(Table {
        header_row: source.header_row,
        ..table
    })
}

/// Where the files of a programme are looked for.
const IN_ITS_FOLDER: &str = "files are looked for in the programme's folder";

/// The bytes of a file; a device that never ends is no file.
fn bytes_of(path: &Path, where_looked: &str) -> Result<Vec<u8>, Error> {
    let read = || -> io::Result<Vec<u8>> {
        let file = File::open(path)?;
        let size = file.metadata()?.len().min(MOST_FILE_BYTES);
        let mut bytes = Vec::with_capacity(size as usize + 1);
        file.take(MOST_FILE_BYTES + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    let bytes = read().map_err(|cause| not_read(path, cause, where_looked))?;
    if bytes.len() as u64 > MOST_FILE_BYTES {
        return Err(refused(
            path,
            &format!("the file has more than {} MB", MOST_FILE_BYTES >> 20),
            "divide the list by area into several files, and name each under [[poles]] or [[inspections]]",
        ));
    }
    Ok(bytes)
}

/// Why a file could not be read: a missing one is the commonest case and has its own help.
fn not_read(path: &Path, cause: io::Error, where_looked: &str) -> Error {
    if cause.kind() == io::ErrorKind::NotFound {
        return Error::Unreadable {
            path: path.to_owned(),
            what: "there is no such file".to_owned(),
            help: where_looked.to_owned(),
        };
    }
    if cause.kind() == io::ErrorKind::IsADirectory {
        return Error::Unreadable {
            path: path.to_owned(),
            what: "this is a folder, not a file".to_owned(),
            help: "name the file that lies in it".to_owned(),
        };
    }
    if cause.kind() == io::ErrorKind::InvalidData {
        return Error::Unreadable {
            path: path.to_owned(),
            what: "this is not a UTF-8 text".to_owned(),
            help: "a programme is a TOML text that names the lists; is this a list of poles? then name it under [[poles]]"
                .to_owned(),
        };
    }
    Error::File {
        path: path.to_owned(),
        cause,
    }
}

/// The kinds of files that hold a table, by how their bytes begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Workbook,
    Parquet,
    Layer,
    Text,
}

/// What the README and every refusal say can be read.
const READABLE: &str =
    "save the list as CSV, as an XLSX workbook, as Parquet or as a GeoJSON layer of points";

/// The table in the bytes of one file, read as `source` says; `path` is for messages.
///
/// # Errors
/// When the bytes are empty or no table with rows, and when `sheet` or `header_row` does not fit the file.
pub fn table_of(bytes: &[u8], source: &TableSource, path: &Path) -> Result<Table, Error> {
    found_in(bytes, source, path)?.table(bytes.to_vec(), path)
}

/// What was found in the bytes of a file.
enum Found {
    /// A table with cells of its own.
    Whole(Table),
    /// A table whose cells stand in a text: that of the bytes as they are, or another where they are in another encoding.
    Text {
        table: Table,
        parts: Vec<Part>,
        text: Option<String>,
    },
}

impl Found {
    /// The table; the bytes become its text where they are one.
    fn table(self, bytes: Vec<u8>, path: &Path) -> Result<Table, Error> {
        let table = match self {
            Self::Whole(table) => table,
            Self::Text { table, parts, text } => {
                let text = text.or_else(|| String::from_utf8(bytes).ok());
                Table {
                    rows: Rows::found(text.unwrap_or_default(), parts),
                    ..table
                }
            }
        };
        if table.rows.is_empty() && table.noticed.is_empty() {
            return Err(refused(
                path,
                "there is a header and no row below it",
                "is this the right file, and was the export finished?",
            ));
        }
        refuse_long_cells(&table, path)?;
        Ok(table)
    }
}

fn found_in(bytes: &[u8], source: &TableSource, path: &Path) -> Result<Found, Error> {
    let (kind, text) = kind_of(bytes, path)?;
    if source.sheet.is_some() && kind != Kind::Workbook {
        return Err(refused(
            path,
            "the programme names a sheet, but this file is no workbook",
            "take sheet out, or name the workbook in file",
        ));
    }
    if source.header_row.is_some() && matches!(kind, Kind::Parquet | Kind::Layer) {
        return Err(refused(
            path,
            "the programme gives a header_row, but the columns of such a file have names of their own",
            "take header_row out",
        ));
    }
    let table = match kind {
        Kind::Workbook => guarded(path, || workbook::workbook(bytes, source, path))?,
        Kind::Parquet => guarded(path, || parquet::read(bytes, &source.file, path))?,
        Kind::Layer => layer::layer(&text, &source.file, path)?,
        Kind::Text => {
            let found = text::separated(&text, source, path)?;
            return Ok(Found::Text {
                table: Table {
                    file: source.file.clone(),
                    columns: found.columns,
                    noticed: found.noticed,
                    ..Table::default()
                },
                parts: found.parts,
                text: match text {
                    Cow::Borrowed(text) => (text.len() < bytes.len()).then(|| text.to_owned()),
                    Cow::Owned(text) => Some(text),
                },
            });
        }
    };
    Ok(Found::Whole(table))
}

/// What a reader of others reads; a refusal where it gives up.
fn guarded(path: &Path, read: impl FnOnce() -> Result<Table, Error>) -> Result<Table, Error> {
    unless_it_gives_up(read).unwrap_or_else(|| {
        Err(refused(
            path,
            "the file is damaged: its reader gave up in the middle of it",
            "open it and save it again, or save the list as CSV",
        ))
    })
}

/// An error when a cell is longer than any note: it would be repeated in every message about it.
fn refuse_long_cells(table: &Table, path: &Path) -> Result<(), Error> {
    let is_long = |cell: &str| cell.len() > MOST_CELL_BYTES;
    let mut rows = table
        .rows
        .iter()
        .filter(|(_, cells)| cells.bytes() > MOST_CELL_BYTES);
    let place = if table.columns.iter().any(|name| is_long(name)) {
        "the header".to_owned()
    } else if let Some((row, _)) = rows.find(|(_, cells)| cells.iter().any(is_long)) {
        format!("row {row}")
    } else {
        return Ok(());
    };
    Err(refused(
        path,
        &format!(
            "{place} has a cell of more than {} MB",
            MOST_CELL_BYTES >> 20
        ),
        "is a quote missing there? and is this a list, one row for each pole or visit?",
    ))
}

/// What the bytes are, and their text where they are one.
fn kind_of<'a>(bytes: &'a [u8], path: &Path) -> Result<(Kind, Cow<'a, str>), Error> {
    if bytes.starts_with(b"PK\x03\x04") {
        return Ok((Kind::Workbook, "".into()));
    }
    if bytes.starts_with(b"PAR1") {
        return Ok((Kind::Parquet, "".into()));
    }
    if bytes.starts_with(b"\xD0\xCF\x11\xE0") {
        return Err(refused(
            path,
            "this is a workbook in the form of before 2007 (.xls), or one that a password protects",
            "save it as .xlsx without a password",
        ));
    }
    let text = text::decoded(bytes);
    if text.trim().is_empty() {
        return Err(refused(
            path,
            "the file is empty",
            "is this the right file, and was the export finished?",
        ));
    }
    if text.contains('\0') {
        return Err(refused(path, "this is not a text file", READABLE));
    }
    let start = text.trim_start();
    if start.starts_with('<') {
        return Err(refused(
            path,
            "this is a web page or XML, not a table",
            READABLE,
        ));
    }
    let kind = if start.starts_with(['{', '[']) {
        Kind::Layer
    } else {
        Kind::Text
    };
    Ok((kind, text))
}

/// Why the content of a file is no use.
fn refused(path: &Path, what: &str, help: &str) -> Error {
    Error::Unreadable {
        path: path.to_owned(),
        what: what.to_owned(),
        help: help.to_owned(),
    }
}

/// The programme in a file, with single keys replaced.
///
/// # Errors
/// When the file cannot be read, and as [`text::read_with`](crate::programme::text::read_with).
pub fn read_programme(path: &Path, settings: &[String]) -> Result<(Programme, PathBuf), Error> {
    let text =
        std::fs::read_to_string(path).map_err(|cause| not_read(path, cause, IN_ITS_FOLDER))?;
    let programme = crate::programme::text::read_with(&text, path, settings)?;
    let folder = path.parent().map(Path::to_owned).unwrap_or_default();
    Ok((programme, folder))
}

#[cfg(test)]
mod tests {
    use super::table_of;
    use crate::Error;
    use crate::intake::Table;
    use crate::programme::sources::TableSource;
    use std::path::Path;

    pub(super) fn table_with(bytes: &[u8], source: &TableSource) -> Result<Table, Error> {
        table_of(bytes, source, Path::new("t.csv"))
    }

    pub(super) fn table(bytes: &[u8]) -> Table {
        table_with(bytes, &TableSource::default()).expect("a table")
    }

    pub(super) fn fault(bytes: &[u8]) -> String {
        let refused = table_with(bytes, &TableSource::default());
        refused.expect_err("no table").to_string()
    }

    pub(super) fn rows(table: &Table) -> Vec<(u32, String)> {
        table
            .rows
            .iter()
            .map(|(line, cells)| (line, cells.iter().collect::<Vec<_>>().join("|")))
            .collect()
    }

    #[test]
    fn what_is_no_table_is_refused_with_help() {
        assert!(fault(b"\n \n").contains("empty"));
        assert!(fault(b"id,a\n\n").contains("no row below"));
        assert!(fault(b"PK\x03\x04rest").contains("the workbook cannot be read"));
        assert!(fault(b"PAR1rest").contains("Parquet"));
        assert!(fault(b"\xD0\xCF\x11\xE0rest").contains(".xlsx"));
        assert!(fault(b"<html></html>").contains("web page"));
        assert!(fault(b"a\0b\0\0").contains("not a text"));
        assert!(fault(b"{\"type\":\"Feature\"}").contains("not a FeatureCollection"));
        assert!(fault(b"{\"type\":").contains("not valid JSON"));
    }

    #[test]
    fn a_cell_as_long_as_a_book_is_refused() {
        let book = "x".repeat(super::MOST_CELL_BYTES + 1);
        let list = format!("id,note\n1,\n2,{book}\n");
        assert!(fault(list.as_bytes()).contains("row 3 has a cell of more than 1 MB"));
        let list = format!("id,{book}\n1,\n");
        assert!(fault(list.as_bytes()).contains("the header has a cell"));
        let note = &book[1..];
        assert_eq!(
            table(format!("id,note\n1,{note}\n").as_bytes())
                .rows
                .get(0)
                .get(1),
            Some(note)
        );
    }

    #[cfg(unix)]
    #[test]
    fn a_folder_and_a_missing_file_are_said_for_what_they_are() {
        let said = |path: &str| {
            let read = super::read_table(Path::new(path));
            read.expect_err("no file").to_string()
        };
        assert!(said("/dev").contains("this is a folder"));
        assert!(said("/dev/null").contains("empty"));
        assert!(said("/nowhere").contains("no such file"));
    }

    #[test]
    fn keys_that_do_not_fit_the_file_are_refused() {
        let sheet = TableSource {
            sheet: Some("Poles".to_owned()),
            ..TableSource::default()
        };
        let refused = table_with(b"id\n1\n", &sheet).expect_err("no workbook");
        assert!(refused.to_string().contains("no workbook"));
        let header = TableSource {
            header_row: Some(2),
            ..TableSource::default()
        };
        let layer = br#"{"type":"FeatureCollection","features":[]}"#;
        let refused = table_with(layer, &header).expect_err("no header row");
        assert!(refused.to_string().contains("header_row"));
    }
}
