//! What there is to plan with: the calls of all poles that may be inspected, what a visit to each is worth and how long it
//! takes.
//!
//! Filled in from duties, values and the owner's decisions; [`rounds`](super::rounds) and [`improve`](super::improve)
//! choose years for it. Must not know in which year anything goes.

use super::decided::Decisions;
use super::due::Duty;
use super::offers::NO_LIMIT;
use super::packages::{Stretch, days_for_one, is_exempt};
use super::rows::Choice;
use super::waiting::VisitValues;
use crate::inventory::Inventory;
use crate::pole::PoleIndex;
use crate::programme::money::Account;
use crate::programme::{Programme, RuleKind};
use crate::units::{Date, days_after};

/// What there is to plan with.
pub(super) struct Work<'a> {
    pub(super) inventory: &'a Inventory,
    pub(super) programme: &'a Programme,
    pub(super) duties: &'a [Duty],
    pub(super) values: &'a [VisitValues],
    pub(super) decisions: &'a Decisions,
    /// Crew-days of each year.
    pub(super) crew_days: f64,
    /// Share of the programme's limits of operating money that there is.
    pub(super) money_share: f64,
    /// What a year less of waiting is worth for a pole that is below the limit, beside what values hold; units of cost.
    pub(super) sooner: f64,
    /// Stretch by stretch in walking order.
    pub(super) calls: Vec<Call>,
}

/// The year of every inspection that finds one, by [`PoleIndex`].
pub(super) type Choices = Vec<Option<Choice>>;

/// What decides a pole's turn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Call {
    pub(super) pole: PoleIndex,
    /// Plan year in which its binding rule calls for it, when that lies within the schedule.
    pub(super) due_year: Option<u16>,
    /// Last plan year in which a law has it in time, when that lies within the schedule.
    pub(super) law_year: Option<u16>,
    /// Whether its binding rule is law.
    pub(super) kind: RuleKind,
    /// The first plan year in which the owner lets it be visited.
    pub(super) not_before: u16,
    /// Last day on which a visit is in time.
    pub(super) in_time_until: Date,
    pub(super) stretch: usize,
    pub(super) crew_days: f64,
    /// What the visit costs, in units of cost.
    pub(super) cost: f64,
}

impl<'a> Work<'a> {
    /// What there is to plan with: one call for each pole that may be inspected, none for a pole that the owner leaves out.
    pub(super) fn new(
        inventory: &'a Inventory,
        programme: &'a Programme,
        duties: &'a [Duty],
        values: &'a [VisitValues],
        stretches: &[Stretch],
        decisions: &'a Decisions,
    ) -> Self {
        let mut work = Self {
            inventory,
            programme,
            duties,
            values,
            decisions,
            crew_days: programme.crews.crew_days_per_year,
            money_share: 1.0,
            sooner: 0.0,
            calls: Vec::new(),
        };
        for (place, stretch) in stretches.iter().enumerate() {
            let calls = stretch.poles.iter();
            let calls = calls.filter_map(|pole| work.call(place, *pole));
            let calls: Vec<Call> = calls.collect();
            work.calls.extend(calls);
        }
        work
    }

    /// Plan years.
    pub(super) fn years(&self) -> u16 {
        self.programme.schedule_years.max(1)
    }

    fn call(&self, stretch: usize, pole: PoleIndex) -> Option<Call> {
        let programme = self.programme;
        let years = i32::from(self.years());
        let duty = &self.duties[pole.get()];
        let due = duty.due.map(|due| (due, &programme.inspections[due.rule]));
        let not_before = self.decisions.of(pole).inspected_from()?;
        if i32::from(not_before) >= years {
            return None;
        }
        let within = |date: Date| {
            let year = programme.year_of(date).max(0);
            (year < years).then(|| not_before.max(year as u16))
        };
        Some(Call {
            pole,
            due_year: due.and_then(|(due, _)| within(due.date)),
            law_year: duty.law_until.and_then(within),
            not_before,
            kind: due.map_or(RuleKind::Guideline, |(_, rule)| rule.kind),
            in_time_until: due.map_or(Date::MAX, |(due, rule)| {
                days_after(due.date, rule.grace_days)
            }),
            stretch,
            crew_days: days_for_one(programme, duty.method),
            cost: programme.costs.inspection[duty.method.index()],
        })
    }

    /// Money for inspections in a plan year, in units of cost: all of the operating account; [`NO_LIMIT`] where it has none.
    pub(super) fn money(&self, year: u16) -> f64 {
        let limit = self.programme.budget.limit(Account::Operating, year);
        limit.map_or(NO_LIMIT, |limit| self.money_share * limit)
    }

    /// What a visit in a plan year is worth.
    pub(super) fn worth(&self, call: &Call, year: u16) -> f64 {
        let years_less = f64::from(self.years() - year);
        self.values[call.pole.get()].at(year) + self.sooner * self.below_now(call) * years_less
    }

    /// Chance that a pole is below the limit at the plan date.
    pub(super) fn below_now(&self, call: &Call) -> f64 {
        f64::from(self.values[call.pole.get()].below_now)
    }

    /// Whether a visit is worth more than a whole crew-day of inspections costs: then it does not wait for its line.
    pub(super) fn pays_for_its_own_trip(&self, call: &Call) -> bool {
        let method = self.duties[call.pole.get()].method;
        let crew_day = self.programme.costs.inspection[method.index()] / call.crew_days;
        self.values[call.pole.get()].most() > crew_day
    }

    /// Whether a round of a plan year goes past the pole.
    pub(super) fn is_exempt(&self, call: &Call, year: u16) -> bool {
        let duty = &self.duties[call.pole.get()];
        is_exempt(self.inventory, self.programme, call.pole, duty, year)
    }
}
