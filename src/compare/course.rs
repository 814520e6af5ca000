//! One policy's course through the trials: what happens in every trial and year, kept trial by trial for the differences.

use crate::inventory::Inventory;
use crate::maths::pow;
use crate::pole::Method;
use crate::programme::{Account, Alternative, Programme};
use crate::schedule::{Action, Deferral, Schedule, Standing};
use crate::score::funding::funding;
use crate::trial::spending::amounts;
use crate::trial::tally::Work;
use crate::trial::{Band, Tally};
use std::collections::BTreeMap;

/// Years within which rejects are said to be reached early.
const EARLY_YEARS: u16 = 5;

/// What policies are compared by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// Inspections, treatments and what failures cost beyond planned replacements.
    CostOperating,
    /// New poles and braces.
    CostCapital,
    /// Both accounts.
    Cost,
    /// Both accounts, discounted to the plan date from the middle of each year.
    PresentValue,
    /// The present value less what is left of the lives of the new poles at the end of the horizon: what policies that
    /// replace more and less are compared by.
    NetCost,
    /// Poles that fail in service.
    Failures,
    /// New poles of all kinds.
    NewPoles,
    /// Braces.
    Braces,
    /// Inspections.
    Visits,
    /// Remedial treatments.
    Treatments,
    /// Poles judged below the limit at inspections.
    RejectsFound,
    /// Of these in the first five years.
    RejectsFoundEarly,
    /// Poles that stand below the limit at the end of the year; over a span the pole-years.
    BelowLimit,
    /// Poles that stand below the limit at the end of the horizon.
    BelowLimitAtEnd,
    /// Poles whose rule calls for a visit that the schedule has no crew for by the end of the year.
    BacklogVisits,
    /// Crew-days of visits that the trials call for beyond the crews, carried from year to year.
    BacklogCrewDays,
    /// Must-dos that the limits of money do not pay for by the end of the year.
    BacklogMustDo,
}

/// The unit of a measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// The programme's currency.
    Money,
    /// Poles, or visits to them.
    Poles,
    /// Pole-years.
    PoleYears,
    /// Crew-days.
    CrewDays,
}

/// Over which years a measure is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Span {
    /// One plan year, counted from 0.
    Year(u16),
    /// The horizon: sums, and the last year of what is a stock.
    Horizon,
}

impl Measure {
    /// What is told of every year.
    pub const OF_YEARS: [Self; 12] = [
        Self::CostOperating,
        Self::CostCapital,
        Self::Failures,
        Self::NewPoles,
        Self::Braces,
        Self::Visits,
        Self::Treatments,
        Self::RejectsFound,
        Self::BelowLimit,
        Self::BacklogVisits,
        Self::BacklogCrewDays,
        Self::BacklogMustDo,
    ];

    /// What is told of the horizon.
    pub const OF_HORIZON: [Self; 17] = [
        Self::NetCost,
        Self::PresentValue,
        Self::Cost,
        Self::CostOperating,
        Self::CostCapital,
        Self::Failures,
        Self::NewPoles,
        Self::Braces,
        Self::Visits,
        Self::Treatments,
        Self::RejectsFound,
        Self::RejectsFoundEarly,
        Self::BelowLimit,
        Self::BelowLimitAtEnd,
        Self::BacklogVisits,
        Self::BacklogCrewDays,
        Self::BacklogMustDo,
    ];

    /// The word in tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::CostOperating => "cost_operating",
            Self::CostCapital => "cost_capital",
            Self::Cost => "cost",
            Self::PresentValue => "cost_present_value",
            Self::NetCost => "cost_net",
            Self::Failures => "failures",
            Self::NewPoles => "replacements",
            Self::Braces => "reinforcements",
            Self::Visits => "visits",
            Self::Treatments => "remedial_treatments",
            Self::RejectsFound => "rejects_found",
            Self::RejectsFoundEarly => "rejects_found_in_5_years",
            Self::BelowLimit => "below_limit",
            Self::BelowLimitAtEnd => "below_limit_at_end",
            Self::BacklogVisits => "backlog_visits",
            Self::BacklogCrewDays => "backlog_crew_days",
            Self::BacklogMustDo => "backlog_must_do",
        }
    }

    /// Its unit over a span.
    pub const fn unit(self, span: Span) -> Unit {
        match (self, span) {
            (
                Self::CostOperating
                | Self::CostCapital
                | Self::Cost
                | Self::PresentValue
                | Self::NetCost,
                _,
            ) => Unit::Money,
            (Self::BelowLimit, Span::Horizon) => Unit::PoleYears,
            (Self::BacklogCrewDays, _) => Unit::CrewDays,
            _ => Unit::Poles,
        }
    }
}

/// By year, what happens in every trial.
type ByYear = Vec<Vec<f64>>;

/// One policy's course.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The policy.
    pub alternative: Alternative,
    /// Laws that it does not keep.
    pub laws_not_kept: Vec<String>,
    /// Plan year of each pole's planned inspection.
    pub planned: Vec<Option<u16>>,
    /// What its visits before their due years are worth, in cost units, where the value of a visit is the programme's own.
    pub value: Option<f64>,
    /// First calendar year.
    pub first_year: i16,
    discount: f64,
    /// Price of a planned replacement.
    replacement: f64,
    /// Median life of the poles that are put in, mean over the places, years.
    new_life: f64,
    by_year: BTreeMap<Measure, ByYear>,
}

impl Course {
    /// What the tally and the schedule of a policy say.
    pub(super) fn new(
        inventory: &Inventory,
        programme: &Programme,
        alternative: &Alternative,
        schedule: &Schedule,
        tally: &Tally,
        new_life: f64,
    ) -> Self {
        let mut by_year = counts(programme, tally);
        let certain = |counts: Vec<usize>| -> ByYear {
            let trials = tally.trials() as usize;
            counts
                .into_iter()
                .map(|count| vec![count as f64; trials])
                .collect()
        };
        by_year.insert(
            Measure::BacklogVisits,
            certain(late_visits(programme, schedule)),
        );
        let unfunded = unfunded(inventory, programme, schedule);
        if !unfunded.is_empty() {
            by_year.insert(Measure::BacklogMustDo, certain(unfunded));
        }
        Self {
            alternative: alternative.clone(),
            laws_not_kept: Vec::new(),
            planned: schedule
                .rows
                .iter()
                .map(|row| match row.standing {
                    Standing::Planned {
                        action: Action::Inspect,
                        year,
                        ..
                    } => Some(year),
                    _ => None,
                })
                .collect(),
            value: None,
            first_year: programme.first_year(),
            discount: programme.costs.discount_rate,
            replacement: programme.costs.replacement,
            new_life,
            by_year,
        }
    }

    /// A measure in every trial; `None` where it is not told of that span.
    pub fn trials(&self, measure: Measure, span: Span) -> Option<Vec<f64>> {
        match (measure, span) {
            (Measure::RejectsFoundEarly, Span::Horizon) => {
                let years = self.by_year.get(&Measure::RejectsFound)?;
                Some(weighted(
                    &years[..years.len().min(EARLY_YEARS.into())],
                    |_| 1.0,
                ))
            }
            (Measure::BelowLimitAtEnd, Span::Horizon) => {
                self.by_year.get(&Measure::BelowLimit)?.last().cloned()
            }
            (
                Measure::BacklogVisits | Measure::BacklogCrewDays | Measure::BacklogMustDo,
                Span::Horizon,
            ) => self.by_year.get(&measure)?.last().cloned(),
            (Measure::Cost, Span::Horizon) => self.money(|_| 1.0),
            (Measure::PresentValue, Span::Horizon) => {
                self.money(|year| self.discounted(middle(year)))
            }
            (Measure::NetCost, Span::Horizon) => self.net_cost(),
            (_, Span::Horizon) => Some(weighted(self.by_year.get(&measure)?, |_| 1.0)),
            (_, Span::Year(year)) => self.by_year.get(&measure)?.get(usize::from(year)).cloned(),
        }
    }

    /// The band of a measure.
    pub fn band(&self, measure: Measure, span: Span) -> Option<Band> {
        let trials = self.trials(measure, span)?;
        Some(Band::of_amounts(trials.into_iter()))
    }

    /// The value today of one unit of money so many years from now.
    fn discounted(&self, years: f64) -> f64 {
        pow(1.0 + self.discount, -years)
    }

    /// The present value less that of what is left of the new poles. An old pole is worth nothing, a new one its price,
    /// and one of age `a` and life `L` what it saves over a pole that goes today: the yearly cost of a pole (model section
    /// 7) for the years left, `K (1 - v^(L - a)) / (1 - v^L)`.
    fn net_cost(&self) -> Option<Vec<f64>> {
        let years = f64::from(self.years());
        let left = |year: usize| {
            let left = (self.new_life - (years - middle(year))).max(0.0);
            let share = if self.discount > 0.0 {
                (1.0 - self.discounted(left)) / (1.0 - self.discounted(self.new_life))
            } else {
                left / self.new_life
            };
            self.replacement * share * self.discounted(years)
        };
        let kept = weighted(self.by_year.get(&Measure::NewPoles)?, left);
        let mut costs = self.trials(Measure::PresentValue, Span::Horizon)?;
        costs
            .iter_mut()
            .zip(kept)
            .for_each(|(cost, own)| *cost -= own);
        Some(costs)
    }

    /// Both accounts, each year with a weight.
    fn money(&self, weight: impl Fn(usize) -> f64) -> Option<Vec<f64>> {
        let accounts = [Measure::CostOperating, Measure::CostCapital];
        let [operating, capital] = accounts.map(|account| self.by_year.get(&account));
        let mut sums = weighted(operating?, &weight);
        let own = weighted(capital?, &weight);
        sums.iter_mut().zip(own).for_each(|(sum, own)| *sum += own);
        Some(sums)
    }

    /// Plan years.
    pub fn years(&self) -> u16 {
        let years = self.by_year.get(&Measure::Failures);
        years.map_or(0, |years| years.len() as u16)
    }
}

/// The moment of a plan year in which its money is spent and its poles are set.
fn middle(year: usize) -> f64 {
    year as f64 + 0.5
}

/// Sums over years in every trial, each year with a weight.
fn weighted(years: &[Vec<f64>], weight: impl Fn(usize) -> f64) -> Vec<f64> {
    let trials = years.first().map_or(0, Vec::len);
    let mut sums = vec![0.0; trials];
    for (year, counts) in years.iter().enumerate() {
        let weight = weight(year);
        for (sum, count) in sums.iter_mut().zip(counts) {
            *sum += weight * count;
        }
    }
    sums
}

/// What the tally counts, by year and trial.
fn counts(programme: &Programme, tally: &Tally) -> BTreeMap<Measure, ByYear> {
    let years = 0..tally.years();
    let sum = |year: u16, works: &[Work]| {
        let mut sums = vec![0.0; tally.trials() as usize];
        for work in works {
            for (sum, count) in sums.iter_mut().zip(tally.work(year, *work)) {
                *sum += count as f64;
            }
        }
        sums
    };
    let floats = |counts: Vec<u64>| counts.into_iter().map(|count| count as f64).collect();
    let of_years = |own: &dyn Fn(u16) -> Vec<f64>| years.clone().map(own).collect::<ByYear>();
    let money = |account| of_years(&|year| amounts(tally, &programme.costs, year, account));
    let works = |works: &[Work]| of_years(&|year| sum(year, works));
    BTreeMap::from([
        (Measure::CostOperating, money(Account::Operating)),
        (Measure::CostCapital, money(Account::Capital)),
        (Measure::Failures, works(&[Work::AfterFailure])),
        (
            Measure::NewPoles,
            works(&[Work::Planned, Work::AfterFailure, Work::OtherDemand]),
        ),
        (Measure::Braces, works(&[Work::Reinforcement])),
        (Measure::Visits, works(&Method::ALL.map(Work::Inspection))),
        (Measure::Treatments, works(&[Work::Treatment])),
        (
            Measure::RejectsFound,
            of_years(&|year| floats(tally.rejects_found(year))),
        ),
        (
            Measure::BelowLimit,
            of_years(&|year| floats(tally.below_limit(year))),
        ),
        (Measure::BacklogCrewDays, queue(programme, tally)),
    ])
}

/// Crew-days that the visits of each trial take beyond what the crews have, carried from year to year.
fn queue(programme: &Programme, tally: &Tally) -> ByYear {
    let crews = &programme.crews;
    let mut waiting = vec![0.0; tally.trials() as usize];
    let one_year = |year| {
        for method in Method::ALL {
            let a_day = crews.poles_per_crew_day[method.index()];
            for (days, visits) in waiting
                .iter_mut()
                .zip(tally.work(year, Work::Inspection(method)))
            {
                *days += visits as f64 / a_day.max(f64::MIN_POSITIVE);
            }
        }
        for days in &mut waiting {
            // Rounding of sums of parts of days is no backlog.
            let left = *days - crews.crew_days_per_year;
            *days = if left > LEAST_DAYS { left } else { 0.0 };
        }
        waiting.clone()
    };
    (0..tally.years()).map(one_year).collect()
}

/// Far below one pole's part of a crew-day, far above rounding.
const LEAST_DAYS: f64 = 1e-6;

/// Poles whose rule calls for a visit by the end of each year of the schedule that no crew has made by then. What the
/// owner put off is no backlog.
fn late_visits(programme: &Programme, schedule: &Schedule) -> Vec<usize> {
    let years = programme.schedule_years.max(1);
    let mut late = vec![0; usize::from(years)];
    for row in &schedule.rows {
        let Some(due) = row.due else { continue };
        let until = match row.standing {
            Standing::Planned {
                action: Action::Inspect,
                year,
                ..
            } => year,
            Standing::Deferred {
                action: Action::Inspect,
                reason: Deferral::CrewDays | Deferral::Money,
            } => years,
            _ => continue,
        };
        let from = programme.year_of(due.date).max(0);
        for year in from..i32::from(until) {
            late[year as usize] += 1;
        }
    }
    late
}

/// Must-dos that the limits do not pay for by the end of each year of the schedule; nothing where there is no limit.
fn unfunded(inventory: &Inventory, programme: &Programme, schedule: &Schedule) -> Vec<usize> {
    let told = funding(inventory, programme, schedule);
    if told.is_empty() {
        return Vec::new();
    }
    let mut left = vec![0; usize::from(programme.schedule_years.max(1))];
    for own in told {
        left[usize::from(own.year)] += own.unfunded.len();
    }
    left
}
