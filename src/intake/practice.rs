//! Rounds of inspections that look as if nobody had opened the ground: one reading on pole after pole, and more poles in a
//! day than crews can do.
//!
//! Nothing is dropped: how a contractor writes is the contractor's affair, and a round dated by its report is no lie. The
//! owner is told where to look. Knows records as they were read; nothing of what they say about wood.

use super::inspections::Record;
use super::table::Row;
use crate::pole::{Inspection, Method, Verdict};
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::units::{Date, Mm};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// A round needs this many measured poles before equal readings say anything ...
const FEWEST_MEASURED: usize = 30;
/// ... and this share of them must be alike in every reading (judgement: readings to whole inches repeat, but not so).
const SHARE_ALIKE: f64 = 0.8;
/// One contractor has at most so many crews out on a day (judgement): beyond that the day is not one of work.
const MOST_CREWS: f64 = 5.0;

/// The readings of one inspection, comparable.
type Readings = [Option<u64>; 4];

/// Counts of the inspections that count as rounds, by contractor (as written) and year. They are whole numbers and least
/// places, so that it does not matter who counted which of them.
#[derive(Default)]
pub(super) struct Rounds<'a>(BTreeMap<(&'a str, i16), Round<'a>>);

/// What is counted of one contractor in one year.
struct Round<'a> {
    /// The first of its rows, and the reading that it gives.
    first: (Row<'a>, Field),
    /// Inspections by their readings.
    readings: BTreeMap<Readings, usize>,
    /// Inspections of days that are known, by method.
    days: BTreeMap<Date, [usize; Method::ALL.len()]>,
}

impl<'a> Rounds<'a> {
    /// Counts a record, if it looked into the wood.
    pub(super) fn take(&mut self, record: &Record<'a>) {
        let inspection = &record.inspection;
        if !inspection.method.is_intrusive() || inspection.verdict == Verdict::NotInspected {
            return;
        }
        let who = record.row.text(Field::Contractor).unwrap_or("");
        let round = self.0.entry((who, inspection.date.year()));
        let first = (record.row, reading_field(inspection));
        let round = round.or_insert_with(|| Round::begun(first));
        round.begin(first);
        if let Some(readings) = readings(inspection) {
            *round.readings.entry(readings).or_default() += 1;
        }
        // Bare years are no days.
        if record.day.earliest == record.day.latest {
            round.days.entry(record.day.date).or_default()[inspection.method.index()] += 1;
        }
    }

    /// Counts what another counted.
    pub(super) fn add(&mut self, other: Self) {
        for (who, own) in other.0 {
            match self.0.entry(who) {
                Entry::Occupied(mut known) => known.get_mut().add(own),
                Entry::Vacant(free) => {
                    free.insert(own);
                }
            }
        }
    }

    /// One problem for each contractor and year whose readings repeat, and for each whose days are too full.
    pub(super) fn doubt(
        self,
        poles_per_crew_day: &[f64; Method::ALL.len()],
        problems: &mut Vec<Problem>,
    ) {
        // One contractor may be written in several ways: the same one is shown whatever the order of the rows.
        let mut rounds: BTreeMap<(String, i16), (&str, Round<'_>)> = BTreeMap::new();
        for ((who, year), own) in self.0 {
            match rounds.entry((who.to_lowercase(), year)) {
                Entry::Occupied(mut known) => known.get_mut().1.add(own),
                Entry::Vacant(free) => {
                    free.insert((who, own));
                }
            }
        }
        for ((_, year), (name, round)) in rounds {
            let who = match name {
                "" => "no contractor named",
                name => name,
            };
            let (row, reading) = round.first;
            let mut tell = |code, field, what: String| {
                problems.push(row.problem(code, field, "", what, "all are kept"));
            };
            if let Some((alike, measured)) = alike(&round.readings) {
                let what = format!(
                    "{who}, {year}: {alike} of {measured} poles measured have the same readings"
                );
                tell(Code::RepeatedReadings, reading, what);
            }
            // Whose day it was must be known.
            if name.is_empty() {
                continue;
            }
            let days = too_full(&round.days, poles_per_crew_day);
            if let Some((worst, most)) = days.iter().max_by_key(|(_, count)| **count) {
                let inspections: usize = days.values().sum();
                let what = format!(
                    "{who}, {year}: {} on {}, up to {most} on {worst}",
                    super::counted(inspections, "intrusive inspection"),
                    super::counted(days.len(), "day")
                );
                tell(Code::ImpossiblePace, Field::Date, what);
            }
        }
    }
}

impl<'a> Round<'a> {
    fn begun(first: (Row<'a>, Field)) -> Self {
        Self {
            first,
            readings: BTreeMap::new(),
            days: BTreeMap::new(),
        }
    }

    fn begin(&mut self, first: (Row<'a>, Field)) {
        if first.0.source() < self.first.0.source() {
            self.first = first;
        }
    }

    fn add(&mut self, other: Self) {
        self.begin(other.first);
        for (readings, count) in other.readings {
            *self.readings.entry(readings).or_default() += count;
        }
        for (day, counts) in other.days {
            let own = self.days.entry(day).or_default();
            for (own, count) in own.iter_mut().zip(counts) {
                *own += count;
            }
        }
    }
}

fn reading_field(inspection: &Inspection) -> Field {
    if inspection.remaining_circumference.is_some() {
        Field::RemainingCircumference
    } else if inspection.sound_shell.is_some() {
        Field::SoundShell
    } else {
        Field::OutsideDecayDepth
    }
}

/// The readings of an inspection, if it has any. A depth of nothing is what sound poles have in common, and no reading.
fn readings(inspection: &Inspection) -> Option<Readings> {
    let bits = |length: Option<Mm>| length.filter(|mm| mm.0 > 0.0).map(|mm| mm.0.to_bits());
    let readings = [
        bits(inspection.remaining_circumference),
        bits(inspection.outside_decay_depth),
        bits(inspection.sound_shell),
        bits(inspection.least_sound_shell),
    ];
    readings.iter().any(Option::is_some).then_some(readings)
}

/// How many inspections share the commonest readings, and how many were measured, when that is too many.
fn alike(counts: &BTreeMap<Readings, usize>) -> Option<(usize, usize)> {
    let measured: usize = counts.values().sum();
    let most = counts.values().max().copied()?;
    let too_many = measured >= FEWEST_MEASURED && most as f64 >= SHARE_ALIKE * measured as f64;
    too_many.then_some((most, measured))
}

/// Days on which more was recorded than [`MOST_CREWS`] crews can do, with their inspections.
fn too_full(
    days: &BTreeMap<Date, [usize; Method::ALL.len()]>,
    poles_per_crew_day: &[f64; Method::ALL.len()],
) -> BTreeMap<Date, usize> {
    let crew_days = |counts: &[usize; Method::ALL.len()]| -> f64 {
        let loads = counts.iter().zip(poles_per_crew_day);
        loads.map(|(count, pace)| *count as f64 / pace).sum()
    };
    days.iter()
        .filter(|(_, counts)| crew_days(counts) > MOST_CREWS)
        .map(|(day, counts)| (*day, counts.iter().sum()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::readings;
    use crate::pole::{Inspection, Method, Verdict};
    use crate::units::Mm;
    use jiff::civil::date;
    use std::collections::BTreeMap;

    fn measured(shell: f64) -> Inspection {
        Inspection {
            sound_shell: Some(Mm(shell)),
            ..Inspection::unmeasured(date(2020, 1, 1), Method::PartialExcavation, Verdict::Sound)
        }
    }

    fn alike<'a>(inspections: impl Iterator<Item = &'a Inspection>) -> Option<(usize, usize)> {
        let mut counts = BTreeMap::new();
        for readings in inspections.filter_map(readings) {
            *counts.entry(readings).or_default() += 1;
        }
        super::alike(&counts)
    }

    #[test]
    fn one_reading_on_most_poles_of_a_round_is_seen_and_varied_readings_are_not() {
        let same: Vec<Inspection> = (0..40)
            .map(|number| {
                measured(if number < 35 {
                    100.0
                } else {
                    f64::from(number)
                })
            })
            .collect();
        assert_eq!(alike(same.iter()), Some((35, 40)));
        assert_eq!(alike(same[..20].iter()), None, "too few");
        let varied: Vec<Inspection> = (0..40)
            .map(|number| measured(f64::from(90 + number % 4)))
            .collect();
        assert_eq!(alike(varied.iter()), None);
    }

    #[test]
    fn no_depth_of_decay_is_no_reading() {
        let sound = Inspection {
            outside_decay_depth: Some(Mm(0.0)),
            sound_shell: None,
            ..measured(0.0)
        };
        assert_eq!(alike([sound; 50].iter()), None);
    }
}
