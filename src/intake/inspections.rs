//! Rows of inspection records to inspections of listed poles.

use super::carried::also;
use super::dates::{Day, Fault, read_day};
use super::findings::{read_defects, read_pockets};
use super::gone::says_gone;
use super::history::History;
use super::identity::{Ids, plain_id};
use super::poles::{Listed, PoleLists, Told};
use super::practice::Rounds;
use super::remedies::{read_remedy, read_work_remedy};
use super::sizes::{read_circumferences, read_depths};
use super::table::{Bound, Row};
use super::words::{Coded, Unmapped, read_code};
use crate::Error;
use crate::inventory::{Ended, Inventory, Names, Removal, RowCount};
use crate::parallel::fold_ranges;
use crate::pole::{
    Inspection, Method, NameIndex, Pole, PoleIndex, RemovalCause, SetFrom, Status, Verdict,
    Vocabulary,
};
use crate::problem::{Code, Problem};
use crate::programme::Programme;
use crate::programme::sources::{Field, SourceKind};
use crate::units::Date;
use std::collections::BTreeMap;
use std::ops::Range;

/// An inspection in the making.
#[derive(Debug, Clone, Copy)]
pub(super) struct Record<'a> {
    pub row: Row<'a>,
    pub day: Day,
    pub inspection: Inspection,
}

/// What the inspection records hold.
#[derive(Default)]
pub(super) struct Recorded {
    /// Inspections of all poles, one pole's after the other's, in the order of the lists.
    pub inspections: Vec<Inspection>,
    /// How many there are of each pole.
    pub counts: Vec<u32>,
    /// Poles that stood where a listed one stands now, with their inspections.
    pub predecessors: Vec<Removal>,
    /// Rows of the inspection files.
    pub rows: RowCount,
    /// Records on rows of pole lists.
    pub last_inspections: RowCount,
}

/// What decides how a record is read besides its row.
struct Reader<'a, 'b> {
    bounds: &'a [Bound<'a>],
    programme: &'b Programme,
    lists: &'b PoleLists<'b>,
    history: &'b History<'b>,
}

/// The inspections of the poles of `lists`, from the records in files of inspections and those on rows of pole lists.
pub(super) fn read_inspections<'a>(
    bounds: &'a [Bound<'a>],
    programme: &Programme,
    lists: &mut PoleLists<'_>,
    history: &History<'_>,
    names: &mut Names,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Result<Recorded, Error> {
    for bound in bounds {
        refuse_unmapped(bound)?;
    }
    let mut recorded = Recorded::default();
    let joined = joined(bounds, lists, &mut recorded, problems);
    recorded.inspections.reserve_exact(joined.rows.len());
    let (mut rounds, mut doubted) = (Rounds::default(), Vec::new());
    let reader = Reader {
        bounds,
        programme,
        lists,
        history,
    };
    let of_poles = |poles: Range<usize>| {
        let mut own = OfPoles::default();
        for place in poles {
            own.take(&reader, place, joined.of(place));
        }
        own
    };
    fold_ranges(lists.poles.len(), of_poles, |mut own| {
        own.told.add_to(unmapped, problems);
        let moved = names.add(&own.names);
        let new_name = |name: NameIndex| moved[name.get()];
        let of_predecessors = own.recorded.predecessors.iter_mut();
        let all = own.recorded.inspections.iter_mut();
        for inspection in all.chain(of_predecessors.flat_map(|gone| &mut gone.inspections)) {
            inspection.rename(new_name);
        }
        recorded.add(own.recorded);
        rounds.add(own.rounds);
        doubted.extend(own.doubted);
    });
    rounds.doubt(&programme.crews.poles_per_crew_day, problems);
    for place in doubted {
        let listed = &mut lists.poles[place];
        listed.set = None;
        listed.pole.installed = None;
        listed.pole.set_from = SetFrom::Record;
    }
    Ok(recorded)
}

impl Recorded {
    /// The count that rows of this kind go to.
    fn count_of(&mut self, kind: SourceKind) -> &mut RowCount {
        match kind {
            SourceKind::LastInspections => &mut self.last_inspections,
            _ => &mut self.rows,
        }
    }

    /// Adds what the next poles have.
    fn add(&mut self, other: Self) {
        self.inspections.extend(other.inspections);
        self.counts.extend(other.counts);
        self.predecessors.extend(other.predecessors);
        self.rows.add(other.rows);
        self.last_inspections.add(other.last_inspections);
    }
}

/// Rows of records by the pole that they are about.
struct Joined {
    /// The file's place among the files, and the row's in it; one pole's after the other's, each in the order of the files.
    rows: Vec<(u16, u32)>,
    /// Where those of each pole start.
    starts: Vec<u32>,
}

impl Joined {
    fn of(&self, pole: usize) -> &[(u16, u32)] {
        &self.rows[self.starts[pole] as usize..self.starts[pole + 1] as usize]
    }
}

/// Joins the rows of records to the poles; problems for those that are about none.
fn joined(
    bounds: &[Bound<'_>],
    lists: &PoleLists<'_>,
    recorded: &mut Recorded,
    problems: &mut Vec<Problem>,
) -> Joined {
    let ids = Ids::of(lists.poles.iter().map(|listed| listed.id.as_ref()));
    let mut found: Vec<(u32, u16, u32)> = Vec::new();
    let mut strangers = Vec::new();
    for (number, bound) in (0..).zip(bounds) {
        problems.extend(match bound.kind {
            SourceKind::LastInspections => bound.error_cells(),
            _ => bound.problems(),
        });
        found.reserve_exact(bound.len());
        let count = recorded.count_of(bound.kind);
        let look_up = |rows: Range<usize>| {
            let (mut found, mut strangers, mut hint) = (Vec::new(), Vec::new(), 0);
            for place in rows {
                let row = bound.row(place);
                if !has_record(row) {
                    continue;
                }
                match ids.find(id_of(&row), &mut hint) {
                    Some(pole) => found.push((pole as u32, number, place as u32)),
                    None => strangers.push(row),
                }
            }
            (found, strangers)
        };
        fold_ranges(bound.len(), look_up, |(own, others)| {
            count.read += own.len() + others.len();
            found.extend(own);
            strangers.extend(others);
        });
        let no_point = |noticed: &&super::Noticed| noticed.code == Code::NotAPoint;
        let apart = match bound.kind {
            SourceKind::LastInspections => 0,
            _ => bound.table.noticed.iter().filter(no_point).count(),
        };
        count.read += apart;
        count.set_aside += apart;
    }
    tell_of_strangers(&strangers, lists, recorded, problems);
    by_pole(&found, lists.poles.len())
}

/// Pairs of a pole and a row in the order of the poles, and of the rows within each.
fn by_pole(found: &[(u32, u16, u32)], poles: usize) -> Joined {
    let mut starts = vec![0_u32; poles + 1];
    for (pole, ..) in found {
        starts[*pole as usize + 1] += 1;
    }
    for pole in 0..poles {
        starts[pole + 1] += starts[pole];
    }
    let mut rows = vec![(0, 0); found.len()];
    let mut next = starts.clone();
    for (pole, bound, row) in found {
        let place = &mut next[*pole as usize];
        rows[*place as usize] = (*bound, *row);
        *place += 1;
    }
    Joined { rows, starts }
}

fn id_of<'a>(row: &Row<'a>) -> &'a str {
    row.filled(Field::Id).unwrap_or("")
}

/// Counts the records whose pole is not in scope or not in the list, and tells of them.
fn tell_of_strangers(
    strangers: &[Row<'_>],
    lists: &PoleLists<'_>,
    recorded: &mut Recorded,
    problems: &mut Vec<Problem>,
) {
    let is_out = |row: &Row<'_>| lists.out_of_scope.contains(id_of(row));
    let mut alike: BTreeMap<String, Option<&str>> = strangers
        .iter()
        .filter(|row| !is_out(row))
        .map(|row| (plain_id(id_of(row)), None))
        .collect();
    if !alike.is_empty() {
        // Of ids that are written alike the first is named.
        for listed in &lists.poles {
            if let Some(known) = alike.get_mut(&plain_id(&listed.id)) {
                known.get_or_insert(&listed.id);
            }
        }
    }
    for row in strangers {
        let out = is_out(row);
        let count = recorded.count_of(row.bound.kind);
        count.out_of_scope += usize::from(out);
        count.set_aside += usize::from(!out);
        problems.extend(no_pole(*row, id_of(row), out, &alike));
    }
}

/// What some poles have, read by one worker.
#[derive(Default)]
struct OfPoles<'a> {
    recorded: Recorded,
    told: Told,
    names: Names,
    rounds: Rounds<'a>,
    /// Poles whose set date cannot be.
    doubted: Vec<usize>,
}

impl<'a> OfPoles<'a> {
    /// Reads the records of one pole.
    fn take(&mut self, reader: &Reader<'a, '_>, place: usize, rows: &[(u16, u32)]) {
        let Reader {
            bounds,
            programme,
            lists,
            history,
        } = reader;
        let listed = &lists.poles[place];
        let (id, diameter) = (listed.id.as_ref(), listed.pole.diameter);
        let Told { unmapped, problems } = &mut self.told;
        let mut own = Vec::with_capacity(rows.len());
        for (bound, row) in rows {
            let row = bounds[usize::from(*bound)].row(*row as usize);
            let names = &mut self.names;
            own.extend(read_record(
                row, id, diameter, programme, names, unmapped, problems,
            ));
            // Until it turns out to be used.
            self.recorded.count_of(row.bound.kind).set_aside += 1;
        }
        let own = not_on_record(own, id, problems);
        let mut own = one_of_each(own, id, problems);
        for record in &own {
            let rows = self.recorded.count_of(record.row.bound.kind);
            rows.set_aside -= 1;
            rows.used += 1;
            self.rounds.take(record);
        }
        if listed.pole.status != Status::Removed {
            note_gone(id, &own, problems);
        }
        let predecessors = &mut self.recorded.predecessors;
        predecessors.extend(replaced(id, &mut own, history));
        predecessors.extend(predecessor(listed, &mut own, problems));
        if is_doubtful(listed, &own, problems) {
            self.doubted.push(place);
        }
        let all = &mut self.recorded.inspections;
        let before = all.len();
        all.extend(own.into_iter().map(|record| record.inspection));
        all.extend(treatments(id, history, unmapped, problems));
        let count = all.len() - before;
        all[before..].sort_by(Inventory::earlier);
        self.recorded.counts.push(count as u32);
    }
}

/// Whether a row is a record: every row of an inspection file, and of a pole list those that give a day or a verdict.
fn has_record(row: Row<'_>) -> bool {
    row.bound.kind != SourceKind::LastInspections
        || row.text(Field::Date).is_some()
        || row.text(Field::Verdict).is_some()
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
    let of_rows = |rows: Range<usize>| {
        let mut unmapped = Unmapped::default();
        for row in rows.map(|place| bound.row(place)) {
            if read_code(row, Field::Verdict, &codes.verdict) == Coded::Unmapped {
                unmapped.count(row, Field::Verdict);
            }
            if read_code(row, Field::Method, &codes.method) == Coded::Unmapped {
                unmapped.count(row, Field::Method);
            }
        }
        unmapped
    };
    let mut unmapped = Unmapped::default();
    fold_ranges(bound.len(), of_rows, |own| unmapped.add(own));
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
        let (name, key) = (field.info().name, bound.kind.key());
        let table = key.split('.').next().unwrap_or(key);
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
                "add this below the file's [[{table}]], each with one of {words}:\n\n[{key}.codes.{name}]\n{}\n",
                lines.join("\n")
            ),
        });
    }
    Ok(())
}

/// The problem of a record whose pole is not in scope or not in the list. On a pole list that stands at the row itself.
fn no_pole(
    row: Row<'_>,
    id: &str,
    out_of_scope: bool,
    alike: &BTreeMap<String, Option<&str>>,
) -> Option<Problem> {
    if row.bound.kind == SourceKind::LastInspections {
        return None;
    }
    if out_of_scope {
        let what = format!("{id} is out of scope");
        let done = "not planned for";
        return Some(row.problem(Code::OutOfScopeInspection, Field::Id, id, what, done));
    }
    let (code, what) = if id.is_empty() {
        (Code::NoId, "there is no id".to_owned())
    } else {
        let plain = plain_id(id);
        let meant = alike
            .get(&plain)
            .copied()
            .flatten()
            .filter(|_| !plain.is_empty());
        let what = meant.map_or_else(
            || format!("{id} is not in the list"),
            |known| format!("{id} is not in the list, but {known} is"),
        );
        (Code::UnknownPole, what)
    };
    Some(row.problem(code, Field::Id, id, what, "set aside"))
}

/// Who made the inspection: the row's own word, or the file's.
fn contractor_of(row: Row<'_>) -> Option<&str> {
    let of_the_file = row.bound.source.contractor.as_deref();
    row.text(Field::Contractor).or(of_the_file)
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
            pockets: read_pockets(row, diameter, id, problems),
            above_ground: read_defects(row, id, programme, problems),
            seen_mode: mode.known(),
            treated: remedy.given,
            agent: remedy.agent,
            agent_place: remedy.place,
            contractor: contractor_of(row).map(|text| names.keep(text)),
            inspector: row.text(Field::Inspector).map(|text| names.keep(text)),
            remarks: row.text(Field::Remarks).map(|text| names.keep(text)),
            also: also(row, |info| info.of_inspections).map(|text| names.keep(&text)),
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
        inspection.pockets.key(),
        inspection.above_ground,
    )
}

/// The records without those on the pole's own row that an inspection file holds with the same or more detail.
fn not_on_record<'a>(
    records: Vec<Record<'a>>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Vec<Record<'a>> {
    let on_pole_row = |record: &Record<'_>| record.row.bound.kind == SourceKind::LastInspections;
    if !records.iter().any(on_pole_row) {
        return records;
    }
    let (own, mut kept): (Vec<_>, Vec<_>) = records.into_iter().partition(on_pole_row);
    let in_files = kept.len();
    for record in own {
        let mut known: Vec<Row<'_>> = kept[..in_files]
            .iter()
            .filter(|other| tells_of(other, &record))
            .map(|other| other.row)
            .collect();
        known.sort_by_key(Row::source);
        let Some(known) = known.first() else {
            kept.push(record);
            continue;
        };
        let what = format!(
            "the inspection stands in {} row {}",
            known.bound.table.file, known.line
        );
        problems.push(record.row.problem(
            Code::LastInspectionKnown,
            Field::Date,
            id,
            what,
            "set aside",
        ));
    }
    kept
}

/// Whether `record` is of the same visit as `less` and says everything that `less` says.
fn tells_of(record: &Record<'_>, less: &Record<'_>) -> bool {
    let (full, part) = (&record.inspection, &less.inspection);
    let same_day = record.day.earliest <= less.day.latest && less.day.earliest <= record.day.latest;
    let method_fits = full.method == part.method || less.row.text(Field::Method).is_none();
    let lengths = |i: &Inspection| {
        [
            i.remaining_circumference,
            i.original_circumference,
            i.outside_decay_depth,
            i.sound_shell,
            i.least_sound_shell,
        ]
    };
    let within = |(part, full): (Option<_>, Option<_>)| part.is_none() || part == full;
    let contractor = |record: &Record<'_>| contractor_of(record.row).map(str::to_lowercase);
    let contractor_fits = contractor(less).is_none_or(|who| contractor(record) == Some(who));
    same_day
        && method_fits
        && contractor_fits
        && full.verdict == part.verdict
        && lengths(part).into_iter().zip(lengths(full)).all(within)
        && (part.seen_mode.is_none() || part.seen_mode == full.seen_mode)
        && (!part.treated || full.treated)
}

/// The records without repeats, in the order of date and content; problems for repeats and for verdicts that differ.
fn one_of_each<'a>(
    mut records: Vec<Record<'a>>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Vec<Record<'a>> {
    if records.len() < 2 {
        return records;
    }
    let contractor = |record: &Record<'_>| contractor_of(record.row).map(str::to_lowercase);
    let besides = |record: &Record<'a>| {
        (
            content(&record.inspection),
            contractor(record),
            // Of two ways to write one contractor the same counts whatever the order of the rows.
            contractor_of(record.row),
            // Of two rows that say the same the one with remarks counts, then with an inspector and whatever else.
            std::cmp::Reverse((
                record.row.text(Field::Remarks),
                record.row.text(Field::Inspector),
                also(record.row, |info| info.of_inspections),
            )),
            record.row.source(),
        )
    };
    // Most are told apart by their days.
    records.sort_by(|one, other| {
        let days = one.inspection.date.cmp(&other.inspection.date);
        days.then_with(|| besides(one).cmp(&besides(other)))
    });
    let day_of = |record: &Record<'_>| record.inspection.date;
    if records
        .windows(2)
        .all(|two| day_of(&two[0]) != day_of(&two[1]))
    {
        return records;
    }
    let mut kept: Vec<Record<'a>> = Vec::with_capacity(records.len());
    for record in records {
        let Some(last) = kept.last() else {
            kept.push(record);
            continue;
        };
        let (now, before) = (&record.inspection, &last.inspection);
        if now.date != before.date {
            kept.push(record);
            continue;
        }
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

/// The last visit found no pole, and its remarks say so.
fn note_gone(id: &str, records: &[Record<'_>], problems: &mut Vec<Problem>) {
    let Some(last) = records
        .last()
        .filter(|last| last.inspection.verdict == Verdict::NotInspected)
    else {
        return;
    };
    if let Some(remarks) = last.row.text(Field::Remarks).filter(|text| says_gone(text)) {
        let what = format!("not inspected, and the remarks say that it is gone: \"{remarks}\"");
        problems.push(last.row.problem(
            Code::NotesSayGone,
            Field::Remarks,
            id,
            what,
            "it stays in the plan",
        ));
    }
}

/// The poles that stood here before by the records of work, each with its inspections, which leave `records`.
fn replaced(id: &str, records: &mut Vec<Record<'_>>, history: &History<'_>) -> Vec<Removal> {
    let endings = history.predecessors.get(id).map_or(&[][..], Vec::as_slice);
    endings
        .iter()
        .map(|ending| {
            let older = records.partition_point(|record| record.inspection.date <= ending.day.date);
            let later = records.split_off(older);
            let own = std::mem::replace(records, later);
            let own: Vec<Inspection> = own.into_iter().map(|record| record.inspection).collect();
            Removal {
                id: id.to_owned(),
                pole: ending.pole,
                ended: ending.day.date,
                because: ending.because,
                cause: history.cause(id, ending, &own),
                inspections: own,
            }
        })
        .collect()
}

/// Remedial treatments among the work done, as visits that looked at nothing.
fn treatments(
    id: &str,
    history: &History<'_>,
    unmapped: &mut Unmapped,
    problems: &mut Vec<Problem>,
) -> Vec<Inspection> {
    let begun = history
        .predecessors
        .get(id)
        .and_then(|endings| endings.last());
    let own = history.treated.get(id).map_or(&[][..], Vec::as_slice);
    own.iter()
        .filter(|(_, day)| begun.is_none_or(|ending| ending.day.date < day.date))
        .map(|(row, day)| {
            let remedy = read_work_remedy(*row, id, unmapped, problems);
            Inspection {
                treated: true,
                agent: remedy.agent,
                agent_place: remedy.place,
                source: row.source(),
                ..Inspection::unmeasured(day.date, Method::Patrol, Verdict::NotInspected)
            }
        })
        .collect()
}

/// The pole that stood here before, when the records say that one was rejected and a new one set afterwards under the
/// same id: then what is older than the new pole is its predecessor's, and leaves `records`.
///
/// Only a reject verdict as the last word before the set date proves this much: the owner replaces what is rejected.
/// Otherwise the set date may as well be wrong, and the pole keeps its records.
fn predecessor(
    listed: &Listed<'_>,
    records: &mut Vec<Record<'_>>,
    problems: &mut Vec<Problem>,
) -> Option<Removal> {
    let set = listed
        .set
        .filter(|_| listed.pole.set_from != SetFrom::Brand)?;
    // Records stand in the order of their dates.
    let older = records
        .iter()
        .take_while(|record| record.day.latest < set.earliest)
        .count();
    let last_word = records[..older]
        .iter()
        .rev()
        .find(|record| record.inspection.verdict != Verdict::NotInspected)?;
    if !last_word.inspection.verdict.is_reject() {
        return None;
    }
    let verdict = last_word.inspection.verdict.word();
    let later = records.split_off(older);
    let own = std::mem::replace(records, later);
    for record in &own {
        let what = format!(
            "inspected on {}, set on {} ({} row {}); {verdict} came before",
            record.row.raw(Field::Date).trim(),
            set_text(listed),
            listed.row.bound.table.file,
            listed.row.line
        );
        problems.push(record.row.problem(
            Code::PredecessorsRecord,
            Field::Date,
            &listed.id,
            what,
            "kept as a record of the pole that stood here before",
        ));
    }
    Some(Removal {
        id: listed.id.clone().into_owned(),
        pole: predecessor_of(&listed.pole, set.date),
        ended: set.date,
        because: Ended::SetSince,
        cause: RemovalCause::Condemned,
        inspections: own.into_iter().map(|record| record.inspection).collect(),
    })
}

/// The set date as it is written, or as a record of work or a brand gives it.
fn set_text(listed: &Listed<'_>) -> String {
    match listed.row.raw(Field::SetDate).trim() {
        "" => listed
            .set
            .map_or_else(String::new, |day| day.date.to_string()),
        written => written.to_owned(),
    }
}

/// What is known of a pole from the one that stands in its place: where it stood. The list describes the new one.
pub(super) fn predecessor_of(pole: &Pole, ended: Date) -> Pole {
    Pole {
        status: Status::Removed,
        removed: Some(ended),
        length: None,
        class: None,
        size_class: None,
        top_diameter: None,
        diameter: None,
        species: None,
        preservative: None,
        through_bored: None,
        installed: None,
        set_from: SetFrom::Record,
        reinforced: None,
        ..*pole
    }
}

/// Whether a pole was inspected before it was set: then it was not set on that day.
fn is_doubtful(listed: &Listed<'_>, records: &[Record<'_>], problems: &mut Vec<Problem>) -> bool {
    let before = |record: &&Record<'_>| {
        let set = listed.set;
        set.is_some_and(|set| record.day.latest < set.earliest)
    };
    let Some(record) = records.iter().find(before) else {
        return false;
    };
    let what = format!(
        "inspected on {}, but set on {} ({} row {})",
        record.row.raw(Field::Date).trim(),
        set_text(listed),
        listed.row.bound.table.file,
        listed.row.line
    );
    problems.push(record.row.problem(
        Code::InspectedBeforeSet,
        Field::Date,
        &listed.id,
        what,
        "the set date is taken as unknown",
    ));
    true
}
