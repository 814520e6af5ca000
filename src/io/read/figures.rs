//! Numbers and days of files that hold them as such, as the texts that a person would see.
//!
//! Knows no file format; no number gets an exponent or a `.0`, no day anything but its ISO form.

use jiff::civil::{Date, DateTime, Time, date};

/// Significant digits of a number: spreadsheets keep fifteen, and what lies behind them is the error of binary fractions.
const DIGITS: usize = 15;
const SECONDS_A_DAY: i64 = 86_400;

/// The number without an exponent, without a fraction where it is whole, and without the error of binary fractions.
pub(in crate::io) fn number_text(number: f64) -> String {
    let rounded: f64 = format!("{number:.*e}", DIGITS - 1)
        .parse()
        .unwrap_or(number);
    // There is no negative zero in a list.
    format!("{}", rounded + 0.0)
}

/// The ISO text of a day that is counted from 1970-01-01; empty where the calendar has no such day.
pub(in crate::io) fn day_text(days: i64) -> String {
    day(days).map_or_else(String::new, |day| day.to_string())
}

/// The ISO text of a moment in ticks from 1970-01-01, without its time where that is midnight.
pub(in crate::io) fn moment_text(ticks: i64, ticks_a_second: i64) -> String {
    let seconds = ticks.div_euclid(ticks_a_second);
    let second_of_day = seconds.rem_euclid(SECONDS_A_DAY);
    let hour = (second_of_day / 3_600) as i8;
    let minute = (second_of_day % 3_600 / 60) as i8;
    let second = (second_of_day % 60) as i8;
    match (
        day(seconds.div_euclid(SECONDS_A_DAY)),
        Time::new(hour, minute, second, 0),
    ) {
        (Some(day), Ok(time)) => text_of(day.to_datetime(time)),
        _ => String::new(),
    }
}

/// The ISO text of a moment, without its time where that is midnight.
pub(in crate::io) fn text_of(moment: DateTime) -> String {
    if moment.time() == Time::midnight() {
        moment.date().to_string()
    } else {
        format!("{} {}", moment.date(), moment.time())
    }
}

fn day(days: i64) -> Option<Date> {
    let span = jiff::Span::new().try_days(days).ok()?;
    date(1970, 1, 1).checked_add(span).ok()
}

#[cfg(test)]
mod tests {
    use super::{day_text, moment_text, number_text};

    #[test]
    fn numbers_are_written_as_a_person_sees_them() {
        for (number, text) in [
            (12.0, "12"),
            (12.5, "12.5"),
            (0.1 + 0.2, "0.3"),
            (1e20, "100000000000000000000"),
            (1_234_567_890_123.0, "1234567890123"),
            (0.000_001, "0.000001"),
            (-0.0, "0"),
        ] {
            assert_eq!(number_text(number), text);
        }
    }

    #[test]
    fn days_are_counted_from_1970() {
        assert_eq!(day_text(0), "1970-01-01");
        assert_eq!(day_text(-1), "1969-12-31");
        assert_eq!(day_text(i64::MAX), "");
        assert_eq!(moment_text(-1_000, 1_000), "1969-12-31 23:59:59");
        assert_eq!(moment_text(86_400, 1), "1970-01-02");
    }
}
