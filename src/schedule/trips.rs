//! Who goes together whatever the year: the trips of a plan, and what each takes and gives in every year.
//!
//! A trip is what a plan visits of one stretch in one year. Poles that are worth a trip of their own go alone, and so do
//! all under a policy of single poles. What the plan leaves out of a stretch is a trip that could be made: the poles that
//! are due, and those whose visit is worth something. Fixed visits are no trips; they take their crew-days away.

use super::offers::{Offer, Offers, Room, total};
use super::rows::{Choice, Why};
use super::work::{Call, Choices, Work};
use crate::parallel;
use crate::programme::Round;

/// The trips of a plan.
pub(super) struct Trips {
    /// Places in the list of calls, trip by trip.
    members: Vec<Vec<u32>>,
    /// What each takes and gives.
    pub(super) offers: Offers,
    /// Where the plan has each: a plan year, or one more than the last for none.
    pub(super) places: Vec<u16>,
    /// Crew-days and money of each year beside what is fixed, the lateness of the plan by law, and by any rule that of the plan and
    /// what was to spare.
    pub(super) room: Room,
}

/// What puts visits of one stretch on the same trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Together {
    /// Planned in the same year.
    In(u16),
    /// Due and not planned.
    Due,
    /// Neither due nor planned, and worth a visit.
    Worth,
    /// Nobody else: the place in the list of calls.
    Alone(u32),
}

impl Trips {
    /// The trips of a plan that may get later by rule by so many pole-years.
    pub(super) fn of(work: &Work<'_>, choices: &Choices, to_spare: u64) -> Self {
        let (members, places) = group(work, choices);
        let years = usize::from(work.years());
        let rows = parallel::map_indices(members.len(), |trip| {
            row(work, &members[trip], usize::from(places[trip]))
        });
        let offers = Offers::new(years, rows.into_iter().flatten().collect());
        let mut days = vec![work.crew_days; years];
        let mut money: Vec<f64> = (0..work.years()).map(|year| work.money(year)).collect();
        for call in &work.calls {
            if let Some(choice) = fixed(work, choices, call) {
                days[usize::from(choice.year)] -= call.crew_days;
                money[usize::from(choice.year)] -= call.cost;
            }
        }
        // What the owner fixed may take more than there is.
        let not_below = |all: Vec<f64>| all.into_iter().map(|left| left.max(0.0)).collect();
        let total = total(&offers, &places);
        Self {
            members,
            offers,
            places,
            room: Room {
                days: not_below(days),
                money: not_below(money),
                law: total.law,
                rule: total.rule + to_spare,
            },
        }
    }

    /// The choices of a plan with its trips in other places.
    pub(super) fn moved(&self, work: &Work<'_>, choices: &Choices, places: &[u16]) -> Choices {
        let mut moved = choices.clone();
        let trips = self.members.iter().zip(self.places.iter().zip(places));
        for (members, (_, to)) in trips.filter(|(_, (from, to))| from != to) {
            for call in members.iter().map(|call| &work.calls[*call as usize]) {
                let goes = *to < work.years() && goes(work, call, *to);
                let old = choices[call.pole.get()];
                moved[call.pole.get()] = goes.then(|| Choice {
                    year: *to,
                    why: why(work, call, *to, old),
                });
            }
        }
        moved
    }
}

/// The choice for a pole that no exchange may touch.
fn fixed(work: &Work<'_>, choices: &Choices, call: &Call) -> Option<Choice> {
    choices[call.pole.get()].filter(|_| work.decisions.of(call.pole).year().is_some())
}

/// Trips in the order of stretches, each with its poles in walking order, and where the plan has them.
fn group(work: &Work<'_>, choices: &Choices) -> (Vec<Vec<u32>>, Vec<u16>) {
    let mut keyed: Vec<(usize, Together, u32)> = Vec::new();
    for (place, call) in work.calls.iter().enumerate() {
        let place = place as u32;
        if !call.crew_days.is_finite() || fixed(work, choices, call).is_some() {
            continue;
        }
        let alone = work.programme.policy.round == Round::Pole || work.pays_for_its_own_trip(call);
        let value = &work.values[call.pole.get()];
        let together = match choices[call.pole.get()] {
            None if call.due_year.is_none() && value.best_year().is_none() => continue,
            _ if alone => Together::Alone(place),
            Some(choice) => Together::In(choice.year),
            None if call.due_year.is_some() => Together::Due,
            None => Together::Worth,
        };
        keyed.push((call.stretch, together, place));
    }
    keyed.sort_unstable();
    let mut members: Vec<Vec<u32>> = Vec::new();
    let mut places = Vec::new();
    for same in keyed.chunk_by(|one, other| (one.0, one.1) == (other.0, other.1)) {
        let calls: Vec<u32> = same.iter().map(|(_, _, call)| *call).collect();
        let pole = work.calls[calls[0] as usize].pole;
        places.push(choices[pole.get()].map_or(work.years(), |choice| choice.year));
        members.push(calls);
    }
    (members, places)
}

/// What a trip takes and gives in each year and in none; all of it goes in the year that the plan has it in.
fn row(work: &Work<'_>, members: &[u32], planned: usize) -> Vec<Offer> {
    let years = usize::from(work.years());
    let offer = |place: usize| {
        let mut sum = Offer {
            days: 0.0,
            money: 0.0,
            worth: 0.0,
            law: 0,
            rule: 0,
        };
        let year = place as u16;
        for call in members.iter().map(|call| &work.calls[*call as usize]) {
            let goes = place < years && (place == planned || goes(work, call, year));
            let until = if goes { year } else { work.years() };
            sum.law += call
                .law_year
                .map_or(0, |due| u32::from(until.saturating_sub(due)));
            sum.rule += call
                .due_year
                .map_or(0, |due| u32::from(until.saturating_sub(due)));
            if goes {
                sum.days += call.crew_days;
                sum.money += call.cost;
                sum.worth += work.worth(call, year);
            }
        }
        if place < years && sum.days <= 0.0 {
            sum.days = f64::INFINITY;
        }
        sum
    };
    (0..=years).map(offer).collect()
}

/// Whether a pole goes along when its trip is made in a year: not before the owner lets it, and not where a round would
/// go past it, unless it is due by then or its own visit is worth something.
fn goes(work: &Work<'_>, call: &Call, year: u16) -> bool {
    let due = call.due_year.is_some_and(|due| due <= year);
    call.not_before <= year
        && (due || work.values[call.pole.get()].at(year) > 0.0 || !work.is_exempt(call, year))
}

/// Why a pole is visited in the year to which its trip was moved.
fn why(work: &Work<'_>, call: &Call, year: u16, old: Option<Choice>) -> Why {
    match call.due_year {
        Some(due) if due <= year => Why::Rule,
        _ if work.values[call.pole.get()].at(year) > 0.0 => Why::Condition,
        Some(_) if old.is_none_or(|old| old.why != Why::WithItsLine) => Why::Rule,
        _ => Why::WithItsLine,
    }
}
