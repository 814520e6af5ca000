//! The rows of a separated text, read side by side in pieces.
//!
//! Nobody knows whether a quote is open where a piece begins until what stands before it is read. So each is read as if a
//! row began with it; where the row before it turns out to reach into it, what was read is thrown away and the piece is read
//! again from where that row ends. The answer is that of one reader who starts at the top.

use super::is_line_end;
use super::splitter::Splitter;
use crate::intake::{Noticed, Part};
use crate::parallel::map_indices;
use crate::problem::Code;

/// Bytes of a piece.
const PIECE_BYTES: usize = 4 << 20;
/// Bytes of a record: far beyond any row of a list, and few enough for the counters of [`Part`].
pub(super) const MOST_RECORD_BYTES: usize = 1 << 31;

/// The rows of a text below its header.
#[derive(Clone, Copy)]
pub(super) struct Pieces<'a> {
    pub text: &'a str,
    /// What parts its cells.
    pub mark: u8,
    /// Cells of the header.
    pub width: usize,
}

/// The rows that start in one piece.
#[derive(Default)]
pub(super) struct Piece {
    pub parts: Vec<Part>,
    pub noticed: Vec<Noticed>,
    /// The line of a record that is longer than [`MOST_RECORD_BYTES`].
    pub endless: Option<u32>,
    /// Where the row after the last one starts.
    next: usize,
    /// Lines from where the piece begins to there.
    lines: u32,
    /// Whether it was given up: its last row reaches far beyond it, which is more likely a wrong guess.
    given_up: bool,
}

impl Piece {
    /// Counts lines from `lines` on.
    fn moved(mut self, lines: u32) -> Self {
        for part in &mut self.parts {
            part.move_lines(lines);
        }
        for noticed in &mut self.noticed {
            noticed.row += lines;
        }
        self.endless = self.endless.map(|line| line + lines);
        self
    }
}

/// The part that takes the next row: another where the text of the last one's own is full.
fn open_part(parts: &mut Vec<Part>, base: usize) -> &mut Part {
    let is_full = |part: &Part| part.own_bytes() > PIECE_BYTES;
    if parts.last().is_none_or(is_full) {
        parts.push(Part::at(base));
    }
    let last = parts.len() - 1;
    &mut parts[last]
}

impl Pieces<'_> {
    /// The rows from `start` on, where line number `line` goes on.
    pub(super) fn all(&self, start: usize, line: u32) -> Vec<Piece> {
        self.all_of(&self.starts(start, PIECE_BYTES), line)
    }

    fn all_of(&self, starts: &[usize], line: u32) -> Vec<Piece> {
        let end = |place: usize| starts.get(place + 1).copied().unwrap_or(self.text.len());
        let guesses = map_indices(starts.len(), |place| {
            self.piece(starts[place], end(place), true)
        });
        let (mut at, mut line) = (starts[0], line);
        let mut all = Vec::with_capacity(guesses.len());
        for (place, guess) in guesses.into_iter().enumerate() {
            let (own, blank) = self.after_line_ends(starts[place]);
            let is_right = place == 0 || own == at;
            if !is_right && at >= end(place) {
                continue;
            }
            let piece = if is_right && !guess.given_up {
                line -= if place == 0 { 0 } else { blank };
                guess
            } else {
                self.piece(at, end(place), false)
            };
            let (next, lines) = (piece.next, piece.lines);
            all.push(piece.moved(line));
            (at, line) = (next, line + lines);
        }
        all
    }

    /// Where pieces of some `bytes` begin: each behind the end of a line, whichever of its bytes that is, so that no piece
    /// is much longer than asked for and the counters of a [`Part`] hold.
    fn starts(&self, start: usize, bytes: usize) -> Vec<usize> {
        let mut starts = vec![start];
        let mut last = start;
        while let Some(rest) = self.text.as_bytes().get(last + bytes..) {
            let Some(end) = rest.iter().position(|byte| is_line_end(*byte)) else {
                break;
            };
            last += bytes + end + 1;
            starts.push(last);
        }
        starts
    }

    /// The first byte from `at` on that ends no line, and how many lines end before it. A line ends with LF, CR LF or CR.
    fn after_line_ends(&self, at: usize) -> (usize, u32) {
        let bytes = self.text.as_bytes();
        let rest = bytes.get(at..).unwrap_or_default();
        let ends = rest.iter().take_while(|byte| is_line_end(**byte));
        let next = at + ends.count();
        (next, self.lines_ended(at, next))
    }

    /// How many lines end between two places.
    fn lines_ended(&self, from: usize, until: usize) -> u32 {
        let bytes = self.text.as_bytes();
        let ends = bytes[from..until].iter().zip(from + 1..);
        let ends = ends.filter(|(byte, next)| match byte {
            b'\n' => true,
            b'\r' => bytes.get(*next) != Some(&b'\n'),
            _ => false,
        });
        ends.count() as u32
    }

    /// The rows that start from `from` on and before `until`, lines counted from 0. A guess is given up where a row reaches
    /// as far beyond its piece as a piece is long.
    fn piece(&self, from: usize, until: usize, is_guess: bool) -> Piece {
        let mut piece = Piece::default();
        let mut splitter: Option<Splitter> = None;
        let mut ends = Vec::new();
        let (mut at, mut line) = (from, 0);
        loop {
            let (start, ended) = self.after_line_ends(at);
            (at, line) = (start, line + ended);
            if at >= until {
                break;
            }
            if let Some(end) = self.plain_line(at, &mut ends) {
                if !self.is_blank(at, end) {
                    let part = open_part(&mut piece.parts, from);
                    part.push_found(line, at, &ends);
                }
                at = end;
                continue;
            }
            let splitter = splitter.get_or_insert_with(|| Splitter::new(self.mark, true).begun());
            let end = at
                + splitter
                    .next(&self.text[at..])
                    .unwrap_or(self.text.len() - at);
            piece.given_up = is_guess && end > until + PIECE_BYTES;
            if piece.given_up {
                break;
            }
            if end - at > MOST_RECORD_BYTES {
                piece.endless = Some(line);
                break;
            }
            self.take_record(&mut piece, (at, end), from, line, splitter);
            line += self.lines_ended(at, end);
            at = end;
        }
        (piece.next, piece.lines) = (at, line);
        piece
    }

    /// The end of the line that starts at `at`, and those of its cells, counted from there; `None` where a quote stands in it.
    fn plain_line(&self, at: usize, ends: &mut Vec<u32>) -> Option<usize> {
        ends.clear();
        let line = &self.text.as_bytes()[at..];
        let mut length = line.len();
        for (place, byte) in line.iter().enumerate() {
            if *byte == b'"' {
                return None;
            } else if *byte == self.mark {
                ends.push(place as u32);
            } else if is_line_end(*byte) {
                length = place;
                break;
            }
        }
        ends.push(length as u32);
        Some(at + length)
    }

    /// Whether nothing but blanks stands between the marks of a line.
    fn is_blank(&self, start: usize, end: usize) -> bool {
        let line = self.text[start..end].chars();
        let mark = char::from(self.mark);
        line.into_iter()
            .all(|letter| letter == mark || letter.is_whitespace())
    }

    /// Adds a record's row, or its rows where an unclosed quote ran them together.
    fn take_record(
        &self,
        piece: &mut Piece,
        (start, end): (usize, usize),
        base: usize,
        line: u32,
        splitter: &Splitter,
    ) {
        if splitter.is_blank() {
            return;
        }
        let body = &self.text[start..end];
        // Only an unclosed quote reaches the end of the text with an odd number of quotes.
        let open = end >= self.text.len() && body.matches('"').count() % 2 == 1;
        let Some((rows, parts)) = self.line_by_line(body, base, line, splitter.cells().len(), open)
        else {
            open_part(&mut piece.parts, base).push(line, splitter.cells());
            return;
        };
        piece.noticed.push(Noticed {
            row: line,
            code: Code::UnclosedQuote,
            what: match rows - 1 {
                1 => "a quote opened here would swallow the next row".to_owned(),
                more => format!("a quote opened here would swallow the next {more} rows"),
            },
        });
        piece.parts.extend(parts);
    }

    /// The rows of a record over several lines, when those lines look like rows of their own: an unclosed quote.
    ///
    /// A quoted text with line breaks hardly ever has as many separators in most of its lines as the table has; with fewer
    /// than four columns it might, and then the record must be ragged too. Where the quote is known to be open nothing is
    /// left to judge.
    fn line_by_line(
        &self,
        body: &str,
        base: usize,
        line: u32,
        cells: usize,
        open: bool,
    ) -> Option<(usize, Vec<Part>)> {
        let width = self.width;
        let body = body.trim_end_matches(['\r', '\n']);
        let one_record = width < 2 || (width < 4 && cells == width);
        if !body.contains('\n') || (one_record && !open) {
            return None;
        }
        let mut quoted = Splitter::new(self.mark, true);
        let mut bare = Splitter::new(self.mark, false);
        let mut parts = vec![Part::at(base)];
        let (mut rows, mut fitting) = (0, 0);
        for (number, text) in (line..).zip(body.lines()) {
            let own = if quoted.first(text) && quoted.cells().len() == width {
                &quoted
            } else if bare.first(text) {
                &bare
            } else {
                continue;
            };
            let cells = own.cells().map(|cell| cell.trim().trim_matches('"'));
            if cells.clone().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            rows += 1;
            fitting += usize::from(rows > 1 && cells.len() == width);
            open_part(&mut parts, base).push(number, cells);
        }
        (rows > 1 && (open || fitting * 2 > rows - 1)).then_some((rows, parts))
    }
}

#[cfg(test)]
mod tests {
    use super::Pieces;
    use crate::intake::Rows;

    /// Rows below a header of three columns, and what was noticed, read in pieces of so many bytes.
    fn read(text: &str, bytes: usize) -> (Rows, Vec<(u32, String)>) {
        let pieces = Pieces {
            text,
            mark: b',',
            width: 3,
        };
        let (mut parts, mut noticed) = (Vec::new(), Vec::new());
        for piece in pieces.all_of(&pieces.starts(0, bytes), 2) {
            parts.extend(piece.parts);
            noticed.extend(piece.noticed.into_iter().map(|own| (own.row, own.what)));
        }
        (Rows::found(text.to_owned(), parts), noticed)
    }

    #[test]
    fn pieces_of_any_length_give_the_rows_of_one_reader() {
        let texts = [
            "1,a,b\n2,c,d\n\n3,e,f\n,,\n4,\u{fc},\n",
            "1,a,b\r\n2,\"c\r\nd\r\ne\",f\r\n\r\n3,5\",g\r\n4,\"h,i\",j",
            "1,\"open,b\n2,c,d\n3,e,f\n4,g,\"h\"\n5,i,j\n",
            "1,a,b\r2,c,d\r\r3,\"e\rf\",g\r4,h,i",
            "1,a\n2,\"b\nc,d\ne,f,g,h\n\"\n \u{a0},,\n3,\"\"\"\",x\n\u{feff}4,y,z\n5,\"\n",
        ];
        for text in texts {
            let (whole, noticed) = read(text, text.len());
            assert!(!whole.is_empty());
            for bytes in 1..text.len() {
                assert_eq!(
                    read(text, bytes),
                    (whole.clone(), noticed.clone()),
                    "{text:?} by {bytes}"
                );
            }
        }
    }

    #[test]
    fn no_piece_is_much_longer_than_asked_for_whatever_ends_a_line() {
        for end in ["\n", "\r\n", "\r"] {
            let text = format!("1,a,b{end}").repeat(100);
            let pieces = Pieces {
                text: &text,
                mark: b',',
                width: 3,
            };
            let starts = pieces.starts(0, 50);
            let lengths = starts.windows(2).map(|two| two[1] - two[0]);
            // Asked for 50, and the rest of a line of 7 at most.
            assert!(starts.len() > 8 && lengths.max() <= Some(57), "{starts:?}");
        }
    }

    #[test]
    fn lines_are_those_of_the_text() {
        let (rows, _) = read("\n1,a,b\r\n\r\n2,\"c\r\nd\",e\r3,f,g\n", 5);
        let lines: Vec<u32> = rows.iter().map(|(line, _)| line).collect();
        assert_eq!(lines, [3, 5, 7]);
    }
}
