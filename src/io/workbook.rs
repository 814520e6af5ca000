//! `schedule.xlsx`: sheets for people who plan in a workbook; the only file that names `rust_xlsxwriter`.
//!
//! Above each table stand the caution and what the table holds, then the header, which stays in sight and filters. Cells
//! have their types: days are days, numbers numbers, and a text is never a formula. No clock: the same plan gives the same
//! bytes.

use super::guard::unless_it_gives_up;
use crate::tables::{ColumnInfo, Holds, Sheet, Value, harmless};
use crate::units::Date;
use crate::words::quantities::counted;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};
use std::borrow::Cow;
use std::io::{self, Write};

/// Row of the header, counted from 0: the caution and the note stand above it.
const HEADER: u32 = 2;

/// Rows of a table: what a sheet of this form takes (ECMA-376 leaves it open; programs stop at 1,048,576).
const MOST_ROWS: usize = 1_048_576 - HEADER as usize - 1;

/// Letters of a cell, by the programs' own limit.
const LONGEST_TEXT: usize = 32_767;

/// Rows looked at for the widths of columns.
const ROWS_FOR_WIDTHS: usize = 200;

/// Letters that a column is wide, at least and at most.
const WIDTHS: (usize, usize) = (7, 60);

/// Columns of a sheet that is printed on pages side by side instead of being shrunk to one.
const MANY_COLUMNS: usize = 16;

/// One sheet of a workbook.
pub struct Page<'a> {
    /// What its rows are, in one sentence.
    pub note: &'static str,
    /// Columns at the left that stay in sight.
    pub fixed: u16,
    /// The table.
    pub sheet: &'a Sheet<'a>,
}

/// Writes sheets as a workbook that bears a title, a day and on every sheet a caution.
///
/// # Errors
/// When `out` does not take it.
pub fn write(
    pages: &[Page<'_>],
    title: &str,
    caution: &str,
    day: Date,
    out: impl Write + Send,
) -> io::Result<()> {
    // Where its temporary file finds no room, the writer gives up in a panic.
    match unless_it_gives_up(|| put(pages, title, caution, day, out)) {
        Some(done) => done.map_err(io::Error::other),
        None => Err(io::Error::other(format!(
            "the workbook could not be written; is there room for temporary files in {}?",
            std::env::temp_dir().display()
        ))),
    }
}

fn put(
    pages: &[Page<'_>],
    title: &str,
    caution: &str,
    day: Date,
    out: impl Write + Send,
) -> Result<(), XlsxError> {
    let mut book = Workbook::new();
    let mut properties = DocProperties::new().set_title(title).set_comment(caution);
    if let Some(day) = excel_day(day) {
        properties = properties.set_creation_datetime(&day);
    }
    book.set_properties(&properties);
    let formats = Formats::new();
    for page in pages {
        // Rows go to a temporary file as they come: a national fleet needs no second copy in memory.
        let sheet = book.add_worksheet_with_low_memory()?;
        set_up(sheet, page, caution)?;
        fill(sheet, page, caution, &formats)?;
    }
    book.save_to_writer(out)
}

struct Formats {
    caution: Format,
    note: Format,
    header: Format,
    day: Format,
    /// A little off the number before it.
    text: Format,
    /// For a text that a program could take for a formula when somebody edits it.
    quoted: Format,
}

impl Formats {
    fn new() -> Self {
        Self {
            caution: Format::new().set_bold(),
            note: Format::new().set_italic(),
            header: Format::new()
                .set_bold()
                .set_background_color("#DCE6F1")
                .set_border_bottom(rust_xlsxwriter::FormatBorder::Thin),
            day: Format::new().set_num_format("yyyy-mm-dd"),
            text: Format::new().set_indent(1),
            quoted: Format::new().set_indent(1).set_quote_prefix(),
        }
    }
}

/// Name, panes, filter, widths and the form of a printed page.
fn set_up(sheet: &mut Worksheet, page: &Page<'_>, caution: &str) -> Result<(), XlsxError> {
    let columns = &page.sheet.columns;
    let last_column = columns.len().saturating_sub(1) as u16;
    let last_row = HEADER + page.sheet.len.min(MOST_ROWS) as u32;
    sheet
        .set_name(page.sheet.name)?
        .set_freeze_panes(HEADER + 1, page.fixed)?
        .autofilter(HEADER, 0, last_row, last_column)?;
    for (column, width) in widths(page.sheet).into_iter().enumerate() {
        sheet.set_column_width(column as u16, width as f64)?;
    }
    // In a header of print "&" begins a code.
    let printed = caution.replace('&', "&&");
    sheet
        .set_landscape()
        .set_paper_size(A4)
        .set_repeat_rows(HEADER, HEADER)?
        .set_header(format!("&C&8{printed}"))
        .set_footer("&L&A&RPage &P of &N");
    if columns.len() > MANY_COLUMNS {
        sheet.set_print_scale(60);
        if page.fixed > 0 {
            sheet.set_repeat_columns(0, page.fixed - 1)?;
        }
    } else {
        sheet.set_print_fit_to_pages(1, 0);
    }
    Ok(())
}

/// The number of the paper size in the format.
const A4: u8 = 9;

fn fill(
    sheet: &mut Worksheet,
    page: &Page<'_>,
    caution: &str,
    formats: &Formats,
) -> Result<(), XlsxError> {
    let left_out = page.sheet.len.saturating_sub(MOST_ROWS);
    let note = match left_out {
        0 => Cow::Borrowed(page.note),
        _ => Cow::Owned(format!(
            "{} {} do not fit into a sheet: see the CSV.",
            page.note,
            counted(left_out, "more row", "more rows")
        )),
    };
    sheet.write_string_with_format(0, 0, caution, &formats.caution)?;
    sheet.write_string_with_format(1, 0, note, &formats.note)?;
    for (column, info) in (0..).zip(&page.sheet.columns) {
        sheet.write_string_with_format(HEADER, column, info.name, &formats.header)?;
    }
    for (number, row) in page.sheet.rows().take(MOST_ROWS).enumerate() {
        let at = HEADER + 1 + number as u32;
        for (column, value) in (0..).zip(&row) {
            write_cell(sheet, at, column, value, formats)?;
        }
    }
    Ok(())
}

fn write_cell(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    value: &Value,
    formats: &Formats,
) -> Result<(), XlsxError> {
    match value {
        Value::Empty => {}
        Value::Whole(number) => {
            sheet.write_number(row, column, *number as f64)?;
        }
        Value::Number(number) => {
            sheet.write_number(row, column, *number)?;
        }
        Value::Day(day) => match excel_day(*day) {
            Some(written) => {
                sheet.write_datetime_with_format(row, column, &written, &formats.day)?;
            }
            None => {
                sheet.write_string(row, column, day.to_string())?;
            }
        },
        Value::Text(text) => {
            let text: String = text.chars().take(LONGEST_TEXT).collect();
            if harmless(&text).len() == text.len() {
                sheet.write_string_with_format(row, column, text, &formats.text)?;
            } else {
                sheet.write_string_with_format(row, column, text, &formats.quoted)?;
            }
        }
    }
    Ok(())
}

/// A day that the format can count: from 1900 on.
fn excel_day(day: Date) -> Option<ExcelDateTime> {
    let part = |number: i8| u8::try_from(number).ok();
    let year = u16::try_from(day.year()).ok()?;
    ExcelDateTime::from_ymd(year, part(day.month())?, part(day.day())?).ok()
}

/// Widths of the columns in letters, by their names and first rows.
fn widths(sheet: &Sheet<'_>) -> Vec<usize> {
    // The filter's button covers two letters of a name.
    let of_name = |column: &ColumnInfo| column.name.len() + 3;
    let mut widths: Vec<usize> = sheet.columns.iter().map(of_name).collect();
    for row in sheet.rows().take(ROWS_FOR_WIDTHS) {
        for (width, (value, column)) in widths.iter_mut().zip(row.iter().zip(&sheet.columns)) {
            let letters = value.cell().chars().count() + 2;
            let letters = if column.holds == Holds::Day {
                11
            } else {
                letters
            };
            *width = (*width).max(letters);
        }
    }
    let (least, most) = WIDTHS;
    widths
        .into_iter()
        .map(|width| width.clamp(least, most))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::column;
    use crate::tables::schedule::schedule;
    use crate::words::sample;
    use calamine::{Data, Reader, Xlsx};
    use jiff::civil::date;
    use std::io::Cursor;

    fn book(sheet: &Sheet<'_>) -> Vec<u8> {
        let page = Page {
            note: "A note.",
            fixed: 2,
            sheet,
        };
        let mut bytes = Vec::new();
        write(&[page], "Title", "Beware.", date(2026, 1, 1), &mut bytes).expect("memory takes it");
        bytes
    }

    /// A workbook holds a number as text that gives back the same number.
    fn same(one: f64, other: f64) -> bool {
        one.to_bits() == other.to_bits()
    }

    fn cells(bytes: Vec<u8>) -> Vec<Vec<Data>> {
        let mut read: Xlsx<_> =
            calamine::open_workbook_from_rs(Cursor::new(bytes)).expect("a book");
        let range = read.worksheet_range("schedule").expect("the sheet");
        range.rows().map(<[Data]>::to_vec).collect()
    }

    #[test]
    fn every_cell_is_read_back_with_its_type() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        let rows = cells(book(&sheet));
        assert_eq!(rows.len(), 3 + sheet.len);
        assert_eq!(rows[0][0], Data::String("Beware.".to_owned()));
        assert_eq!(rows[1][0], Data::String("A note.".to_owned()));
        for (column, info) in sheet.columns.iter().enumerate() {
            assert_eq!(rows[2][column], Data::String(info.name.to_owned()));
        }
        for (row, values) in rows[3..].iter().zip(sheet.rows()) {
            for (cell, value) in row.iter().zip(&values) {
                match (value, cell) {
                    (Value::Empty, Data::Empty) => {}
                    (Value::Text(text), Data::String(read)) => assert_eq!(text, read),
                    (Value::Whole(number), Data::Float(read)) => {
                        assert!(same(*number as f64, *read));
                    }
                    (Value::Number(number), Data::Float(read)) => assert!(same(*number, *read)),
                    (Value::Day(day), Data::DateTime(read)) => {
                        let (year, month, day_read, ..) = read.to_ymd_hms_milli();
                        assert_eq!(*day, date(year as i16, month as i8, day_read as i8));
                    }
                    other => panic!("{other:?}"),
                }
            }
        }
    }

    #[test]
    fn a_text_is_never_a_formula_and_an_old_day_is_a_text() {
        let columns = vec![
            column("a", Holds::Text, "a text", |(): &()| {
                Value::text("=HYPERLINK(\"http://x\")")
            }),
            column("b", Holds::Day, "a day", |()| {
                Value::Day(date(1899, 12, 30))
            }),
        ];
        let sheet = Sheet::new("schedule", columns, 1, |_| ());
        let bytes = book(&sheet);
        let mut read: Xlsx<_> =
            calamine::open_workbook_from_rs(Cursor::new(bytes.clone())).expect("a book");
        let formulas = read.worksheet_formula("schedule").expect("the sheet");
        assert!(formulas.is_empty());
        let rows = cells(bytes);
        assert_eq!(
            rows[3],
            [
                Data::String("=HYPERLINK(\"http://x\")".to_owned()),
                Data::String("1899-12-30".to_owned())
            ]
        );
    }

    #[test]
    fn the_same_sheets_give_the_same_bytes() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        let first = book(&sheet);
        // Clocks of archives count in steps of two seconds.
        std::thread::sleep(std::time::Duration::from_millis(2_100));
        assert_eq!(first, book(&sheet));
    }
}
