//! Columns that fill no field although they are called like one: told of, so that nothing is dropped silently.
//!
//! A name counts when it is a field's own or one of the phrases by which owners call it, whatever unit or number stands
//! beside it. Guesses nothing: what the column is, the owner says. Knows no values.

use super::guess::{WHOLE, likeness, phrases_of, unit_of, unnumbered, words};
use super::rows::Cells;
use super::table::Bound;
use crate::problem::{Cell, Code, Problem, Source};
use crate::programme::sources::{FIELDS, Field, FieldInfo, SourceKind};

/// Fields of a new pole in records of work, and what they are called in a list of poles.
const OF_THE_NEW_POLE: [(Field, Field); 4] = [
    (Field::NewLength, Field::Length),
    (Field::NewClass, Field::Class),
    (Field::NewSpecies, Field::Species),
    (Field::NewPreservative, Field::Preservative),
];

/// One problem for each column that is called like a field which nothing fills.
pub(super) fn unread(bound: &Bound<'_>) -> Vec<Problem> {
    let with_looks = holds_looks(bound);
    let last = bound.source.last_inspection.as_deref();
    let read_as_last = |name: &str| {
        let mut names = last.into_iter().flat_map(|last| last.columns.values());
        names.any(|all| all.iter().any(|own| own.trim() == name))
    };
    let columns = bound.table.columns.iter().enumerate();
    columns
        .filter(|(place, name)| !bound.fills(*place) && !read_as_last(name.trim()))
        .filter_map(|(place, name)| {
            let field = looks_like(bound, name, with_looks)?;
            let filled = |(_, cells): &(u32, Cells<'_>)| {
                cells.get(place).is_some_and(|cell| !cell.trim().is_empty())
            };
            let rows = bound.table.rows.iter().filter(filled).count();
            (rows > 0).then(|| told(bound, name.trim(), field, rows))
        })
        .collect()
}

/// How well a column's name is a field's, whatever unit or number stands in it.
fn likeness_to(info: &FieldInfo, name: &str) -> f64 {
    let all = words(name);
    let (_, own) = unit_of(&all);
    let own_name = info.name.replace('_', " ");
    let forms = [all.clone(), own.to_vec(), unnumbered(own)];
    let score = forms.iter().map(|form| {
        let phrases = phrases_of(info.name).chain([own_name.as_str()]);
        likeness(form, phrases)
    });
    score.fold(0.0, f64::max)
}

/// Whether the rows of a pole list seem to hold last inspections that the programme reads nowhere: a day and a verdict in
/// columns that fill nothing.
fn holds_looks(bound: &Bound<'_>) -> bool {
    let open = |field: Field| {
        let columns = bound.table.columns.iter().enumerate();
        let mut open = columns.filter(|(place, _)| !bound.fills(*place));
        open.any(|(_, name)| likeness_to(field.info(), name) >= WHOLE)
    };
    bound.kind == SourceKind::Poles
        && bound.source.last_inspection.is_none()
        && open(Field::Date)
        && open(Field::Verdict)
}

/// The field that a column is called like and that nothing fills.
fn looks_like(bound: &Bound<'_>, name: &str, with_looks: bool) -> Option<Field> {
    let open = |field: Field| bound.kind.has(field.info()) && !bound.has(field);
    let direct = FIELDS
        .iter()
        .filter(|info| open(info.field) || (with_looks && info.of_inspections && !info.of_poles))
        .map(|info| (info.field, likeness_to(info, name)));
    let of_the_new_pole = OF_THE_NEW_POLE
        .into_iter()
        .filter(|(field, _)| bound.kind == SourceKind::WorkDone && open(*field))
        .map(|(field, of_a_pole)| (field, likeness_to(of_a_pole.info(), name)));
    direct
        .chain(of_the_new_pole)
        .filter(|(_, score)| *score >= WHOLE)
        .max_by(|(one, a), (other, b)| a.total_cmp(b).then(other.cmp(one)))
        .map(|(field, _)| field)
}

fn told(bound: &Bound<'_>, name: &str, field: Field, rows: usize) -> Problem {
    Problem {
        code: Code::UnreadColumn,
        source: Source {
            file: bound.file,
            row: bound.source.header_row.unwrap_or(1),
        },
        cell: Some(Cell {
            column: name.to_owned(),
            raw: name.to_owned(),
        }),
        pole: None,
        what: if bound.kind.has(field.info()) {
            format!(
                "the column is called like {}, which nothing fills ({})",
                field.info().name,
                super::counted(rows, "row")
            )
        } else {
            format!(
                "the column is called like {} of a last inspection, and no [poles.last_inspection] reads it ({})",
                field.info().name,
                super::counted(rows, "row")
            )
        },
        done: "not read".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::Table;
    use crate::programme::sources::TableSource;

    fn seen(kind: SourceKind, columns: &[&str]) -> Vec<(String, String)> {
        let table = Table {
            file: "list.csv".to_owned(),
            columns: columns.iter().map(|name| (*name).to_owned()).collect(),
            rows: vec![(2, vec!["7".to_owned(); columns.len()])].into(),
            ..Table::default()
        };
        let source = TableSource::default();
        let bound = Bound::new(&table, &source, 0, kind).expect("a bound table");
        let found = unread(&bound).into_iter();
        found
            .map(|problem| {
                let column = problem.cell.map_or_else(String::new, |cell| cell.column);
                (column, problem.what)
            })
            .collect()
    }

    #[test]
    fn a_column_in_another_unit_or_by_another_name_is_told_of_and_a_strange_one_is_not() {
        let columns = [
            "id",
            "date",
            "verdict",
            "pocket_width_in",
            "Depth of pocket",
            "weather",
        ];
        let seen = seen(SourceKind::Inspections, &columns);
        let told: Vec<&str> = seen.iter().map(|(column, _)| column.as_str()).collect();
        assert_eq!(told, ["pocket_width_in", "Depth of pocket"]);
        assert!(seen[0].1.contains("like pocket_width,"), "{}", seen[0].1);
    }

    #[test]
    fn facts_of_the_new_pole_under_the_old_poles_names_are_told_of() {
        let columns = ["id", "date", "work", "length", "New class", "Treatment"];
        let seen = seen(SourceKind::WorkDone, &columns);
        let told: Vec<&str> = seen.iter().map(|(_, what)| what.as_str()).collect();
        assert_eq!(told.len(), 2, "{told:?}");
        assert!(told[0].contains("like new_length,"), "{told:?}");
        assert!(told[1].contains("like new_preservative,"), "{told:?}");
    }

    #[test]
    fn last_inspections_on_the_rows_of_a_pole_list_that_nobody_reads_are_told_of() {
        let columns = ["id", "Last insp", "Result", "Shell 1"];
        let told = seen(SourceKind::Poles, &columns);
        let names: Vec<&str> = told.iter().map(|(column, _)| column.as_str()).collect();
        assert_eq!(names, ["Last insp", "Result", "Shell 1"]);
        assert!(
            told[1].1.contains("verdict of a last inspection"),
            "{}",
            told[1].1
        );
        // A verdict without a day is the state of the pole, whatever that is.
        assert_eq!(seen(SourceKind::Poles, &["id", "Result"]), []);
    }

    #[test]
    fn pockets_and_shells_in_numbered_columns_with_our_unit_are_read_by_name() {
        let columns = [
            "id",
            "pocket_1_width_mm",
            "pocket_2_width_mm",
            "pocket_depth_1",
            "pocket_depth_2",
            "sound_shell_mm",
        ];
        assert_eq!(seen(SourceKind::Inspections, &columns), []);
    }
}
