//! Rows of inspection records to inspections of listed poles.

use super::dates::{Day, Fault, read_day};
use super::identity::plain_id;
use super::poles::PoleLists;
use super::remedies::read_remedy;
use super::sizes::{read_circumferences, read_depths};
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code};
use crate::Error;
use crate::inventory::{Names, RowCount};
use crate::pole::{Inspection, Method, PoleIndex, Verdict, Vocabulary};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;
use std::collections::BTreeMap;

/// An inspection in the making.
struct Record<'a> {
    row: Row<'a>,
    day: Day,
    inspection: Inspection,
}

/// Inspections of each pole, in the order of `lists.poles`, and the count of rows.
pub(super) fn read_inspections<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    lists: &mut PoleLists<'_>,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<(Vec<Vec<Inspection>>, RowCount), Error> {
    for bound in bounds {
        refuse_unmapped(bound)?;
    }
    let mut rows = RowCount::default();
    let mut records: Vec<Vec<Record<'a>>> = Vec::new();
    records.resize_with(lists.poles.len(), Vec::new);
    let alike: BTreeMap<String, &str> = lists
        .poles
        .iter()
        .rev()
        .map(|listed| (plain_id(listed.id), listed.id))
        .collect();
    for bound in bounds {
        problems.extend(bound.problems());
        for row in bound.rows() {
            rows.read += 1;
            let id = row.filled(Field::Id).unwrap_or("");
            match lists.poles.binary_search_by(|listed| listed.id.cmp(id)) {
                Ok(place) => {
                    let diameter = lists.poles[place].pole.diameter;
                    match read_record(row, id, diameter, programme, names, unmapped, problems) {
                        Some(record) => records[place].push(record),
                        None => rows.set_aside += 1,
                    }
                }
                Err(_) if lists.out_of_scope.contains(id) => rows.out_of_scope += 1,
                Err(_) => {
                    rows.set_aside += 1;
                    problems.push(no_pole(row, id, &alike));
                }
            }
        }
        let no_point = |noticed: &&super::Noticed| noticed.code == Code::NotAPoint;
        let apart = bound.table.noticed.iter().filter(no_point).count();
        rows.read += apart;
        rows.set_aside += apart;
    }
    let mut inspections = Vec::with_capacity(records.len());
    for (listed, own) in lists.poles.iter_mut().zip(records) {
        let before = own.len();
        let own = one_of_each(own, listed.id, problems);
        rows.set_aside += before - own.len();
        rows.used += own.len();
        doubt_set_date(listed, &own, problems);
        inspections.push(own.into_iter().map(|record| record.inspection).collect());
    }
    Ok((inspections, rows))
}

/// An error when the file has codes of verdicts or methods that nobody explained.
fn refuse_unmapped(bound: &Bound<'_>) -> Result<(), Error> {
    bound.needs(Field::Verdict)?;
    bound.needs(Field::Date)?;
    if bound.source.default_method.is_none() {
        bound.needs(Field::Method).map_err(|error| match error {
            Error::Programme { path, what, help } => Error::Programme {
                path,
                what,
                help: format!("{help}; or set default_method for the whole file"),
            },
            other => other,
        })?;
    }
    let codes = &bound.source.codes;
    let mut unmapped = Unmapped::default();
    for row in bound.rows() {
        if read_code(row, Field::Verdict, &codes.verdict) == Coded::Unmapped {
            unmapped.count(row, Field::Verdict);
        }
        if read_code(row, Field::Method, &codes.method) == Coded::Unmapped {
            unmapped.count(row, Field::Method);
        }
    }
    let words = |list: Vec<&str>| list.join(", ");
    let verdicts = Verdict::WORDS.iter().map(|(_, word, _)| *word).collect();
    let methods = Method::WORDS.iter().map(|(_, word, _)| *word).collect();
    for (field, words) in [
        (Field::Verdict, words(verdicts)),
        (Field::Method, words(methods)),
    ] {
        let found = unmapped.of(bound.file, field);
        if found.is_empty() {
            continue;
        }
        let name = field.info().name;
        let values: Vec<String> = found
            .iter()
            .map(|(raw, rows)| format!("\"{raw}\" in {}", super::counted(*rows, "row")))
            .collect();
        let lines: Vec<String> = found
            .iter()
            .map(|(raw, _)| format!("{} = \"...\"", toml::Value::from(*raw)))
            .collect();
        return Err(Error::UnmappedCodes {
            file: bound.table.file.clone(),
            column: bound.column(field).to_owned(),
            values: format!("no word of ours for {}", values.join(", ")),
            help: format!(
                "add this below the file's [[inspections]], each with one of {words}:\n\n[inspections.codes.{name}]\n{}\n",
                lines.join("\n")
            ),
        });
    }
    Ok(())
}

fn no_pole(row: Row<'_>, id: &str, alike: &BTreeMap<String, &str>) -> Problem {
    let (code, what) = if id.is_empty() {
        (Code::NoId, "there is no id".to_owned())
    } else {
        let plain = plain_id(id);
        let meant = alike.get(&plain).filter(|_| !plain.is_empty());
        let what = meant.map_or_else(
            || format!("{id} is not in the list"),
            |known| format!("{id} is not in the list, but {known} is"),
        );
        (Code::UnknownPole, what)
    };
    row.problem(code, Field::Id, id, what, "set aside")
}

fn read_record<'a>(
    row: Row<'a>,
    id: &str,
    diameter: Option<crate::units::Mm>,
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Option<Record<'a>> {
    let codes = &row.bound.source.codes;
    let mut refuse = |code, field, what: String| {
        problems.push(row.problem(code, field, id, what, "set aside"));
    };
    let verdict = read_code(row, Field::Verdict, &codes.verdict).known();
    let method = read_code(row, Field::Method, &codes.method)
        .known()
        .or(row.bound.source.default_method);
    let text = row.text(Field::Date).unwrap_or("");
    let day = read_day(
        text,
        row.bound.source.date_form.as_deref(),
        programme.plan_from,
    );
    let (Some(verdict), Some(method), Ok(day)) = (verdict, method, day) else {
        match (verdict, method, day) {
            (None, _, _) => refuse(Code::NoVerdict, Field::Verdict, "no verdict".to_owned()),
            (_, None, _) => refuse(Code::NoMethod, Field::Method, "no method".to_owned()),
            (_, _, Err(Fault::Future)) => refuse(
                Code::FutureInspection,
                Field::Date,
                Fault::Future.sentence(text, programme.plan_from),
            ),
            (_, _, Err(_)) if text.is_empty() => {
                refuse(Code::NoInspectionDate, Field::Date, "no date".to_owned());
            }
            (_, _, Err(fault)) => refuse(
                Code::NoInspectionDate,
                Field::Date,
                fault.sentence(text, programme.plan_from),
            ),
            (Some(_), Some(_), Ok(_)) => {}
        }
        return None;
    };
    let (remaining_circumference, original_circumference) = read_circumferences(row, id, problems);
    let diameter =
        diameter.or(original_circumference.map(crate::units::Mm::diameter_of_circumference));
    let (outside_decay_depth, sound_shell, least_sound_shell) =
        read_depths(row, diameter, id, problems);
    let mode = read_code(row, Field::DecayMode, &codes.decay_mode);
    if mode == Coded::Unmapped {
        unmapped.count(row, Field::DecayMode);
    }
    let remedy = read_remedy(row, id, unmapped, problems);
    Some(Record {
        row,
        day,
        inspection: Inspection {
            pole: PoleIndex(0),
            date: day.date,
            method,
            verdict,
            remaining_circumference,
            original_circumference,
            outside_decay_depth,
            sound_shell,
            least_sound_shell,
            seen_mode: mode.known(),
            treated: remedy.given,
            agent: remedy.agent,
            agent_place: remedy.place,
            contractor: row.text(Field::Contractor).map(|text| names.keep(text)),
            source: row.source(),
        },
    })
}

/// Everything that an inspection says, comparable; not where it stands.
fn content(inspection: &Inspection) -> impl Ord + use<> {
    let bits = |length: Option<crate::units::Mm>| length.map(|mm| mm.0.to_bits());
    (
        (inspection.date, inspection.method, inspection.verdict),
        [
            bits(inspection.remaining_circumference),
            bits(inspection.original_circumference),
            bits(inspection.outside_decay_depth),
            bits(inspection.sound_shell),
            bits(inspection.least_sound_shell),
        ],
        inspection.seen_mode,
        (inspection.treated, inspection.agent, inspection.agent_place),
    )
}

/// The records without repeats, in the order of date and content; problems for repeats and for verdicts that differ.
fn one_of_each<'a>(
    mut records: Vec<Record<'a>>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Vec<Record<'a>> {
    let contractor =
        |record: &Record<'_>| record.row.text(Field::Contractor).map(str::to_lowercase);
    records.sort_by_cached_key(|record| {
        (
            content(&record.inspection),
            contractor(record),
            // Of two ways to write one contractor the same counts whatever the order of the rows.
            record.row.text(Field::Contractor),
            record.row.source(),
        )
    });
    let mut kept: Vec<Record<'a>> = Vec::with_capacity(records.len());
    for record in records {
        let Some(last) = kept.last() else {
            kept.push(record);
            continue;
        };
        let (now, before) = (&record.inspection, &last.inspection);
        let place = format!("{} row {}", last.row.bound.table.file, last.row.line);
        if content(now) == content(before) && contractor(&record) == contractor(last) {
            let what = format!("the inspection stands in {place} with the same content");
            problems.push(record.row.problem(
                Code::RepeatedInspection,
                Field::Date,
                id,
                what,
                "set aside",
            ));
            continue;
        }
        let exact = record.day.earliest == record.day.latest;
        if exact
            && (now.date, now.method) == (before.date, before.method)
            && now.verdict != before.verdict
        {
            let what = format!(
                "{} here, {} in {place}",
                now.verdict.word(),
                before.verdict.word()
            );
            problems.push(record.row.problem(
                Code::ConflictingInspections,
                Field::Verdict,
                id,
                what,
                "both are kept",
            ));
        }
        kept.push(record);
    }
    kept
}

/// A pole that was inspected before it was set was not set then.
fn doubt_set_date(
    listed: &mut super::poles::Listed<'_>,
    records: &[Record<'_>],
    problems: &mut Vec<Problem>,
) {
    let Some(set) = listed.set else { return };
    let Some(record) = records
        .iter()
        .find(|record| record.day.latest < set.earliest)
    else {
        return;
    };
    let what = format!(
        "inspected on {}, but set on {} ({} row {})",
        record.row.raw(Field::Date).trim(),
        listed.row.raw(Field::SetDate).trim(),
        listed.row.bound.table.file,
        listed.row.line
    );
    problems.push(record.row.problem(
        Code::InspectedBeforeSet,
        Field::Date,
        listed.id,
        what,
        "the set date is taken as unknown",
    ));
    listed.set = None;
    listed.pole.installed = None;
}
