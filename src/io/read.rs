//! Files to tables of text cells: separated text in the encodings that owners use, and layers of points.
//!
//! Nothing is interpreted here: numbers, dates and codes are `intake`'s. Every row keeps the physical line (or the
//! feature's number) where it starts, ragged rows and stray quotes survive, and what only a reader can notice is noted.

use crate::Error;
use crate::intake::{Noticed, Table, Tables};
use crate::problem::Code;
use crate::programme::Programme;
use crate::programme::sources::TableSource;
use geojson::GeometryValue;
use serde_json::Value;
use std::borrow::Cow;
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
            tables.push(table_of(&bytes, &source.file, &path)?);
        }
        Ok::<_, Error>(tables)
    };
    let poles = all(&sources.poles)?;
    let inspections = all(&sources.inspections)?;
    let work_done = all(&sources.work_done)?;
    let failures = all(&sources.failures)?;
    Ok(ReadSources {
        poles,
        inspections,
        work_done,
        failures,
        ..read
    })
}

/// Reads one table by its path from where the command runs.
///
/// # Errors
/// When the file is missing, empty or neither a table nor a layer.
pub fn read_table(path: &Path) -> Result<Table, Error> {
    let help = "the path counts from where the command runs";
    let bytes = std::fs::read(path).map_err(|cause| not_read(path, cause, help))?;
    table_of(&bytes, &path.display().to_string(), path)
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

/// The table in the bytes of one file; `file` is its name in the programme, `path` is for messages.
///
/// # Errors
/// When the bytes are empty or neither a table with rows nor a layer.
pub fn table_of(bytes: &[u8], file: &str, path: &Path) -> Result<Table, Error> {
    let refuse = |what: &str, help: &str| Error::Unreadable {
        path: path.to_owned(),
        what: what.to_owned(),
        help: help.to_owned(),
    };
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(refuse(
            "this is a workbook or an archive, not a text",
            "save the sheet as CSV",
        ));
    }
    let text = decoded(bytes);
    if text.trim().is_empty() {
        return Err(refuse(
            "the file is empty",
            "is this the right file, and was the export finished?",
        ));
    }
    if text.contains('\0') {
        return Err(refuse(
            "this is not a text file",
            "save the list as CSV or as a GeoJSON layer of points",
        ));
    }
    let start = text.trim_start();
    let is_layer = start.starts_with(['{', '[']);
    if start.starts_with('<') {
        return Err(refuse(
            "this is a web page or XML, not a table",
            "save the list as CSV or as a GeoJSON layer of points",
        ));
    }
    let table = if is_layer {
        layer(&text, file, path)?
    } else {
        separated(&text, file)
    };
    if table.rows.is_empty() && table.noticed.is_empty() {
        return Err(refuse(
            "there is a header and no row below it",
            "is this the right file, and was the export finished?",
        ));
    }
    Ok(table)
}

/// UTF-8 or UTF-16 by their marks, UTF-8 where it is valid, and Latin-1 as Windows writes it otherwise.
fn decoded(bytes: &[u8]) -> Cow<'_, str> {
    if let Some((encoding, mark)) = encoding_rs::Encoding::for_bom(bytes) {
        return encoding.decode_without_bom_handling(&bytes[mark..]).0;
    }
    std::str::from_utf8(bytes).map_or_else(
        |_| {
            encoding_rs::WINDOWS_1252
                .decode_without_bom_handling(bytes)
                .0
        },
        Cow::Borrowed,
    )
}

/// The separator that the header line has most of.
fn separator(text: &str) -> u8 {
    let header = text.lines().find(|line| !line.trim().is_empty());
    let count = |mark: u8| {
        let mut quoted = false;
        header.unwrap_or("").bytes().fold(0, |count, byte| {
            quoted ^= byte == b'"';
            count + usize::from(byte == mark && !quoted)
        })
    };
    // The first of the list wins when there are as many of two.
    [b'\t', b';', b',']
        .into_iter()
        .max_by_key(|mark| count(*mark))
        .unwrap_or(b',')
}

/// A record: where its text starts and ends, and its cells.
struct Record {
    start: usize,
    end: usize,
    cells: Vec<String>,
}

fn records(text: &str, separator: u8, quoting: bool) -> Vec<Record> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .quoting(quoting)
        .from_reader(text.as_bytes());
    let mut list: Vec<Record> = Vec::new();
    let mut record = csv::StringRecord::new();
    // Reading from memory with flexible rows and valid UTF-8 has nothing left to fail at.
    while reader.read_record(&mut record).unwrap_or(false) {
        let start = record.position().map_or(0, csv::Position::byte) as usize;
        let end = reader.position().byte() as usize;
        list.push(Record {
            start,
            end: end.min(text.len()),
            cells: record.iter().map(str::to_owned).collect(),
        });
    }
    list
}

fn separated(text: &str, file: &str) -> Table {
    let separator = separator(text);
    let mut lines = Lines::new(text);
    let mut all = records(text, separator, true)
        .into_iter()
        .filter(|record| !is_blank(&record.cells));
    let mut table = Table {
        file: file.to_owned(),
        columns: all.next().map(|header| header.cells).unwrap_or_default(),
        ..Table::default()
    };
    let width = table.columns.len();
    for record in all {
        let body = &text[record.start..record.end];
        let offset = record.start + (body.len() - body.trim_start_matches(['\r', '\n']).len());
        let row = lines.at(offset);
        match line_by_line(&text[offset..record.end], separator, width, &record.cells) {
            None => table.rows.push((row, record.cells)),
            Some(own) => {
                table.noticed.push(Noticed {
                    row,
                    code: Code::UnclosedQuote,
                    what: match own.len() - 1 {
                        1 => "a quote opened here would swallow the next row".to_owned(),
                        more => format!("a quote opened here would swallow the next {more} rows"),
                    },
                });
                let numbered = own
                    .into_iter()
                    .map(|(further, cells)| (row + further, cells));
                table.rows.extend(numbered);
            }
        }
    }
    table
}

fn is_blank(cells: &[String]) -> bool {
    cells.iter().all(|cell| cell.trim().is_empty())
}

/// The rows of a record over several lines, when those lines look like rows of their own: an unclosed quote.
///
/// A quoted text with line breaks hardly ever has as many separators in most of its lines as the table has; with fewer
/// than four columns it might, and then the record must be ragged too.
fn line_by_line(
    body: &str,
    separator: u8,
    width: usize,
    cells: &[String],
) -> Option<Vec<(u32, Vec<String>)>> {
    let body = body.trim_end_matches(['\r', '\n']);
    if width < 2 || !body.contains('\n') || (width < 4 && cells.len() == width) {
        return None;
    }
    let own_cells = |line: &str, quoting| {
        records(line, separator, quoting)
            .into_iter()
            .next()
            .map(|record| record.cells)
    };
    let rows: Vec<(u32, Vec<String>)> = body
        .lines()
        .enumerate()
        .filter_map(|(further, line)| {
            let quoted = own_cells(line, true).filter(|cells| cells.len() == width);
            let cells = quoted.or_else(|| own_cells(line, false))?;
            let bare = |cell: String| cell.trim().trim_matches('"').to_owned();
            Some((
                further as u32,
                cells.into_iter().map(bare).collect::<Vec<_>>(),
            ))
        })
        .filter(|(_, cells)| !is_blank(cells))
        .collect();
    let further = rows.len().saturating_sub(1);
    let fitting = rows.iter().skip(1).filter(|(_, c)| c.len() == width);
    (further > 0 && fitting.count() * 2 > further).then_some(rows)
}

/// Line numbers of offsets that only grow.
struct Lines<'a> {
    bytes: &'a [u8],
    offset: usize,
    line: u32,
}

impl<'a> Lines<'a> {
    fn new(text: &'a str) -> Self {
        Self {
            bytes: text.as_bytes(),
            offset: 0,
            line: 1,
        }
    }

    /// The line of an offset; a line ends with LF, CR LF or CR.
    fn at(&mut self, offset: usize) -> u32 {
        let passed = self.offset..offset.min(self.bytes.len());
        for place in passed {
            let next = self.bytes.get(place + 1);
            let ends = match self.bytes[place] {
                b'\n' => true,
                b'\r' => next != Some(&b'\n'),
                _ => false,
            };
            self.line += u32::from(ends);
        }
        self.offset = offset;
        self.line
    }
}

/// A layer (RFC 7946): properties, the feature's id and its coordinates as columns.
fn layer(text: &str, file: &str, path: &Path) -> Result<Table, Error> {
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
    for (row, point) in points {
        let cells = columns.iter().map(|column| match column.as_str() {
            name if Some(name) == id_column => point.id.clone(),
            "longitude" => point.longitude.clone(),
            "latitude" => point.latitude.clone(),
            name => point.properties.get(name).map_or(String::new(), cell_of),
        });
        table.rows.push((row, cells.collect()));
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
    use crate::intake::Table;
    use crate::problem::Code;
    use std::path::Path;

    fn table(bytes: &[u8]) -> Table {
        table_of(bytes, "t.csv", Path::new("t.csv")).expect("a table")
    }

    fn fault(bytes: &[u8]) -> String {
        table_of(bytes, "t.csv", Path::new("t.csv"))
            .expect_err("no table")
            .to_string()
    }

    fn rows(table: &Table) -> Vec<(u32, String)> {
        table
            .rows
            .iter()
            .map(|(line, cells)| (*line, cells.join("|")))
            .collect()
    }

    #[test]
    fn rows_keep_the_line_where_they_start() {
        let read = table(b"id,note\r\n\r\n1,\"two\r\nlines\"\r\n\r\n,\r\n2,x\r\n");
        assert_eq!(
            rows(&read),
            [(3, "1|two\r\nlines".to_owned()), (7, "2|x".to_owned())]
        );
        let old = table(b"id,note\r1,a\r\r2,b\r");
        assert_eq!(rows(&old), [(2, "1|a".to_owned()), (4, "2|b".to_owned())]);
    }

    #[test]
    fn separators_and_encodings_are_found() {
        for (bytes, expected) in [
            (
                b"\xef\xbb\xbfid;street\n1;M\xc3\xbchl, 2\n".as_slice(),
                "1|Mühl, 2",
            ),
            (b"id\tstreet\n1\tM\xfchl\n".as_slice(), "1|Mühl"),
            (
                b"\xff\xfei\0d\0,\0a\0\n\0\x31\0,\0\xfc\0\n\0".as_slice(),
                "1|ü",
            ),
        ] {
            let read = table(bytes);
            assert_eq!(read.columns[0], "id");
            assert_eq!(rows(&read)[0].1, expected);
        }
    }

    #[test]
    fn ragged_rows_and_stray_quotes_survive() {
        let read = table(b"id,size,note\n1,5\" pole,x\n2\n3,a,b,c\n");
        let lines: Vec<String> = rows(&read).into_iter().map(|(_, text)| text).collect();
        assert_eq!(lines, ["1|5\" pole|x", "2", "3|a|b|c"]);
    }

    #[test]
    fn an_unclosed_quote_swallows_nothing() {
        let read = table(b"id,a,b,c\n1,x,\"open,z\n2,\"u,v\",w,z\n3,u,v,w\n");
        assert_eq!(
            rows(&read),
            [
                (2, "1|x|open|z".to_owned()),
                (3, "2|u,v|w|z".to_owned()),
                (4, "3|u|v|w".to_owned())
            ]
        );
        assert_eq!(read.noticed[0].code, Code::UnclosedQuote);
        assert_eq!(read.noticed[0].row, 2);
    }

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
    fn what_is_no_table_is_refused_with_help() {
        assert!(fault(b"\n \n").contains("empty"));
        assert!(fault(b"id,a\n\n").contains("no row below"));
        assert!(fault(b"PK\x03\x04rest").contains("workbook"));
        assert!(fault(b"<html></html>").contains("web page"));
        assert!(fault(b"a\0b\0").contains("not a text"));
        assert!(fault(b"{\"type\":\"Feature\"}").contains("not a FeatureCollection"));
        assert!(fault(b"{\"type\":").contains("not valid JSON"));
    }
}
