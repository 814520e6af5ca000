//! `data_problems.csv`: every problem in the owner's data, where it is and what was done about it.

use super::{Holds, Sheet, Value, column};
use crate::problem::{Problem, Problems};

/// One row.
pub struct Line<'a> {
    problem: &'a Problem,
    file: &'a str,
}

/// Every problem.
pub fn problems(problems: &Problems) -> Sheet<'_> {
    let columns = vec![
        column(
            "code",
            Holds::Text,
            "code of the kind of problem",
            |line: &Line<'_>| Value::text(line.problem.code.info().name),
        ),
        column("severity", Holds::Text, "note, warning or error", |line| {
            Value::text(line.problem.code.info().severity.word())
        }),
        column(
            "file",
            Holds::Text,
            "file, as the programme writes it",
            |line| Value::text(line.file),
        ),
        column(
            "row",
            Holds::Whole,
            "physical line where the record starts, counted from 1; in a layer the feature's number",
            |line| Value::whole(line.problem.source.row),
        ),
        column(
            "column",
            Holds::Text,
            "the owner's own name of the column",
            |line| Value::maybe_text(line.problem.cell.as_ref().map(|cell| cell.column.as_str())),
        ),
        column(
            "raw_value",
            Holds::Text,
            "the cell as it stands in the file",
            |line| Value::maybe_text(line.problem.cell.as_ref().map(|cell| cell.raw.as_str())),
        ),
        column(
            "pole",
            Holds::Text,
            "the pole's id, when it is known",
            |line| Value::maybe_text(line.problem.pole.as_deref()),
        ),
        column("what", Holds::Text, "what is wrong", |line| {
            Value::text(line.problem.what.as_str())
        }),
        column(
            "done",
            Holds::Text,
            "what was done with the value or the record",
            |line| Value::text(line.problem.done.as_str()),
        ),
        column("help", Holds::Text, "what would help", |line| {
            Value::text(line.problem.code.info().help)
        }),
    ];
    Sheet::new("data_problems", columns, problems.list.len(), move |row| {
        let problem = &problems.list[row];
        Line {
            problem,
            file: problems.file(problem.source),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::{Cell, Code, Source};
    use crate::tables::tests::{assert_typed, cell};

    #[test]
    fn a_problem_says_where_it_is_and_what_was_done() {
        let list = Problems {
            files: vec!["poles.csv".to_owned()],
            list: vec![Problem {
                code: Code::NoId,
                source: Source { file: 0, row: 218 },
                cell: Some(Cell {
                    column: "TAG".to_owned(),
                    raw: "=danger()".to_owned(),
                }),
                pole: None,
                what: "no id".to_owned(),
                done: "set aside".to_owned(),
            }],
        };
        let sheet = problems(&list);
        assert_typed(&sheet);
        assert_eq!(cell(&sheet, 0, "row"), "218");
        assert_eq!(cell(&sheet, 0, "raw_value"), "'=danger()");
        assert_eq!(cell(&sheet, 0, "pole"), "");
        assert!(!cell(&sheet, 0, "help").is_empty());
    }
}
