//! Filling the plan years one after the other: the first pass, rules first, whose promises [`solve`](super::solve) states.
//!
//! Each year takes what rules call for, then as much of later years' work as those cannot hold, then the rest of the
//! lines that are visited, then what the estimated condition calls for. No choice is undone here;
//! [`improve`](super::improve) looks for better years afterwards, and lets what is late catch up by the code below.

use super::offers::{ROUNDING, covers};
use super::rows::{Choice, Why};
use super::work::{Call, Choices, Work};
use crate::programme::{Round, RuleKind};
use crate::units::Date;
use std::collections::BTreeMap;

/// Least share of a stretch's visit that must be due before the rest goes along: below it a few poles that are due by
/// themselves would drag whole lines out of their turn. Judgement.
const LEAST_DUE_SHARE_OF_A_ROUND: f64 = 0.25;

/// The first plan: years in order, rules first.
pub(super) fn fill_years(work: &Work<'_>) -> Choices {
    let mut rounds = Rounds::new(work, vec![None; work.inventory.len()]);
    rounds.keep_what_is_fixed();
    for year in 0..work.years() {
        rounds.visit_what_is_due(year);
        rounds.take_ahead_what_later_years_cannot_hold(year);
        rounds.complete_lines(year);
        rounds.visit_for_condition(year);
    }
    rounds.fill_gaps();
    rounds.choices
}

/// The same plan with whatever is late, or not planned although it is due, in the earliest year that has room for it.
pub(super) fn catch_up(work: &Work<'_>, choices: Choices) -> Choices {
    let mut rounds = Rounds::new(work, choices);
    while rounds.catch_up_once() {}
    rounds.fill_gaps();
    rounds.choices
}

/// Calls sorted by `rank`, then by the earliest date of their stretch within it, then in walking order.
fn in_order<K: Ord + Copy>(mut calls: Vec<Call>, rank: impl Fn(&Call) -> K) -> Vec<Call> {
    let mut earliest: BTreeMap<(K, usize), Date> = BTreeMap::new();
    for call in &calls {
        let first = earliest
            .entry((rank(call), call.stretch))
            .or_insert(call.in_time_until);
        *first = call.in_time_until.min(*first);
    }
    calls.sort_by_cached_key(|call| {
        let rank = rank(call);
        (rank, earliest[&(rank, call.stretch)], call.stretch)
    });
    calls
}

/// The rounds while they are being filled.
struct Rounds<'a> {
    work: &'a Work<'a>,
    choices: Choices,
    /// Crew-days left in each year.
    room: Vec<f64>,
    /// Money left in each year.
    money: Vec<f64>,
}

impl<'a> Rounds<'a> {
    fn new(work: &'a Work<'a>, choices: Choices) -> Self {
        let mut room = vec![work.crew_days; usize::from(work.years())];
        let mut money: Vec<f64> = (0..work.years()).map(|year| work.money(year)).collect();
        for call in &work.calls {
            if let Some(choice) = choices[call.pole.get()] {
                room[usize::from(choice.year)] -= call.crew_days;
                money[usize::from(choice.year)] -= call.cost;
            }
        }
        Self {
            work,
            choices,
            room,
            money,
        }
    }

    /// Calls that have no year yet.
    fn open(&self) -> impl Iterator<Item = &'a Call> {
        let calls = self.work.calls.iter();
        calls.filter(|call| self.choices[call.pole.get()].is_none())
    }

    /// Plans what the owner fixed, whether or not the years have room for it; it counts there all the same.
    fn keep_what_is_fixed(&mut self) {
        for call in &self.work.calls {
            if let Some(year) = self.work.decisions.of(call.pole).year() {
                self.room[usize::from(year)] -= call.crew_days;
                self.money[usize::from(year)] -= call.cost;
                let why = Why::Decision;
                self.choices[call.pole.get()] = Some(Choice { year, why });
            }
        }
    }

    /// Whether a year has crew-days and money left for these.
    fn has_room(&self, year: u16, days: f64, cost: f64) -> bool {
        let year = usize::from(year);
        days <= self.room[year] + ROUNDING && covers(self.money[year], cost)
    }

    /// Plans a visit if the owner allows it in that year and the year has room for it.
    fn take(&mut self, call: &Call, year: u16, why: Why) -> bool {
        let fits = call.not_before <= year && self.has_room(year, call.crew_days, call.cost);
        if fits {
            self.room[usize::from(year)] -= call.crew_days;
            self.money[usize::from(year)] -= call.cost;
            self.choices[call.pole.get()] = Some(Choice { year, why });
        }
        fits
    }

    /// What rules call for by the end of the year: law first, then guidelines, each the stretch with the earliest date
    /// first, so that stretches stay together. Where the guidelines call for more than the year can hold, what is worth
    /// most goes first, and what the estimated condition calls for competes with them.
    fn visit_what_is_due(&mut self, year: u16) {
        let (law, mut guideline): (Vec<Call>, Vec<Call>) = self
            .open()
            .filter(|call| call.due_year.is_some_and(|due| due <= year))
            .copied()
            .partition(|call| call.kind == RuleKind::Law);
        for call in in_order(law, |_| ()) {
            self.take(&call, year, Why::Rule);
        }
        let days: f64 = guideline.iter().map(|call| call.crew_days).sum();
        let cost: f64 = guideline.iter().map(|call| call.cost).sum();
        if self.has_room(year, days, cost) {
            for call in in_order(guideline, |_| ()) {
                self.take(&call, year, Why::Rule);
            }
            return;
        }
        guideline.extend(
            self.ripe(year)
                .filter(|call| call.due_year.is_none_or(|due| due > year)),
        );
        let (alone, together) = guideline
            .into_iter()
            .partition(|call| self.work.pays_for_its_own_trip(call));
        for call in self
            .most_worth_first(alone, |call| call.pole.0)
            .into_iter()
            .chain(self.most_worth_first(together, |call| call.stretch as u32))
        {
            let due = call.due_year.is_some_and(|due| due <= year);
            self.take(&call, year, if due { Why::Rule } else { Why::Condition });
        }
    }

    /// Visits that pay for themselves and gain nothing by waiting beyond this year.
    fn ripe(&self, year: u16) -> impl Iterator<Item = Call> {
        self.open()
            .filter(move |call| {
                let value = &self.work.values[call.pole.get()];
                call.crew_days.is_finite()
                    && call.not_before <= year
                    && value.at(year) > 0.0
                    && value.best_year().is_some_and(|best| best <= year)
            })
            .copied()
    }

    /// Calls group by group, the group that is worth most a crew-day first, the earliest date at equal worth; and so
    /// within a group.
    fn most_worth_first(&self, mut calls: Vec<Call>, group: impl Fn(&Call) -> u32) -> Vec<Call> {
        let worth = |call: &Call| self.work.values[call.pole.get()].most();
        let mut groups: BTreeMap<u32, (f64, f64, Date)> = BTreeMap::new();
        for call in &calls {
            let (value, days, first) =
                groups
                    .entry(group(call))
                    .or_insert((0.0, 0.0, call.in_time_until));
            *value += worth(call);
            *days += call.crew_days;
            *first = call.in_time_until.min(*first);
        }
        calls.sort_by(|a, b| {
            let (one, other) = (&groups[&group(a)], &groups[&group(b)]);
            (other.0 / other.1)
                .total_cmp(&(one.0 / one.1))
                .then(one.2.cmp(&other.2))
                .then(group(a).cmp(&group(b)))
                .then(worth(b).total_cmp(&worth(a)))
                .then(a.pole.cmp(&b.pole))
        });
        calls
    }

    /// As much of the work due in later years as those years cannot hold, the earliest due first.
    fn take_ahead_what_later_years_cannot_hold(&mut self, year: u16) {
        let mut demand = vec![0.0; usize::from(self.work.years())];
        let mut later = Vec::new();
        for call in self.open().filter(|call| call.crew_days.is_finite()) {
            if let Some(due) = call.due_year.filter(|due| *due > year) {
                demand[usize::from(due)] += call.crew_days;
                later.push(*call);
            }
        }
        // A year holds whole visits only, beside what is fixed in it, and no more than its money pays for.
        let longest = later.iter().map(|call| call.crew_days).fold(0.0, f64::max);
        let dearest = later.iter().map(|call| call.cost).fold(0.0, f64::max);
        let holds = |room: f64, money: f64| {
            let paid = if dearest > 0.0 {
                money / dearest
            } else {
                f64::INFINITY
            };
            ((room.max(0.0) + ROUNDING) / longest)
                .min(paid.max(0.0) + ROUNDING)
                .floor()
                * longest
        };
        let mut sum = 0.0;
        let mut excess = 0.0_f64;
        let years = demand.iter().zip(self.room.iter().zip(&self.money));
        for (days, (room, money)) in years.skip(usize::from(year) + 1) {
            sum += days - holds(*room, *money);
            excess = excess.max(sum);
        }
        for call in in_order(later, |call| (call.due_year, call.kind)) {
            if excess <= ROUNDING {
                break;
            }
            if self.take(&call, year, Why::Rule) {
                excess -= call.crew_days;
            }
        }
    }

    /// What found no room from its due year on goes into whatever earlier year has some: visits of unequal length can
    /// leave gaps that [`Self::take_ahead_what_later_years_cannot_hold`] did not count on.
    fn fill_gaps(&mut self) {
        let left: Vec<Call> = self
            .open()
            .filter(|call| call.due_year.is_some())
            .copied()
            .collect();
        for call in in_order(left, |call| call.kind) {
            for year in 0..self.work.years() {
                if self.take(&call, year, Why::Rule) {
                    break;
                }
            }
        }
    }

    /// Moves what is planned late to the first year from its due year on that has room; whether anything moved.
    fn catch_up_once(&mut self) -> bool {
        let planned = |call: &Call| self.choices[call.pole.get()].map(|choice| choice.year);
        let late: Vec<Call> = (self.work.calls.iter())
            .filter(|call| self.work.decisions.of(call.pole).year().is_none())
            .filter(|call| planned(call) > call.due_year && call.due_year.is_some())
            .copied()
            .collect();
        let mut moved = false;
        for call in in_order(late, |call| (call.kind, call.due_year)) {
            let Some(from) = self.choices[call.pole.get()].map(|choice| choice.year) else {
                continue;
            };
            let earlier = call.due_year.unwrap_or(from)..from;
            for year in earlier {
                if self.take(&call, year, Why::Rule) {
                    self.room[usize::from(from)] += call.crew_days;
                    self.money[usize::from(from)] += call.cost;
                    moved = true;
                    break;
                }
            }
        }
        moved
    }

    /// The rest of each stretch of which enough is visited by rule this year: all of its poles that are not exempt, or,
    /// where there is no room for all, none.
    fn complete_lines(&mut self, year: u16) {
        if self.work.programme.policy.round == Round::Pole {
            return;
        }
        let mut stretches: Vec<(Date, usize)> = Vec::new();
        for call in &self.work.calls {
            if self.choices[call.pole.get()].is_some_and(|choice| choice.year == year) {
                match stretches.last_mut() {
                    Some((first, stretch)) if *stretch == call.stretch => {
                        *first = call.in_time_until.min(*first);
                    }
                    _ => stretches.push((call.in_time_until, call.stretch)),
                }
            }
        }
        stretches.sort_unstable();
        for (_, stretch) in stretches {
            self.complete_line(stretch, year);
        }
    }

    fn complete_line(&mut self, stretch: usize, year: u16) {
        let start = self
            .work
            .calls
            .partition_point(|call| call.stretch < stretch);
        let end = self
            .work
            .calls
            .partition_point(|call| call.stretch <= stretch);
        let mut visited = 0;
        let mut others = Vec::new();
        for call in &self.work.calls[start..end] {
            match self.choices[call.pole.get()] {
                Some(choice) => visited += usize::from(choice.year == year),
                None if call.not_before > year || self.work.is_exempt(call, year) => {}
                None => others.push(*call),
            }
        }
        let share = visited as f64 / (visited + others.len()) as f64;
        let days: f64 = others.iter().map(|call| call.crew_days).sum();
        let cost: f64 = others.iter().map(|call| call.cost).sum();
        if share >= LEAST_DUE_SHARE_OF_A_ROUND && self.has_room(year, days, cost) {
            for call in others {
                self.take(&call, year, Why::WithItsLine);
            }
        }
    }

    /// What the estimated condition calls for, stretch by stretch, the most worth a crew-day first.
    fn visit_for_condition(&mut self, year: u16) {
        let ripe = self.ripe(year).collect();
        for call in self.most_worth_first(ripe, |call| call.stretch as u32) {
            self.take(&call, year, Why::Condition);
        }
    }
}
