//! Integer counts of what happened in the trials, and the bands that they give.
//!
//! Counts add, so the tally is the same for any number of threads and any order of poles; means, errors and quantiles
//! are taken once, after all trials.

use super::life::{Event, Kind};
use crate::inventory::Inventory;
use crate::maths::quantile_of_sorted;
use crate::pole::{Method, NameIndex, Pole, Preservative, Species};
use crate::programme::Programme;
use crate::programme::supply::SizeName;
use crate::units::Mm;
use std::ops::Range;

/// A pole size.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Size {
    /// Length.
    pub length: Option<Mm>,
    /// Class, as the owner writes it.
    pub class: Option<NameIndex>,
}

/// Poles whose replacement needs the same thing: one kind of row of the quantities.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Size that stands now.
    pub old: Size,
    /// Size to order: the old one where the programme has no substitution for it.
    pub new: SizeName,
    /// Species to order; `None` when neither the policy nor the list says.
    pub species: Option<Species>,
    /// Preservative to order; `None` when neither the policy nor the list says.
    pub preservative: Option<Preservative>,
}

/// A count over the trials: mean with its standard error, and quantiles.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Band {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

impl Band {
    /// The band of one count a trial.
    pub fn of(counts: impl Iterator<Item = u64>) -> Self {
        Self::of_amounts(counts.map(|count| count as f64))
    }

    /// The band of one amount a trial, such as a sum of money.
    pub fn of_amounts(amounts: impl Iterator<Item = f64>) -> Self {
        let mut sorted: Vec<f64> = amounts.collect();
        sorted.sort_by(f64::total_cmp);
        let n = sorted.len() as f64;
        let mean = sorted.iter().sum::<f64>() / n.max(1.0);
        let squares: f64 = sorted
            .iter()
            .map(|count| (count - mean) * (count - mean))
            .sum();
        let quantile = |p| quantile_of_sorted(&sorted, p).unwrap_or(0.0);
        Self {
            mean,
            standard_error: (squares / (n - 1.0).max(1.0) / n.max(1.0)).sqrt(),
            p10: quantile(0.1),
            p50: quantile(0.5),
            p90: quantile(0.9),
        }
    }
}

/// What the trials say of one plan year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearForecast {
    /// Calendar label of the plan year.
    pub year: i16,
    /// Poles inspected.
    pub inspections: Band,
    /// Poles judged below the limit at inspections.
    pub rejects_found: Band,
    /// Poles that fail in service.
    pub failures: Band,
    /// New poles needed, of all kinds.
    pub replacements: Band,
    /// Poles standing below the limit at the end of the year.
    pub below_limit: Band,
}

/// Demand for new poles (or, of one kind, for braces) of one group, kind and year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Calendar label of the plan year; `None` for the whole horizon.
    pub year: Option<i16>,
    /// The group; `None` for all sizes together.
    pub group: Option<usize>,
    /// The kind; `None` for all kinds that need a new pole together.
    pub kind: Option<Kind>,
    /// How many.
    pub count: Band,
    /// Share of the mean that comes from poles of unknown size.
    pub share_from_unknown_size: f64,
}

/// The forecast of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Number of trials.
    pub trials: u32,
    /// Groups of the demand rows.
    pub groups: Vec<Group>,
    /// One entry a plan year.
    pub years: Vec<YearForecast>,
    /// Demand by year, group and kind (rows that never occur are left out), and the totals taken from the trials.
    pub demand: Vec<Demand>,
    /// Demand by year and group, all kinds counted together trial by trial: what a supplier has to have ready.
    pub by_group: Vec<Demand>,
}

/// Counts that are kept for the whole fleet, beside the demand by group: three events, treatments, and inspections by method.
const FLEET_COUNTS: usize = TREATED + 1 + Method::ALL.len();
/// The column of poles judged below the limit.
const REJECTED: usize = 1;
/// The column of treatments; inspections by method follow it.
const TREATED: usize = 3;

/// Work that costs money, as it is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Inspections by a method.
    Inspection(Method),
    /// Remedial treatments.
    Treatment,
    /// New poles for condemned ones.
    Planned,
    /// New poles for failed ones.
    AfterFailure,
    /// New poles for other reasons.
    OtherDemand,
    /// Braces.
    Reinforcement,
}

/// Integer counts by trial and year.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    trials: u32,
    years: u16,
    first_year: i16,
    groups: Vec<Group>,
    /// Column by column, and in each trial by trial: a pole touches few columns, and those from end to end.
    counts: Vec<u32>,
    /// Poles below the limit by trial and year: how many more than a year before.
    below_changes: Vec<i32>,
}

/// The groups of an inventory, and each pole's.
pub fn groups(inventory: &Inventory, programme: &Programme) -> (Vec<Group>, Vec<usize>) {
    let key = |pole: &Pole| {
        let class = pole.class.map(|class| inventory.names.get(class));
        (
            pole.length.map(|mm| (mm.0 * 10.0).round() as i64),
            class,
            programme.policy.new_preservative.or(pole.preservative),
            programme.policy.new_species.or(pole.species),
        )
    };
    let mut keys: Vec<_> = inventory
        .poles()
        .iter()
        .map(|pole| (key(pole), pole))
        .collect();
    keys.sort_by(|one, other| one.0.cmp(&other.0));
    keys.dedup_by(|one, other| one.0 == other.0);
    let group_of = inventory
        .poles()
        .iter()
        .map(|pole| {
            let own = key(pole);
            keys.partition_point(|(known, _)| *known < own)
        })
        .collect();
    let groups = keys
        .iter()
        .map(|((_, class, preservative, species), pole)| {
            let named = SizeName {
                length: pole.length,
                class: class.map(str::to_owned),
            };
            Group {
                old: Size {
                    length: pole.length,
                    class: pole.class,
                },
                new: programme.supply.put_in_for(&named),
                species: *species,
                preservative: *preservative,
            }
        })
        .collect();
    (groups, group_of)
}

impl Tally {
    /// An empty tally.
    pub fn new(programme: &Programme, groups: Vec<Group>) -> Self {
        let width = FLEET_COUNTS + Kind::ALL.len() * groups.len();
        let cells = programme.trials as usize * usize::from(programme.horizon_years) * width;
        Self {
            trials: programme.trials,
            years: programme.horizon_years,
            first_year: programme.first_year(),
            groups,
            counts: vec![0; cells],
            below_changes: vec![
                0;
                programme.trials as usize * usize::from(programme.horizon_years)
            ],
        }
    }

    const fn place(&self, trial: u32, year: u16, column: usize) -> usize {
        (column * self.trials as usize + trial as usize) * self.years as usize + year as usize
    }

    const fn demand_column(group: usize, kind: Kind) -> usize {
        FLEET_COUNTS + group * Kind::ALL.len() + kind as usize
    }

    /// Counts one event of a pole of `group`.
    #[inline]
    pub fn count(&mut self, trial: u32, year: u16, event: Event, group: usize) {
        let column = match event {
            Event::Inspected => 0,
            Event::Rejected => REJECTED,
            Event::Failed => 2,
            Event::Treated => TREATED,
            Event::Replaced(kind) => Self::demand_column(group, kind),
            Event::Reinforced => Self::demand_column(group, Kind::Reinforced),
            Event::BelowLimit => return self.count_below(trial, year..year + 1),
        };
        let place = self.place(trial, year, column);
        self.counts[place] += 1;
    }

    /// Counts an event of a pole of `group` in each of some years.
    #[inline]
    pub fn count_years(&mut self, trial: u32, years: Range<u16>, event: Event, group: usize) {
        if event == Event::BelowLimit {
            self.count_below(trial, years);
        } else {
            years.for_each(|year| self.count(trial, year, event, group));
        }
    }

    /// Counts a pole that stands below the limit at the ends of some years.
    fn count_below(&mut self, trial: u32, years: Range<u16>) {
        let place = self.place(trial, years.start, 0);
        let stretch = usize::from(years.end - years.start);
        self.below_changes[place] += 1;
        if years.end < self.years {
            self.below_changes[place + stretch] -= 1;
        }
    }

    /// Poles below the limit at the end of a year, in every trial.
    fn below(&self, year: u16) -> impl Iterator<Item = u64> {
        self.below_changes
            .chunks_exact(usize::from(self.years))
            .map(move |changes| changes[..=usize::from(year)].iter().sum::<i32>() as u64)
    }

    /// Counts an inspection by its method, beside its event.
    pub fn count_inspection(&mut self, trial: u32, year: u16, method: Method) {
        let place = self.place(trial, year, TREATED + 1 + method.index());
        self.counts[place] += 1;
    }

    /// How much work of one kind each trial had in a plan year.
    pub fn work(&self, year: u16, work: Work) -> Vec<u64> {
        let every_group: Vec<usize> = (0..self.groups.len()).collect();
        let of_kind = |kind| Self::columns(&every_group, &[kind]);
        let columns = match work {
            Work::Inspection(method) => vec![TREATED + 1 + method.index()],
            Work::Treatment => vec![TREATED],
            Work::Planned => of_kind(Kind::Planned),
            Work::AfterFailure => of_kind(Kind::AfterFailure),
            Work::OtherDemand => of_kind(Kind::OtherDemand),
            Work::Reinforcement => of_kind(Kind::Reinforced),
        };
        self.sums(&[year], &columns).collect()
    }

    /// Poles judged below the limit at inspections of a plan year, in every trial.
    pub fn rejects_found(&self, year: u16) -> Vec<u64> {
        self.sums(&[year], &[REJECTED]).collect()
    }

    /// Poles that stand below the limit at the end of a plan year, in every trial.
    pub fn below_limit(&self, year: u16) -> Vec<u64> {
        self.below(year).collect()
    }

    /// The sum of two tallies of the same programme and inventory.
    pub fn with(mut self, other: &Self) -> Self {
        self.counts
            .iter_mut()
            .zip(&other.counts)
            .for_each(|(sum, part)| *sum += part);
        self.below_changes
            .iter_mut()
            .zip(&other.below_changes)
            .for_each(|(sum, part)| *sum += part);
        self
    }

    /// A count of every trial: the sum over some years and columns.
    fn sums(&self, years: &[u16], columns: &[usize]) -> impl Iterator<Item = u64> {
        let mut sums = vec![0_u64; self.trials as usize];
        for column in columns {
            let trials =
                self.counts[self.place(0, 0, *column)..].chunks_exact(usize::from(self.years));
            for (sum, counts) in sums.iter_mut().zip(trials) {
                let counts = years.iter().map(|year| counts[usize::from(*year)]);
                *sum += counts.map(u64::from).sum::<u64>();
            }
        }
        sums.into_iter()
    }

    /// Trials.
    pub const fn trials(&self) -> u32 {
        self.trials
    }

    /// Plan years.
    pub const fn years(&self) -> u16 {
        self.years
    }

    /// What may be needed: one entry a kind of row.
    pub fn groups(&self) -> &[Group] {
        &self.groups
    }

    /// How many poles of `group` one trial asks for in one plan year, over some kinds.
    pub fn needed(&self, trial: u32, year: u16, group: usize, kinds: &[Kind]) -> u32 {
        kinds
            .iter()
            .map(|kind| self.counts[self.place(trial, year, Self::demand_column(group, *kind))])
            .sum()
    }

    /// Means and bands.
    pub fn forecast(&self) -> Forecast {
        let every_group: Vec<usize> = (0..self.groups.len()).collect();
        let all = Self::columns(&every_group, &Kind::NEW_POLES);
        let years = (0..self.years)
            .map(|year| YearForecast {
                year: self.first_year + year as i16,
                inspections: Band::of(self.sums(&[year], &[0])),
                rejects_found: Band::of(self.sums(&[year], &[REJECTED])),
                failures: Band::of(self.sums(&[year], &[2])),
                below_limit: Band::of(self.below(year)),
                replacements: Band::of(self.sums(&[year], &all)),
            })
            .collect();
        Forecast {
            trials: self.trials,
            groups: self.groups.clone(),
            years,
            demand: self.demand(&every_group),
            by_group: self.by_group(&every_group),
        }
    }

    /// Rows of single groups with all kinds together, year by year, then for the whole horizon; what never occurs is
    /// left out.
    fn by_group(&self, every_group: &[usize]) -> Vec<Demand> {
        self.spans()
            .into_iter()
            .flat_map(|(label, years)| {
                every_group
                    .iter()
                    .map(|group| self.row(label, &years, Some(*group), None))
                    .filter(|row| row.count.mean > 0.0)
                    .collect::<Vec<_>>()
            })
            .collect()
    }

    /// Every single year, then the whole horizon.
    fn spans(&self) -> Vec<(Option<i16>, Vec<u16>)> {
        let horizon: Vec<u16> = (0..self.years).collect();
        let single_years = horizon
            .iter()
            .map(|year| (Some(self.first_year + *year as i16), vec![*year]));
        single_years.chain([(None, horizon.clone())]).collect()
    }

    fn columns(groups: &[usize], kinds: &[Kind]) -> Vec<usize> {
        groups
            .iter()
            .flat_map(|group| kinds.iter().map(|kind| Self::demand_column(*group, *kind)))
            .collect()
    }

    /// Rows year by year (single groups, then totals), then the same for the whole horizon.
    fn demand(&self, every_group: &[usize]) -> Vec<Demand> {
        let mut rows = Vec::new();
        for (label, years) in self.spans() {
            for group in every_group {
                for kind in Kind::ALL {
                    let row = self.row(label, &years, Some(*group), Some(kind));
                    if row.count.mean > 0.0 {
                        rows.push(row);
                    }
                }
            }
            rows.extend(Kind::ALL.map(|kind| self.row(label, &years, None, Some(kind))));
            rows.push(self.row(label, &years, None, None));
        }
        rows
    }

    fn row(
        &self,
        label: Option<i16>,
        years: &[u16],
        group: Option<usize>,
        kind: Option<Kind>,
    ) -> Demand {
        let groups: Vec<usize> =
            group.map_or_else(|| (0..self.groups.len()).collect(), |one| vec![one]);
        let kinds: Vec<Kind> = kind.map_or_else(|| Kind::NEW_POLES.to_vec(), |one| vec![one]);
        let unknown: Vec<usize> = groups
            .iter()
            .copied()
            .filter(|group| {
                self.groups[*group].old.length.is_none() || self.groups[*group].old.class.is_none()
            })
            .collect();
        let total = |groups: &[usize]| {
            self.sums(years, &Self::columns(groups, &kinds))
                .sum::<u64>() as f64
        };
        let count = Band::of(self.sums(years, &Self::columns(&groups, &kinds)));
        let everything = total(&groups);
        Demand {
            year: label,
            group,
            kind,
            count,
            share_from_unknown_size: if everything > 0.0 {
                total(&unknown) / everything
            } else {
                0.0
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_the_mean_and_the_quantiles_of_the_trials() {
        // Counts 0 to 100: mean 50, variance of the sample 101 x 102 / 12 = 858.5, standard error sqrt(858.5 / 101).
        let band = Band::of(0..=100);
        assert!((band.mean - 50.0).abs() < 1e-12);
        assert!(
            (band.standard_error - 2.915_475_947).abs() < 1e-6,
            "{}",
            band.standard_error
        );
        assert_eq!((band.p10, band.p50, band.p90), (10.0, 50.0, 90.0));
    }

    #[test]
    fn years_below_the_limit_are_counted_from_their_first_to_their_last() {
        let mut programme = crate::common::programme();
        (programme.trials, programme.horizon_years) = (2, 4);
        let mut tally = Tally::new(&programme, Vec::new());
        tally.count_years(0, 1..3, Event::BelowLimit, 0);
        tally.count_years(1, 0..4, Event::BelowLimit, 0);
        tally.count(1, 2, Event::BelowLimit, 0);
        let by_year: Vec<Vec<u64>> = (0..4).map(|year| tally.below(year).collect()).collect();
        assert_eq!(by_year, [[0, 1], [1, 1], [1, 2], [0, 1]]);
        let twice = tally.clone().with(&tally);
        assert_eq!(twice.below(2).collect::<Vec<_>>(), [2, 4]);
    }

    #[test]
    fn a_groups_demand_of_all_kinds_is_counted_trial_by_trial() {
        let mut programme = crate::common::programme();
        (programme.trials, programme.horizon_years) = (2, 2);
        let group = Group {
            old: Size::default(),
            new: SizeName::default(),
            species: None,
            preservative: None,
        };
        let mut tally = Tally::new(&programme, vec![group.clone(), group]);
        // Group 0 in the second year: one planned and one after failure in trial 0, nothing in trial 1.
        tally.count(0, 1, Event::Replaced(Kind::Planned), 0);
        tally.count(0, 1, Event::Replaced(Kind::AfterFailure), 0);
        let rows = tally.forecast().by_group;
        let first = programme.first_year();
        let labels: Vec<_> = rows.iter().map(|row| (row.year, row.group)).collect();
        assert_eq!(labels, [(Some(first + 1), Some(0)), (None, Some(0))]);
        // Counts 2 and 0: mean 1, the nine-in-ten quantile near 2; the kinds' own would be 1 each.
        assert!((rows[0].count.mean - 1.0).abs() < 1e-12);
        assert!(rows[0].count.p90 > 1.5, "{}", rows[0].count.p90);
    }
}
