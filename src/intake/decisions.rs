//! The owner's decisions about poles, lines and packages: read, tied to what they are about, and held against each other.
//!
//! What needs no plan to be judged is judged here: whom a decision is about, whether it can be read, whether it has what
//! its kind needs, whether another one says the opposite. Whether it may put off what must be done is the schedule's.

use super::dates::{Fault, read_day};
use super::history::History;
use super::poles::PoleLists;
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code};
use crate::Error;
use crate::inventory::{Decision, Names, Removal, RowCount, Target};
use crate::pole::{Action, DecisionKind, Method, NameIndex, PoleIndex, Status, Vocabulary};
use crate::problem::{Cell, Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;
use crate::units::Date;
use std::collections::{BTreeMap, BTreeSet};

/// What decisions are tied to.
pub(super) struct Known<'a> {
    pub lists: &'a PoleLists<'a>,
    pub history: &'a History<'a>,
    pub names: &'a Names,
    /// Poles that are gone, with their records.
    pub removed: &'a [Removal],
}

/// A decision with the row that it stands in.
struct Read<'a> {
    decision: Decision,
    row: Row<'a>,
}

/// The decisions that the files hold, and the count of rows.
///
/// # Errors
/// When a file has no column for what was decided, or none for whom it is about.
pub(super) fn read_decisions<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    known: &Known<'_>,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<(Vec<Decision>, RowCount), Error> {
    let mut rows = RowCount::default();
    let mut read: Vec<Read<'a>> = Vec::new();
    let lines = lines_of(known);
    for bound in bounds {
        bound.needs(Field::Decision)?;
        if ![Field::Line, Field::Package]
            .iter()
            .any(|field| bound.has(*field))
        {
            bound.needs(Field::Id)?;
        }
        problems.extend(bound.problems());
        for row in bound.rows() {
            rows.read += 1;
            match read_one(row, programme, known, &lines, unmapped, problems) {
                Ok(decision) => read.push(Read { decision, row }),
                Err(Left::OutOfScope) => rows.out_of_scope += 1,
                Err(Left::SetAside) => rows.set_aside += 1,
            }
        }
    }
    let before = read.len();
    let kept = without_contradictions(without_repeats(read, problems), problems);
    rows.set_aside += before - kept.len();
    rows.used = kept.len();
    settle_predecessors(&kept, known, problems);
    let decisions = kept.into_iter().map(|read| read.decision).collect();
    Ok((decisions, rows))
}

/// Why a row is not used.
enum Left {
    OutOfScope,
    SetAside,
}

/// The lines that poles stand on, by name.
fn lines_of<'a>(known: &Known<'a>) -> BTreeMap<&'a str, NameIndex> {
    let lines: BTreeSet<NameIndex> = known
        .lists
        .poles
        .iter()
        .filter_map(|listed| listed.pole.line)
        .collect();
    let named = |line: NameIndex| (known.names.get(line), line);
    lines.into_iter().map(named).collect()
}

fn read_one(
    row: Row<'_>,
    programme: &Programme,
    known: &Known<'_>,
    lines: &BTreeMap<&str, NameIndex>,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<Decision, Left> {
    let id = row.filled(Field::Id).unwrap_or("");
    let target = target_of(row, known, lines, problems)?;
    let codes = &row.bound.source.codes;
    let mut coded = Coder { row, id, unmapped };
    let kind: DecisionKind = coded.word(
        Field::Decision,
        &codes.decision,
        Code::NoDecision,
        "no decision is named",
        problems,
    )?;
    let method = (kind == DecisionKind::Method)
        .then(|| {
            let none = "the decision is on a method, and none is named";
            coded.word(
                Field::Method,
                &codes.method,
                Code::NoMethodOrAction,
                none,
                problems,
            )
        })
        .transpose()?;
    let action = (kind == DecisionKind::Action)
        .then(|| {
            let none = "the decision is on an action, and none is named";
            coded.word(
                Field::Action,
                &codes.action,
                Code::NoMethodOrAction,
                none,
                problems,
            )
        })
        .transpose()?;
    let decision = Decision {
        target,
        kind,
        year: year_of(row, kind, programme, problems)?,
        method,
        action,
        date: date_of(row, programme, problems)?,
        by: row.text(Field::By).map(str::to_owned),
        reason: row.text(Field::Reason).map(str::to_owned),
        interim_control: row.text(Field::InterimControl).map(str::to_owned),
        review_date: review_date_of(row, problems),
        cell: Cell {
            column: row.bound.column(Field::Decision).to_owned(),
            raw: row.raw(Field::Decision).to_owned(),
        },
        source: row.source(),
    };
    if kind == DecisionKind::Clear {
        clears_completely(row, &decision, problems)?;
    }
    Ok(decision)
}

/// Reads the words of one row.
struct Coder<'a, 'b> {
    row: Row<'a>,
    id: &'a str,
    unmapped: &'b mut Unmapped,
}

impl Coder<'_, '_> {
    fn word<V: Vocabulary>(
        &mut self,
        field: Field,
        codes: &BTreeMap<String, V>,
        code: Code,
        none: &str,
        problems: &mut Vec<Problem>,
    ) -> Result<V, Left> {
        let what = match read_code(self.row, field, codes) {
            Coded::Known(word) => return Ok(word),
            Coded::Blank => none.to_owned(),
            Coded::Unmapped => {
                self.unmapped.count(self.row, field);
                format!("\"{}\" is no word of ours", self.row.raw(field).trim())
            }
        };
        problems.push(self.row.problem(code, field, self.id, what, "set aside"));
        Err(Left::SetAside)
    }
}

/// Whom a row is about: the pole where one is named, else the package, else the line. What else it names only describes.
fn target_of(
    row: Row<'_>,
    known: &Known<'_>,
    lines: &BTreeMap<&str, NameIndex>,
    problems: &mut Vec<Problem>,
) -> Result<Target, Left> {
    if let Some(id) = row.filled(Field::Id) {
        let place = known
            .lists
            .poles
            .binary_search_by(|listed| listed.id.as_ref().cmp(id));
        let removed = |place: &usize| known.lists.poles[*place].pole.status == Status::Removed;
        return match place {
            Ok(place) if !removed(&place) => Ok(Target::Pole(PoleIndex(place as u32))),
            // The list as it was before work took poles away.
            Err(_)
                if !known.history.ended.contains_key(id)
                    && !known.lists.out_of_scope.contains(id) =>
            {
                let what = format!("{id} is not in the list");
                let (code, field) = (Code::DecisionOnUnknownPole, Field::Id);
                problems.push(row.problem(code, field, id, what, "set aside"));
                Err(Left::SetAside)
            }
            _ => {
                let what = format!("{id} is not planned for");
                let (code, field) = (Code::OutOfScopeDecision, Field::Id);
                problems.push(row.problem(code, field, id, what, "out of scope"));
                Err(Left::OutOfScope)
            }
        };
    }
    if let Some(package) = row.filled(Field::Package) {
        return Ok(Target::Package(package.to_owned()));
    }
    let line = row.filled(Field::Line);
    if let Some(line) = line.and_then(|name| lines.get(name)) {
        return Ok(Target::Line(*line));
    }
    let (code, field, what) = if let Some(name) = line {
        let what = format!("no pole to plan for stands on a line \"{name}\"");
        (Code::DecisionOnUnknownPole, Field::Line, what)
    } else {
        let what = "neither a pole nor a line nor a package is named".to_owned();
        (Code::DecisionOnNothing, Field::Id, what)
    };
    problems.push(row.problem(code, field, "", what, "set aside"));
    Err(Left::SetAside)
}

/// The year, which some kinds need; others do not look at the cell.
fn year_of(
    row: Row<'_>,
    kind: DecisionKind,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> Result<Option<i16>, Left> {
    let needed = matches!(
        kind,
        DecisionKind::Pin | DecisionKind::Defer | DecisionKind::Freeze
    );
    let text = row.text(Field::Year);
    if !needed && (kind != DecisionKind::Action || text.is_none()) {
        return Ok(None);
    }
    let id = row.filled(Field::Id).unwrap_or("");
    let mut refuse = |code, what: String| {
        problems.push(row.problem(code, Field::Year, id, what, "set aside"));
        Left::SetAside
    };
    let Some(text) = text else {
        return Err(refuse(Code::NoDecisionYear, "no year is named".to_owned()));
    };
    // A spreadsheet's year: 2027.0
    let plain = text.strip_suffix(".0").unwrap_or(text);
    let Some(year) = plain.parse::<i16>().ok().filter(|year| *year >= 1000) else {
        return Err(refuse(
            Code::NoDecisionYear,
            format!("\"{text}\" is not a year of four digits"),
        ));
    };
    let first = programme.first_year();
    let last = i32::from(first) + i32::from(programme.schedule_years.max(1)) - 1;
    let beyond = kind != DecisionKind::Defer && i32::from(year) > last;
    if year < first || beyond {
        let what = format!("{year} is not among the years of the schedule, {first} to {last}");
        return Err(refuse(Code::YearOutsideSchedule, what));
    }
    Ok(Some(year))
}

/// When it was made. Nothing later than the plan is read.
fn date_of(
    row: Row<'_>,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> Result<Option<Date>, Left> {
    let Some(text) = row.text(Field::Date) else {
        return Ok(None);
    };
    let id = row.filled(Field::Id).unwrap_or("");
    let form = row.bound.source.date_form.as_deref();
    match read_day(text, form, programme.plan_from) {
        Ok(day) => Ok(Some(day.earliest)),
        Err(Fault::Future) => {
            let what = Fault::Future.sentence(text, programme.plan_from);
            let code = Code::FutureDecision;
            problems.push(row.problem(code, Field::Date, id, what, "set aside"));
            Err(Left::SetAside)
        }
        Err(fault) => {
            let what = fault.sentence(text, programme.plan_from);
            let code = Code::NoDecisionDate;
            problems.push(row.problem(code, Field::Date, id, what, "taken as unknown"));
            Ok(None)
        }
    }
}

/// Until when it holds, which may well be after the plan.
fn review_date_of(row: Row<'_>, problems: &mut Vec<Problem>) -> Option<Date> {
    let text = row.text(Field::ReviewDate)?;
    let form = row.bound.source.date_form.as_deref();
    match read_day(text, form, Date::MAX) {
        Ok(day) => Some(day.latest),
        Err(fault) => {
            let id = row.filled(Field::Id).unwrap_or("");
            let what = fault.sentence(text, Date::MAX);
            let (code, field) = (Code::NoDecisionDate, Field::ReviewDate);
            problems.push(row.problem(code, field, id, what, "taken as unknown"));
            None
        }
    }
}

/// A clearing is of one pole, by somebody, on a day, for a reason.
fn clears_completely(
    row: Row<'_>,
    decision: &Decision,
    problems: &mut Vec<Problem>,
) -> Result<(), Left> {
    let id = row.filled(Field::Id).unwrap_or("");
    let what = if matches!(decision.target, Target::Pole(_)) {
        let parts = [
            ("who", decision.by.is_some()),
            ("when", decision.date.is_some()),
            ("why", decision.reason.is_some()),
        ];
        let lacking: Vec<&str> = parts
            .into_iter()
            .filter(|(_, given)| !given)
            .map(|(part, _)| part)
            .collect();
        if lacking.is_empty() {
            return Ok(());
        }
        format!("the clearing does not say {}", lacking.join(" and "))
    } else {
        "a clearing is of one pole, and this one names none".to_owned()
    };
    let done = "set aside; what was recorded stands";
    let code = Code::IncompleteClearing;
    problems.push(row.problem(code, Field::Decision, id, what, done));
    Err(Left::SetAside)
}

/// What two decisions must share to be one.
fn content(decision: &Decision) -> impl Ord + use<'_> {
    (
        (&decision.target, decision.kind, decision.year),
        (decision.method, decision.action, decision.date),
        (&decision.by, &decision.reason),
        (&decision.interim_control, decision.review_date),
    )
}

fn without_repeats<'a>(mut read: Vec<Read<'a>>, problems: &mut Vec<Problem>) -> Vec<Read<'a>> {
    read.sort_by(|a, b| {
        let order = content(&a.decision).cmp(&content(&b.decision));
        order.then(a.row.source().cmp(&b.row.source()))
    });
    read.dedup_by(|later, earlier| {
        let same = content(&later.decision) == content(&earlier.decision);
        if same {
            let place = place_of(earlier.row);
            let what = format!("the decision stands in {place} already");
            let id = later.row.filled(Field::Id).unwrap_or("");
            let (code, field) = (Code::RepeatedDecision, Field::Decision);
            problems.push(later.row.problem(code, field, id, what, "set aside"));
        }
        same
    });
    read
}

/// Of decisions on one pole, line or package that cannot all be followed the later one counts, and of the same day none.
fn without_contradictions<'a>(read: Vec<Read<'a>>, problems: &mut Vec<Problem>) -> Vec<Read<'a>> {
    // Decisions stand in the order of what they are about.
    let beaten: Vec<Option<(usize, bool)>> = (0..read.len())
        .map(|place| {
            let own = &read[place].decision;
            let start = read.partition_point(|other| other.decision.target < own.target);
            let end = read.partition_point(|other| other.decision.target <= own.target);
            let rivals = (start..end)
                .filter(|other| *other != place && contradict(own, &read[*other].decision));
            rivals
                .filter(|other| read[*other].decision.date >= own.date)
                .map(|other| (other, read[other].decision.date > own.date))
                .max_by_key(|(_, later)| *later)
        })
        .collect();
    for (place, rival) in beaten.iter().enumerate() {
        let Some((rival, later)) = *rival else {
            continue;
        };
        let row = read[place].row;
        let what = format!(
            "{} and {} in {} cannot both be followed",
            in_words(&read[place].decision),
            in_words(&read[rival].decision),
            place_of(read[rival].row)
        );
        let done = if later {
            "set aside: the later one counts"
        } else {
            "both set aside: neither is the later one"
        };
        let id = row.filled(Field::Id).unwrap_or("");
        let (code, field) = (Code::ContradictingDecisions, Field::Decision);
        problems.push(row.problem(code, field, id, what, done));
    }
    let kept = read.into_iter().zip(beaten);
    kept.filter(|(_, rival)| rival.is_none())
        .map(|(read, _)| read)
        .collect()
}

/// Whether two decisions about the same cannot both be followed.
fn contradict(one: &Decision, other: &Decision) -> bool {
    use DecisionKind::{Action, Clear, Defer, Freeze, LeaveOut, Method, Pin};
    match (one.kind, other.kind) {
        (Method, Method) => one.method != other.method,
        (Clear | Method, _) | (_, Clear | Method) | (LeaveOut, LeaveOut) => false,
        (LeaveOut, _) | (_, LeaveOut) => true,
        (Action, Action) => (one.action, one.year) != (other.action, other.year),
        (Action, Defer) => one.year.is_some_and(|year| Some(year) < other.year),
        (Defer, Action) => other.year.is_some_and(|year| Some(year) < one.year),
        (Action, Pin | Freeze) => one.year.is_some() && one.year != other.year,
        (Pin | Freeze, Action) => other.year.is_some() && one.year != other.year,
        (Pin | Freeze, Defer) => one.year < other.year,
        (Defer, Pin | Freeze) => other.year < one.year,
        (Pin | Freeze, Pin | Freeze) | (Defer, Defer) => one.year != other.year,
    }
}

fn in_words(decision: &Decision) -> String {
    let word = decision.kind.word();
    let more = decision
        .method
        .map(Method::word)
        .or(decision.action.map(Action::word))
        .map(|more| format!(" {more}"))
        .unwrap_or_default();
    let year = decision.year.map(|year| format!(" {year}"));
    format!("{word}{more}{}", year.unwrap_or_default())
}

fn place_of(row: Row<'_>) -> String {
    format!("{} row {}", row.bound.table.file, row.line)
}

/// A clearing settles as well whether a reject before the set date was the pole's own: says so at those records.
fn settle_predecessors(kept: &[Read<'_>], known: &Known<'_>, problems: &mut [Problem]) {
    let clearings: BTreeMap<&str, &Decision> = kept
        .iter()
        .filter(|read| read.decision.kind == DecisionKind::Clear)
        .filter_map(|read| Some((read.row.filled(Field::Id)?, &read.decision)))
        .collect();
    if clearings.is_empty() {
        return;
    }
    let records: BTreeMap<_, Date> = known
        .removed
        .iter()
        .filter(|gone| clearings.contains_key(gone.id.as_str()))
        .flat_map(|gone| &gone.inspections)
        .map(|inspection| (inspection.source, inspection.date))
        .collect();
    for problem in problems {
        let clearing = problem.pole.as_deref().and_then(|id| clearings.get(id));
        let recorded = records.get(&problem.source);
        if let (Code::PredecessorsRecord, Some(clearing), Some(recorded)) =
            (problem.code, clearing, recorded)
            && clearing.date.is_some_and(|date| *recorded <= date)
        {
            let (by, date) = (&clearing.by, clearing.date);
            problem.done = format!(
                "{}; cleared by {} on {}",
                problem.done,
                by.as_deref().unwrap_or_default(),
                date.map(|date| date.to_string()).unwrap_or_default()
            );
        }
    }
}

#[cfg(test)]
mod tests;
