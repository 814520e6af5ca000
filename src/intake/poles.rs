//! Rows of pole lists to poles: which are in scope, which row counts, and what each says.

use super::dates::{Day, read_day};
use super::identity::{Candidate, one_row_an_id};
use super::places::{Located, read_coordinates, settle};
use super::sizes::{Bounds, POLE_LENGTH, read_diameter, read_length};
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code, read_material};
use crate::inventory::{Names, RowCount};
use crate::parallel;
use crate::pole::{Material, Pole, Reinforcement, Status};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;
use crate::units::{Date, Zone};
use std::collections::BTreeSet;

/// A pole in the making.
pub(super) struct Listed<'a> {
    pub id: &'a str,
    pub row: Row<'a>,
    pub pole: Pole,
    /// When it was set, with how far that can be off.
    pub set: Option<Day>,
}

/// What the pole lists hold.
pub(super) struct PoleLists<'a> {
    /// Poles in scope, in the order of their ids.
    pub poles: Vec<Listed<'a>>,
    /// Ids of poles out of scope.
    pub out_of_scope: BTreeSet<&'a str>,
    pub rows: RowCount,
}

/// What one row says before names are stored.
struct Facts {
    pole: Pole,
    set: Option<Day>,
    at: Option<(f64, f64)>,
    problems: Vec<Problem>,
    unmapped: Vec<Field>,
}

/// Reads all pole lists.
pub(super) fn read_poles<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> PoleLists<'a> {
    let mut lists = PoleLists {
        poles: Vec::new(),
        out_of_scope: BTreeSet::new(),
        rows: RowCount::default(),
    };
    let mut candidates = Vec::new();
    for bound in bounds {
        lists.rows.read += bound.table.rows.len();
        problems.extend(bound.problems());
        let no_point = |noticed: &&super::Noticed| noticed.code == Code::NotAPoint;
        let apart = bound.table.noticed.iter().filter(no_point).count();
        lists.rows.read += apart;
        lists.rows.set_aside += apart;
        for row in bound.rows() {
            let Some(id) = row.filled(Field::Id) else {
                let what = "there is no id".to_owned();
                problems.push(row.problem(Code::NoId, Field::Id, "", what, "set aside"));
                lists.rows.set_aside += 1;
                continue;
            };
            if in_scope(row, programme, unmapped) {
                candidates.push(Candidate { id, row });
            } else {
                lists.out_of_scope.insert(id);
                lists.rows.out_of_scope += 1;
            }
        }
    }
    let kept = one_row_an_id(&candidates, problems);
    lists.rows.used = kept.len();
    lists.rows.set_aside += candidates.len() - kept.len();
    let facts = parallel::map_with(
        &kept,
        || (),
        |(), candidate| facts_of(candidate.row, candidate.id, programme),
    );
    lists.poles = with_names(&kept, facts, names, unmapped, problems);
    lists
}

/// Facts with their names stored and their places held to each other.
fn with_names<'a>(
    kept: &[Candidate<'a>],
    facts: Vec<Facts>,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Vec<Listed<'a>> {
    let located: Vec<(usize, Located<'_>)> = kept
        .iter()
        .zip(&facts)
        .enumerate()
        .filter_map(|(place, (candidate, facts))| {
            let located = Located {
                row: candidate.row,
                id: candidate.id,
                at: facts.at?,
            };
            Some((place, located))
        })
        .collect();
    let (order, located): (Vec<usize>, Vec<Located<'_>>) = located.into_iter().unzip();
    let settled = settle(&located, problems);
    let mut places = vec![None; kept.len()];
    for (place, settled) in order.into_iter().zip(settled) {
        places[place] = settled;
    }
    let mut poles = Vec::with_capacity(kept.len());
    for ((candidate, facts), place) in kept.iter().zip(facts).zip(places) {
        let row = candidate.row;
        for field in &facts.unmapped {
            unmapped.count(row, *field);
        }
        problems.extend(facts.problems);
        let mut keep = |field| row.text(field).map(|text| names.keep(text));
        poles.push(Listed {
            id: candidate.id,
            row,
            set: facts.set,
            pole: Pole {
                line: keep(Field::Line),
                district: keep(Field::District),
                class: keep(Field::Class),
                place,
                has_problems: !facts.unmapped.is_empty(),
                ..facts.pole
            },
        });
    }
    poles
}

/// Whether the row is about this plan. What is unknown is admitted.
fn in_scope(row: Row<'_>, programme: &Programme, unmapped: &mut Unmapped) -> bool {
    let material = read_material(row);
    if material == Coded::Unmapped {
        unmapped.count(row, Field::Material);
    }
    if material == Coded::Known(Material::Other) {
        return false;
    }
    let owners = &programme.scope.owners;
    let owner_fits = |owner: &str| {
        owners
            .iter()
            .any(|wanted| wanted.trim().to_lowercase() == owner.to_lowercase())
    };
    if !owners.is_empty() && !row.text(Field::Owner).is_none_or(owner_fits) {
        return false;
    }
    let status = read_code(row, Field::Status, &row.bound.source.codes.status);
    if status == Coded::Unmapped {
        unmapped.count(row, Field::Status);
    }
    let statuses = &programme.scope.statuses;
    statuses.is_empty() || statuses.contains(&status_of(row, programme.plan_from).0)
}

/// The status, and the day of removal: a pole with such a day is gone, whatever its status says.
fn status_of(row: Row<'_>, plan_from: Date) -> (Status, Option<Day>) {
    let removed = row
        .text(Field::RemovedDate)
        .and_then(|text| read_day(text, row.bound.source.date_form.as_deref(), plan_from).ok());
    let status = read_code(row, Field::Status, &row.bound.source.codes.status)
        .known()
        .unwrap_or_default();
    if removed.is_some() {
        (Status::Removed, removed)
    } else {
        (status, None)
    }
}

fn facts_of(row: Row<'_>, id: &str, programme: &Programme) -> Facts {
    let mut problems = Vec::new();
    let mut unmapped = Vec::new();
    let codes = &row.bound.source.codes;
    let set = read_date(row, Field::SetDate, id, programme, &mut problems);
    let reinforced = read_date(row, Field::ReinforcedDate, id, programme, &mut problems);
    // Reported here; what it means for the status was settled with the scope.
    let _ = read_date(row, Field::RemovedDate, id, programme, &mut problems);
    let (status, removed) = status_of(row, programme.plan_from);
    let set = before_all(
        row,
        id,
        set,
        &[
            (Field::RemovedDate, removed),
            (Field::ReinforcedDate, reinforced),
        ],
        &mut problems,
    );
    let reinforced = read_brace(row, id, reinforced, &mut problems, &mut unmapped);
    let zone = read_zone(row, id, programme, &mut problems);
    let length = Bounds {
        range: POLE_LENGTH,
        code: Code::PoleLength,
        name: "length of a pole",
    };
    let pole = Pole {
        line: None,
        sequence: read_sequence(row, id, &mut problems),
        district: None,
        place: None,
        zone: zone.unwrap_or(programme.default_zone),
        zone_is_default: zone.is_none(),
        status,
        removed: removed.map(|day| day.date),
        length: read_length(row, Field::Length, &length, id, &mut problems),
        class: None,
        diameter: read_diameter(row, id, &mut problems),
        species: noted(
            read_code(row, Field::Species, &codes.species),
            Field::Species,
            &mut unmapped,
        ),
        preservative: noted(
            read_code(row, Field::Preservative, &codes.preservative),
            Field::Preservative,
            &mut unmapped,
        ),
        through_bored: read_flag(row, Field::ThroughBored, id, &mut problems),
        installed: set.map(|day| day.date),
        reinforced,
        consequence: noted(
            read_code(row, Field::Consequence, &codes.consequence),
            Field::Consequence,
            &mut unmapped,
        ),
        has_problems: false,
        source: row.source(),
    };
    let at = read_coordinates(row, id, &mut problems);
    Facts {
        pole,
        set,
        at,
        problems,
        unmapped,
    }
}

/// The reinforcement, from its day, its kind or both.
fn read_brace(
    row: Row<'_>,
    id: &str,
    since: Option<Day>,
    problems: &mut Vec<Problem>,
    unmapped: &mut Vec<Field>,
) -> Option<Reinforcement> {
    let codes = &row.bound.source.codes.reinforced_type;
    let kind = noted(
        read_code(row, Field::ReinforcedType, codes),
        Field::ReinforcedType,
        unmapped,
    );
    if kind.is_some() && since.is_none() {
        problems.push(row.problem(
            Code::BraceWithoutDate,
            Field::ReinforcedType,
            id,
            "a reinforcement without the day on which it was fitted".to_owned(),
            "credited with nothing",
        ));
    }
    (kind.is_some() || since.is_some()).then_some(Reinforcement {
        since: since.map(|day| day.date),
        kind,
    })
}

fn noted<V>(coded: Coded<V>, field: Field, unmapped: &mut Vec<Field>) -> Option<V> {
    if matches!(coded, Coded::Unmapped) {
        unmapped.push(field);
    }
    coded.known()
}

fn read_date(
    row: Row<'_>,
    field: Field,
    id: &str,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> Option<Day> {
    let text = row.text(field)?;
    match read_day(
        text,
        row.bound.source.date_form.as_deref(),
        programme.plan_from,
    ) {
        Ok(day) => Some(day),
        Err(fault) => {
            let what = fault.sentence(text, programme.plan_from);
            problems.push(row.problem(fault.code(), field, id, what, "taken as unknown"));
            None
        }
    }
}

/// The set date, unless something that can only come after it came before.
fn before_all(
    row: Row<'_>,
    id: &str,
    set: Option<Day>,
    later: &[(Field, Option<Day>)],
    problems: &mut Vec<Problem>,
) -> Option<Day> {
    let set = set?;
    let broken = later
        .iter()
        .find(|(_, day)| day.is_some_and(|day| day.latest < set.earliest));
    let Some((field, _)) = broken else {
        return Some(set);
    };
    let what = format!(
        "{} is before the day on which the pole was set, {}",
        row.raw(*field).trim(),
        row.raw(Field::SetDate).trim()
    );
    problems.push(row.problem(
        Code::RemovedBeforeSet,
        *field,
        id,
        what,
        "the set date is taken as unknown",
    ));
    None
}

fn read_zone(
    row: Row<'_>,
    id: &str,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> Option<Zone> {
    let text = row.text(Field::Zone)?;
    let number = text.strip_suffix(".0").unwrap_or(text);
    let zone = number.parse().ok().and_then(Zone::new);
    if zone.is_none() {
        let what = format!("\"{text}\" is not a decay zone");
        let done = format!("zone {} of the programme was taken", programme.default_zone);
        problems.push(row.problem(Code::NotAZone, Field::Zone, id, what, &done));
    }
    zone
}

fn read_sequence(row: Row<'_>, id: &str, problems: &mut Vec<Problem>) -> Option<i32> {
    let text = row.text(Field::Sequence)?;
    let number = text.strip_suffix(".0").unwrap_or(text).parse().ok();
    if number.is_none() {
        let what = format!("\"{text}\" is not a whole number");
        problems.push(row.problem(
            Code::NotANumber,
            Field::Sequence,
            id,
            what,
            "taken as unknown",
        ));
    }
    number
}

/// Yes, no or unknown.
pub(super) fn read_flag(
    row: Row<'_>,
    field: Field,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Option<bool> {
    let text = row.text(field)?;
    let flag = super::cells::read_yes_or_no(text);
    if flag.is_none() {
        let what = format!("\"{text}\" is neither yes nor no");
        problems.push(row.problem(Code::NotYesOrNo, field, id, what, "taken as unknown"));
    }
    flag
}
