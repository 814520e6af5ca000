//! One record of separated text after the other, by the rules of its quotes or without them; the only file that names
//! `csv_core`.
//!
//! Its buffers are used again: a list may have millions of records with quotes. Knows no lines, no headers, no tables.

use csv_core::{ReadRecordResult, Reader, ReaderBuilder};

/// Bytes and cells for which room is made at least.
const ROOM: usize = 256;

/// Takes records apart.
pub(super) struct Splitter {
    core: Reader,
    text: Vec<u8>,
    ends: Vec<usize>,
    /// Bytes and cells of the record that was read last.
    filled: (usize, usize),
}

impl Splitter {
    /// A reader of texts whose cells are parted by `mark`.
    pub(super) fn new(mark: u8, quoting: bool) -> Self {
        Self {
            core: ReaderBuilder::new()
                .delimiter(mark)
                .quoting(quoting)
                .build(),
            text: vec![0; ROOM],
            ends: vec![0; ROOM],
            filled: (0, 0),
        }
    }

    /// The same reader where a text has begun before: a mark of the order of bytes is then a letter like any other.
    pub(super) fn begun(mut self) -> Self {
        self.next("\n");
        self.core.set_line(1);
        self
    }

    /// Reads the first record of a text of its own; false where it has none.
    pub(super) fn first(&mut self, text: &str) -> bool {
        self.core.reset();
        self.next(text).is_some()
    }

    /// Reads the record at the start of what follows the last one; its length in bytes, or `None` where none is left.
    pub(super) fn next(&mut self, text: &str) -> Option<usize> {
        let (mut input, mut bytes, mut cells) = (text.as_bytes(), 0, 0);
        loop {
            if self.text.len() == bytes {
                self.text.resize(2 * bytes, 0);
            }
            if self.ends.len() == cells {
                self.ends.resize(2 * cells, 0);
            }
            let (text, ends) = (&mut self.text[bytes..], &mut self.ends[cells..]);
            let (seen, read, written, ended) = self.core.read_record(input, text, ends);
            input = &input[read..];
            (bytes, cells) = (bytes + written, cells + ended);
            match seen {
                ReadRecordResult::Record => break,
                ReadRecordResult::End => return None,
                // Without further input the last record ends.
                ReadRecordResult::InputEmpty
                | ReadRecordResult::OutputFull
                | ReadRecordResult::OutputEndsFull => {}
            }
        }
        self.filled = (bytes, cells);
        Some(text.len() - input.len())
    }

    /// The cells of the record that was read.
    pub(super) fn cells(&self) -> impl ExactSizeIterator<Item = &str> + Clone {
        (0..self.filled.1).map(|place| {
            let start = place.checked_sub(1).map_or(0, |before| self.ends[before]);
            // Separators and quotes are bytes of their own: what stands between them is text as it was.
            std::str::from_utf8(&self.text[start..self.ends[place]]).unwrap_or_default()
        })
    }

    /// Whether nothing stands in any of them.
    pub(super) fn is_blank(&self) -> bool {
        self.cells().all(|cell| cell.trim().is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::Splitter;

    fn read(text: &str, quoting: bool) -> Vec<Vec<String>> {
        let mut splitter = Splitter::new(b',', quoting).begun();
        let (mut at, mut all) = (0, Vec::new());
        while let Some(length) = splitter.next(&text[at..]) {
            at += length;
            all.push(splitter.cells().map(str::to_owned).collect());
        }
        assert_eq!(at.max(1), text.trim_end().len().max(at).max(1));
        all
    }

    #[test]
    fn records_end_where_their_quotes_let_them() {
        let text = "a,\"b,\"\"c\"\"\r\nd\",5\"\r\n\r\n\u{feff}x,\"y\"z";
        let with = [vec!["a", "b,\"c\"\r\nd", "5\""], vec!["\u{feff}x", "yz"]];
        assert_eq!(read(text, true), with);
        assert_eq!(read(text, false).len(), 3);
        assert_eq!(read("", true).len(), 0);
    }

    #[test]
    fn cells_longer_and_more_than_there_was_room_for_are_whole() {
        let long = "x".repeat(5_000);
        let text = format!("\"{long}\",{}", "y,".repeat(3_000));
        let all = read(&text, true);
        assert_eq!((all.len(), all[0].len()), (1, 3_002));
        assert_eq!(all[0][0], long);
        assert!(all[0][1..3_001].iter().all(|cell| cell == "y"));
    }

    #[test]
    fn a_line_of_its_own_is_read_as_if_nothing_came_before() {
        let mut splitter = Splitter::new(b';', true);
        assert!(splitter.first("\"open;a"));
        assert!(splitter.first("\u{feff}b;c"));
        assert_eq!(splitter.cells().collect::<Vec<_>>(), ["b", "c"]);
        assert!(!splitter.first(""));
    }
}
