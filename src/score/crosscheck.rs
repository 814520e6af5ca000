//! The plan's numbers held against each other: the pace of replacement against the lives that the curves give, failures
//! year by year, and how much rests on published curves alone.
//!
//! Each check is a plain value that says what it compared; words are made in [`crate::words`].

use super::exact::{Interval, count_interval};
use super::expected::Expectation;
use super::metrics::LEVEL;
use super::whole_rounds::{Rounds, rounds};
use crate::belief::grid::LifeGrid;
use crate::belief::{Beliefs, believe_until};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::plan::Plan;
use crate::pole::Status;
use crate::programme::Programme;
use crate::units::Date;
use std::collections::BTreeMap;

/// Lives further apart than this factor do not agree (proposed: a fleet's ages alone explain about as much).
const AGREES_WITHIN: f64 = 1.5;

/// Cells of service life for the beliefs without findings: of them only a sum over the fleet is wanted, which half as
/// many cells again change by less than a part in a thousand (tested).
const COARSE_CELLS: usize = 80;

/// Years over which failures are averaged.
const YEARS_OF_MEAN: i16 = 3;

/// The pace of replacement and what it implies.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Pace {
    /// Mean share of the poles that the plan replaces in a year of its forecast, whatever the reason.
    pub share_a_year: f64,
    /// Its standard error over the trials.
    pub standard_error: f64,
    /// Years for which a pole would have to stand on average at that pace for ever: one over the share.
    pub implied_life: f64,
    /// Years for which a pole stands on average by the owner's curves and the demand that has nothing to do with decay.
    pub life_of_curves: f64,
    /// Mean age of the poles at the plan date, years.
    pub mean_age: f64,
    /// Whether the two lives are further apart than a factor of 1.5.
    pub mismatch: bool,
}

/// The number below the limit, with and without the owner's findings.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Judgement {
    /// Expected below the limit at the plan date, with the findings.
    pub with_records: f64,
    /// The same by the published curves alone: same poles, ages and rounds, nothing of what any round found.
    pub published_alone: f64,
    /// A year later, with the findings, when nothing is done.
    pub with_records_in_a_year: f64,
    /// A year later by the published curves alone.
    pub published_alone_in_a_year: f64,
}

/// Failures of one year.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct FailureYear {
    /// The year.
    pub year: i16,
    /// Unassisted failures on record.
    pub count: u64,
    /// Per 10,000 poles.
    pub per_10_000: f64,
    /// Exact 95 % interval of that.
    pub interval: Interval,
    /// Mean a year of this and the two years before, per 10,000 poles; `None` where the record does not reach back.
    pub mean_of_three: Option<f64>,
}

/// All checks of a plan.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Crosscheck {
    /// Pace against lives; `None` when the plan replaces nothing.
    pub pace: Option<Pace>,
    /// What rests on published curves.
    pub judgement: Judgement,
    /// How much of their lines inspections looked at.
    pub rounds: Rounds,
}

/// The checks of a plan.
pub fn crosscheck(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    plan: &Plan,
) -> Crosscheck {
    Crosscheck {
        pace: pace(inventory, programme, plan),
        judgement: judgement(inventory, models, programme, &plan.beliefs),
        rounds: rounds(inventory, programme),
    }
}

fn pace(inventory: &Inventory, programme: &Programme, plan: &Plan) -> Option<Pace> {
    let expectation = Expectation::new(inventory, programme, &plan.beliefs);
    let standing: Vec<_> = inventory
        .indices()
        .filter(|pole| inventory.pole(*pole).status != Status::Removed)
        .collect();
    let poles = standing.len() as f64;
    let whole = plan
        .forecast
        .demand
        .iter()
        .find(|row| row.year.is_none() && row.group.is_none() && row.kind.is_none())?;
    let pole_years = poles * f64::from(programme.horizon_years);
    let other = programme.hazards.other_demand;
    let mean = |value: &dyn Fn(crate::pole::PoleIndex) -> f64| {
        standing.iter().map(|pole| value(*pole)).sum::<f64>() / poles
    };
    Pace::of(
        whole.count.mean / pole_years,
        whole.count.standard_error / pole_years,
        mean(&|pole| expectation.mean_life(pole, other)),
        mean(&|pole| f64::from(plan.beliefs.summary(pole).age)),
    )
}

impl Pace {
    /// The pace of a yearly share, against a mean life.
    fn of(
        share_a_year: f64,
        standard_error: f64,
        life_of_curves: f64,
        mean_age: f64,
    ) -> Option<Self> {
        let implied_life = 1.0 / share_a_year;
        let apart = implied_life / life_of_curves;
        implied_life.is_finite().then_some(Self {
            share_a_year,
            standard_error,
            implied_life,
            life_of_curves,
            mean_age,
            mismatch: !(1.0 / AGREES_WITHIN..=AGREES_WITHIN).contains(&apart),
        })
    }
}

/// The number below the limit by the beliefs, and without the findings: rounds happened when and how they did, and all
/// that is known of them is that their poles are still listed.
fn judgement(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    beliefs: &Beliefs,
) -> Judgement {
    let bare = inventory.without_findings();
    let mut small = programme.clone();
    small.horizon_years = 1;
    // The shifts are at their priors, so no draw is needed.
    small.trials = 1;
    let published = believe_until(
        Date::MIN,
        LifeGrid::new(COARSE_CELLS),
        &bare,
        models,
        &small,
    );
    let sum = |beliefs: &Beliefs, year: usize| -> f64 {
        inventory
            .indices()
            .filter(|pole| inventory.pole(*pole).status != Status::Removed)
            .filter_map(|pole| beliefs.summary(pole).below_limit.get(year))
            .map(|chance| f64::from(*chance))
            .sum()
    };
    Judgement {
        with_records: sum(beliefs, 0),
        published_alone: sum(&published, 0),
        with_records_in_a_year: sum(beliefs, 1),
        published_alone_in_a_year: sum(&published, 1),
    }
}

/// Unassisted failures by year among so many poles, from the first recorded year to the last: years without a failure
/// count as such.
pub fn failures(counts: &BTreeMap<i16, u64>, poles: usize) -> Vec<FailureYear> {
    let (Some(first), Some(last)) = (counts.keys().next(), counts.keys().last()) else {
        return Vec::new();
    };
    let of = |year: i16| counts.get(&year).copied().unwrap_or(0);
    let rate = |count: f64| 10_000.0 * count / poles as f64;
    (*first..=*last)
        .map(|year| {
            let exact = count_interval(of(year), LEVEL);
            let window = year - YEARS_OF_MEAN + 1..=year;
            let sum: u64 = window.map(of).sum();
            FailureYear {
                year,
                count: of(year),
                per_10_000: rate(of(year) as f64),
                interval: Interval {
                    low: rate(exact.low),
                    high: rate(exact.high),
                },
                mean_of_three: (year - first >= YEARS_OF_MEAN - 1)
                    .then(|| rate(sum as f64) / f64::from(YEARS_OF_MEAN)),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::{Method, Verdict};
    use jiff::civil::date;

    #[test]
    fn a_pace_of_two_thirds_of_a_per_cent_does_not_agree_with_sixty_years() {
        // 0.69 % a year: 1 / 0.0069 = 145 years.
        let pace = Pace::of(0.0069, 0.0001, 60.0, 25.0).expect("a pace");
        assert!((pace.implied_life - 144.9).abs() < 0.1 && pace.mismatch);
        assert!(
            !Pace::of(1.0 / 80.0, 0.0, 60.0, 25.0)
                .expect("a pace")
                .mismatch
        );
        assert!(
            Pace::of(1.0 / 30.0, 0.0, 60.0, 25.0)
                .expect("a pace")
                .mismatch
        );
        assert_eq!(Pace::of(0.0, 0.0, 60.0, 25.0), None);
    }

    #[test]
    fn failures_have_exact_intervals_and_a_mean_over_three_years() {
        let years = failures(&BTreeMap::from([(2020, 0), (2021, 10), (2023, 2)]), 20_000);
        assert_eq!(years.len(), 4);
        // 10 of 20,000: 5 per 10,000; Garwood 4.795 to 18.39, halved.
        assert!((years[1].per_10_000 - 5.0).abs() < 1e-12);
        assert!(
            (years[1].interval.low - 2.398).abs() < 1e-3
                && (years[1].interval.high - 9.195).abs() < 1e-3
        );
        assert_eq!(years[1].mean_of_three, None);
        // 10, 0 and 2 in three years: 4 a year, 2 per 10,000.
        assert!(
            years[3]
                .mean_of_three
                .is_some_and(|mean| (mean - 2.0).abs() < 1e-12)
        );
        assert!(failures(&BTreeMap::new(), 100).is_empty());
    }

    #[test]
    fn without_findings_both_numbers_agree_and_findings_move_only_one() {
        let models = crate::models::text::built_in().expect("valid models");
        let look = |verdict| vec![inspected(date(2020, 5, 1), Method::FullExcavation, verdict)];
        let fleet = |looks: Vec<crate::pole::Inspection>| {
            let ids = ["A", "B", "C", "D"];
            inventory_of(
                ids.map(|id| (id, "K", pole_set(1970), looks.clone()))
                    .to_vec(),
            )
        };
        let judged = |inventory: &Inventory| {
            let programme = programme();
            let beliefs = crate::belief::believe(inventory, &models, &programme);
            judgement(inventory, &models, &programme, &beliefs)
        };
        let bare = judged(&fleet(Vec::new()));
        // 80 cells of life against 320.
        assert!(
            (bare.published_alone / bare.with_records - 1.0).abs() < 0.002,
            "{bare:?}"
        );
        let sound = judged(&fleet(look(Verdict::Sound)));
        assert!(
            sound.with_records < 0.7 * sound.published_alone,
            "{sound:?}"
        );
        // That a round took place and the pole is still there tells something too.
        assert!(
            sound.published_alone < bare.published_alone,
            "{sound:?} {bare:?}"
        );
    }
}
