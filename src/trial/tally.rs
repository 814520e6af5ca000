//! Integer counts of what happened in the trials, and the bands that they give.
//!
//! Counts add, so the tally is the same for any number of threads and any order of poles; means, errors and quantiles
//! are taken once, after all trials.

use super::life::{Event, Kind};
use crate::inventory::Inventory;
use crate::maths::quantile_of_sorted;
use crate::pole::{Method, NameIndex, Preservative};
use crate::programme::Programme;
use crate::units::Mm;

/// A pole size.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Size {
    /// Length.
    pub length: Option<Mm>,
    /// Class, as the owner writes it.
    pub class: Option<NameIndex>,
}

/// Poles whose replacement needs the same thing: one kind of row of the quantities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Group {
    /// Size that stands now.
    pub old: Size,
    /// Size to order: the old one, until a programme says otherwise.
    pub new: Size,
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

/// Counts that are kept for the whole fleet, beside the demand by group: four events, treatments, and inspections by method.
const FLEET_COUNTS: usize = TREATED + 1 + Method::ALL.len();
/// The column of treatments; inspections by method follow it.
const TREATED: usize = 4;

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
    counts: Vec<u32>,
}

/// The groups of an inventory, and each pole's.
pub fn groups(inventory: &Inventory, programme: &Programme) -> (Vec<Group>, Vec<usize>) {
    let key = |pole: &crate::pole::Pole| {
        let preservative = programme.policy.new_preservative.or(pole.preservative);
        let class = pole.class.map(|class| inventory.names.get(class));
        (
            pole.length.map(|mm| (mm.0 * 10.0).round() as i64),
            class,
            preservative,
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
        .map(|((_, _, preservative), pole)| {
            let size = Size {
                length: pole.length,
                class: pole.class,
            };
            Group {
                old: size,
                new: size,
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
        }
    }

    const fn width(&self) -> usize {
        FLEET_COUNTS + Kind::ALL.len() * self.groups.len()
    }

    const fn place(&self, trial: u32, year: u16, column: usize) -> usize {
        (trial as usize * self.years as usize + year as usize) * self.width() + column
    }

    const fn demand_column(group: usize, kind: Kind) -> usize {
        FLEET_COUNTS + group * Kind::ALL.len() + kind as usize
    }

    /// Counts one event of a pole of `group`.
    pub fn count(&mut self, trial: u32, year: u16, event: Event, group: usize) {
        let column = match event {
            Event::Inspected => 0,
            Event::Rejected => 1,
            Event::Failed => 2,
            Event::BelowLimit => 3,
            Event::Treated => TREATED,
            Event::Replaced(kind) => Self::demand_column(group, kind),
            Event::Reinforced => Self::demand_column(group, Kind::Reinforced),
        };
        let place = self.place(trial, year, column);
        self.counts[place] += 1;
    }

    /// Counts an inspection by its method, beside its event.
    pub fn count_inspection(&mut self, trial: u32, year: u16, method: Method) {
        let place = self.place(trial, year, TREATED + 1 + method.index());
        self.counts[place] += 1;
    }

    /// Number of trials.
    pub const fn trials(&self) -> u32 {
        self.trials
    }

    /// Number of plan years.
    pub const fn years(&self) -> u16 {
        self.years
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

    /// The sum of two tallies of the same programme and inventory.
    pub fn with(mut self, other: &Self) -> Self {
        self.counts
            .iter_mut()
            .zip(&other.counts)
            .for_each(|(sum, part)| *sum += part);
        self
    }

    /// A count of every trial: the sum over some years and columns.
    fn sums(&self, years: &[u16], columns: &[usize]) -> impl Iterator<Item = u64> {
        (0..self.trials).map(move |trial| {
            let cells = years
                .iter()
                .flat_map(|year| columns.iter().map(|column| (*year, *column)));
            cells
                .map(|(year, column)| u64::from(self.counts[self.place(trial, year, column)]))
                .sum()
        })
    }

    /// Means and bands.
    pub fn forecast(&self) -> Forecast {
        let every_group: Vec<usize> = (0..self.groups.len()).collect();
        let all = Self::columns(&every_group, &Kind::NEW_POLES);
        let years = (0..self.years)
            .map(|year| YearForecast {
                year: self.first_year + year as i16,
                inspections: Band::of(self.sums(&[year], &[0])),
                rejects_found: Band::of(self.sums(&[year], &[1])),
                failures: Band::of(self.sums(&[year], &[2])),
                below_limit: Band::of(self.sums(&[year], &[3])),
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
    fn a_groups_demand_of_all_kinds_is_counted_trial_by_trial() {
        let mut programme = crate::common::programme();
        (programme.trials, programme.horizon_years) = (2, 2);
        let group = Group {
            old: Size::default(),
            new: Size::default(),
            preservative: None,
        };
        let mut tally = Tally::new(&programme, vec![group, group]);
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
