//! TOML to programme: what is written, checked and completed with defaults.
//!
//! Every key has a default or a clear error; unknown keys are refused with a suggestion. A default that no published
//! source stands behind is noted in [`Programme::assumed`], so that it can be shown until the owner sets it. Published
//! defaults carry their source in the lines where they stand.

mod alternatives;
mod figures;
mod place;
mod rules;
mod supply;
mod tables;
mod twins;

pub use place::{closest, suggestion};

use super::{Assumed, Programme, Scope};
use crate::Error;
use crate::pole::{Status, Vocabulary};
use crate::units::{Date, Zone};
use place::Place;
use serde::Deserialize;
use std::ops::RangeInclusive;
use std::path::Path;
use toml::Value;
use twins::Written;

/// Most trials that a run accepts: beyond that the error of the trials is far below that of the models.
const MOST_TRIALS: i64 = 1_000_000;
/// Longest forecast in years: curves say nothing beyond it.
const LONGEST_HORIZON: i64 = 100;

/// The programme in a TOML text; `path` is only for messages.
///
/// # Errors
/// On what is not TOML, unknown keys, missing keys and impossible values.
pub fn read(text: &str, path: &Path) -> Result<Programme, Error> {
    let place = Place {
        text,
        path,
        settings: &[],
    };
    let written: Written = toml::from_str(text).map_err(|error| place.refused(&error))?;
    complete(&written, place)
}

/// The programme in a TOML text with single keys replaced, each given as `key=value` (`costs.discount_rate=0.03`,
/// `rule.0.repeat_years=8`). A value that is not TOML is taken as a text.
///
/// # Errors
/// As [`read`], and on a setting that is not of this form.
pub fn read_with(text: &str, path: &Path, settings: &[String]) -> Result<Programme, Error> {
    if settings.is_empty() {
        return read(text, path);
    }
    let place = Place {
        text,
        path,
        settings,
    };
    let mut table: toml::Table = toml::from_str(text).map_err(|error| place.refused(&error))?;
    for setting in settings {
        apply_setting(&mut table, setting, place)?;
    }
    let written = Written::deserialize(table).map_err(|error| blamed(&error, place))?;
    complete(&written, place)
}

/// The error of a table with settings in it: of the first setting that cannot be read, or else of the text.
fn blamed(error: &toml::de::Error, place: Place<'_>) -> Error {
    let mut table = match toml::from_str::<Written>(place.text) {
        Ok(_) => place.text.parse::<toml::Table>().unwrap_or_default(),
        Err(own) => return place.refused(&own),
    };
    for setting in place.settings {
        if let Err(error) = apply_setting(&mut table, setting, place) {
            return error;
        }
        if let Err(error) = Written::deserialize(table.clone()) {
            return place.refused_setting(&error, setting);
        }
    }
    place.refused(error)
}

/// Puts one `key=value` into a table.
fn apply_setting(table: &mut toml::Table, setting: &str, place: Place<'_>) -> Result<(), Error> {
    let wrong = |what: &str| Error::Programme {
        path: place.path.to_owned(),
        what: format!("--set {setting}: {what}"),
        help: "write --set key=value, for example --set costs.discount_rate=0.03".to_owned(),
    };
    let (key, value) = setting
        .split_once('=')
        .ok_or_else(|| wrong("no \"=\" between key and value"))?;
    let value = toml::from_str::<toml::Table>(&format!("value = {value}"))
        .ok()
        .and_then(|mut parsed| parsed.remove("value"))
        .unwrap_or_else(|| Value::String(value.trim().to_owned()));
    let parts: Vec<&str> = key.trim().split('.').collect();
    let Some((last, above)) = parts.split_last() else {
        return Err(wrong("no key"));
    };
    let mut here = table;
    let mut above = above.iter();
    while let Some(part) = above.next() {
        let entry = here
            .entry(*part)
            .or_insert_with(|| Value::Table(toml::Table::new()));
        here = match entry {
            Value::Table(inner) => inner,
            Value::Array(list) => {
                let inner = above
                    .next()
                    .and_then(|number| number.parse::<usize>().ok())
                    .and_then(|number| list.get_mut(number))
                    .and_then(Value::as_table_mut);
                inner.ok_or_else(|| wrong("there is no table of that number, counted from 0"))?
            }
            _ => return Err(wrong("a part of the key is no table")),
        };
    }
    here.insert((*last).to_owned(), value);
    Ok(())
}

/// What is written, with defaults, while notes are taken of what was assumed.
struct Completing<'a> {
    place: Place<'a>,
    assumed: Vec<Assumed>,
}

/// Far more than anybody plans for, and far from where the calendar of days ends.
const YEARS_OF_A_PLAN: std::ops::RangeInclusive<i16> = 1950..=2200;

fn complete(written: &Written, place: Place<'_>) -> Result<Programme, Error> {
    let mut at = Completing {
        place,
        assumed: Vec::new(),
    };
    let plan_from = at.date("plan_from", written.plan_from.as_ref())?;
    let Some(plan_from) = plan_from else {
        return Err(place.fault(
            "plan_from",
            "the day from which the plan is made is missing",
            "add a line such as plan_from = 2026-01-01; it does not follow the clock, so that a plan can be made again",
        ));
    };
    if !YEARS_OF_A_PLAN.contains(&plan_from.year()) {
        return Err(place.fault(
            "plan_from",
            "no plan is made from this year",
            "a day in the years 1950 to 2200; is the year mistyped?",
        ));
    }
    let schedule_years = at.whole(
        "schedule_years",
        written.schedule_years,
        12,
        1..=LONGEST_HORIZON,
    )?;
    let horizon_years = at.whole(
        "horizon_years",
        written.horizon_years,
        schedule_years.max(30),
        1..=LONGEST_HORIZON,
    )?;
    if horizon_years < schedule_years {
        return Err(place.fault(
            "horizon_years",
            &format!("{horizon_years} is less than schedule_years, {schedule_years}"),
            "replacements are forecast for at least as long as visits are scheduled",
        ));
    }
    let rejects = at.rejects(&written.reject)?;
    let inspections = at.rules(&written.rule)?;
    let removals = at.removals(&written.removals)?;
    let policy = at.policy(&written.policy, &removals)?;
    Ok(Programme {
        title: written
            .title
            .clone()
            .unwrap_or_else(|| "Plan for wooden poles".to_owned()),
        plan_from,
        schedule_years: schedule_years as u16,
        horizon_years: horizon_years as u16,
        trials: at.whole("trials", written.trials, 1024, 1..=MOST_TRIALS)? as u32,
        seed: at.whole("seed", written.seed, 1, 0..=i64::MAX)? as u64,
        default_zone: at.zone(written.decay_zone)?,
        assumed_install_years: at.install_years(written.assumed_install_years, plan_from)?,
        rejects,
        inspections,
        above_ground: at.above_ground(&written.above_ground)?,
        crews: at.crews(&written.crews)?,
        costs: at.costs(&written.costs, &policy)?,
        budget: at.budget(&written.budget, &written.costs)?,
        removals,
        hazards: at.hazards(&written.hazards)?,
        alternatives: at.alternatives(&written.alternatives, &policy)?,
        scope: at.scope(&written.scope)?,
        sources: at.sources(written)?,
        supply: at.supply(written, plan_from.year())?,
        policy,
        assumed: at.assumed,
    })
}

impl Completing<'_> {
    /// Notes a default that no source stands behind.
    fn assume(&mut self, key: &'static str, value: &dyn std::fmt::Display, mark: &'static str) {
        if self.assumed.iter().any(|known| known.key == key) {
            return;
        }
        self.assumed.push(Assumed {
            key,
            value: value.to_string(),
            mark,
        });
    }

    fn whole(
        &self,
        key: &str,
        given: Option<i64>,
        default: i64,
        range: RangeInclusive<i64>,
    ) -> Result<i64, Error> {
        let value = given.unwrap_or(default);
        if range.contains(&value) {
            return Ok(value);
        }
        let (low, high) = range.into_inner();
        Err(self.place.fault(
            key,
            &format!("{value} cannot be"),
            &if high == i64::MAX {
                format!("a whole number of at least {low}")
            } else {
                format!("a whole number from {low} to {high}")
            },
        ))
    }

    /// A number within `range`; never infinite or not-a-number.
    fn number(&self, key: &str, value: f64, range: RangeInclusive<f64>) -> Result<f64, Error> {
        if value.is_finite() && range.contains(&value) {
            return Ok(value);
        }
        let (low, high) = range.into_inner();
        Err(self.place.fault(
            key,
            &format!("{value} cannot be"),
            &format!("a number from {low} to {high}"),
        ))
    }

    /// A date, written as TOML's own (2026-01-01) or as the same in quotes.
    fn date(&self, key: &str, given: Option<&Value>) -> Result<Option<Date>, Error> {
        let Some(value) = given else { return Ok(None) };
        let text = match value {
            Value::Datetime(date) if date.time.is_none() => date.to_string(),
            Value::String(text) => text.trim().to_owned(),
            other => other.to_string(),
        };
        let date = (text.len() == 10)
            .then(|| text.parse::<Date>().ok())
            .flatten();
        date.map(Some).ok_or_else(|| {
            self.place.fault(
                key,
                &format!("{text} is not a date"),
                "write year, month and day without quotes: 2026-01-01",
            )
        })
    }

    /// A word of a vocabulary of ours.
    fn word<V: Vocabulary>(&self, key: &str, given: Option<&str>) -> Result<Option<V>, Error> {
        let Some(word) = given else { return Ok(None) };
        V::from_word(&word.trim().to_lowercase())
            .map(Some)
            .ok_or_else(|| {
                let known = V::WORDS.iter().map(|(_, name, _)| *name);
                self.place.fault(
                    key,
                    &format!("\"{word}\" is not known"),
                    &suggestion(word, known, "words"),
                )
            })
    }

    fn zone(&mut self, given: Option<i64>) -> Result<Zone, Error> {
        let Some(number) = given else {
            self.assume("decay_zone", &3, "proposed: the middle of five zones");
            return Ok(Zone::ALL[2]);
        };
        u8::try_from(number)
            .ok()
            .and_then(Zone::new)
            .ok_or_else(|| {
                self.place.fault(
                    "decay_zone",
                    &format!("{number} is not a decay zone"),
                    "zones are whole numbers from 1 (low) to 5 (severe)",
                )
            })
    }

    fn install_years(
        &mut self,
        given: Option<[i64; 2]>,
        plan_from: Date,
    ) -> Result<(i16, i16), Error> {
        let this_year = i64::from(plan_from.year());
        let Some([first, last]) = given else {
            let (first, last) = (1960.min(plan_from.year()), 2015.min(plan_from.year()));
            self.assume(
                "assumed_install_years",
                &format!("{first} to {last}"),
                "proposed: used only where no pole of the list has a set date",
            );
            return Ok((first, last));
        };
        if (1880..=this_year).contains(&first) && (first..=this_year).contains(&last) {
            return Ok((first as i16, last as i16));
        }
        Err(self.place.fault(
            "assumed_install_years",
            &format!("[{first}, {last}] cannot be"),
            &format!("two years from 1880 to {this_year}, the earlier one first"),
        ))
    }

    fn scope(&self, written: &twins::WrittenScope) -> Result<Scope, Error> {
        let statuses = match &written.statuses {
            None => vec![Status::InService],
            Some(words) => words
                .iter()
                .filter_map(|word| self.word("scope.statuses", Some(word)).transpose())
                .collect::<Result<_, _>>()?,
        };
        Ok(Scope {
            owners: written.owners.clone(),
            statuses,
            drop_if_notes_say_gone: written.drop_if_notes_say_gone.unwrap_or(false),
        })
    }
}

#[cfg(test)]
mod tests;
