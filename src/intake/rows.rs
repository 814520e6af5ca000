//! The rows of a table: one text that holds all cells, and where in it each cell lies.
//!
//! A list of a national fleet has tens of millions of cells, most of them a few letters or none. Two bytes say where a cell
//! ends; a cell is looked up, never copied. Knows nothing of columns or fields, and nothing of how files part their cells.

use std::collections::BTreeMap;
use std::fmt;

/// Bytes of a part's own text after which another part is begun, so that 31 bits say where a row starts.
const MOST_OWN_BYTES: usize = 1 << 30;
/// The bit of a row's start that says that its cells stand in the part's own text.
const OWN: u32 = 1 << 31;

/// Rows of text cells, each with the line where it starts.
#[derive(Clone, Default)]
pub struct Rows {
    /// A text in which the cells of many rows stand as they were found.
    text: String,
    parts: Vec<Part>,
}

/// Some rows after each other.
#[derive(Debug, Clone, Default)]
pub struct Part {
    /// How many rows come before it.
    before: usize,
    /// Where in the common text its rows start to count.
    base: usize,
    rows: Vec<Start>,
    /// Ends of cells, counted from the start of their row. A byte that is no cell's stands before every cell but the first.
    ends: Vec<u16>,
    /// The same for rows that are too long for it.
    wide: BTreeMap<u32, Vec<u32>>,
    /// Cells that do not stand in the common text as they are.
    own: String,
}

/// Where a row starts.
#[derive(Debug, Clone, Copy)]
struct Start {
    line: u32,
    /// Of its text, with [`OWN`].
    at: u32,
    /// Of its ends.
    ends: u32,
}

impl Part {
    /// A part whose rows stand in the common text, from `base` on.
    pub fn at(base: usize) -> Self {
        Self {
            base,
            ..Self::default()
        }
    }

    fn start(&mut self, line: u32, at: u32) {
        let ends = self.ends.len() as u32;
        self.rows.push(Start { line, at, ends });
    }

    /// Adds a row whose cells stand in the common text from byte `at` on, parted by one byte each; `ends` counts from `at`.
    pub fn push_found(&mut self, line: u32, at: usize, ends: &[u32]) {
        self.start(line, (at - self.base) as u32);
        self.push_ends(ends);
    }

    fn push_ends(&mut self, ends: &[u32]) {
        self.ends.extend(ends.iter().map(|end| *end as u16));
        if ends.last().is_some_and(|end| *end > u32::from(u16::MAX)) {
            let row = self.rows.len() as u32 - 1;
            self.wide.insert(row, ends.to_vec());
        }
    }

    /// Adds a row of cells that stand nowhere else.
    pub fn push<'a>(&mut self, line: u32, cells: impl Iterator<Item = &'a str>) {
        let at = self.own.len();
        self.start(line, at as u32 | OWN);
        let mut ends = Vec::new();
        for (place, cell) in cells.enumerate() {
            if place > 0 {
                self.own.push('\n');
            }
            self.own.push_str(cell);
            ends.push((self.own.len() - at) as u32);
        }
        self.push_ends(&ends);
    }

    /// Bytes of its own text.
    pub fn own_bytes(&self) -> usize {
        self.own.len()
    }

    /// Counts its lines from `lines` on.
    pub fn move_lines(&mut self, lines: u32) {
        for row in &mut self.rows {
            row.line += lines;
        }
    }

    fn cells(&self, row: usize) -> usize {
        let next = self.rows.get(row + 1);
        let until = next.map_or(self.ends.len(), |next| next.ends as usize);
        until - self.rows[row].ends as usize
    }

    /// Where the cell stands, counted from the start of its row.
    fn span(&self, row: usize, cell: usize) -> (usize, usize) {
        let no_wide = self.wide.is_empty();
        let wide = if no_wide {
            None
        } else {
            self.wide.get(&(row as u32))
        };
        if let Some(ends) = wide {
            let end = |cell: usize| ends[cell] as usize;
            return (
                cell.checked_sub(1).map_or(0, |before| end(before) + 1),
                end(cell),
            );
        }
        let first = self.rows[row].ends as usize;
        let end = |cell: usize| usize::from(self.ends[first + cell]);
        (
            cell.checked_sub(1).map_or(0, |before| end(before) + 1),
            end(cell),
        )
    }
}

impl Rows {
    /// Rows that stand in `text`, part after part.
    pub fn found(text: String, parts: Vec<Part>) -> Self {
        let mut before = 0;
        let parts = parts.into_iter().filter(|part| !part.rows.is_empty());
        let parts = parts.map(|mut part| {
            part.before = before;
            before += part.rows.len();
            part.ends.shrink_to_fit();
            part.rows.shrink_to_fit();
            part
        });
        Self {
            parts: parts.collect(),
            text,
        }
    }

    /// Adds a row.
    pub fn push<T: AsRef<str>>(&mut self, line: u32, cells: &[T]) {
        let full = |part: &Part| part.own.len() > MOST_OWN_BYTES;
        if self.parts.last().is_none_or(full) {
            let before = self.len();
            self.parts.push(Part {
                before,
                ..Part::default()
            });
        }
        if let Some(part) = self.parts.last_mut() {
            part.push(line, cells.iter().map(AsRef::as_ref));
        }
    }

    /// Whether a letter stands anywhere in their texts, those of a header and between cells included.
    pub(super) fn contain(&self, letter: char) -> bool {
        self.text.contains(letter) || self.parts.iter().any(|part| part.own.contains(letter))
    }

    /// How many rows there are.
    pub fn len(&self) -> usize {
        let last = self.parts.last();
        last.map_or(0, |last| last.before + last.rows.len())
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The cells of the row at `place`, counted from 0.
    ///
    /// # Panics
    /// When there is no such row.
    pub fn get(&self, place: usize) -> Cells<'_> {
        let (part, row) = self.find(place);
        self.cells(part, row)
    }

    /// The part in which the row at `place` stands, and its place there.
    pub(super) fn find(&self, place: usize) -> (&Part, u32) {
        let after = self.parts.partition_point(|part| part.before <= place);
        let part = &self.parts[after - 1];
        (part, (place - part.before) as u32)
    }

    /// The cells of a row of a part of these rows.
    pub(super) fn cells<'a>(&'a self, part: &'a Part, row: u32) -> Cells<'a> {
        Cells {
            text: &self.text,
            part,
            row,
        }
    }

    /// The rows, each with its line.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (u32, Cells<'_>)> + Clone {
        self.parts.iter().flat_map(|part| {
            (0..part.rows.len() as u32).map(|row| {
                let cells = self.cells(part, row);
                (cells.line(), cells)
            })
        })
    }

    /// Changes the rows, each of which has texts of its own meanwhile.
    #[cfg(test)]
    pub(crate) fn change(&mut self, change: impl FnOnce(&mut Vec<(u32, Vec<String>)>)) {
        let own = |cells: Cells<'_>| cells.iter().map(str::to_owned).collect();
        let mut rows = self
            .iter()
            .map(|(line, cells)| (line, own(cells)))
            .collect();
        change(&mut rows);
        *self = rows.into();
    }
}

impl FromIterator<(u32, Vec<String>)> for Rows {
    fn from_iter<I: IntoIterator<Item = (u32, Vec<String>)>>(rows: I) -> Self {
        let mut all = Self::default();
        for (line, cells) in rows {
            all.push(line, &cells);
        }
        all
    }
}

impl From<Vec<(u32, Vec<String>)>> for Rows {
    fn from(rows: Vec<(u32, Vec<String>)>) -> Self {
        rows.into_iter().collect()
    }
}

impl PartialEq for Rows {
    fn eq(&self, other: &Self) -> bool {
        let same = |((one, a), (line, b)): ((u32, Cells<'_>), (u32, Cells<'_>))| {
            one == line && a.iter().eq(b.iter())
        };
        self.len() == other.len() && self.iter().zip(other.iter()).all(same)
    }
}

impl Eq for Rows {}

impl fmt::Debug for Rows {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.debug_list().entries(self.iter()).finish()
    }
}

/// The cells of one row.
#[derive(Clone, Copy)]
pub struct Cells<'a> {
    text: &'a str,
    part: &'a Part,
    row: u32,
}

impl<'a> Cells<'a> {
    /// The line where the row starts.
    pub fn line(&self) -> u32 {
        self.part.rows[self.row as usize].line
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.part.cells(self.row as usize)
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The cell at `place`, counted from 0.
    pub fn get(&self, place: usize) -> Option<&'a str> {
        (place < self.len()).then(|| self.cell(place))
    }

    fn cell(&self, place: usize) -> &'a str {
        let part = self.part;
        let at = part.rows[self.row as usize].at;
        let (start, end) = part.span(self.row as usize, place);
        if at & OWN == 0 {
            let at = part.base + at as usize;
            &self.text[at + start..at + end]
        } else {
            let at = (at & !OWN) as usize;
            &part.own[at + start..at + end]
        }
    }

    /// The cells in their order.
    pub fn iter(
        &self,
    ) -> impl DoubleEndedIterator<Item = &'a str> + ExactSizeIterator + Clone + use<'a> {
        let own = *self;
        (0..self.len()).map(move |place| own.cell(place))
    }

    /// Bytes from the start of the first cell to the end of the last.
    pub fn bytes(&self) -> usize {
        let last = self.len().checked_sub(1);
        last.map_or(0, |last| self.part.span(self.row as usize, last).1)
    }
}

impl fmt::Debug for Cells<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.debug_list().entries(self.iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::{Part, Rows};

    #[test]
    fn rows_found_in_a_text_and_rows_of_their_own_stand_in_their_order() {
        let text = "a,bc,\n\u{fc}x\nlast";
        let mut first = Part::at(0);
        first.push_found(2, 0, &[1, 4, 5]);
        first.push(3, ["say \"hi\"", "", "two\nlines"].into_iter());
        first.push_found(5, 6, &[3]);
        let mut second = Part::at(10);
        second.push_found(1, 10, &[4]);
        second.move_lines(5);
        let empty = Part::at(9);
        let rows = Rows::found(text.to_owned(), vec![first, empty, second]);
        let expected = [
            (2, vec!["a", "bc", ""]),
            (3, vec!["say \"hi\"", "", "two\nlines"]),
            (5, vec!["\u{fc}x"]),
            (6, vec!["last"]),
        ];
        let seen: Vec<(u32, Vec<&str>)> = rows
            .iter()
            .map(|(line, cells)| (line, cells.iter().collect()))
            .collect();
        assert_eq!(seen, expected);
        for (place, (line, cells)) in expected.iter().enumerate() {
            let row = rows.get(place);
            assert_eq!((row.line(), row.len()), (*line, cells.len()));
            assert_eq!(row.get(0), Some(cells[0]));
            assert_eq!(row.get(cells.len()), None);
        }
        let mut copied = rows.clone();
        copied.change(|_| {});
        assert_eq!(copied, rows);
        copied.change(|rows| rows[1].0 = 4);
        assert_ne!(copied, rows);
    }

    #[test]
    fn a_row_too_long_for_two_bytes_keeps_its_cells_and_those_beside_it_theirs() {
        let long = "x".repeat(100_000);
        let rows: Rows = vec![
            (2, vec!["a".to_owned(), "b".to_owned()]),
            (3, vec![long.clone(), "c".to_owned(), long.clone()]),
            (4, vec![]),
            (5, vec!["d".to_owned()]),
        ]
        .into();
        let lengths: Vec<Vec<usize>> = rows
            .iter()
            .map(|(_, cells)| cells.iter().map(str::len).collect())
            .collect();
        assert_eq!(
            lengths,
            [vec![1, 1], vec![100_000, 1, 100_000], vec![], vec![1]]
        );
        assert_eq!(rows.get(1).bytes(), 200_003);
    }
}
