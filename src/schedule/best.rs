//! The years of a plan: the best found, what it gives up so that the worst poles are reached earlier, and how near it then
//! is to the best that there can be.
//!
//! Three wishes, one after the other. Rules first: no plan is later by law, nor by any rule in pole-years, than years filled
//! in order. Within that, visits are to be worth as much as can be ([`improve`](super::improve)). Last, within a small
//! share of that worth which the policy lets go, poles that are below the limit today are to wait as little as can be.
//!
//! Why the last one: total J is nearly flat about its best, and what decides there who goes first is not the worst wood. A
//! year's waiting costs a pole that is almost surely below the limit a tenth of its value, but one that may be (a chance of
//! 0.1 to 0.4) gains by it, because a later visit finds more and gives up less of its interval; the many that go along
//! gain too, and a whole trip moves with its worst pole. Where crews are short, holding pole-years late has a price as well,
//! paid for each pole of a trip, good or bad: on the demo 13 units a pole-year, where a year's waiting costs the trips of the
//! first year 12 to 27 units a pole. So plans of nearly equal J reach 71 or 96 of the demo's 194 poles below the limit in
//! their first year, and an owner wants the second. A pure function of the work.

use super::crew_prices::{Bound, least_bound};
use super::improve::{Promise, Reached, exchanged};
use super::offers::total;
use super::proof::{OtherCrews, Proof};
use super::rounds::{catch_up, fill_years};
use super::trips::Trips;
use super::work::{Choices, Work};

/// Crew-days of a crew-week.
const CREW_WEEK: f64 = 5.0;

/// Shares of the crew-days, and of money where it has a limit, with which the work is planned again, to say what fewer and
/// more would do.
const OTHER_CREWS: [f64; 2] = [0.8, 1.2];

/// Halvings in the search for the price of a year's wait: they leave a thirtieth of the dearest.
const HALVINGS: usize = 5;

/// Share of what visits can save below which the price of all crew-days is what the search for it leaves of nothing.
const TRACE: f64 = 1e-3;

/// The best years found for the work, and what is proven of them.
///
/// The plan with fewer crew-days is one that these crews could make too, and so on with more: exchanges begin there as well,
/// before anything is given up.
pub(super) fn best_years(mut work: Work<'_>) -> (Choices, Proof) {
    let usual = work.crew_days;
    let [fewer, more] = OTHER_CREWS;
    (work.crew_days, work.money_share) = (fewer * usual, fewer);
    let (with_fewer, of_fewer, _) = best_found(&work, None);
    (work.crew_days, work.money_share) = (usual, 1.0);
    let (best, proof, promise) = best_found(&work, Some(with_fewer));
    let plan = if is_short(&proof, &work) {
        worst_first(&mut work, &best, promise)
    } else {
        best.clone()
    };
    let reached = Reached::by(&work, &plan);
    (work.crew_days, work.money_share) = (more * usual, more);
    let (_, of_more, _) = best_found(&work, Some(best));
    let other_crews = vec![other(fewer, &of_fewer), other(more, &of_more)];
    let proof = Proof {
        reached: reached.worth,
        waiting: reached.waiting,
        late_by_law: reached.law,
        late_by_rule: reached.rule,
        not_planned: reached.not_planned,
        other_crews,
        ..proof
    };
    (plan, proof)
}

/// The first pass alone, with nothing proven: for whoever wants turns by something else than what visits are worth.
pub(super) fn years_in_order(work: &Work<'_>) -> (Choices, Proof) {
    (fill_years(work), Proof::default())
}

fn other(share: f64, proof: &Proof) -> OtherCrews {
    OtherCrews {
        share,
        not_planned: proof.not_planned,
        late_by_law: proof.late_by_law,
        late_by_rule: proof.late_by_rule,
        reached: proof.reached,
        bound: proof.bound,
    }
}

/// The plan of the first pass made better, or the other plan that these crews could make as well, made better, where that
/// goes further; and how late it may be.
fn best_found(work: &Work<'_>, other: Option<Choices>) -> (Choices, Proof, Promise) {
    let first = fill_years(work);
    let at_first = Reached::by(work, &first);
    let mut promise = Promise {
        rule: at_first.rule,
    };
    if let Some(other) = &other {
        promise.rule = promise.rule.min(Reached::by(work, other).rule);
    }
    let mut plan = exchanged(work, first, promise);
    if let Some(other) = other.map(|other| catch_up(work, other)) {
        let with_other = exchanged(work, other, promise);
        let reached = Reached::by(work, &with_other);
        if reached.is_better_than(&Reached::by(work, &plan), promise) {
            plan = with_other;
        }
    }
    let proof = prove(work, &plan, promise, at_first.worth);
    (plan, proof, promise)
}

/// Whether crews or money are short: what they cost at the prices is more than a trace of what visits can save. Where they
/// are not, nobody waits for anybody, and every trip goes in its own best year.
fn is_short(proof: &Proof, work: &Work<'_>) -> bool {
    let week: f64 = proof.crew_week.iter().sum();
    let crews = week / CREW_WEEK * work.crew_days;
    let years = proof
        .money
        .iter()
        .zip(0..)
        .filter(|(price, _)| **price > 0.0);
    let money: f64 = years.map(|(price, year)| price * work.money(year)).sum();
    crews + money > TRACE * proof.bound
}

/// A plan in which poles below the limit wait less, for no more of its worth than the policy lets go: the longer their wait
/// is taken to cost, the earlier they are reached, and the dearest cost that keeps within it is sought by halving.
fn worst_first(work: &mut Work<'_>, best: &Choices, promise: Promise) -> Choices {
    let at_best = Reached::by(work, best);
    let floor = at_best.worth * (1.0 - work.programme.policy.worst_first_within.get());
    let below = work.calls.iter().map(|call| work.below_now(call));
    let below: f64 = below.sum();
    let mut plan = best.clone();
    if at_best.worth <= floor || below <= 0.0 {
        return plan;
    }
    let mut least = at_best.waiting;
    // A year less for all of them at the price of all that visits save is more than any share of it.
    let [mut cheap, mut dear] = [0.0, at_best.worth / below];
    for _ in 0..HALVINGS {
        work.sooner = f64::midpoint(cheap, dear);
        let other = exchanged(work, best.clone(), promise);
        let price = std::mem::take(&mut work.sooner);
        let reached = Reached::by(work, &other);
        if reached.worth < floor || reached.is_later_than(&at_best, promise) {
            dear = price;
            continue;
        }
        cheap = price;
        if reached.waiting < least {
            (plan, least) = (other, reached.waiting);
        }
    }
    plan
}

/// What is proven of the best plan found: the bound for its trips as they are in the end.
fn prove(work: &Work<'_>, plan: &Choices, promise: Promise, at_first: f64) -> Proof {
    let reached = Reached::by(work, plan);
    let trips = Trips::of(work, plan, promise.to_spare(&reached));
    let Bound { worth, prices } = least_bound(&trips.offers, &trips.room);
    let own = total(&trips.offers, &trips.places).worth;
    Proof {
        at_first,
        reached: reached.worth,
        best: reached.worth,
        // Visits that are no trips are worth the same in every plan.
        bound: reached.worth + (worth - own).max(0.0),
        trips: trips.offers.len(),
        waiting: reached.waiting,
        waiting_at_best: reached.waiting,
        late_by_law: reached.law,
        late_by_rule: reached.rule,
        not_planned: reached.not_planned,
        crew_week: prices.day.iter().map(|day| CREW_WEEK * day).collect(),
        money: prices.money,
        other_crews: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, no_values, pole_set, programme, visits_a_year};
    use crate::inventory::Inventory;
    use crate::pole::{Method, PoleIndex, Verdict};
    use crate::programme::Programme;
    use crate::schedule::{Schedule, Standing, VisitValues, schedule_in_turn, schedule_with};
    use crate::units::Fraction;
    use jiff::civil::date;

    /// Two poles on lines of their own, both overdue, one visit a year. The first is below the limit and loses 1 by a year's
    /// waiting; the second is not and loses 10: best is the second first, 90 + 99 = 189, where 100 + 80 = 180 is 4.8 % less.
    fn two_poles() -> (Inventory, Programme, Vec<VisitValues>) {
        let overdue = || {
            let seen = inspected(date(2014, 5, 1), Method::PartialExcavation, Verdict::Sound);
            vec![seen]
        };
        let inventory = inventory_of(vec![
            ("P-1", "K", pole_set(1980), overdue()),
            ("P-2", "L", pole_set(1980), overdue()),
        ]);
        let mut programme = programme();
        programme.crews = visits_a_year(&programme, 1);
        let mut values = no_values(&inventory, &programme);
        values[0].by_year[..2].copy_from_slice(&[100.0, 99.0]);
        values[0].below_now = 1.0;
        values[1].by_year[..2].copy_from_slice(&[90.0, 80.0]);
        (inventory, programme, values)
    }

    fn planned(within: f64) -> Schedule {
        let (inventory, mut programme, values) = two_poles();
        programme.policy.worst_first_within = Fraction::clamped(within);
        schedule_with(&inventory, &programme, &values)
    }

    fn years(schedule: &Schedule) -> [Option<u16>; 2] {
        [0, 1].map(|pole| match schedule.row(PoleIndex(pole)).standing {
            Standing::Planned { year, .. } => Some(year),
            _ => None,
        })
    }

    #[test]
    fn the_worst_pole_goes_first_where_the_policy_lets_go_what_it_costs() {
        let kept = planned(0.02);
        assert_eq!(years(&kept), [Some(1), Some(0)]);
        assert!(
            (kept.proof.reached - 189.0).abs() < 1e-9,
            "{:?}",
            kept.proof
        );
        assert!(kept.proof.given_up() <= 0.0 && kept.proof.waiting >= 1.0);
        let gave_way = planned(0.1);
        assert_eq!(years(&gave_way), [Some(0), Some(1)]);
        let proof = &gave_way.proof;
        assert!((proof.reached - 180.0).abs() < 1e-9 && (proof.best - 189.0).abs() < 1e-9);
        assert!((proof.given_up() - 9.0 / 189.0).abs() < 1e-12);
        assert!(
            proof.waiting <= 0.0 && proof.waiting_at_best >= 1.0,
            "{proof:?}"
        );
        assert!((proof.gap() - kept.proof.gap()).abs() < 1e-12, "{proof:?}");
    }

    #[test]
    fn years_in_order_keep_their_turns_and_prove_nothing() {
        // What is worth most goes first, whatever its waiting costs.
        let (inventory, programme, values) = two_poles();
        let in_turn = schedule_in_turn(&inventory, &programme, &values);
        assert_eq!(years(&in_turn), [Some(0), Some(1)]);
        assert_eq!(in_turn.proof, Proof::default());
    }
}
