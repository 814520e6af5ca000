//! What the values of a column can be: how many are there, numbers, days, codes; and how well they suit a field.

use super::super::cells::{Number, is_blank, read_back, read_number, read_yes_or_no};
use super::super::dates::Fault;
use super::super::ranges::read_set_day;
use super::{ListKind, codes};
use crate::programme::sources::Field;
use crate::units::{Date, LengthUnit};
use std::collections::BTreeMap;

/// At most this many rows, evenly spread, are looked at: a guess does not get better by more.
const LOOKED_AT: usize = 4_000;
/// How well numbers of two digits suit a year, beside days that can be read.
const SHORT_YEARS: f64 = 0.5;
/// A column of more different values than this is no list of codes.
const MOST_CODES: usize = 60;

/// What a column holds.
#[derive(Debug, Default)]
pub(super) struct Values {
    /// Cells that say something, of those looked at.
    pub filled: usize,
    /// Different texts with their counts, in small letters; none when there are too many for codes.
    pub codes: BTreeMap<String, usize>,
    /// Share of filled cells that differ from all others.
    pub distinct: f64,
    /// Numbers, sorted.
    pub numbers: Vec<f64>,
    /// Shares of filled cells.
    pub days: f64,
    short_years: f64,
    flags: f64,
    /// The unit most often written behind the number.
    pub written_unit: Option<LengthUnit>,
}

/// Looks at a column's cells.
pub(super) fn look<'a>(cells: impl Iterator<Item = &'a str> + Clone, plan_from: Date) -> Values {
    let step = cells.clone().count().div_ceil(LOOKED_AT).max(1);
    let texts: Vec<&str> = cells
        .step_by(step)
        .map(|cell| read_back(cell.trim()).trim())
        .filter(|text| !text.is_empty() && !is_blank(text))
        .collect();
    let filled = texts.len();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let (mut days, mut short_years, mut flags) = (0, 0, 0);
    let mut numbers = Vec::new();
    let mut units: BTreeMap<&str, (usize, LengthUnit)> = BTreeMap::new();
    for text in &texts {
        *counts.entry(text.to_lowercase()).or_default() += 1;
        days += usize::from(is_a_day(text, plan_from));
        let is_short = text.len() == 2 && text.bytes().all(|letter| letter.is_ascii_digit());
        short_years += usize::from(is_short);
        flags += usize::from(read_yes_or_no(text).is_some());
        if let Some((number, unit)) = read_number(text) {
            numbers.push(match number {
                Number::One(value) | Number::Either(_, value) => value,
            });
            if let Some(unit) = unit {
                units.entry(unit.word()).or_insert((0, unit)).0 += 1;
            }
        }
    }
    numbers.sort_by(f64::total_cmp);
    let share = |count: usize| count as f64 / filled.max(1) as f64;
    Values {
        filled,
        distinct: share(counts.len()),
        codes: if counts.len() <= MOST_CODES {
            counts
        } else {
            BTreeMap::new()
        },
        numbers,
        days: share(days),
        short_years: share(short_years),
        flags: share(flags),
        written_unit: units
            .values()
            .max_by_key(|(count, _)| *count)
            .map(|(_, unit)| *unit),
    }
}

/// A day, a month, a year or a range of years that a pole or an inspection can have, or a form that needs a declaration.
fn is_a_day(text: &str, plan_from: Date) -> bool {
    match read_set_day(text, None, plan_from) {
        Ok(_) | Err(Fault::Ambiguous | Fault::Placeholder) => true,
        // A number such as 56 is a two-digit year to the reader, and much else.
        Err(Fault::TwoDigitYear) => text.contains(['/', '-', '.']),
        Err(_) => read_set_day(text, None, plan_from).is_ok(),
    }
}

impl Values {
    /// The share of filled cells that are numbers within a range.
    fn within(&self, low: f64, high: f64) -> f64 {
        let inside = self
            .numbers
            .iter()
            .filter(|value| (low..=high).contains(*value))
            .count();
        inside as f64 / self.filled.max(1) as f64
    }

    fn are_numbers(&self) -> f64 {
        self.numbers.len() as f64 / self.filled.max(1) as f64
    }

    /// The share of filled cells whose code the trade reads as a word of the field.
    pub(super) fn read_as(&self, field: Field) -> f64 {
        let read: usize = self
            .codes
            .iter()
            .filter(|(code, _)| codes::reading(field, code).is_some())
            .map(|(_, count)| count)
            .sum();
        read as f64 / self.filled.max(1) as f64
    }

    /// The median number, zeros and negatives left out.
    pub(super) fn median(&self) -> Option<f64> {
        let positive: Vec<f64> = self
            .numbers
            .iter()
            .copied()
            .filter(|value| *value > 0.0)
            .collect();
        crate::maths::quantile_of_sorted(&positive, 0.5)
    }

    /// How well the values suit the field, 0 to 1; what is not looked at in values suits by half.
    pub(super) fn suit(&self, field: Field, kind: ListKind) -> f64 {
        if self.filled == 0 {
            return 0.0;
        }
        match field {
            // A pole stands once in its list, and in its inspections as often as it was visited.
            Field::Id if kind == ListKind::Poles => self.distinct,
            Field::Longitude => self.within(-180.0, 180.0) * decimals(&self.numbers),
            Field::Latitude => self.within(-90.0, 90.0) * decimals(&self.numbers),
            Field::Zone => self.within(1.0, 5.0),
            // The column is shown with its years of two digits, which nobody reads until the owner says of which century.
            Field::SetDate => self.days + SHORT_YEARS * self.short_years,
            Field::Date | Field::RemovedDate | Field::ReinforcedDate => self.days,
            Field::ThroughBored | Field::Treated => self.flags,
            Field::Sequence => self.are_numbers(),
            Field::Length
            | Field::GroundlineDiameter
            | Field::GroundlineCircumference
            | Field::RemainingCircumference
            | Field::OriginalCircumference
            | Field::OutsideDecayDepth
            | Field::PocketWidth
            | Field::PocketDepth
            | Field::SoundShell => {
                self.are_numbers() * f64::from(u8::from(unit_by_size(field, self).is_some()))
            }
            field if !codes::words_of(field).is_empty() => {
                let few = if self.codes.is_empty() { 0.0 } else { 0.5 };
                few + 0.5 * self.read_as(field)
            }
            Field::Id => 1.0,
            _ => 0.9,
        }
    }
}

/// Whether numbers look like degrees: with digits behind the point.
fn decimals(numbers: &[f64]) -> f64 {
    let with = numbers.iter().filter(|value| value.fract() != 0.0).count();
    with as f64 / numbers.len().max(1) as f64
}

/// The unit in which the median of a column is a usual size for the field; none when no unit makes it one. Where two
/// units do, the finer one is taken: it is the later of the two in every range below.
pub(super) fn unit_by_size(field: Field, values: &Values) -> Option<LengthUnit> {
    use LengthUnit::{Centimetre, Foot, Inch, Metre, Millimetre};
    let median = values.median()?;
    // Usual sizes of wooden poles and readings on them (common practice), unit by unit without overlap where possible.
    let ranges: &[(LengthUnit, f64, f64)] = match field {
        Field::Length => &[
            (Metre, 5.0, 22.0),
            (Foot, 22.0, 130.0),
            (Centimetre, 500.0, 4_000.0),
            (Millimetre, 4_000.0, 40_000.0),
        ],
        Field::GroundlineDiameter => &[
            (Inch, 5.0, 17.0),
            (Centimetre, 17.0, 60.0),
            (Millimetre, 120.0, 700.0),
        ],
        Field::GroundlineCircumference
        | Field::RemainingCircumference
        | Field::OriginalCircumference => &[
            (Inch, 15.0, 60.0),
            (Centimetre, 60.0, 200.0),
            (Millimetre, 400.0, 2_200.0),
        ],
        Field::OutsideDecayDepth => &[
            (Inch, 0.05, 2.0),
            (Centimetre, 2.0, 6.0),
            (Millimetre, 6.0, 150.0),
        ],
        Field::PocketWidth | Field::PocketDepth => &[
            (Inch, 0.25, 7.0),
            (Centimetre, 7.0, 16.0),
            (Millimetre, 16.0, 450.0),
        ],
        Field::SoundShell => &[
            (Inch, 0.5, 5.0),
            (Centimetre, 5.0, 16.0),
            (Millimetre, 16.0, 300.0),
        ],
        _ => return None,
    };
    ranges
        .iter()
        .find(|(_, low, high)| (*low..*high).contains(&median))
        .map(|(unit, _, _)| *unit)
}
