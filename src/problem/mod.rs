//! What is wrong with the owner's data: coded, placed, and with what was done about it.
//!
//! A [`Problem`] is one record's fault: many are collected, none stops a run by itself. An [`Error`](crate::Error) is
//! the reason why a run cannot go on; the two never mix. The table of codes is in [`codes`].

pub mod codes;

pub use codes::{Code, Severity};

use std::collections::BTreeMap;
use std::fmt;

/// Where a record came from: a file of the programme and the physical line (or feature number) where it starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Source {
    /// The file's place in [`Problems::files`].
    pub file: u16,
    /// The line where the record starts, counted from 1; in a layer the feature's number, counted from 1.
    pub row: u32,
}

/// A field of ours that a problem is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cell {
    /// The owner's own name of the column, as it stands in the file.
    pub column: String,
    /// The cell as it stands in the file.
    pub raw: String,
}

/// One thing wrong with one record.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// What kind of problem.
    pub code: Code,
    /// Where.
    pub source: Source,
    /// Which cell, when the problem is about one.
    pub cell: Option<Cell>,
    /// The pole's id, when it is known.
    pub pole: Option<String>,
    /// What is wrong here, in one sentence.
    pub what: String,
    /// What was done with the value or the record.
    pub done: String,
}

/// One problem with the name of its file: the line that is shown.
#[derive(Debug, Clone, Copy)]
pub struct Shown<'a> {
    problem: &'a Problem,
    file: &'a str,
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Problem {
            code, source, cell, ..
        } = self.problem;
        let info = code.info();
        write!(
            out,
            "{}[{code}] {} row {}",
            info.severity.word(),
            self.file,
            source.row
        )?;
        if let Some(cell) = cell {
            write!(out, ", {}", cell.column)?;
        }
        write!(
            out,
            ": {}; {} (help: {})",
            self.problem.what, self.problem.done, info.help
        )
    }
}

/// All problems of a run and the names of the files that they are in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problems {
    /// File names as the programme writes them, in the order in which they were read.
    pub files: Vec<String>,
    /// The problems, in the order of their places.
    pub list: Vec<Problem>,
}

impl Problems {
    /// How many problems there are of each code, in the order of the codes.
    pub fn by_code(&self) -> Vec<(Code, usize)> {
        let mut counts: BTreeMap<Code, usize> = BTreeMap::new();
        for problem in &self.list {
            *counts.entry(problem.code).or_default() += 1;
        }
        let all = Code::ALL.into_iter();
        all.filter_map(|code| Some((code, *counts.get(&code)?)))
            .collect()
    }

    /// Whether any problem is an error rather than a warning or a note.
    pub fn has_errors(&self) -> bool {
        self.list
            .iter()
            .any(|problem| problem.code.severity() == Severity::Error)
    }

    /// A problem as it is shown: `warning[P202] poles.csv row 218, HEIGHT: 0 ft is no length; taken as unknown (help: ...)`.
    pub fn show<'a>(&'a self, problem: &'a Problem) -> Shown<'a> {
        Shown {
            problem,
            file: self.file(problem.source),
        }
    }

    /// Puts the problems in the order of file, row, column and code.
    pub fn sort(&mut self) {
        self.list.sort_by(|a, b| {
            let [one, other] = [a, b].map(|p| p.cell.as_ref().map(|cell| cell.column.as_str()));
            let places = a.source.cmp(&b.source).then_with(|| one.cmp(&other));
            places.then_with(|| (a.code, &a.what).cmp(&(b.code, &b.what)))
        });
    }

    /// The name of the file that a source is in.
    pub fn file(&self, source: Source) -> &str {
        self.files
            .get(usize::from(source.file))
            .map_or("", String::as_str)
    }
}
