//! Years of setting that are written as a decade or a range, as lists with counts do: `1970s`, `1970-1979`, `1970/79`.
//!
//! Only what cannot be a date is read here: `1970-12` is a month. What a range means for a pole is its middle, with its
//! ends; the limits of years are those of dates.

use super::dates::{Day, Fault, read_day};
use crate::units::{Date, days_after, days_between};

/// The day that `text` means as a date, a decade or a range of years; `form` is the file's declared form of dates.
pub(super) fn read_set_day(text: &str, form: Option<&str>, plan_from: Date) -> Result<Day, Fault> {
    let as_date = read_day(text, form, plan_from);
    if as_date != Err(Fault::NotADate) {
        return as_date;
    }
    match years(text) {
        Some((first, last)) => range(first, last, plan_from),
        None => as_date,
    }
}

fn range(first: i16, last: i16, plan_from: Date) -> Result<Day, Fault> {
    match read_day(&first.to_string(), None, plan_from) {
        Err(fault @ (Fault::TooEarly | Fault::Future)) => return Err(fault),
        // A range that begins with a year that systems write for none was written by a person.
        _ if last < first => return Err(Fault::NotADate),
        _ => {}
    }
    let ends = Date::new(first, 1, 1).and_then(|from| Ok((from, Date::new(last, 12, 31)?)));
    let (earliest, latest) = ends.map_err(|_| Fault::NotADate)?;
    let latest = latest.min(plan_from);
    Ok(Day {
        date: spread(earliest, latest, 0, 1),
        earliest,
        latest,
    })
}

/// The first and the last year of a decade or a range.
fn years(text: &str) -> Option<(i16, i16)> {
    let plain: String = text.trim().to_lowercase().replace(" to ", "-");
    let plain: String = plain.chars().filter(|c| !c.is_whitespace()).collect();
    let decade = plain.trim_end_matches("'s").trim_end_matches('s');
    if decade.len() < plain.len() {
        let first = year(decade).filter(|year| year % 10 == 0)?;
        return Some((first, first + 9));
    }
    let (first, last) = plain.split_once(['-', '/', '\u{2013}', '\u{2014}'])?;
    let first = year(first)?;
    match last.len() {
        4 => Some((first, year(last)?)),
        2 if last.bytes().all(|b| b.is_ascii_digit()) => {
            let last: i16 = last.parse().ok()?;
            Some((first, first / 100 * 100 + last))
        }
        _ => None,
    }
}

fn year(text: &str) -> Option<i16> {
    let digits = text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

/// The day of number `place` (from 0) of `count` that are spread evenly from `earliest` to `latest`: the middle of its
/// share of the days.
pub(super) fn spread(earliest: Date, latest: Date, place: u32, count: u32) -> Date {
    let days = i64::from(days_between(earliest, latest)) + 1;
    let (place, count) = (i64::from(place), i64::from(count.max(1)));
    let offset = days * (2 * place + 1) / (2 * count);
    days_after(earliest, offset as i32).min(latest)
}

#[cfg(test)]
mod tests {
    use super::{Fault, read_set_day, spread, years};
    use crate::units::Date;
    use jiff::civil::date;

    const PLAN: Date = date(2026, 1, 1);

    #[test]
    fn decades_and_ranges_are_read_as_people_write_them() {
        for text in [
            "1970s",
            "1970's",
            "1970-1979",
            "1970 - 1979",
            "1970/79",
            "1970-79",
            "1970\u{2013}1979",
            "1970 to 1979",
        ] {
            assert_eq!(years(text), Some((1970, 1979)), "{text}");
            let day = read_set_day(text, None, PLAN).expect(text);
            assert_eq!(
                (day.earliest, day.latest),
                (date(1970, 1, 1), date(1979, 12, 31)),
                "{text}"
            );
            // 3,652 days from 1970-01-01 to 1979-12-31; the middle is 1,826 days on: 1975-01-01.
            assert_eq!(day.date, date(1975, 1, 1), "{text}");
        }
        for text in ["1975s", "70s", "1970-9", "1970-197x", "1970", "s"] {
            assert_eq!(years(text), None, "{text}");
        }
    }

    #[test]
    fn a_date_stays_a_date() {
        let day = read_set_day("1970-12", None, PLAN).expect("a month");
        assert_eq!(day.earliest, date(1970, 12, 1));
        let day = read_set_day("1985-06-30", None, PLAN).expect("a day");
        assert_eq!(day.earliest, day.latest);
        let declared = read_set_day("1970s", Some("%d/%m/%Y"), PLAN).expect("a decade");
        assert_eq!(declared.earliest, date(1970, 1, 1));
    }

    #[test]
    fn a_range_stops_at_the_day_of_the_plan_and_says_what_is_wrong() {
        let day = read_set_day("2020s", None, PLAN).expect("a decade that has begun");
        assert_eq!(day.latest, PLAN);
        let fault = |text: &str| read_set_day(text, None, PLAN).expect_err(text);
        assert_eq!(fault("2030s"), Fault::Future);
        assert_eq!(fault("1850-1860"), Fault::TooEarly);
        assert_eq!(fault("1979-1970"), Fault::NotADate);
        assert!(read_set_day("1900-1909", None, PLAN).is_ok());
    }

    #[test]
    fn days_are_spread_evenly() {
        // Four quarters of a hundred days: the middles are days 12, 37, 62 and 87.
        let (from, to) = (date(2001, 1, 1), date(2001, 4, 10));
        let days = [0, 1, 2, 3].map(|place| spread(from, to, place, 4));
        assert_eq!(
            days,
            [
                date(2001, 1, 13),
                date(2001, 2, 7),
                date(2001, 3, 4),
                date(2001, 3, 29)
            ]
        );
        assert_eq!(spread(from, from, 5, 6), from);
    }
}
