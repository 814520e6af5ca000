//! Separated text in the encodings that owners use to a table of text cells.
//!
//! Ragged rows and stray quotes survive, blank lines are passed over, and every row keeps the physical line where it
//! starts. Nothing is interpreted.

use super::pieces::{MOST_RECORD_BYTES, Pieces};
use super::splitter::Splitter;
use super::{is_line_end, refused};
use crate::Error;
use crate::intake::{Noticed, Part};
use crate::programme::sources::TableSource;
use encoding_rs::{Encoding, UTF_16BE, UTF_16LE, WINDOWS_1252};
use std::borrow::Cow;
use std::path::Path;

/// Bytes looked at to tell UTF-16 without a mark.
const LOOKED_AT: usize = 4096;
/// Share of zero bytes at the even or the odd places beyond which a text is UTF-16: three in ten leaves room for names in
/// scripts other than Latin, and no other text has any.
const ZEROS_OF_UTF_16: f64 = 0.3;

/// Bytes of a line: a hundred thousand columns of some size. A longer one is no row of a list.
const MOST_LINE_BYTES: usize = 16 << 20;

/// UTF-8 or UTF-16 by their marks, UTF-16 by its zeros, UTF-8 where it is valid, and Latin-1 as Windows writes it
/// otherwise.
pub(super) fn decoded(bytes: &[u8]) -> Cow<'_, str> {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        return encoding.decode_without_bom_handling(&bytes[mark..]).0;
    }
    if let Some(encoding) = unmarked_utf_16(bytes) {
        return encoding.decode_without_bom_handling(bytes).0;
    }
    std::str::from_utf8(bytes).map_or_else(
        |_| WINDOWS_1252.decode_without_bom_handling(bytes).0,
        Cow::Borrowed,
    )
}

/// UTF-16 without a mark: Latin letters, digits and separators have a zero as the upper of their two bytes.
fn unmarked_utf_16(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = &bytes[..bytes.len().min(LOOKED_AT)];
    if !bytes.len().is_multiple_of(2) || head.len() < 8 {
        return None;
    }
    let zeros = |first: usize| {
        let places = head.iter().skip(first).step_by(2);
        places.filter(|byte| **byte == 0).count() as f64 / (head.len() / 2) as f64
    };
    let (even, odd) = (zeros(0), zeros(1));
    if odd > ZEROS_OF_UTF_16 && even == 0.0 {
        Some(UTF_16LE)
    } else if even > ZEROS_OF_UTF_16 && odd == 0.0 {
        Some(UTF_16BE)
    } else {
        None
    }
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
    // The last of the list wins when there are as many of two.
    [b'|', b'\t', b';', b',']
        .into_iter()
        .max_by_key(|mark| count(*mark))
        .unwrap_or(b',')
}

/// The separator that a first line `sep=;` declares, as spreadsheets write it, and where the text behind it starts.
fn declared_separator(text: &str) -> Option<(u8, usize)> {
    let line = text.lines().next()?;
    let mark = line.trim().trim_matches('"').strip_prefix("sep=")?;
    let mark = if mark.is_empty() && line.ends_with('\t') {
        b'\t'
    } else {
        let first = *mark.as_bytes().first()?;
        (first.is_ascii() && !is_line_end(first)).then_some(first)?
    };
    Some((mark, line.len()))
}

/// Lines that are looked at for a header.
const HEAD: usize = 50;
/// A table has at least this many columns, or a title looks like one.
const FEWEST_COLUMNS: usize = 3;

/// The line of the header, counted from 1, where the first lines are a title: the first in which most of the widest line's
/// cells are filled, most of them with no number. `None` where the first line that is not blank may be the header.
pub(super) fn header_below_a_title(text: &str) -> Option<u32> {
    if declared_separator(text).is_some() {
        return None;
    }
    let mut lines = Lines::new(text);
    let offset = |line: &str| line.as_ptr() as usize - text.as_ptr() as usize;
    let head: Vec<(u32, &str)> = text
        .split(['\r', '\n'])
        .filter(|line| !line.trim().is_empty())
        .take(HEAD)
        .map(|line| (lines.at(offset(line)), line))
        .collect();
    let of_mark = |mark: u8| {
        let mut splitter = Splitter::new(mark, true);
        let filled = head.iter().map(|(number, line)| {
            let cells = splitter.first(line).then(|| splitter.cells());
            let cells = cells.into_iter().flatten().map(str::to_owned);
            (
                *number,
                cells.filter(|cell| !cell.trim().is_empty()).collect(),
            )
        });
        filled.collect::<Vec<(u32, Vec<String>)>>()
    };
    let widest = |rows: &[(u32, Vec<String>)]| rows.iter().map(|(_, cells)| cells.len()).max();
    let rows = [b'|', b'\t', b';', b',']
        .into_iter()
        .map(of_mark)
        .max_by_key(|rows| widest(rows))?;
    let width = widest(&rows).filter(|width| *width >= FEWEST_COLUMNS)?;
    let is_wide = |cells: &[String]| 2 * cells.len() > width;
    if is_wide(&rows.first()?.1) {
        return None;
    }
    let named = |cells: &[String]| {
        let numbers = cells.iter().filter(|cell| is_a_number(cell)).count();
        is_wide(cells) && 2 * numbers < cells.len()
    };
    rows.iter()
        .find(|(_, cells)| named(cells))
        .map(|(number, _)| *number)
}

/// Whether a cell begins like a number or a day.
fn is_a_number(cell: &str) -> bool {
    cell.trim_start()
        .starts_with(|letter: char| letter.is_ascii_digit())
}

/// What a text holds; the rows stand in it.
pub(super) struct Found {
    pub columns: Vec<String>,
    pub noticed: Vec<Noticed>,
    pub parts: Vec<Part>,
}

/// The table in a text: its header is the first line that is not blank, or the line that `source.header_row` numbers.
///
/// # Errors
/// When the text has no such line, and when one of its lines is no row of a list.
pub(super) fn separated(text: &str, source: &TableSource, path: &Path) -> Result<Found, Error> {
    refuse_long_lines(text, path)?;
    let mut lines = Lines::new(text);
    let start = match source.header_row {
        None => declared_separator(text).map_or(0, |(_, end)| end),
        Some(row) => lines.start_of(row).ok_or_else(|| {
            refused(
                path,
                &format!("header_row is {row}, but the file has no such line with anything on it"),
                "header_row is the physical line of the header, counted from 1",
            )
        })?,
    };
    let mark = declared_separator(text).map_or_else(|| separator(&text[start..]), |(mark, _)| mark);
    let (mut splitter, mut at, mut columns) = (Splitter::new(mark, true), start, Vec::new());
    while let Some(length) = splitter.next(&text[at..]) {
        at += length;
        if !splitter.is_blank() {
            columns = splitter.cells().map(str::to_owned).collect();
            break;
        }
    }
    let pieces = Pieces {
        text,
        mark,
        width: columns.len(),
    };
    let mut found = Found {
        columns,
        noticed: Vec::new(),
        parts: Vec::new(),
    };
    for piece in pieces.all(at, lines.at(at)) {
        if let Some(line) = piece.endless {
            return Err(refused(
                path,
                &format!("row {line} has more than {} MB", MOST_RECORD_BYTES >> 20),
                "is a quote missing there? and is this a list, one row for each pole or visit?",
            ));
        }
        found.noticed.extend(piece.noticed);
        found.parts.extend(piece.parts);
    }
    Ok(found)
}

/// An error when a line is longer than any row, before it is looked at for cells.
fn refuse_long_lines(text: &str, path: &Path) -> Result<(), Error> {
    let bytes = text.as_bytes();
    let mut start = 0;
    // Where another line ends within reach of the start of one, none that ended between them was too long.
    while bytes.len() - start > MOST_LINE_BYTES {
        let reach = &bytes[start..=start + MOST_LINE_BYTES];
        let Some(end) = reach.iter().rposition(|byte| is_line_end(*byte)) else {
            let line = Lines::new(text).at(start);
            return Err(refused(
                path,
                &format!("line {line} has more than {} MB", MOST_LINE_BYTES >> 20),
                "is this a list, one line for each pole or visit?",
            ));
        };
        start += end + 1;
    }
    Ok(())
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

    /// Where the line of this number starts, if anything but blanks stands from there on that line.
    fn start_of(&mut self, line: u32) -> Option<usize> {
        let mut offset = 0;
        while self.at(offset) < line {
            offset += 1;
            if offset >= self.bytes.len() {
                return None;
            }
        }
        let rest = self.bytes.get(offset..)?;
        let end = rest.iter().position(|byte| matches!(byte, b'\r' | b'\n'));
        let own = &rest[..end.unwrap_or(rest.len())];
        (!own.trim_ascii().is_empty()).then_some(offset)
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

#[cfg(test)]
mod tests {
    use super::super::tests::{fault, rows, table, table_with};
    use crate::problem::Code;
    use crate::programme::sources::TableSource;

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
    fn a_line_that_never_ends_is_refused_before_it_is_copied() {
        let endless = "x,".repeat(super::MOST_LINE_BYTES / 2 + 1);
        let said = fault(format!("id,a\r\n1,b\r\n{endless}\r\n").as_bytes());
        assert!(said.contains("line 3 has more than 16 MB"), "{said}");
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
    fn an_unclosed_quote_before_ragged_rows_swallows_nothing() {
        let read = table(b"id,a,b,c\n1,\"one\ntwo\",x,y\n2,v,\"open,z\n3,u\n4\n");
        let ids: Vec<String> = rows(&read).into_iter().map(|(_, text)| text).collect();
        assert_eq!(ids, ["1|one\ntwo|x|y", "2|v|open|z", "3|u", "4"]);
        assert_eq!(read.noticed.len(), 1);
        assert_eq!(read.noticed[0].code, Code::UnclosedQuote);
    }

    #[test]
    fn utf_16_is_told_by_its_zeros_where_it_has_no_mark() {
        let text = "id|street\n1|M\u{fc}hl\n";
        let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let marked: Vec<u8> = [0xfe, 0xff].into_iter().chain(big.clone()).collect();
        for bytes in [little, big, marked] {
            let read = table(&bytes);
            assert_eq!(read.columns, ["id", "street"]);
            assert_eq!(rows(&read), [(2, "1|M\u{fc}hl".to_owned())]);
        }
    }

    #[test]
    fn the_header_is_the_line_that_the_programme_numbers() {
        let bytes = b"Poles of the \"north, 2024\n\n;;\nid;height\n\n1;12,5\n";
        let at = |row| TableSource {
            header_row: Some(row),
            ..TableSource::default()
        };
        let read = table_with(bytes, &at(4)).expect("a table");
        assert_eq!(read.columns, ["id", "height"]);
        assert_eq!(rows(&read), [(6, "1|12,5".to_owned())]);
        for row in [2, 9] {
            let error = table_with(bytes, &at(row)).expect_err("no header there");
            assert!(error.to_string().contains("no such line"), "{error}");
        }
    }

    #[test]
    fn a_header_below_a_title_is_found_and_one_in_the_first_line_stays() {
        let below = |text: &str| super::header_below_a_title(text);
        let title =
            "Poles of the north, as of May\r\n;;;\r\n\r\nTag;Line;Set;Height\r\n1;A;1980;12,5\r\n";
        assert_eq!(below(title), Some(4));
        assert_eq!(below("id,line,set\n1,A,1980\n2,A,1981\n"), None);
        // A list of one column, and a title above numbers alone.
        assert_eq!(below("poles\nA1\nA2\n"), None);
        assert_eq!(below("poles\n1,2,3\n4,5,6\n"), None);
        assert_eq!(below("sep=;\nid;line;set\n1;A;1980\n"), None);
    }

    #[test]
    fn a_spreadsheets_own_word_on_the_separator_is_no_header() {
        let read = table(b"sep=;\nid;street, town\n1;a\n");
        assert_eq!(read.columns, ["id", "street, town"]);
        assert_eq!(rows(&read)[0].0, 3);
        assert!(fault(b"sep=;\n").contains("no row below"));
    }
}
