//! What a pole must bear: a required moment with its unit, or a share of its capacity; and both as the command line
//! writes them.

use super::cells::{Number, read_number};
use super::table::Row;
use crate::pole::Loading;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use crate::units::{LengthUnit, Mm, MomentUnit, NewtonMetre};

/// Largest moment of a single pole, N m: far beyond the strongest class.
const MOST_MOMENT: f64 = 5_000_000.0;
/// Uses of capacity that can be: beyond the whole a pole was wrong from the first day, far beyond it the number is.
const USES: std::ops::RangeInclusive<f64> = 0.01..=2.0;

/// The loading of a row; the moment counts where both are given, since it does not suppose what the pole is.
pub(super) fn read_loading(row: Row<'_>, id: &str, problems: &mut Vec<Problem>) -> Option<Loading> {
    let mut read = |field: Field, parse: fn(&str) -> Option<Loading>| {
        let text = row.text(field)?;
        let loading = parse(text);
        if loading.is_none() {
            let what = format!("\"{text}\" is no {}", field.info().name.replace('_', " "));
            problems.push(row.problem(Code::NotALoading, field, id, what, "taken as unknown"));
        }
        loading
    };
    let moment = read(Field::RequiredMoment, |text| {
        let moment = read_moment(text)?;
        (moment.0 > 0.0 && moment.0 <= MOST_MOMENT).then_some(Loading::Moment(moment))
    });
    let share = read(Field::UseOfCapacity, |text| {
        let (number, scale) = match text.trim().strip_suffix('%') {
            Some(number) => (number, 0.01),
            None => (text, 1.0),
        };
        let Some((Number::One(value), None)) = read_number(number) else {
            return None;
        };
        let share = value * scale;
        USES.contains(&share)
            .then_some(Loading::UseOfCapacity(share))
    });
    moment.or(share)
}

/// `37 kNm`, `27300 ft-lb`; kilonewton metres where no unit is written.
pub fn read_moment(text: &str) -> Option<NewtonMetre> {
    let text = text.trim();
    let end = text.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (number, unit) = text.split_at(end);
    let unit = match unit.trim() {
        "" => MomentUnit::KilonewtonMetre,
        word => MomentUnit::from_word(word)?,
    };
    match read_number(number)? {
        (Number::One(value), None) => Some(unit.read(value)),
        // `27,300`: no moment is written to three decimals.
        (Number::Either(thousands, _), None) => Some(unit.read(thousands)),
        _ => None,
    }
}

/// `40 ft`, `12.2m`, or a number in `unit`.
pub fn read_length_text(text: &str, unit: LengthUnit) -> Option<Mm> {
    match read_number(text)? {
        (Number::One(value), written) => Some(written.unwrap_or(unit).read(value)),
        (Number::Either(..), _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::read_moment;

    #[test]
    fn moments_are_read_in_any_unit() {
        let read = |text: &str| read_moment(text).map(|moment| moment.0);
        assert_eq!(read("50"), Some(50_000.0));
        assert_eq!(read("50 kNm"), Some(50_000.0));
        assert_eq!(read("50000 N m"), Some(50_000.0));
        // 37120 ft-lb x 1.355818 = 50327.96 N m.
        let moment = read("37120 ft-lb").expect("a moment");
        assert!((moment - 50_327.96).abs() < 0.01, "{moment}");
        assert_eq!(read("37,120 ft-lb"), Some(moment));
        for text in ["", "much", "50 kg", "kNm"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
