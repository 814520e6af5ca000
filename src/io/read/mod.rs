//! Files to tables of text cells, whatever form they arrive in; one file below for each kind of file.
//!
//! Nothing is interpreted here: numbers, dates and codes are `intake`'s. Every row keeps the physical line (in a
//! workbook the sheet's own row, in a layer the feature's number) where it starts, and what only a reader can notice is
//! noted.

pub(in crate::io) mod figures;
mod layer;
mod previous;
mod text;
mod workbook;

pub use previous::read_previous;

use super::parquet;
use crate::Error;
use crate::intake::{Table, Tables};
use crate::programme::Programme;
use crate::programme::sources::TableSource;
use std::path::{Path, PathBuf};

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
            let bytes =
                std::fs::read(&path).map_err(|cause| not_read(&path, cause, IN_ITS_FOLDER))?;
            let digest = blake3::hash(&bytes).to_hex().to_string();
            read.digests.push((source.file.clone(), digest));
            tables.push(table_of(&bytes, source, &path)?);
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
    let bytes = std::fs::read(path).map_err(|cause| not_read(path, cause, help))?;
    let source = TableSource {
        file: path.display().to_string(),
        header_row: match kind_of(&bytes, path)? {
            (Kind::Text, text) => text::header_below_a_title(&text),
            _ => None,
        },
        ..TableSource::default()
    };
    let table = table_of(&bytes, &source, path)?;
    Ok(Table {
        header_row: source.header_row,
        ..table
    })
}

/// Where the files of a programme are looked for.
const IN_ITS_FOLDER: &str = "files are looked for in the programme's folder";

/// Why a file could not be read: a missing one is the commonest case and has its own help.
fn not_read(path: &Path, cause: std::io::Error, where_looked: &str) -> Error {
    if cause.kind() == std::io::ErrorKind::NotFound {
        return Error::Unreadable {
            path: path.to_owned(),
            what: "there is no such file".to_owned(),
            help: where_looked.to_owned(),
        };
    }
    if cause.kind() == std::io::ErrorKind::IsADirectory {
        return Error::Unreadable {
            path: path.to_owned(),
            what: "this is a folder, not a file".to_owned(),
            help: "name the file that lies in it".to_owned(),
        };
    }
    if cause.kind() == std::io::ErrorKind::InvalidData {
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
        Kind::Workbook => workbook::workbook(bytes, source, path)?,
        Kind::Parquet => parquet::read(bytes, &source.file, path)?,
        Kind::Layer => layer::layer(&text, &source.file, path)?,
        Kind::Text => text::separated(&text, source, path)?,
    };
    if table.rows.is_empty() && table.noticed.is_empty() {
        return Err(refused(
            path,
            "there is a header and no row below it",
            "is this the right file, and was the export finished?",
        ));
    }
    Ok(table)
}

/// What the bytes are, and their text where they are one.
fn kind_of<'a>(bytes: &'a [u8], path: &Path) -> Result<(Kind, std::borrow::Cow<'a, str>), Error> {
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
            .map(|(line, cells)| (*line, cells.join("|")))
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
