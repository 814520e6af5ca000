//! One text cell to a day, or to the reason why it is none. Owners' dates are never guessed at: what can be two days is
//! refused, and years that no pole has are too.

use crate::problem::Code;
use crate::units::{Date, mid_year};

/// No pole in service was set before this year.
const FIRST_YEAR: i16 = 1880;
/// Years that systems write where nobody entered one.
const PLACEHOLDER_YEARS: [i16; 2] = [1900, 1901];
/// Days that systems write where nobody entered one (year, month, day).
const PLACEHOLDER_DAYS: [(i16, i8, i8); 3] = [(1970, 1, 1), (1899, 12, 30), (1899, 12, 31)];
/// English names of months; only the first three letters are looked at.
const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// A day, and how far its date can be off when only a year or a month was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Day {
    /// The date, or the middle of what was written.
    pub date: Date,
    /// The earliest day that is meant.
    pub earliest: Date,
    /// The latest day that is meant.
    pub latest: Date,
}

/// Why a text is no usable date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fault {
    NotADate,
    TwoDigitYear,
    TooEarly,
    Future,
    Placeholder,
    Ambiguous,
}

impl Fault {
    /// The problem's code, for dates of poles.
    pub(super) const fn code(self) -> Code {
        match self {
            Self::NotADate => Code::NotADate,
            Self::TwoDigitYear => Code::TwoDigitYear,
            Self::TooEarly => Code::DateTooEarly,
            Self::Future => Code::DateInFuture,
            Self::Placeholder => Code::PlaceholderDate,
            Self::Ambiguous => Code::AmbiguousDate,
        }
    }

    /// What is wrong with `text`, as a sentence.
    pub(super) fn sentence(self, text: &str, plan_from: Date) -> String {
        match self {
            Self::NotADate => format!("\"{text}\" is not a date"),
            Self::TwoDigitYear => format!("\"{text}\" has a year of fewer than four digits"),
            Self::TooEarly if says_zero(text) => format!("{text} is no year"),
            Self::TooEarly => format!("{text} is before {FIRST_YEAR}"),
            Self::Future => format!("{text} is after the day of the plan, {plan_from}"),
            Self::Placeholder => format!("{text} is what systems write when they have no date"),
            Self::Ambiguous => format!("{text} can be two days"),
        }
    }
}

/// Whether a text is nothing but zeros, as lists write a year that nobody knew.
fn says_zero(text: &str) -> bool {
    text.contains('0')
        && text
            .chars()
            .all(|letter| matches!(letter, '0' | '.' | '-' | '/'))
}

/// The day that `text` means; `form` is the file's declared form (strftime letters).
pub(super) fn read_day(text: &str, form: Option<&str>, plan_from: Date) -> Result<Day, Fault> {
    let whole = text.trim();
    let text = without_time(whole);
    let declared =
        form.and_then(|form| declared_day(whole, form).or_else(|| declared_day(text, form)));
    let day = match declared {
        // Two digits are a year of the last hundred: poles are not set in the future, and a form that says "%y" does
        // not say which century it means.
        Some(day) if form.is_some_and(|form| form.contains("%y")) && day.earliest > plan_from => {
            a_century_before(day)?
        }
        Some(day) => day,
        None => common_day(text, form.is_some())?,
    };
    check(day, plan_from)
}

fn a_century_before(day: Day) -> Result<Day, Fault> {
    let before = |date: Date| {
        Date::new(date.year() - 100, date.month(), date.day()).map_err(|_| Fault::NotADate)
    };
    Ok(Day {
        date: before(day.date)?,
        earliest: before(day.earliest)?,
        latest: before(day.latest)?,
    })
}

fn check(day: Day, plan_from: Date) -> Result<Day, Fault> {
    let date = day.date;
    let placeholder = PLACEHOLDER_DAYS.contains(&(date.year(), date.month(), date.day()))
        || (PLACEHOLDER_YEARS.contains(&date.year())
            && (day.earliest != day.latest || (date.month(), date.day()) == (1, 1)));
    if placeholder {
        return Err(Fault::Placeholder);
    }
    if date.year() < FIRST_YEAR {
        return Err(Fault::TooEarly);
    }
    if day.earliest > plan_from {
        return Err(Fault::Future);
    }
    Ok(Day {
        date: date.min(plan_from),
        earliest: day.earliest,
        latest: day.latest.min(plan_from),
    })
}

/// A time of day behind a date says nothing here.
fn without_time(text: &str) -> &str {
    text.find(':')
        .and_then(|colon| text[..colon].rfind([' ', 'T']))
        .map_or(text, |place| text[..place].trim_end())
}

fn exact(year: i16, month: i8, day: i8) -> Result<Day, Fault> {
    let date = Date::new(year, month, day).map_err(|_| Fault::NotADate)?;
    Ok(Day {
        date,
        earliest: date,
        latest: date,
    })
}

fn whole_year(year: i16) -> Result<Day, Fault> {
    if year < 1 {
        return Err(Fault::TooEarly);
    }
    Ok(Day {
        date: mid_year(year),
        earliest: Date::new(year, 1, 1).map_err(|_| Fault::NotADate)?,
        latest: Date::new(year, 12, 31).map_err(|_| Fault::NotADate)?,
    })
}

fn whole_month(year: i16, month: i8) -> Result<Day, Fault> {
    let earliest = Date::new(year, month, 1).map_err(|_| Fault::NotADate)?;
    Ok(Day {
        date: Date::new(year, month, 15).map_err(|_| Fault::NotADate)?,
        earliest,
        latest: earliest.last_of_month(),
    })
}

fn declared_day(text: &str, form: &str) -> Option<Day> {
    let read = jiff::fmt::strtime::parse(form, text).ok()?;
    if let Ok(date) = read.to_date() {
        return exact(date.year(), date.month(), date.day()).ok();
    }
    let year = read.year()?;
    read.month()
        .map_or_else(|| whole_year(year), |month| whole_month(year, month))
        .ok()
}

/// ISO dates, bare years and common forms that can mean only one day. Where the file declared another form, only ISO
/// dates and bare years are taken besides it.
fn common_day(text: &str, declared: bool) -> Result<Day, Fault> {
    if let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = text.as_bytes()
        && [y1, y2, y3, y4, m1, m2, d1, d2]
            .iter()
            .all(|digit| digit.is_ascii_digit())
        && !text.starts_with("0000")
    {
        let two = |tens: &u8, ones: &u8| ((tens - b'0') * 10 + (ones - b'0')) as i8;
        let year = i16::from(two(y1, y2)) * 100 + i16::from(two(y3, y4));
        return exact(year, two(m1, m2), two(d1, d2));
    }
    let number = |part: &str| part.parse::<i16>().map_err(|_| Fault::NotADate);
    let small = |part: &str| part.parse::<i8>().map_err(|_| Fault::NotADate);
    // A spreadsheet's year: 1985.0
    let bare = text.strip_suffix(".0").unwrap_or(text);
    if !bare.is_empty() && bare.bytes().all(|b| b.is_ascii_digit()) {
        return match bare.len() {
            4 => whole_year(number(bare)?),
            8 if is_year(&bare[..4]) => {
                exact(number(&bare[..4])?, small(&bare[4..6])?, small(&bare[6..])?)
            }
            1..=3 if number(bare)? == 0 => Err(Fault::TooEarly),
            1..=3 => Err(Fault::TwoDigitYear),
            _ if bare.bytes().all(|b| b == b'0') => Err(Fault::TooEarly),
            _ => Err(Fault::NotADate),
        };
    }
    let parts: Vec<&str> = text
        .split(['-', '/', '.', ' ', ','])
        .filter(|part| !part.is_empty())
        .collect();
    match parts.as_slice() {
        ["0000", ..] => Err(Fault::TooEarly),
        [year, month] if is_year(year) && is_number(month) => {
            whole_month(number(year)?, small(month)?)
        }
        [year, month, day] if is_year(year) && is_number(month) => {
            exact(number(year)?, small(month)?, small(day)?)
        }
        _ if declared => Err(Fault::NotADate),
        [month, year] if is_year(year) => match named_month(month) {
            Some(month) => whole_month(number(year)?, month),
            None => whole_month(number(year)?, small(month)?),
        },
        [first, second, year] => {
            let (day, month) = day_and_month(first, second, text.contains('.'))?;
            if !is_number(year) {
                return Err(Fault::NotADate);
            }
            if !is_year(year) {
                return Err(Fault::TwoDigitYear);
            }
            exact(number(year)?, month, day?)
        }
        _ => Err(Fault::NotADate),
    }
}

fn is_number(part: &str) -> bool {
    !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit())
}

fn is_year(part: &str) -> bool {
    part.len() == 4 && is_number(part)
}

fn named_month(part: &str) -> Option<i8> {
    let short = part.to_lowercase();
    let place = MONTHS.iter().position(|month| short.starts_with(month))?;
    Some(place as i8 + 1)
}

/// Day and month of `30/06`, `06/30`, `30 June` or `June 30`; the day is an error where the two can be exchanged.
/// Dates with points have the day first everywhere.
fn day_and_month(
    first: &str,
    second: &str,
    points: bool,
) -> Result<(Result<i8, Fault>, i8), Fault> {
    let small = |part: &str| part.parse::<i8>().map_err(|_| Fault::NotADate);
    if let Some(month) = named_month(second) {
        return Ok((Ok(small(first)?), month));
    }
    if let Some(month) = named_month(first) {
        return Ok((Ok(small(second)?), month));
    }
    let (a, b) = (small(first)?, small(second)?);
    match (a > 12, b > 12) {
        (true, false) => Ok((Ok(a), b)),
        (false, true) if !points => Ok((Ok(b), a)),
        (_, true) => Err(Fault::NotADate),
        (false, false) if points || a == b => Ok((Ok(a), b)),
        (false, false) => Ok((Err(Fault::Ambiguous), b)),
    }
}

#[cfg(test)]
mod tests {
    use super::{Fault, read_day};
    use crate::units::Date;
    use jiff::civil::date;

    const PLAN: Date = date(2026, 1, 1);

    #[test]
    fn dates_that_can_mean_one_day_are_read() {
        let same = |text: &str, form: Option<&str>| {
            let day =
                read_day(text, form, PLAN).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
            assert_eq!(day.date, date(1985, 6, 30), "{text}");
            assert_eq!(day.earliest, day.latest, "{text}");
        };
        for text in [
            "1985-06-30",
            "1985/6/30",
            "19850630",
            "1985-06-30T00:00:00",
            "1985-06-30 12:30:00",
            "30/06/1985",
            "6/30/1985",
            "30.6.1985",
            "30 June 1985",
            "Jun 30, 1985",
            "30-Jun-1985",
            "30 June 1985 12:30",
        ] {
            same(text, None);
        }
        same("06.30.85", Some("%m.%d.%y"));
        same("1985-06-30", Some("%d/%m/%Y"));
        same("30.6.85", Some("%d.%m.%y"));
        // 56 is 1956 when 2056 has not come yet; 25 is the year before the plan.
        let year = |text| read_day(text, Some("%y"), PLAN).map(|day| day.date.year());
        assert_eq!(
            (year("56"), year("25"), year("1985")),
            (Ok(1956), Ok(2025), Ok(1985))
        );
    }

    #[test]
    fn a_bare_year_is_its_middle_and_its_width() {
        for text in ["1985", "1985.0"] {
            let day = read_day(text, None, PLAN).expect("a year");
            assert_eq!(
                (day.date, day.earliest, day.latest),
                (date(1985, 7, 1), date(1985, 1, 1), date(1985, 12, 31))
            );
        }
        let now = read_day("2026", None, PLAN).expect("the year of the plan");
        assert_eq!(now.date, PLAN);
    }

    #[test]
    fn what_is_no_usable_date_says_why() {
        let fault = |text: &str| read_day(text, None, PLAN).expect_err(text);
        for (text, expected) in [
            ("long ago", Fault::NotADate),
            ("31/31/1985", Fault::NotADate),
            ("31048", Fault::NotADate),
            ("1985-02-30", Fault::NotADate),
            ("85", Fault::TwoDigitYear),
            ("30/06/85", Fault::TwoDigitYear),
            ("0", Fault::TooEarly),
            ("0000-00-00", Fault::TooEarly),
            ("1066", Fault::TooEarly),
            ("2105", Fault::Future),
            ("2026-01-02", Fault::Future),
            ("1900", Fault::Placeholder),
            ("1900-01-01", Fault::Placeholder),
            ("1970-01-01", Fault::Placeholder),
            ("03/04/1985", Fault::Ambiguous),
        ] {
            assert_eq!(fault(text), expected, "{text}");
        }
        assert!(read_day("1970", None, PLAN).is_ok());
        assert_eq!(
            read_day("06/30/1985", Some("%d/%m/%Y"), PLAN),
            Err(Fault::NotADate)
        );
    }
}
