//! Lengths of all kinds: read in the owner's unit, held to what a wooden pole can have.

use super::cells::{Number, read_number};
use super::table::Row;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::units::{LengthUnit, Mm};
use std::f64::consts::PI;
use std::ops::RangeInclusive;

/// Lengths of wooden poles, mm: the shortest service poles and the longest single stems, with room to spare.
pub(super) const POLE_LENGTH: RangeInclusive<f64> = 4_000.0..=60_000.0;
/// Groundline diameters of wooden poles, mm, with room to spare.
pub(super) const DIAMETER: RangeInclusive<f64> = 100.0..=900.0;
/// Groundline circumferences of such poles, mm.
pub(super) const CIRCUMFERENCE: RangeInclusive<f64> = 100.0 * PI..=900.0 * PI;
/// Circumferences of what decay left of them, mm: a third of the least diameter.
pub(super) const REMAINING: RangeInclusive<f64> = 33.0 * PI..=900.0 * PI;
/// Depths and shells, mm: up to half of the largest diameter.
pub(super) const DEPTH: RangeInclusive<f64> = 0.0..=450.0;
/// Two sizes of one pole that differ by more than this share do not fit together.
const SIZES_AGREE: f64 = 0.10;
/// A remaining circumference may be larger than the original one by this share: a tape is read to a few hundredths.
const TAPE: f64 = 0.03;

/// What a length must be.
#[derive(Debug, Clone)]
pub(super) struct Bounds {
    /// Lengths that can be, in mm; a range from 0 admits zero.
    pub range: RangeInclusive<f64>,
    /// The problem of a length outside.
    pub code: Code,
    /// What such a length is, for the sentence.
    pub name: &'static str,
}

/// The length in a cell, or a problem.
pub(super) fn read_length(
    row: Row<'_>,
    field: Field,
    bounds: &Bounds,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Option<Mm> {
    let text = row.text(field)?;
    match length_of(row, field, text, bounds) {
        Ok(length) => Some(length),
        Err((code, what)) => {
            problems.push(row.problem(code, field, id, what, "taken as unknown"));
            None
        }
    }
}

/// The lengths in a cell that may hold several readings (`50; 45 / 60`), or a problem for each that is none.
pub(super) fn read_lengths(
    row: Row<'_>,
    field: Field,
    bounds: &Bounds,
    id: &str,
    problems: &mut Vec<Problem>,
) -> Vec<Mm> {
    let mut lengths = Vec::new();
    let Some(text) = row.text(field) else {
        return lengths;
    };
    let readings = text.split([';', '|']).flat_map(|part| {
        // A slash parts readings too, but not the two numbers of a fraction.
        let one = has_fraction(part);
        part.split(move |letter| letter == '/' && !one)
    });
    for part in readings.map(str::trim).filter(|part| !part.is_empty()) {
        match length_of(row, field, part, bounds) {
            Ok(length) => lengths.push(length),
            Err((code, what)) => {
                problems.push(row.problem(code, field, id, what, "taken as unknown"));
            }
        }
    }
    lengths
}

/// Whether a text is a mixed fraction such as `5 1/2`, whose parts must never be taken for readings of their own.
fn has_fraction(text: &str) -> bool {
    let Some((before, after)) = text.trim().split_once('/') else {
        return false;
    };
    let is_whole = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let mut parts = before.split_whitespace();
    let wholes = (parts.next(), parts.next(), parts.next());
    let below: String = after.chars().take_while(char::is_ascii_digit).collect();
    matches!(wholes, (Some(a), Some(b), None) if is_whole(a) && is_whole(b)) && is_whole(&below)
}

/// The length that a text is, or why it is none.
pub(super) fn length_of(
    row: Row<'_>,
    field: Field,
    text: &str,
    bounds: &Bounds,
) -> Result<Mm, (Code, String)> {
    let Some((number, written)) = read_number(text) else {
        return Err((Code::NotANumber, format!("\"{text}\" is not a number")));
    };
    let unit = written
        .or_else(|| row.bound.unit(field))
        .unwrap_or(LengthUnit::Millimetre);
    let fits = |value: f64| bounds.range.contains(&unit.read(value).0);
    let value = match number {
        Number::One(value) => value,
        Number::Either(thousands, decimal) => match (fits(thousands), fits(decimal)) {
            (true, false) => thousands,
            (false, true) => decimal,
            _ => {
                return Err((
                    Code::AmbiguousNumber,
                    format!("{text} is {thousands} or {decimal}"),
                ));
            }
        },
    };
    let shown = || format!("{value} {}", unit.word());
    if value < 0.0 || (value == 0.0 && *bounds.range.start() > 0.0) {
        return Err((
            Code::NotPositive,
            format!("{} is no {}", shown(), bounds.name),
        ));
    }
    if !fits(value) {
        let end = |mm: f64| format!("{:.0}", unit.write(Mm(mm)));
        let what = format!(
            "{} is not within {} to {} {}, as every {} is",
            shown(),
            end(*bounds.range.start()),
            end(*bounds.range.end()),
            unit.word(),
            bounds.name
        );
        return Err((bounds.code, what));
    }
    Ok(unit.read(value))
}

/// The groundline diameter from its own column or from a circumference.
pub(super) fn read_diameter(row: Row<'_>, id: &str, problems: &mut Vec<Problem>) -> Option<Mm> {
    let bounds = |range: RangeInclusive<f64>, name| Bounds {
        range,
        code: Code::GroundlineSize,
        name,
    };
    let direct = read_length(
        row,
        Field::GroundlineDiameter,
        &bounds(DIAMETER, "groundline diameter"),
        id,
        problems,
    );
    let around = read_length(
        row,
        Field::GroundlineCircumference,
        &bounds(CIRCUMFERENCE, "groundline circumference"),
        id,
        problems,
    )
    .map(Mm::diameter_of_circumference);
    let (Some(a), Some(b)) = (direct, around) else {
        return direct.or(around);
    };
    if (a.0 - b.0).abs() <= SIZES_AGREE * a.0.max(b.0) {
        return direct;
    }
    let what = format!(
        "a diameter of {:.0} mm and a circumference of {:.0} mm are not of one pole",
        a.0,
        b.circumference_of_diameter().0
    );
    problems.push(row.problem(
        Code::SizesDisagree,
        Field::GroundlineDiameter,
        id,
        what,
        "the diameter is taken as unknown",
    ));
    None
}

/// Remaining and original circumference of an inspection; both unknown where more is left than was there.
pub(super) fn read_circumferences(
    row: Row<'_>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> (Option<Mm>, Option<Mm>) {
    let bounds = |range: RangeInclusive<f64>, name| Bounds {
        range,
        code: Code::GroundlineSize,
        name,
    };
    let remaining = read_length(
        row,
        Field::RemainingCircumference,
        &bounds(REMAINING, "remaining circumference"),
        id,
        problems,
    );
    let original = read_length(
        row,
        Field::OriginalCircumference,
        &bounds(CIRCUMFERENCE, "original circumference"),
        id,
        problems,
    );
    match (remaining, original) {
        (Some(left), Some(new)) if left.0 > new.0 * (1.0 + TAPE) => {
            let what = format!(
                "{:.0} mm are left of {:.0} mm: more than there was",
                left.0, new.0
            );
            problems.push(row.problem(
                Code::CircumferenceGrew,
                Field::RemainingCircumference,
                id,
                what,
                "both are taken as unknown",
            ));
            (None, None)
        }
        both => both,
    }
}

/// Outside decay depth, mean and least sound shell; unknown where they do not fit into the pole.
pub(super) fn read_depths(
    row: Row<'_>,
    diameter: Option<Mm>,
    id: &str,
    problems: &mut Vec<Problem>,
) -> (Option<Mm>, Option<Mm>, Option<Mm>) {
    let half = diameter.map_or(*DEPTH.end(), |d| (d.0 / 2.0 * (1.0 + SIZES_AGREE)).round());
    let depth = Bounds {
        range: 0.0..=half,
        code: Code::ImpossibleDepth,
        name: "depth of decay in this pole",
    };
    let shell = Bounds {
        range: 1.0..=half,
        code: Code::ImpossibleDepth,
        name: "sound shell of this pole",
    };
    let outside = read_length(row, Field::OutsideDecayDepth, &depth, id, problems);
    let mut shells = read_lengths(row, Field::SoundShell, &shell, id, problems);
    // Summed in the order of size, so that the order of the readings does not show in the last bit.
    shells.sort_by(|a, b| a.0.total_cmp(&b.0));
    let count = shells.len() as f64;
    let mean = (!shells.is_empty()).then(|| Mm(shells.iter().map(|s| s.0).sum::<f64>() / count));
    (outside, mean, shells.first().copied())
}

#[cfg(test)]
mod tests {
    use super::has_fraction;

    #[test]
    fn a_mixed_fraction_is_not_two_readings() {
        assert!(has_fraction("5 1/2") && has_fraction(" 3 3/4 in"));
        for readings in ["50/45", "50 / 45", "3.5/4", "5;1/2 x", "50 mm/45 mm"] {
            assert!(!has_fraction(readings), "{readings}");
        }
    }
}
