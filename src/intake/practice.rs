//! Rounds of inspections that look as if nobody had opened the ground: one reading on pole after pole, and more poles in a
//! day than crews can do.
//!
//! Nothing is dropped: how a contractor writes is the contractor's affair, and a round dated by its report is no lie. The
//! owner is told where to look. Knows records as they were read; nothing of what they say about wood.

use super::inspections::Record;
use crate::pole::{Inspection, Method, Verdict};
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::units::{Date, Mm};
use std::collections::BTreeMap;

/// A round needs this many measured poles before equal readings say anything ...
const FEWEST_MEASURED: usize = 30;
/// ... and this share of them must be alike in every reading (judgement: readings to whole inches repeat, but not so).
const SHARE_ALIKE: f64 = 0.8;
/// One contractor has at most so many crews out on a day (judgement): beyond that the day is not one of work.
const MOST_CREWS: f64 = 5.0;

/// The readings of one inspection, comparable.
type Readings = [Option<u64>; 4];

/// One problem for each contractor and year whose readings repeat, and for each whose days are too full.
pub(super) fn doubt_rounds(
    records: &[Vec<Record<'_>>],
    poles_per_crew_day: &[f64; Method::ALL.len()],
    problems: &mut Vec<Problem>,
) {
    let mut rounds: BTreeMap<(String, i16), Vec<&Record<'_>>> = BTreeMap::new();
    for record in records.iter().flatten() {
        let Inspection {
            method, verdict, ..
        } = record.inspection;
        if method.is_intrusive() && verdict != Verdict::NotInspected {
            let who = record.row.text(Field::Contractor).unwrap_or("");
            let year = record.inspection.date.year();
            rounds
                .entry((who.to_lowercase(), year))
                .or_default()
                .push(record);
        }
    }
    for ((_, year), mut round) in rounds {
        round.sort_by_key(|record| record.row.source());
        let first = round[0];
        // One contractor may be written in several ways: the same one is shown whatever the order of the rows.
        let name = round
            .iter()
            .filter_map(|record| record.row.text(Field::Contractor))
            .min();
        let who = name.unwrap_or("no contractor named");
        let mut tell = |code, field, what: String| {
            problems.push(first.row.problem(code, field, "", what, "all are kept"));
        };
        if let Some((alike, measured)) = alike(round.iter().map(|record| &record.inspection)) {
            let what = format!(
                "{who}, {year}: {alike} of {measured} poles measured have the same readings"
            );
            tell(
                Code::RepeatedReadings,
                reading_field(&first.inspection),
                what,
            );
        }
        // Whose day it was must be known.
        let days = too_full(
            round.iter().filter(|_| name.is_some()).copied(),
            poles_per_crew_day,
        );
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

fn reading_field(inspection: &Inspection) -> Field {
    if inspection.remaining_circumference.is_some() {
        Field::RemainingCircumference
    } else if inspection.sound_shell.is_some() {
        Field::SoundShell
    } else {
        Field::OutsideDecayDepth
    }
}

/// How many inspections share the commonest readings, and how many were measured, when that is too many. A depth of
/// nothing is what sound poles have in common, and no reading.
fn alike<'a>(inspections: impl Iterator<Item = &'a Inspection>) -> Option<(usize, usize)> {
    let bits = |length: Option<Mm>| length.filter(|mm| mm.0 > 0.0).map(|mm| mm.0.to_bits());
    let mut counts: BTreeMap<Readings, usize> = BTreeMap::new();
    for inspection in inspections {
        let readings = [
            bits(inspection.remaining_circumference),
            bits(inspection.outside_decay_depth),
            bits(inspection.sound_shell),
            bits(inspection.least_sound_shell),
        ];
        if readings.iter().any(Option::is_some) {
            *counts.entry(readings).or_default() += 1;
        }
    }
    let measured: usize = counts.values().sum();
    let most = counts.values().max().copied()?;
    let too_many = measured >= FEWEST_MEASURED && most as f64 >= SHARE_ALIKE * measured as f64;
    too_many.then_some((most, measured))
}

/// Days on which more was recorded than [`MOST_CREWS`] crews can do, with their inspections. Bare years are no days.
fn too_full<'a>(
    round: impl Iterator<Item = &'a Record<'a>>,
    poles_per_crew_day: &[f64; Method::ALL.len()],
) -> BTreeMap<Date, usize> {
    let mut days: BTreeMap<Date, [usize; Method::ALL.len()]> = BTreeMap::new();
    for record in round.filter(|record| record.day.earliest == record.day.latest) {
        days.entry(record.day.date).or_default()[record.inspection.method.index()] += 1;
    }
    let crew_days = |counts: &[usize; Method::ALL.len()]| -> f64 {
        let loads = counts.iter().zip(poles_per_crew_day);
        loads.map(|(count, pace)| *count as f64 / pace).sum()
    };
    days.into_iter()
        .filter(|(_, counts)| crew_days(counts) > MOST_CREWS)
        .map(|(day, counts)| (day, counts.iter().sum()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::alike;
    use crate::pole::{Inspection, Method, Verdict};
    use crate::units::Mm;
    use jiff::civil::date;

    fn measured(shell: f64) -> Inspection {
        Inspection {
            sound_shell: Some(Mm(shell)),
            ..Inspection::unmeasured(date(2020, 1, 1), Method::PartialExcavation, Verdict::Sound)
        }
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
