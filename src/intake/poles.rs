//! Rows of pole lists to poles: which are in scope, which row counts, and what each says.

use super::carried::also;
use super::compound::{SizeFacts, read_size_facts};
use super::counts::{Counted, Stands, make_poles, read_count};
use super::dates::{Day, Fault, read_day};
use super::gone::says_gone;
use super::identity::{Candidate, one_row_an_id};
use super::loading::read_loading;
use super::material::doubtful;
use super::places::{Located, Read, read_coordinates, settle};
use super::ranges::read_set_day;
use super::sizes::read_diameter;
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code, read_material};
use super::years::doubt_years;
use crate::Error;
use crate::inventory::{CountedRows, Names, RowCount};
use crate::parallel::fold_ranges;
use crate::pole::{Material, Pole, Reinforcement, SetFrom, Status, Vocabulary};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::Field;
use crate::units::{Date, Zone};
use std::borrow::Cow;
use std::collections::BTreeSet;
use std::ops::Range;

/// A pole in the making.
pub(super) struct Listed<'a> {
    pub id: Cow<'a, str>,
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
    /// Rows that stand for several poles.
    pub counted: CountedRows,
    /// Rows of poles that are gone, out of scope for that alone, with their ids.
    pub departed: Vec<(&'a str, Row<'a>)>,
}

/// What one row says before names are stored.
struct Facts {
    pole: Pole,
    class: Option<String>,
    set: Option<Day>,
    at: Option<Read>,
    problems: Vec<Problem>,
    unmapped: Vec<Field>,
}

/// Reads all pole lists.
///
/// # Errors
/// When counts add up to more poles than can be planned for.
pub(super) fn read_poles<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<PoleLists<'a>, Error> {
    let mut lists = PoleLists {
        poles: Vec::new(),
        out_of_scope: BTreeSet::new(),
        rows: RowCount::default(),
        counted: CountedRows::default(),
        departed: Vec::new(),
    };
    let (mut candidates, mut counts) = (Vec::new(), Vec::new());
    let mut doubted = BTreeSet::new();
    for bound in bounds {
        lists.rows.read += bound.table.rows.len();
        problems.extend(bound.problems());
        if let Some(problem) = doubtful(bound) {
            doubted.insert(bound.file);
            problems.push(problem);
        }
        let no_point = |noticed: &&super::Noticed| noticed.code == Code::NotAPoint;
        let apart = bound.table.noticed.iter().filter(no_point).count();
        lists.rows.read += apart;
        lists.rows.set_aside += apart;
        let sorted_rows = |rows: Range<usize>| {
            let mut told = Told::default();
            let rows = rows.map(|place| bound.row(place));
            let rows = rows.map(|row| (row, sorted(row, programme, &mut told)));
            (rows.collect::<Vec<_>>(), told)
        };
        fold_ranges(bound.len(), sorted_rows, |(rows, told)| {
            told.add_to(unmapped, problems);
            for (row, goes) in rows {
                match goes {
                    Sorted::Pole(id) => candidates.push(Candidate { id, row }),
                    Sorted::Count(count) => counts.push((row, count)),
                    Sorted::OutOfScope(id) => {
                        lists.out_of_scope.extend(id);
                        lists.rows.out_of_scope += 1;
                    }
                    Sorted::Departed(id) => {
                        lists.out_of_scope.insert(id);
                        lists.rows.out_of_scope += 1;
                        lists.departed.push((id, row));
                    }
                    Sorted::SetAside => lists.rows.set_aside += 1,
                }
            }
        });
    }
    let with_ids = candidates.len();
    let kept = one_row_an_id(candidates, problems);
    lists.rows.used = kept.len() + counts.len();
    lists.rows.set_aside += with_ids - kept.len();
    lists.poles = listed(&kept, programme, names, unmapped, problems);
    if !counts.is_empty() {
        let taken = kept.iter().map(|candidate| candidate.id).collect();
        let counts = counts
            .into_iter()
            .map(|(row, count)| counted(row, count, programme, names, unmapped, problems))
            .collect();
        let (made, rows) = make_poles(counts, &taken, names, problems)?;
        lists.poles.extend(made);
        lists.poles.sort_by(|a, b| a.id.cmp(&b.id));
        lists.counted = rows;
    }
    for listed in &mut lists.poles {
        let row = listed.row;
        let left_open = doubted.contains(&row.bound.file) && read_material(row) == Coded::Blank;
        listed.pole.material_unknown |= left_open;
    }
    doubt_years(&mut lists.poles, problems);
    Ok(lists)
}

/// What some rows gave cause to say.
#[derive(Default)]
pub(super) struct Told {
    pub unmapped: Unmapped,
    pub problems: Vec<Problem>,
}

impl Told {
    /// Says it.
    pub(super) fn add_to(self, unmapped: &mut Unmapped, problems: &mut Vec<Problem>) {
        unmapped.add(self.unmapped);
        problems.extend(self.problems);
    }
}

/// Where a row of a pole list goes.
enum Sorted<'a> {
    /// Among the rows of poles with ids.
    Pole(&'a str),
    /// Among the rows that stand for several poles.
    Count(u64),
    /// Out of scope, with its id where it has one.
    OutOfScope(Option<&'a str>),
    /// Out of scope because the pole is gone, since a day that is known.
    Departed(&'a str),
    /// It cannot be used.
    SetAside,
}

fn sorted<'a>(row: Row<'a>, programme: &Programme, told: &mut Told) -> Sorted<'a> {
    let Told { unmapped, problems } = told;
    let stands = if row.bound.has(Field::Count) {
        read_count(row, problems)
    } else {
        Stands::One
    };
    let id = row.filled(Field::Id);
    match (stands, id) {
        (Stands::None, _) => return Sorted::SetAside,
        (Stands::One, None) => {
            let what = "there is no id".to_owned();
            problems.push(row.problem(Code::NoId, Field::Id, "", what, "set aside"));
            return Sorted::SetAside;
        }
        _ => {}
    }
    if let Some((code, field, what)) = out_of_scope(row, programme, unmapped) {
        problems.push(row.problem(code, field, id.unwrap_or(""), what, "not planned for"));
        return match (stands, id) {
            (Stands::One, Some(id)) if field == Field::RemovedDate => Sorted::Departed(id),
            _ => Sorted::OutOfScope(id),
        };
    }
    let drops = programme.scope.drop_if_notes_say_gone;
    if notes_say_gone(row, id.unwrap_or(""), programme, problems) && drops {
        return Sorted::OutOfScope(id);
    }
    match (stands, id) {
        (Stands::Several(count), _) => Sorted::Count(count),
        (_, Some(id)) => Sorted::Pole(id),
        (_, None) => Sorted::SetAside,
    }
}

/// What a row with a count says, read once for all its poles.
fn counted<'a>(
    row: Row<'a>,
    count: u64,
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Counted<'a> {
    let facts = facts_of(row, row.filled(Field::Id).unwrap_or(""), programme);
    let flawed = !facts.problems.is_empty() || !facts.unmapped.is_empty();
    for field in &facts.unmapped {
        unmapped.count(row, *field);
    }
    problems.extend(facts.problems);
    Counted {
        row,
        count,
        pole: Pole {
            has_problems: flawed,
            ..named(row, facts.pole, facts.class.as_deref(), names)
        },
        set: facts.set,
        has_place: facts.at.is_some(),
    }
}

/// What a row says of one pole that is not planned for, and when it was set.
pub(super) fn facts_with_names(
    row: Row<'_>,
    id: &str,
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> (Pole, Option<Day>) {
    let facts = facts_of(row, id, programme);
    for field in &facts.unmapped {
        unmapped.count(row, *field);
    }
    problems.extend(facts.problems);
    let pole = named(row, facts.pole, facts.class.as_deref(), names);
    (pole, facts.set)
}

/// The pole with its names stored.
fn named(row: Row<'_>, pole: Pole, class: Option<&str>, names: &mut Names) -> Pole {
    let class = class.map(|class| names.keep(class));
    let also = also(row, |info| info.of_poles).map(|text| names.keep(&text));
    let mut keep = |field| row.text(field).map(|text| names.keep(text));
    Pole {
        line: keep(Field::Line),
        district: keep(Field::District),
        class,
        also,
        ..pole
    }
}

/// The poles of some rows, with their names stored and their places held to each other.
fn listed<'a>(
    kept: &[Candidate<'a>],
    programme: &Programme,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Vec<Listed<'a>> {
    let mut poles = Vec::with_capacity(kept.len());
    let mut located = Vec::new();
    let read = |rows: Range<usize>| {
        let (mut told, mut own_names) = (Told::default(), Names::default());
        let read =
            |candidate: &Candidate<'a>| listed_one(candidate, programme, &mut own_names, &mut told);
        let read: (Vec<Listed<'a>>, Vec<Option<Read>>) = kept[rows].iter().map(read).unzip();
        (read, own_names, told)
    };
    fold_ranges(kept.len(), read, |((read, places), own_names, told)| {
        told.add_to(unmapped, problems);
        let moved = names.add(&own_names);
        let first = poles.len();
        poles.extend(read);
        for listed in &mut poles[first..] {
            listed.pole.rename(|name| moved[name.get()]);
        }
        let places = (first as u32..).zip(places);
        located.extend(places.filter_map(|(place, read)| Some((place, read?))));
    });
    let (order, located): (Vec<u32>, Vec<Located<'_>>) = located
        .into_iter()
        .map(|(place, read)| {
            let Candidate { id, row } = kept[place as usize];
            (place, Located { row, id, read })
        })
        .unzip();
    let settled = settle(&located, problems);
    for (place, settled) in order.into_iter().zip(settled) {
        poles[place as usize].pole.place = settled;
    }
    poles
}

/// The pole of one row, and the coordinates that it gives.
fn listed_one<'a>(
    candidate: &Candidate<'a>,
    programme: &Programme,
    names: &mut Names,
    told: &mut Told,
) -> (Listed<'a>, Option<Read>) {
    let row = candidate.row;
    let facts = facts_of(row, candidate.id, programme);
    for field in &facts.unmapped {
        told.unmapped.count(row, *field);
    }
    told.problems.extend(facts.problems);
    let listed = Listed {
        id: Cow::Borrowed(candidate.id),
        row,
        set: facts.set,
        pole: Pole {
            place: None,
            has_problems: !facts.unmapped.is_empty(),
            ..named(row, facts.pole, facts.class.as_deref(), names)
        },
    };
    (listed, facts.at)
}

/// Whether the notes say that the pole is gone; a problem if so.
fn notes_say_gone(
    row: Row<'_>,
    id: &str,
    programme: &Programme,
    problems: &mut Vec<Problem>,
) -> bool {
    let Some(notes) = row.text(Field::Notes).filter(|notes| says_gone(notes)) else {
        return false;
    };
    let what = format!("the notes say that it is gone: \"{notes}\"");
    let done = if programme.scope.drop_if_notes_say_gone {
        "out of scope, as the programme says"
    } else {
        "it stays in the plan"
    };
    problems.push(row.problem(Code::NotesSayGone, Field::Notes, id, what, done));
    true
}

/// Why the row is not about this plan, if it is not: the code, the field and a sentence. What is unknown is admitted.
fn out_of_scope(
    row: Row<'_>,
    programme: &Programme,
    unmapped: &mut Unmapped,
) -> Option<(Code, Field, String)> {
    let material = read_material(row);
    if material == Coded::Unmapped {
        unmapped.count(row, Field::Material);
    }
    if material == Coded::Known(Material::Other) {
        let what = format!("{} is not wood", row.raw(Field::Material).trim());
        return Some((Code::OtherMaterial, Field::Material, what));
    }
    let owners = &programme.scope.owners;
    let is_planned_for = |owner: &str| {
        owners
            .iter()
            .any(|wanted| wanted.trim().to_lowercase() == owner.to_lowercase())
    };
    let other = row
        .text(Field::Owner)
        .filter(|owner| !owners.is_empty() && !is_planned_for(owner));
    if let Some(owner) = other {
        let what = format!("{owner} is not among the owners who are planned for");
        return Some((Code::OtherOwner, Field::Owner, what));
    }
    let status = read_code(row, Field::Status, &row.bound.source.codes.status);
    if status == Coded::Unmapped {
        unmapped.count(row, Field::Status);
    }
    let statuses = &programme.scope.statuses;
    let (status, removed) = status_of(row, programme.plan_from);
    if statuses.is_empty() || statuses.contains(&status) {
        return None;
    }
    Some(match removed {
        Some(day) => (
            Code::OtherStatus,
            Field::RemovedDate,
            format!("the pole was removed on {}", day.date),
        ),
        None => (
            Code::OtherStatus,
            Field::Status,
            format!("the status is {}", status.word()),
        ),
    })
}

/// The status, and the day of removal: a pole with such a day is gone, whatever its status says.
pub(super) fn status_of(row: Row<'_>, plan_from: Date) -> (Status, Option<Day>) {
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
    let brand = read_date(row, Field::BrandYear, id, programme, &mut problems);
    let (set, set_by_brand) = held_to_brand(row, id, set, brand, &mut problems);
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
    let species = noted(
        read_code(row, Field::Species, &codes.species),
        Field::Species,
        &mut unmapped,
    );
    let size = read_size_facts(row, id, species, &mut problems);
    if size.odd_words {
        unmapped.push(Field::Size);
    }
    let SizeFacts { class, .. } = size;
    let pole = Pole {
        line: None,
        sequence: read_sequence(row, id, &mut problems),
        district: None,
        place: None,
        zone: zone.unwrap_or(programme.default_zone),
        zone_is_default: zone.is_none(),
        status,
        removed: removed.map(|day| day.date),
        length: size.length,
        class: None,
        size_class: size.size_class,
        top_diameter: size.top_diameter,
        diameter: read_diameter(row, id, &mut problems),
        loading: read_loading(row, id, &mut problems),
        species: size.species,
        preservative: noted(
            read_code(row, Field::Preservative, &codes.preservative),
            Field::Preservative,
            &mut unmapped,
        ),
        through_bored: read_flag(row, Field::ThroughBored, id, &mut problems),
        installed: set.map(|day| day.date),
        set_from: if set_by_brand && set.is_some() {
            SetFrom::Brand
        } else {
            SetFrom::Record
        },
        reinforced,
        consequence: noted(
            read_code(row, Field::Consequence, &codes.consequence),
            Field::Consequence,
            &mut unmapped,
        ),
        has_problems: false,
        material_unknown: read_material(row) == Coded::Unmapped,
        also: None,
        source: row.source(),
    };
    let at = read_coordinates(row, id, &mut problems);
    Facts {
        pole,
        class,
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
    let form = row.bound.source.date_form.as_deref();
    let day: Result<Day, Fault> = match field {
        Field::SetDate => read_set_day(text, form, programme.plan_from),
        _ => read_day(text, form, programme.plan_from),
    };
    match day {
        Ok(day) => Some(day),
        Err(fault) => {
            let what = fault.sentence(text, programme.plan_from);
            problems.push(row.problem(fault.code(), field, id, what, "taken as unknown"));
            None
        }
    }
}

/// The set date with the year of the maker's brand beside it, and whether it is the brand's for want of another.
fn held_to_brand(
    row: Row<'_>,
    id: &str,
    set: Option<Day>,
    brand: Option<Day>,
    problems: &mut Vec<Problem>,
) -> (Option<Day>, bool) {
    let (Some(set), Some(brand)) = (set, brand) else {
        return (set.or(brand), set.is_none());
    };
    let waited = i32::from(set.earliest.year()) - i32::from(brand.latest.year());
    let mut tell = |code, what: String, done: &str| {
        problems.push(row.problem(code, Field::BrandYear, id, what, done));
    };
    if brand.earliest > set.latest {
        let what = format!(
            "branded {}, but set on {}",
            row.raw(Field::BrandYear).trim(),
            row.raw(Field::SetDate).trim()
        );
        tell(
            Code::BrandAfterSet,
            what,
            "the set date is taken as unknown",
        );
        return (None, false);
    }
    if waited > YEARS_IN_A_YARD {
        let what = format!("branded {waited} years before it was set");
        tell(
            Code::BrandLongBeforeSet,
            what,
            "the set date is used as it is",
        );
    }
    (Some(set), false)
}

/// Poles wait in a yard for some years at most (judgement); longer, and it was used before, or a date is wrong.
const YEARS_IN_A_YARD: i32 = 5;

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
