//! Files to tables of text cells: separated text in the encodings that owners use, and layers of points.
//!
//! Nothing is interpreted here: numbers, dates and codes are `intake`'s. Every row keeps the physical line (or the
//! feature's number) where it starts, ragged rows and stray quotes survive, and what only a reader can notice is noted.

use crate::Error;
use crate::intake::{Noticed, Table};
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
    /// Every file as the programme writes it, with the BLAKE3 digest of its bytes in hexadecimal.
    pub digests: Vec<(String, String)>,
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
            let bytes = std::fs::read(&path).map_err(|cause| Error::File {
                path: path.clone(),
                cause,
            })?;
            let digest = blake3::hash(&bytes).to_hex().to_string();
            read.digests.push((source.file.clone(), digest));
            tables.push(table_of(&bytes, &source.file, &path)?);
        }
        Ok::<_, Error>(tables)
    };
    let poles = all(&sources.poles)?;
    let inspections = all(&sources.inspections)?;
    Ok(ReadSources {
        poles,
        inspections,
        ..read
    })
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
                    what: format!("a quote opened here would swallow {} rows", own.len() - 1),
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

/// A GeoJSON layer: properties, the feature's id and its coordinates as columns.
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
    table.columns = layer_columns(points.iter().map(|(_, point)| point));
    let id_column = id_column(&table.columns);
    for (row, point) in points {
        let cells = table.columns.iter().map(|column| {
            if column == id_column {
                return point.id.clone();
            }
            match point.properties.get(column) {
                Some(value) => cell_of(value),
                None if column == "longitude" => point.longitude.clone(),
                None if column == "latitude" => point.latitude.clone(),
                None => String::new(),
            }
        });
        table.rows.push((row, cells.collect()));
    }
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
    let feature = geojson::Feature::from_json_value(feature.clone())
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

/// The feature's own id is the column `id`, or `@id` where a property is called that.
fn id_column(columns: &[String]) -> &'static str {
    if columns.iter().any(|column| column == "@id") {
        "@id"
    } else {
        "id"
    }
}

/// Names of all properties in alphabetical order, behind the id and the coordinates.
fn layer_columns<'a>(points: impl Iterator<Item = &'a Point>) -> Vec<String> {
    let mut names = std::collections::BTreeSet::new();
    for point in points {
        names.extend(point.properties.keys().cloned());
    }
    let id = if names.contains("id") { "@id" } else { "id" };
    let mut columns = vec![id.to_owned()];
    for own in ["longitude", "latitude"] {
        if !names.contains(own) {
            columns.push(own.to_owned());
        }
    }
    names.remove(id);
    columns.extend(names);
    columns
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
    let text = std::fs::read_to_string(path).map_err(|cause| Error::File {
        path: path.to_owned(),
        cause,
    })?;
    let programme = crate::programme::text::read_with(&text, path, settings)?;
    let folder = path.parent().map(Path::to_owned).unwrap_or_default();
    Ok((programme, folder))
}
