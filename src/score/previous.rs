//! The plan of an earlier run, as its own files tell it, and what of it moved since and why.
//!
//! Rows are held as the cells of `schedule.csv`, so that like is compared with like: the current schedule is read the same
//! way. Causes are told from what the two rows say; what no row says is not made up.

use crate::Error;
use crate::intake::{Table, read_back};
use crate::pole::{Method, Vocabulary};
use crate::units::Date;
use std::collections::BTreeMap;
use std::path::Path;

/// Facts of a pole that a schedule prints; a change in one is a change of the record.
const FACTS: [&str; 8] = [
    "length",
    "class",
    "species",
    "preservative",
    "install_year_source",
    "last_date",
    "last_method",
    "last_verdict",
];

/// Between facts in one text: a sign that no cell holds.
const PARTED: &str = "\u{1f}";

/// Columns that an earlier schedule must have to be read.
const NEEDED: [&str; 11] = [
    "pole_id",
    "status",
    "action",
    "method",
    "year",
    "due_date",
    "rule",
    "p_below_limit_now",
    "locked_by",
    "install_year",
    "last_date",
];

/// One row of a schedule, earlier or current.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// The pole's id.
    pub id: String,
    /// `planned`, `deferred` or `not_due`.
    pub status: String,
    /// What is called for.
    pub action: String,
    /// Plan year, or nothing.
    pub year: String,
    /// Method of the planned inspection, or nothing.
    pub method: String,
    /// Day by which something must be done.
    due: String,
    /// Name of the binding rule.
    rule: String,
    /// The decisions that fixed it.
    locked_by: String,
    /// What is recorded, and the year of setting where one is: one text, for there may be a million of them.
    facts: String,
    /// Chance of being below the limit at the plan date.
    pub below_limit: Option<f64>,
}

impl Row {
    /// A row from its cells by column name, as they are before they are made harmless for spreadsheets.
    pub fn of(cell: impl Fn(&str) -> String) -> Self {
        // An estimated year of setting moves with the estimate, not with the record.
        let estimated = cell("install_year_source") == "estimated";
        let set = if estimated {
            String::new()
        } else {
            cell("install_year")
        };
        Self {
            id: cell("pole_id"),
            status: cell("status"),
            action: cell("action"),
            year: cell("year"),
            method: cell("method"),
            due: cell("due_date"),
            rule: cell("rule"),
            locked_by: cell("locked_by"),
            facts: format!("{}{PARTED}{set}", FACTS.map(&cell).join(PARTED)),
            below_limit: cell("p_below_limit_now").parse().ok(),
        }
    }

    /// The planned year.
    pub fn planned_year(&self) -> Option<i16> {
        let planned = self.status == "planned";
        self.year.parse().ok().filter(|_| planned)
    }

    /// The method of the planned inspection.
    pub fn planned_method(&self) -> Option<Method> {
        Method::from_word(&self.method)
    }
}

/// An earlier plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Previous {
    /// Version of the program that made it.
    pub version: String,
    /// The day from which it plans.
    pub plan_from: Date,
    /// Its rows by pole id.
    pub rows: BTreeMap<String, Row>,
}

impl Previous {
    /// The plan in the table of an earlier `schedule.csv`; `path` is for messages.
    ///
    /// # Errors
    /// When the table lacks columns that every schedule has.
    pub fn new(
        table: &Table,
        version: String,
        plan_from: Date,
        path: &Path,
    ) -> Result<Self, Error> {
        let places: BTreeMap<&str, usize> = (table.columns.iter().map(String::as_str))
            .zip(0..)
            .collect();
        let missing: Vec<&str> = NEEDED
            .into_iter()
            .filter(|name| !places.contains_key(name))
            .collect();
        if !missing.is_empty() {
            return Err(Error::Unreadable {
                path: path.to_owned(),
                what: format!("the earlier schedule has no column {}", missing.join(", ")),
                help: "[previous] reads schedule.csv as `polewright plan` wrote it".to_owned(),
            });
        }
        let rows = table.rows.iter().map(|(_, cells)| {
            let row = Row::of(|name| {
                let cell = places.get(name).and_then(|place| cells.get(*place));
                cell.map_or_else(String::new, |cell| read_back(cell).to_owned())
            });
            (row.id.clone(), row)
        });
        Ok(Self {
            version,
            plan_from,
            rows: rows.collect(),
        })
    }
}

/// Why a pole stands elsewhere than in the earlier plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The list or its inspections say something else.
    Record,
    /// Another rule binds, or the same one calls on another day, while records are the same.
    Rule,
    /// The owner decided so, now or then.
    Decision,
    /// Another version of the program made the earlier plan.
    ModelVersion,
    /// Its planned year is over and nothing is on record of it.
    NotDone,
    /// Nothing of the pole itself: crew-days, its line's round, or what the fleet's inspections taught.
    Other,
}

impl Cause {
    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Record => "record",
            Self::Rule => "rule",
            Self::Decision => "decision",
            Self::ModelVersion => "model_version",
            Self::NotDone => "not_done",
            Self::Other => "other",
        }
    }
}

/// What is compared of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved {
    /// Planned, deferred, not due, or not listed.
    Status,
    /// What is called for.
    Action,
    /// The year.
    Year,
    /// The method.
    Method,
}

impl Moved {
    /// The word in tables: the column of `schedule.csv`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Status => "status",
            Self::Action => "action",
            Self::Year => "year",
            Self::Method => "method",
        }
    }
}

/// One thing that moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The pole.
    pub id: String,
    /// What moved.
    pub what: Moved,
    /// As it was; `not_listed` for a pole that the earlier plan did not have.
    pub old: String,
    /// As it is; `not_listed` for a pole that is no longer planned for.
    pub new: String,
    /// Why.
    pub cause: Cause,
}

/// What stands for the status of a pole in a plan that does not have it.
const NOT_LISTED: &str = "not_listed";

/// Everything that moved from the earlier plan to the rows of the current one, in the order of ids.
pub fn changes(
    previous: &Previous,
    now: &BTreeMap<String, Row>,
    version: &str,
    plan_from: Date,
) -> Vec<Change> {
    let mut all = Vec::new();
    let status = |id: &str, old: &str, new: &str| Change {
        id: id.to_owned(),
        what: Moved::Status,
        old: old.to_owned(),
        new: new.to_owned(),
        cause: Cause::Record,
    };
    for (id, old) in &previous.rows {
        let Some(new) = now.get(id) else {
            all.push(status(id, &old.status, NOT_LISTED));
            continue;
        };
        let cause = cause(previous, (old, new), version, plan_from);
        let compared = [
            (Moved::Status, &old.status, &new.status),
            (Moved::Action, &old.action, &new.action),
            (Moved::Year, &old.year, &new.year),
            (Moved::Method, &old.method, &new.method),
        ];
        let moved = compared.into_iter().filter(|(_, old, new)| old != new);
        all.extend(moved.map(|(what, old, new)| Change {
            id: id.clone(),
            what,
            old: old.clone(),
            new: new.clone(),
            cause,
        }));
    }
    let begun = now
        .iter()
        .filter(|(id, _)| !previous.rows.contains_key(*id));
    all.extend(begun.map(|(id, new)| status(id, NOT_LISTED, &new.status)));
    all.sort_by(|one, other| one.id.cmp(&other.id));
    all
}

/// Why a pole moved: a decision that is new or gone, what is recorded, the rule, a decision that holds as before, the
/// version, a year that went by; else nothing that its rows say.
fn cause(previous: &Previous, (old, new): (&Row, &Row), version: &str, plan_from: Date) -> Cause {
    if old.locked_by != new.locked_by {
        return Cause::Decision;
    }
    if old.facts != new.facts {
        return Cause::Record;
    }
    // Where nothing proves that a pole is not overdue it is due on the day of the plan, whichever that is.
    let undated = old.due == previous.plan_from.to_string() && new.due == plan_from.to_string();
    if old.rule != new.rule || (old.due != new.due && !undated) {
        return Cause::Rule;
    }
    if !new.locked_by.is_empty() {
        return Cause::Decision;
    }
    if old
        .planned_year()
        .is_some_and(|year| year < plan_from.year())
    {
        return Cause::NotDone;
    }
    if previous.version != version {
        return Cause::ModelVersion;
    }
    Cause::Other
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const HEADER: [&str; 19] = [
        "pole_id",
        "status",
        "action",
        "method",
        "year",
        "due_date",
        "rule",
        "locked_by",
        "p_below_limit_now",
        "install_year",
        "install_year_source",
        "length",
        "class",
        "species",
        "preservative",
        "last_date",
        "last_method",
        "last_verdict",
        "reason",
    ];

    /// A table with one row for each list of (column, cell) over an ordinary row.
    fn table(rows: &[&[(&str, &str)]]) -> Table {
        let usual = [
            ("status", "planned"),
            ("action", "inspect"),
            ("method", "sound_and_bore"),
            ("year", "2026"),
            ("due_date", "2026-05-01"),
            ("rule", "round"),
            ("p_below_limit_now", "0.25"),
            ("install_year", "1980"),
            ("install_year_source", "recorded"),
            ("last_date", "2016-05-01"),
            ("last_verdict", "sound"),
        ];
        let cells = |own: &[(&str, &str)]| {
            let of = |name: &str| {
                let mut all = own.iter().chain(&usual);
                let cell = all.find(|(column, _)| *column == name);
                cell.map_or_else(String::new, |(_, cell)| (*cell).to_owned())
            };
            HEADER.map(of).to_vec()
        };
        Table {
            file: "schedule.csv".to_owned(),
            columns: HEADER.map(str::to_owned).to_vec(),
            rows: rows.iter().map(|own| (2, cells(own))).collect(),
            ..Table::default()
        }
    }

    fn plan(rows: &[&[(&str, &str)]]) -> Previous {
        let from = date(2025, 1, 1);
        Previous::new(&table(rows), "0.1.0".to_owned(), from, Path::new("s.csv")).expect("a plan")
    }

    fn told(old: &[(&str, &str)], new: &[(&str, &str)], version: &str) -> Vec<String> {
        let (old, new) = (plan(&[old]), plan(&[new]));
        let moved = changes(&old, &new.rows, version, date(2026, 1, 1)).into_iter();
        moved
            .map(|own| {
                let (what, cause) = (own.what.word(), own.cause.word());
                format!("{} {what} {}>{} {cause}", own.id, own.old, own.new)
            })
            .collect()
    }

    #[test]
    fn each_cause_is_told_from_what_the_two_rows_say() {
        let a = ("pole_id", "A");
        let later = ("year", "2028");
        let of = |old: &[(&str, &str)], new: &[(&str, &str)]| told(old, new, "0.1.0");
        assert!(of(&[a], &[a]).is_empty());
        assert_eq!(of(&[a], &[a, later]), ["A year 2026>2028 other"]);
        assert_eq!(
            told(&[a], &[a, later], "0.2.0"),
            ["A year 2026>2028 model_version"]
        );
        let seen = ("last_date", "2025-06-01");
        assert_eq!(of(&[a], &[a, later, seen]), ["A year 2026>2028 record"]);
        let rule = ("rule", "new round");
        assert_eq!(of(&[a], &[a, later, rule]), ["A year 2026>2028 rule"]);
        let pinned = ("locked_by", "pin by N. N.");
        assert_eq!(
            of(&[a], &[a, later, pinned, seen]),
            ["A year 2026>2028 decision"]
        );
        // Planned for a year that is over, and nothing is on record.
        assert_eq!(
            of(&[a, ("year", "2025")], &[a]),
            ["A year 2025>2026 not_done"]
        );
        let undated = |day| [a, ("due_date", day)];
        assert_eq!(
            of(
                &undated("2025-01-01"),
                &[a, later, ("due_date", "2026-01-01")]
            ),
            ["A year 2026>2028 other"]
        );
        // An estimated year of setting moves with the estimate, and is no record.
        let guess = ("install_year_source", "estimated");
        let year = ("install_year", "1981");
        assert_eq!(
            of(&[a, guess], &[a, guess, year, later]),
            ["A year 2026>2028 other"]
        );
        assert_eq!(of(&[a], &[a, year, later]), ["A year 2026>2028 record"]);
    }

    #[test]
    fn a_pole_that_only_one_of_the_plans_has_is_a_change_of_the_record() {
        assert_eq!(
            told(&[("pole_id", "A")], &[("pole_id", "'-B")], "0.1.0"),
            [
                "-B status not_listed>planned record",
                "A status planned>not_listed record"
            ]
        );
    }

    #[test]
    fn a_table_that_is_no_schedule_is_refused_with_the_columns_that_it_lacks() {
        let mut alien = table(&[&[("pole_id", "A")]]);
        alien.columns[0] = "id".to_owned();
        let refused = Previous::new(&alien, String::new(), date(2025, 1, 1), Path::new("s.csv"));
        let said = refused.expect_err("no schedule").to_string();
        assert!(said.contains("no column pole_id"), "{said}");
    }
}
