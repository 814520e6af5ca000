//! Failures on record and rejects found, by district and year, related to the poles that stood: the list's and those of
//! which only records are left.
//!
//! Counts and divides; the estimate reads none of it. The interval of a count is the exact one of a Poisson count
//! (Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28, 1936).

use super::compliance::{PAST_YEARS, Where};
use super::exact::{Interval, count_interval};
use super::metrics::LEVEL;
use crate::inventory::Inventory;
use crate::pole::{Assistance, Inspection, Pole, Status};
use crate::programme::Programme;
use crate::units::{Date, date_after};
use std::collections::BTreeMap;

/// Years of the mean of failures.
const YEARS_OF_MEAN: i32 = 3;

/// Failures of one year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FailureRate {
    /// Unassisted failures.
    pub unassisted: usize,
    /// Failures of which nobody says whether they were assisted; they are in no rate.
    pub unknown: usize,
    /// Unassisted failures among 10,000 poles; nothing where no pole stood.
    pub per_10_000: Option<f64>,
    /// Its exact interval of 95 %.
    pub interval: Option<Interval>,
    /// The mean of this year and the two before; nothing where not all three are on record.
    pub mean: Option<f64>,
}

/// All poles of a district in a past year, whatever rules say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AllPoles {
    /// Poles standing in the middle of the year, as far as the list and records of gone poles tell.
    pub standing: usize,
    /// Inspections that looked into the wood and judged the pole below the limit, of gone poles too.
    pub rejects: usize,
    /// Failures; nothing before the first year with a failure on record.
    pub failures: Option<FailureRate>,
}

/// Poles that stood and rejects that were found, by place and plan year.
#[derive(Default)]
pub(super) struct Fleet {
    standing: BTreeMap<(Where, i32), usize>,
    rejects: BTreeMap<(Where, i32), usize>,
}

impl Fleet {
    pub(super) fn new(inventory: &Inventory, programme: &Programme) -> Self {
        let mut fleet = Self::default();
        for index in inventory.indices() {
            let pole = inventory.pole(index);
            let gone = pole.status == Status::Removed;
            let until = gone.then(|| pole.removed.unwrap_or(Date::MIN));
            fleet.count(programme, pole, until, inventory.inspections_of(index));
        }
        for gone in &inventory.removed {
            fleet.count(programme, &gone.pole, Some(gone.ended), &gone.inspections);
        }
        fleet
    }

    /// A pole that stood until a day. One without a set date is taken to have stood from of old.
    fn count(
        &mut self,
        programme: &Programme,
        pole: &Pole,
        until: Option<Date>,
        inspections: &[Inspection],
    ) {
        let earliest = 1 - i32::from(PAST_YEARS) - YEARS_OF_MEAN;
        let places = [Where::of(pole.district), Where::Everywhere];
        for year in earliest..0 {
            let middle = date_after(programme.year_start(year), 0.5);
            let stood = pole.installed.is_none_or(|set| set <= middle)
                && until.is_none_or(|until| until > middle);
            if stood {
                for place in places {
                    *self.standing.entry((place, year)).or_default() += 1;
                }
            }
        }
        for own in inspections {
            if own.method.is_intrusive() && own.verdict.is_reject() {
                for place in places {
                    let year = programme.year_of(own.date);
                    *self.rejects.entry((place, year)).or_default() += 1;
                }
            }
        }
    }

    fn standing(&self, place: Where, year: i32) -> usize {
        self.standing.get(&(place, year)).copied().unwrap_or(0)
    }

    pub(super) fn all_poles(&self, failures: &Failures, place: Where, year: i32) -> AllPoles {
        AllPoles {
            standing: self.standing(place, year),
            rejects: self.rejects.get(&(place, year)).copied().unwrap_or(0),
            failures: self.failure_rate(failures, place, year),
        }
    }

    fn failure_rate(&self, failures: &Failures, place: Where, year: i32) -> Option<FailureRate> {
        let first = failures.first_year.filter(|first| *first <= year)?;
        let unassisted = |year| failures.count(place, year, Some(Assistance::Unassisted));
        let rate =
            |failed: f64, poles: usize| (poles > 0).then(|| failed * PER_POLES / poles as f64);
        let (own, poles) = (unassisted(year), self.standing(place, year));
        let of_mean = year + 1 - YEARS_OF_MEAN..=year;
        let mean = (*of_mean.start() >= first).then(|| {
            let failed: usize = of_mean.clone().map(unassisted).sum();
            rate(
                failed as f64,
                of_mean.map(|year| self.standing(place, year)).sum(),
            )
        });
        let exact = count_interval(own as u64, LEVEL);
        let interval = rate(exact.low, poles).zip(rate(exact.high, poles));
        Some(FailureRate {
            unassisted: own,
            unknown: failures.count(place, year, None),
            per_10_000: rate(own as f64, poles),
            interval: interval.map(|(low, high)| Interval { low, high }),
            mean: mean.flatten(),
        })
    }
}

/// Failures by place, plan year and kind.
pub(super) struct Failures {
    /// Plan year of the first on record.
    first_year: Option<i32>,
    counts: BTreeMap<(Where, i32, Option<bool>), usize>,
}

impl Failures {
    pub(super) fn new(inventory: &Inventory, programme: &Programme) -> Self {
        let mut counts = BTreeMap::new();
        for failure in &inventory.failures {
            let year = programme.year_of(failure.date);
            for place in [Where::of(failure.district), Where::Everywhere] {
                let key = (place, year, failure.assisted.map(is_assisted));
                *counts.entry(key).or_insert(0) += 1;
            }
        }
        let first = inventory.failures.first();
        Self {
            first_year: first.map(|failure| programme.year_of(failure.date)),
            counts,
        }
    }

    fn count(&self, place: Where, year: i32, assisted: Option<Assistance>) -> usize {
        let key = (place, year, assisted.map(is_assisted));
        self.counts.get(&key).copied().unwrap_or(0)
    }
}

fn is_assisted(kind: Assistance) -> bool {
    kind == Assistance::Assisted
}

/// Poles to which failures are related.
const PER_POLES: f64 = 10_000.0;

#[cfg(test)]
mod tests {
    use super::super::compliance::{Account, compliance};
    use super::*;
    use crate::common::{inspected, no_values, pole_set, programme};
    use crate::inventory::{Ended, Names, Removal};
    use crate::pole::{Method, PoleIndex, Verdict};
    use crate::schedule::schedule_with;
    use jiff::civil::date;

    const DUG: Method = Method::PartialExcavation;

    #[test]
    fn failures_are_related_to_the_poles_that_stood_and_keep_their_district() {
        let mut names = Names::default();
        let north = names.keep("North");
        let pole = |set| Pole {
            district: Some(north),
            ..pole_set(set)
        };
        let listed = (0..4).map(|number| (format!("P-{number}"), pole(1990), Vec::new()));
        let gone = Removal {
            id: "G".to_owned(),
            pole: pole(1980),
            ended: date(2023, 3, 1),
            because: Ended::Removed,
            cause: crate::pole::RemovalCause::Condemned,
            inspections: vec![inspected(date(2022, 3, 1), DUG, Verdict::RejectReplace)],
        };
        let failed = |id: &str, on, assisted| {
            let failure = crate::inventory::Failure {
                date: on,
                assisted,
                district: None,
            };
            (id.to_owned(), failure)
        };
        let inventory = Inventory::new(&names, listed.collect())
            .with_removed(&names, vec![gone])
            .with_failures(&[
                failed("X", date(2022, 2, 1), None),
                failed("G", date(2022, 5, 1), Some(Assistance::Unassisted)),
                failed("P-1", date(2024, 5, 1), Some(Assistance::Unassisted)),
                failed("P-2", date(2024, 6, 1), Some(Assistance::Assisted)),
            ]);
        let programme = programme();
        let values = no_values(&inventory, &programme);
        let schedule = schedule_with(&inventory, &programme, &values);
        let lines = compliance(&inventory, &programme, &schedule);
        let of = |place: Where, year: i32| {
            let line = lines.iter().find(|line| {
                let all = matches!(line.account, Account::All(_));
                all && line.place == place && line.year == year - 2025
            });
            match line.map(|line| &line.account) {
                Some(Account::All(all)) => *all,
                _ => panic!("no row of {year}"),
            }
        };
        let here = Where::of(inventory.pole(PoleIndex(0)).district);
        // Five stood in the middle of 2022, four in those of 2023 and 2024.
        let standing = [2022, 2023, 2024].map(|year| of(here, year).standing);
        assert_eq!(standing, [5, 4, 4]);
        assert_eq!((of(here, 2022).rejects, of(here, 2023).rejects), (1, 0));
        // Nothing is known of the years before the first failure on record.
        assert!(of(here, 2021).failures.is_none());
        let first = of(here, 2022).failures.expect("records");
        assert_eq!((first.unassisted, first.unknown, first.mean), (1, 0, None));
        assert_eq!(
            of(Where::NoDistrict, 2022).failures.map(|own| own.unknown),
            Some(1)
        );
        let last = of(here, 2024).failures.expect("records");
        // 1 of 4 poles: 2,500 in 10,000. Garwood 1936, one seen: 0.025318 to 5.571643. Two in 13 pole-years: 1538.5.
        assert_eq!((last.unassisted, last.per_10_000), (1, Some(2_500.0)));
        let exact = last.interval.expect("poles stood");
        assert!((exact.low - 63.295).abs() < 0.01 && (exact.high - 13_929.1).abs() < 0.1);
        assert!(last.mean.is_some_and(|mean| (mean - 1_538.46).abs() < 0.01));
    }
}
