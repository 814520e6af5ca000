//! Sheets of XLSX workbooks to tables of text cells; the only file that names calamine.
//!
//! Cells become what a person sees in them: numbers without exponents, days in their ISO form, zeros in front where the
//! cell's format has them. Rows keep the sheet's own numbers. What the archive may hold is `archive`'s.

use super::figures::{number_text, text_of};
use super::{MOST_TEXT_BYTES, archive, refused};
use crate::Error;
use crate::intake::Table;
use crate::programme::sources::TableSource;
use crate::programme::text::suggestion;
use calamine::{
    DataRef, Dimensions, ExcelDateTime, Reader, SheetType, SheetVisible, Style, Xlsx, XlsxError,
};
use jiff::civil::{DateTime, date};
use std::collections::BTreeMap;
use std::io::Cursor;
use std::path::Path;

/// Cells of a sheet that are read, the empty ones below the header's names counted: what a machine holds as text.
const MOST_CELLS: usize = 50_000_000;
/// Filled rows among which the header is looked for.
const LOOKED_AT: usize = 50;

type Workbook<'a> = Xlsx<Cursor<&'a [u8]>>;

/// The filled cells of a sheet by row and column, both counted from 0.
type Cells = BTreeMap<u32, BTreeMap<u32, Shown>>;

/// A cell as a person sees it.
#[derive(Debug, Clone)]
struct Shown {
    text: String,
    /// Whether it holds a text, as headers do.
    is_text: bool,
}

/// The table in a workbook's bytes: the sheet that `source` names, or the first one with a table.
///
/// # Errors
/// When the bytes are no workbook or expand to too much, and when the sheet or the header row is not there.
pub(super) fn workbook(bytes: &[u8], source: &TableSource, path: &Path) -> Result<Table, Error> {
    archive::refuse_bomb(bytes, path)?;
    archive::refuse_boast(bytes, MOST_CELLS, path)?;
    let mut book = Workbook::new(Cursor::new(bytes)).map_err(|cause| broken(&cause, path))?;
    if let Some(wanted) = &source.sheet {
        let name = named_sheet(&book, wanted, path)?;
        let cells = cells_of(&mut book, &name, path)?;
        return table(&cells, source, &name, path);
    }
    let sheets = book.sheets_metadata().iter();
    let names: Vec<String> = sheets
        .filter(|sheet| sheet.visible == SheetVisible::Visible && sheet.typ == SheetType::WorkSheet)
        .map(|sheet| sheet.name.clone())
        .collect();
    let mut narrow = None;
    for name in &names {
        let cells = cells_of(&mut book, name, path)?;
        let Some(header) = header_of(&cells, source.header_row) else {
            continue;
        };
        if cells.range(header + 1..).next().is_none() {
            continue;
        }
        if cells[&header].len() > 1 {
            return table(&cells, source, name, path);
        }
        // A page of notes looks like a table of one column: it counts only where no sheet has a wider one.
        narrow = narrow.or(Some((name, cells)));
    }
    match narrow {
        Some((name, cells)) => table(&cells, source, name, path),
        None => Err(refused(
            path,
            "no sheet of the workbook has a table",
            &format!("sheets: {}", names.join(", ")),
        )),
    }
}

fn broken(cause: &XlsxError, path: &Path) -> Error {
    let what = format!("the workbook cannot be read: {cause}");
    let help = "open it and save it again, or save the sheet as CSV";
    refused(path, &what, help)
}

fn too_many_cells(sheet: &str, path: &Path) -> Error {
    let what = format!("the sheet \"{sheet}\" has more than {MOST_CELLS} cells");
    let help = "leave out the columns that the programme does not name, or save the sheet as CSV";
    refused(path, &what, help)
}

fn too_much_text(sheet: &str, path: &Path) -> Error {
    let most = MOST_TEXT_BYTES >> 20;
    let what = format!("the cells of the sheet \"{sheet}\" hold more than {most} MB of text");
    refused(
        path,
        &what,
        "is this a list, one row for each pole or visit?",
    )
}

/// The sheet of this name, whatever its case.
fn named_sheet(book: &Workbook<'_>, wanted: &str, path: &Path) -> Result<String, Error> {
    let names = book.sheet_names();
    let plain = |name: &str| name.trim().to_lowercase();
    let exact = names.iter().find(|name| *name == wanted);
    let alike = || names.iter().find(|name| plain(name) == plain(wanted));
    exact.or_else(alike).cloned().ok_or_else(|| {
        let known = names.iter().map(String::as_str);
        refused(
            path,
            &format!("the workbook has no sheet \"{wanted}\""),
            &suggestion(wanted, known, "sheets"),
        )
    })
}

/// Every filled cell of a sheet; of merged cells the first row's stand for the rows below.
///
/// Cells are read one by one: the range that a sheet says it has may be far larger than what is in it.
fn cells_of(book: &mut Workbook<'_>, sheet: &str, path: &Path) -> Result<Cells, Error> {
    let broken = |cause: XlsxError| broken(&cause, path);
    let merged = book.merge_cells_by_sheet_name(sheet).map_err(broken)?;
    let (mut cells, mut count, mut bytes) = (Cells::new(), 0, 0);
    let mut reader = book.worksheet_cells_reader(sheet).map_err(broken)?;
    let styles = reader.styles().to_vec();
    while let Some((cell, style)) = reader.next_cell_with_style_id().map_err(broken)? {
        let (row, column) = cell.get_position();
        if let Some(shown) = shown(cell.get_value(), styles.get(style)) {
            count += 1;
            bytes += shown.text.len() as u64;
            cells.entry(row).or_default().insert(column, shown);
        }
        if count > MOST_CELLS {
            return Err(too_many_cells(sheet, path));
        }
        // One shared text may stand in every cell.
        if bytes > MOST_TEXT_BYTES {
            return Err(too_much_text(sheet, path));
        }
    }
    for region in merged {
        // Regions of a sheet do not overlap, but those of a made-up one may, each as long as the sheet.
        let (rows, text) = fill_down(&mut cells, region);
        (count, bytes) = (count + rows, bytes + text);
        if count > MOST_CELLS || bytes > MOST_TEXT_BYTES {
            return Err(too_many_cells(sheet, path));
        }
    }
    Ok(cells)
}

/// Writes the first cell of a merged region into the rows below that have anything in them. Cells to the right of it
/// stay empty: a title across the table is no cell of each column. Gives the rows gone through and the bytes of their new
/// texts.
fn fill_down(cells: &mut Cells, region: Dimensions) -> (usize, u64) {
    let ((first, column), (last, _)) = (region.start, region.end);
    let above = cells.get(&first).and_then(|row| row.get(&column)).cloned();
    let Some(above) = above.filter(|_| last > first) else {
        return (0, 0);
    };
    let mut rows = 0;
    for (_, row) in cells.range_mut(first + 1..=last) {
        row.entry(column).or_insert_with(|| above.clone());
        rows += 1;
    }
    (rows, rows as u64 * above.text.len() as u64)
}

/// What a person sees in a cell; nothing where there is nothing.
fn shown(value: &DataRef<'_>, style: Option<&Style>) -> Option<Shown> {
    let (text, is_text) = match value {
        DataRef::Empty => return None,
        DataRef::String(text) => (text.clone(), true),
        DataRef::SharedString(text) => ((*text).to_owned(), true),
        DataRef::Int(number) => (padded(number.to_string(), style), false),
        DataRef::Float(number) => (padded(number_text(*number), style), false),
        DataRef::Bool(holds) => (if *holds { "TRUE" } else { "FALSE" }.to_owned(), false),
        DataRef::DateTime(moment) => (moment_text(moment), false),
        DataRef::DateTimeIso(text) => (text.trim_end_matches("T00:00:00").to_owned(), false),
        DataRef::DurationIso(text) => (text.clone(), false),
        DataRef::Error(error) => (error.to_string(), false),
    };
    (!text.trim().is_empty()).then_some(Shown { text, is_text })
}

/// The number with zeros in front, where the format of its cell is a row of zeros: `00000` shows 42 as 00042.
fn padded(number: String, style: Option<&Style>) -> String {
    let format = style.and_then(|style| style.number_format.as_ref());
    let width = format.map_or(0, |format| {
        let code = format.format_code.trim();
        let zeros = code.bytes().all(|byte| byte == b'0');
        if zeros { code.len() } else { 0 }
    });
    if width > 1 && number.bytes().all(|byte| byte.is_ascii_digit()) {
        format!("{number:0>width$}")
    } else {
        number
    }
}

/// The ISO text of a date or a moment; a time of day or a duration is a number.
fn moment_text(moment: &ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, _) = moment.to_ymd_hms_milli();
    let value = moment.as_f64();
    if moment.is_duration() || (value > 0.0 && value < 1.0) {
        return number_text(value);
    }
    let part = |part: u8| i8::try_from(part).unwrap_or(i8::MAX);
    let whole = i16::try_from(year).ok().and_then(|year| {
        DateTime::new(
            year,
            part(month),
            part(day),
            part(hour),
            part(minute),
            part(second),
            0,
        )
        .ok()
    });
    // Spreadsheets count a 29 February 1900 that never was.
    text_of(whole.unwrap_or_else(|| date(1900, 2, 28).at(0, 0, 0, 0)))
}

/// The row of the header, counted from 0: the one that the programme gives (counted from 1), or the first row where
/// most cells are filled and most of the filled ones are texts.
fn header_of(cells: &Cells, given: Option<u32>) -> Option<u32> {
    if let Some(row) = given {
        return cells.contains_key(&(row - 1)).then_some(row - 1);
    }
    let head = || cells.iter().take(LOOKED_AT);
    let width = head().map(|(_, row)| row.len()).max()?;
    let fits = |row: &BTreeMap<u32, Shown>| {
        let texts = row.values().filter(|cell| cell.is_text).count();
        2 * row.len() > width && 2 * texts > row.len()
    };
    head()
        .find(|(_, row)| fits(row))
        .or_else(|| head().next())
        .map(|(row, _)| *row)
}

/// The header and the rows below it.
fn table(cells: &Cells, source: &TableSource, sheet: &str, path: &Path) -> Result<Table, Error> {
    let Some(header) = header_of(cells, source.header_row) else {
        let what = match source.header_row {
            Some(row) => {
                format!("header_row is {row}, but row {row} of sheet \"{sheet}\" is empty")
            }
            None => format!("the sheet \"{sheet}\" is empty"),
        };
        let help = "header_row is the sheet's own number of the row with the names of the columns";
        return Err(refused(path, &what, help));
    };
    let names = &cells[&header];
    let (first, last) = match (names.first_key_value(), names.last_key_value()) {
        (Some((first, _)), Some((last, _))) => (*first, *last),
        _ => (0, 0),
    };
    let rows = cells.range(header + 1..);
    let width = (last - first + 1) as usize;
    if rows.clone().count().saturating_mul(width) > MOST_CELLS {
        return Err(too_many_cells(sheet, path));
    }
    let text = |row: &BTreeMap<u32, Shown>, column: u32| {
        row.get(&column)
            .map_or_else(String::new, |cell| cell.text.clone())
    };
    let one_row = |(number, row): (&u32, &BTreeMap<u32, Shown>)| {
        let mut own: Vec<String> = (first..=last).map(|column| text(row, column)).collect();
        // Cells beyond the header are kept one after another, so that the row is seen to be too long.
        own.extend(row.range(last + 1..).map(|(_, cell)| cell.text.clone()));
        (number + 1, own)
    };
    Ok(Table {
        file: source.file.clone(),
        columns: (first..=last).map(|column| text(names, column)).collect(),
        rows: rows.map(one_row).collect(),
        ..Table::default()
    })
}

#[cfg(test)]
mod tests {
    use super::super::tests::{fault, rows, table, table_with};
    use crate::programme::sources::TableSource;
    use std::io::{Cursor, Write};
    use zip::write::SimpleFileOptions;

    /// Styles 1 to 3: a date, a date with its time, and five digits.
    const STYLES: &str = r#"<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">
        <numFmts count="1"><numFmt numFmtId="164" formatCode="00000"/></numFmts>
        <cellXfs count="4"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="22"/><xf numFmtId="164"/></cellXfs>
        </styleSheet>"#;

    fn archive(parts: &[(String, String)]) -> Vec<u8> {
        let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, text) in parts {
            archive
                .start_file(name, SimpleFileOptions::default())
                .expect("a part");
            archive.write_all(text.as_bytes()).expect("its text");
        }
        archive.finish().expect("an archive").into_inner()
    }

    /// A workbook of sheets, each with its name, its state and the XML of its rows and what follows them.
    fn workbook(sheets: &[(&str, &str, &str)]) -> Vec<u8> {
        workbook_with(sheets, "<sst/>")
    }

    /// The same with a list of shared texts.
    fn workbook_with(sheets: &[(&str, &str, &str)], texts: &str) -> Vec<u8> {
        let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
        let office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
        let package = "http://schemas.openxmlformats.org/package/2006/relationships";
        let types = "http://schemas.openxmlformats.org/package/2006/content-types";
        let (mut list, mut links) = (Vec::new(), Vec::new());
        let mut parts = Vec::new();
        for (number, (name, state, rows)) in (1..).zip(sheets) {
            list.push(format!(
                "<sheet name=\"{name}\" sheetId=\"{number}\" state=\"{state}\" r:id=\"rId{number}\"/>"
            ));
            links.push(format!(
                "<Relationship Id=\"rId{number}\" Type=\"{office}/worksheet\" Target=\"worksheets/sheet{number}.xml\"/>"
            ));
            parts.push((
                format!("xl/worksheets/sheet{number}.xml"),
                format!("<worksheet xmlns=\"{main}\">{rows}</worksheet>"),
            ));
        }
        links.push(format!(
            "<Relationship Id=\"rId0\" Type=\"{office}/styles\" Target=\"styles.xml\"/>"
        ));
        links.push(format!(
            "<Relationship Id=\"rId00\" Type=\"{office}/sharedStrings\" Target=\"sharedStrings.xml\"/>"
        ));
        let (list, links) = (list.concat(), links.concat());
        parts.push((
            "[Content_Types].xml".to_owned(),
            format!("<Types xmlns=\"{types}\"/>"),
        ));
        parts.push((
            "_rels/.rels".to_owned(),
            format!(
                "<Relationships xmlns=\"{package}\"><Relationship Id=\"rId1\" Type=\"{office}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ));
        parts.push((
            "xl/workbook.xml".to_owned(),
            format!(
                "<workbook xmlns=\"{main}\" xmlns:r=\"{office}\"><sheets>{list}</sheets></workbook>"
            ),
        ));
        parts.push((
            "xl/_rels/workbook.xml.rels".to_owned(),
            format!("<Relationships xmlns=\"{package}\">{links}</Relationships>"),
        ));
        parts.push(("xl/sharedStrings.xml".to_owned(), texts.to_owned()));
        parts.push(("xl/styles.xml".to_owned(), STYLES.to_owned()));
        archive(&parts)
    }

    /// The XML of cells, each with its place and `t:text`, `n:number`, `b:1`, `e:#N/A`, or a style's digit and a number.
    fn sheet(cells: &[(&str, &str)]) -> String {
        let row_of = |place: &str| {
            let row = place.trim_start_matches(|c: char| c.is_ascii_uppercase());
            row.to_owned()
        };
        let cell = |(place, cell): &(&str, &str)| {
            let (kind, value) = cell.split_once(':').expect("a kind and a value");
            match kind {
                "t" => format!("<c r=\"{place}\" t=\"inlineStr\"><is><t>{value}</t></is></c>"),
                "n" => format!("<c r=\"{place}\"><v>{value}</v></c>"),
                "b" | "e" => format!("<c r=\"{place}\" t=\"{kind}\"><v>{value}</v></c>"),
                style => format!("<c r=\"{place}\" s=\"{style}\"><v>{value}</v></c>"),
            }
        };
        let rows: Vec<String> = cells
            .chunk_by(|a, b| row_of(a.0) == row_of(b.0))
            .map(|row| {
                let own: String = row.iter().map(cell).collect();
                format!("<row r=\"{}\">{own}</row>", row_of(row[0].0))
            })
            .collect();
        format!("<sheetData>{}</sheetData>", rows.concat())
    }

    fn poles() -> String {
        sheet(&[
            ("A1", "t:Poles of the north, 2024"),
            ("A3", "t:TAG"),
            ("B3", "t:LINE"),
            ("C3", "t:SET"),
            ("D3", "t:FEET"),
            ("E3", "t:BORED"),
            ("A5", "3:42"),
            ("B5", "t:North"),
            ("C5", "1:31228"),
            ("D5", "n:40.0"),
            ("E5", "b:1"),
            ("A6", "n:1234567890123"),
            ("C6", "2:31228.5"),
            ("D6", "n:39.370000000000005"),
            ("E6", "e:#N/A"),
            ("A9", "n:3"),
            ("F9", "t:beyond"),
        ]) + "<mergeCells count=\"2\"><mergeCell ref=\"A1:E1\"/><mergeCell ref=\"B5:B8\"/></mergeCells>"
    }

    #[test]
    fn cells_are_what_a_person_sees_and_rows_keep_their_numbers() {
        let read = table(&workbook(&[("Poles", "visible", &poles())]));
        assert_eq!(read.columns, ["TAG", "LINE", "SET", "FEET", "BORED"]);
        assert_eq!(
            rows(&read),
            [
                // Serial day 31,228 from 1899-12-30 is 1985-06-30.
                (5, "00042|North|1985-06-30|40|TRUE".to_owned()),
                (
                    6,
                    "1234567890123|North|1985-06-30 12:00:00|39.37|#N/A".to_owned()
                ),
                (9, "3|||||beyond".to_owned()),
            ]
        );
    }

    #[test]
    fn the_first_sheet_with_a_table_is_read_unless_one_is_named() {
        let notes = sheet(&[("A1", "t:Read me"), ("A2", "t:These are poles")]);
        let empty = sheet(&[]);
        let other = sheet(&[
            ("A1", "t:id"),
            ("B1", "t:date"),
            ("A2", "t:X"),
            ("B2", "1:31228"),
        ]);
        let book = workbook(&[
            ("Hidden", "hidden", &other),
            ("Notes", "visible", &notes),
            ("Empty", "visible", &empty),
            ("Poles", "visible", &poles()),
            ("Visits", "visible", &other),
        ]);
        assert_eq!(table(&book).columns[0], "TAG");
        let named = |sheet: &str, header_row| TableSource {
            sheet: Some(sheet.to_owned()),
            header_row,
            ..TableSource::default()
        };
        let read = table_with(&book, &named("visits ", None)).expect("a sheet");
        assert_eq!(rows(&read), [(2, "X|1985-06-30".to_owned())]);
        let read = table_with(&book, &named("Poles", Some(5))).expect("a sheet");
        assert_eq!(read.columns[1], "North");
        let refused =
            |source: &TableSource| table_with(&book, source).expect_err("no table").to_string();
        let words = refused(&named("Pole", None));
        assert!(words.contains("has no sheet \"Pole\""), "{words}");
        assert!(
            words.contains("did you mean \"Poles\"? sheets: Hidden, Notes, Empty, Poles, Visits"),
            "{words}"
        );
        assert!(refused(&named("Poles", Some(2))).contains("row 2 of sheet \"Poles\" is empty"));
        assert!(refused(&named("Empty", None)).contains("is empty"));
        let read = table(&workbook(&[("Notes", "visible", &notes)]));
        assert_eq!(read.columns, ["Read me"]);
        assert!(fault(&workbook(&[("Empty", "visible", &empty)])).contains("no sheet"));
    }

    #[test]
    fn two_cells_far_apart_do_not_fill_the_memory() {
        let far = sheet(&[
            ("A1", "t:id"),
            ("B1", "t:line"),
            ("A2", "t:1"),
            ("XFD1048576", "t:far"),
        ]);
        let read = table(&workbook(&[("Poles", "visible", &far)]));
        assert_eq!(
            rows(&read),
            [(2, "1|".to_owned()), (1_048_576, "||far".to_owned())]
        );
    }

    #[test]
    fn regions_that_overlap_end_in_a_refusal_and_not_in_hours() {
        let many: Vec<String> = (2..=20_001)
            .map(|row| format!("<row r=\"{row}\"><c r=\"A{row}\"><v>{row}</v></c></row>"))
            .collect();
        let header = "<row r=\"1\"><c r=\"A1\" t=\"inlineStr\"><is><t>id</t></is></c></row>";
        // 20,000 rows 5,000 times over are twice the cells that a sheet may have.
        let regions = "<mergeCell ref=\"A1:A30000\"/>".repeat(5_000);
        let rows = format!(
            "<sheetData>{header}{}</sheetData><mergeCells>{regions}</mergeCells>",
            many.concat()
        );
        let said = fault(&workbook(&[("Poles", "visible", &rows)]));
        assert!(said.contains("has more than"), "{said}");
    }

    #[test]
    fn one_shared_text_cannot_fill_the_memory() {
        let cells: Vec<String> = (1..=4_000)
            .map(|row| format!("<row r=\"{row}\"><c r=\"A{row}\" t=\"s\"><v>0</v></c></row>"))
            .collect();
        let rows = format!("<sheetData>{}</sheetData>", cells.concat());
        // 4,000 cells of 1 MB each from a text that is stored once.
        let book = |count: &str| {
            let long = "s".repeat(1 << 20);
            let texts = format!("<sst uniqueCount=\"{count}\"><si><t>{long}</t></si></sst>");
            workbook_with(&[("Poles", "visible", &rows)], &texts)
        };
        let said = fault(&book("1"));
        assert!(said.contains("hold more than 2048 MB of text"), "{said}");
        for boast in ["99999999999", "99999999999999999999999999"] {
            let said = fault(&book(boast));
            assert!(said.contains(&format!("{boast} different texts")), "{said}");
        }
    }

    #[test]
    fn places_that_no_sheet_has_refuse_the_workbook_and_stop_nothing() {
        let rows = sheet(&[("A1", "t:id"), ("B1", "t:line"), ("A2", "t:1")]);
        let region = "<mergeCells><mergeCell ref=\"Z9:A1\"/></mergeCells>";
        let backwards = rows + region;
        let said = fault(&workbook(&[("Poles", "visible", &backwards)]));
        assert!(said.contains("the file is damaged"), "{said}");
    }
}
