//! `changes.csv`: what moved since the earlier plan that the programme names, and why.
//!
//! Also gives the rows of the current schedule as cells, which the earlier one is compared with.

use super::{Holds, Sheet, Value, column};
use crate::score::previous::{Change, Row};
use crate::words::Caution;
use crate::words::previous::why;
use std::collections::BTreeMap;

/// The rows of a schedule by pole id, as an earlier one is read.
pub fn rows_of(schedule: &Sheet<'_>) -> BTreeMap<String, Row> {
    let rows = schedule.rows().map(|values| {
        let row = Row::of(|name| {
            let value = schedule.place(name).map(|place| &values[place]);
            match value {
                Some(Value::Text(text)) => text.clone(),
                Some(other) => other.cell().into_owned(),
                None => String::new(),
            }
        });
        (row.id.clone(), row)
    });
    rows.collect()
}

/// What moved.
pub fn changes(moved: &[Change]) -> Sheet<'_> {
    let columns = vec![
        column("pole_id", Holds::Text, "the pole's id", |own: &&Change| {
            Value::text(own.id.as_str())
        }),
        column(
            "what",
            Holds::Text,
            "what moved: status, action, year or method, as the columns of schedule.csv",
            |own| Value::text(own.what.word()),
        ),
        column(
            "old",
            Holds::Text,
            "as it was in the earlier plan; not_listed for a pole that it did not have",
            |own| Value::text(own.old.as_str()),
        ),
        column(
            "new",
            Holds::Text,
            "as it is; not_listed for a pole that is no longer planned for",
            |own| Value::text(own.new.as_str()),
        ),
        column(
            "cause",
            Holds::Text,
            "record (list or inspections say something else), rule (another one binds, or on another day), decision, model_version, not_done (its year is over and nothing is on record) or other; money moves nothing, because limits change no year",
            |own| Value::text(own.cause.word()),
        ),
        column("why", Holds::Text, "the same in words", |own| {
            Value::text(why(own.cause))
        }),
        column("caution", Holds::Text, "how not to read the row", |_| {
            Value::text(Caution::Estimate.text())
        }),
    ];
    Sheet::new("changes", columns, moved.len(), move |row| &moved[row])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::score::previous::{Cause, Moved};
    use crate::tables::schedule::schedule;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    #[test]
    fn a_change_is_a_row_with_its_cause_in_words() {
        let moved = [Change {
            id: "A-1".to_owned(),
            what: Moved::Year,
            old: "2026".to_owned(),
            new: "2027".to_owned(),
            cause: Cause::Other,
        }];
        let sheet = changes(&moved);
        assert_typed(&sheet);
        assert_eq!(cell(&sheet, 0, "cause"), "other");
        assert!(cell(&sheet, 0, "why").contains("crew-days"));
    }

    #[test]
    fn the_current_schedule_is_read_as_an_earlier_one_is() {
        let sample = sample::fleet();
        let rows = rows_of(&schedule(sample.case(PoleIndex(0))));
        assert_eq!(rows.len(), 5);
        assert_eq!(
            (rows["A-3"].planned_year(), rows["B-1"].planned_year()),
            (Some(2026), None)
        );
        assert_eq!(rows["A-3"].below_limit, Some(0.11));
    }
}
