//! Set years held to each other: years that stand for "not known", and poles far older than their line.
//!
//! A year is doubted on evidence, never for being round. A building boom raises one year on few lines; a year that a
//! system writes when it has none stands on all of them. Only then is it taken as unknown; otherwise a note says what
//! was seen. Owns the tests; knows nothing of wood.

use super::dates::Day;
use super::lines::by_line;
use super::poles::Listed;
use crate::pole::SetFrom;
use crate::problem::{Code, Problem};
use crate::programme::sources::Field;
use std::collections::{BTreeMap, BTreeSet};

/// Below this many dated poles no year can be called frequent.
const FEWEST_DATED: usize = 50;
/// A year is frequent when it has at least this many poles ...
const FEWEST_OF_A_YEAR: usize = 20;
/// ... and this many times the median of the years around it (judgement: booms double or treble the years before) ...
const TIMES_ITS_NEIGHBOURS: usize = 10;
/// ... which are so many years on either side.
const NEIGHBOURS: i16 = 5;
/// Years from which computers count: what programs show when nobody entered a date.
const EPOCHS: [i16; 4] = [1904, 1970, 1980, 2000];
/// A year alone, with so many empty years around it, before everything else that was built.
const EMPTY_YEARS: i16 = 10;
/// A frequent year stands for "not known" when this share of the lines has it ...
const SHARE_OF_LINES: f64 = 0.5;
/// ... of at least so many lines ...
const FEWEST_LINES: usize = 6;
/// ... with at least so many dated poles each.
const FEWEST_ON_A_LINE: usize = 5;
/// A line's age is known from this many dated poles.
const FEWEST_FOR_AN_AGE: usize = 8;
/// A pole is much older than its line when it was set this many years before the quarter of the oldest, or three times
/// as long before it as the middle half of the line took to set, if that is longer.
const YEARS_OLDER: f64 = 30.0;
const SPREADS_OLDER: f64 = 3.0;
/// Where another pole of the line was set within so many years, both are what is left of the first line.
const YEARS_ALONE: f64 = 5.0;

/// What a frequent year is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Frequent {
    /// Stands for "not known".
    Placeholder(&'static str),
    /// Only worth a look.
    Remarkable,
}

/// Doubts set years that cannot be what they say. What stands for "not known" becomes unknown.
pub(super) fn doubt_years(poles: &mut [Listed<'_>], problems: &mut Vec<Problem>) {
    let dated: Vec<(Option<&str>, Day)> = poles
        .iter()
        .filter(|listed| listed.pole.set_from != SetFrom::Brand)
        .filter_map(|listed| Some((listed.row.text(Field::Line), listed.set?)))
        .collect();
    for (year, count, frequent) in frequent_years(&dated) {
        let mut told = false;
        for listed in poles.iter_mut() {
            let own = listed.set.filter(|day| day.date.year() == year);
            if own.is_none() || listed.pole.set_from == SetFrom::Brand {
                continue;
            }
            match frequent {
                Frequent::Placeholder(why) => {
                    let what = format!("{count} poles of {year}, {why}");
                    tell(
                        listed,
                        Code::PlaceholderYear,
                        what,
                        "taken as unknown",
                        problems,
                    );
                    listed.set = None;
                    listed.pole.installed = None;
                }
                Frequent::Remarkable if !told => {
                    told = true;
                    let what = format!(
                        "{count} poles of {year}, over {TIMES_ITS_NEIGHBOURS} times as many as of the years around"
                    );
                    tell(listed, Code::FrequentYear, what, "used as it is", problems);
                }
                Frequent::Remarkable => {}
            }
        }
    }
    note_the_old(poles, problems);
}

fn tell(listed: &Listed<'_>, code: Code, what: String, done: &str, problems: &mut Vec<Problem>) {
    problems.push(
        listed
            .row
            .problem(code, Field::SetDate, &listed.id, what, done),
    );
}

/// The frequent years with their counts.
fn frequent_years(dated: &[(Option<&str>, Day)]) -> Vec<(i16, usize, Frequent)> {
    let mut counts: BTreeMap<i16, usize> = BTreeMap::new();
    for (_, day) in dated {
        *counts.entry(day.date.year()).or_default() += 1;
    }
    let (Some(first), Some(last)) = (
        counts.keys().next().copied(),
        counts.keys().next_back().copied(),
    ) else {
        return Vec::new();
    };
    if dated.len() < FEWEST_DATED {
        return Vec::new();
    }
    let of = |year: i16| counts.get(&year).copied().unwrap_or(0);
    counts
        .iter()
        .filter(|(year, count)| {
            let mut around: Vec<usize> = (**year - NEIGHBOURS..=**year + NEIGHBOURS)
                .filter(|other| *other != **year && (first..=last).contains(other))
                .map(of)
                .collect();
            around.sort_unstable();
            let median = around.get(around.len() / 2).copied().unwrap_or(0);
            // One year alone is no year among others.
            !around.is_empty()
                && **count >= FEWEST_OF_A_YEAR
                && **count >= TIMES_ITS_NEIGHBOURS * median.max(1)
        })
        .filter_map(|(year, count)| {
            let alone = *year == first
                && (1..=EMPTY_YEARS).all(|after| of(*year + after) == 0)
                && *count < dated.len();
            Some((*year, *count, frequent(dated, *year, alone)?))
        })
        .collect()
}

/// What a frequent year is taken for; nothing where few lines explain it.
fn frequent(dated: &[(Option<&str>, Day)], year: i16, alone: bool) -> Option<Frequent> {
    let mut lines: BTreeMap<&str, (usize, bool)> = BTreeMap::new();
    for (line, day) in dated {
        if let Some(line) = line {
            let entry = lines.entry(*line).or_default();
            entry.0 += 1;
            entry.1 |= day.date.year() == year;
        }
    }
    if lines.is_empty() {
        return Some(Frequent::Remarkable);
    }
    lines.retain(|_, (count, _)| *count >= FEWEST_ON_A_LINE);
    let with = lines.values().filter(|(_, has)| *has).count();
    if lines.len() < FEWEST_LINES || (with as f64) < SHARE_OF_LINES * lines.len() as f64 {
        return None;
    }
    let days: BTreeSet<_> = dated
        .iter()
        .filter(|(_, day)| day.date.year() == year)
        .map(|(_, day)| day.date)
        .collect();
    // The first and the last of January to December, and the middle of a year, are how people write a bare year.
    let one_day = days.len() == 1
        && dated
            .iter()
            .filter(|(_, day)| day.date.year() == year)
            .all(|(_, day)| day.earliest == day.latest)
        && days
            .iter()
            .all(|day| ![(1, 1), (12, 31), (7, 1), (6, 30)].contains(&(day.month(), day.day())));
    Some(if EPOCHS.contains(&year) {
        Frequent::Placeholder("on most lines: a year from which computers count")
    } else if one_day {
        Frequent::Placeholder("on most lines and all on one day")
    } else if alone {
        Frequent::Placeholder("on most lines, and nothing was set in the ten years after")
    } else {
        Frequent::Remarkable
    })
}

/// Notes poles that are far older than the rest of their line.
fn note_the_old(poles: &[Listed<'_>], problems: &mut Vec<Problem>) {
    let dated = poles.iter().filter(|listed| listed.set.is_some());
    let lines = by_line(dated.filter_map(|listed| Some((listed.row.text(Field::Line)?, listed))));
    let year = |listed: &Listed<'_>| listed.set.map_or(0.0, |day| f64::from(day.date.year()));
    for (line, members) in lines {
        let mut years: Vec<f64> = members.iter().map(|listed| year(listed)).collect();
        years.sort_by(f64::total_cmp);
        let quantile = |share| crate::maths::quantile_of_sorted(&years, share);
        let Some((low, high)) = quantile(0.25).zip(quantile(0.75)) else {
            continue;
        };
        let oldest = low - YEARS_OLDER.max(SPREADS_OLDER * (high - low));
        for listed in members {
            let own = year(listed);
            let of_its_age = years
                .iter()
                .filter(|other| (*other - own).abs() <= YEARS_ALONE);
            if years.len() >= FEWEST_FOR_AN_AGE && own < oldest && of_its_age.count() == 1 {
                let what =
                    format!("set in {own}, but three quarters of line {line} in {low:.0} or later");
                tell(
                    listed,
                    Code::OlderThanItsLine,
                    what,
                    "used as it is",
                    problems,
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Frequent, frequent_years};
    use crate::intake::dates::{Day, read_day};
    use jiff::civil::date;

    const LINES: [&str; 8] = ["a", "b", "c", "d", "e", "f", "g", "h"];

    fn day(text: &str) -> Day {
        read_day(text, None, date(2026, 1, 1)).expect("a date")
    }

    /// A pole a year on each of eight lines, from 1950 to 2009.
    fn network() -> Vec<(Option<&'static str>, Day)> {
        let years = (1950..2010).map(|year: i32| day(&year.to_string()));
        years
            .flat_map(|day| LINES.iter().map(move |line| (Some(*line), day)))
            .collect()
    }

    #[test]
    fn a_steady_network_has_no_frequent_year() {
        assert!(frequent_years(&network()).is_empty());
    }

    #[test]
    fn a_year_of_computers_on_every_line_stands_for_not_known() {
        let mut poles = network();
        poles.extend((0..120).map(|number| (Some(LINES[number % 8]), day("1970"))));
        let found = frequent_years(&poles);
        assert_eq!((found.len(), found[0].0, found[0].1), (1, 1970, 128));
        assert!(matches!(found[0].2, Frequent::Placeholder(_)));
    }

    #[test]
    fn a_boom_in_an_ordinary_year_is_only_noted_and_one_on_few_lines_explains_itself() {
        let mut poles = network();
        poles.extend((0..120).map(|number| (Some(LINES[number % 8]), day("1967"))));
        assert_eq!(frequent_years(&poles)[0], (1967, 128, Frequent::Remarkable));
        // A boom of 1970 on two lines of a network where the others have nothing of that year.
        let mut poles = network();
        poles.retain(|(_, day)| day.date.year() != 1970);
        poles.extend((0..120).map(|number| (Some(LINES[number % 2]), day("1970"))));
        assert!(frequent_years(&poles).is_empty());
        // Where no line is known nothing can be told apart.
        let poles: Vec<_> = poles.into_iter().map(|(_, day)| (None, day)).collect();
        assert_eq!(frequent_years(&poles)[0].2, Frequent::Remarkable);
    }

    #[test]
    fn one_day_for_many_poles_is_no_day_but_the_first_of_january_is_a_year() {
        let one_day = |text: &str| {
            let mut poles = network();
            poles.retain(|(_, day)| day.date.year() != 1988);
            poles.extend((0..120).map(|number| (Some(LINES[number % 8]), day(text))));
            frequent_years(&poles)[0].2
        };
        assert!(matches!(one_day("1988-03-14"), Frequent::Placeholder(_)));
        assert_eq!(one_day("1988-01-01"), Frequent::Remarkable);
        assert_eq!(one_day("1988"), Frequent::Remarkable);
    }

    #[test]
    fn a_year_alone_before_everything_else_stands_for_not_known() {
        let mut poles = network();
        poles.extend((0..60).map(|number| (Some(LINES[number % 8]), day("1925"))));
        assert!(matches!(
            frequent_years(&poles)[0],
            (1925, 60, Frequent::Placeholder(_))
        ));
    }
}
