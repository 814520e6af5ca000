//! Learning on invented networks whose truth is known: the shift is found, probabilities are what they say, and without
//! the removals in the denominator neither is true.

mod common;
#[path = "common/learned.rs"]
mod learned;

use jiff::civil::date;
use learned::{Outcome, programme};
use polewright::belief::believe;
use polewright::invent::{Recipe, invent};
use polewright::inventory::Inventory;
use polewright::pole::RemovalCause;
use polewright::programme::ListedRemovals;
use polewright::units::Fraction;
use polewright::{Models, Programme};

/// Invented networks, and the poles of each: enough findings that a wrong denominator cannot hide.
const SEEDS: [u64; 4] = [21, 22, 23, 24];
const POLES: usize = 2500;
/// How much shorter than published the invented owner's poles last, on ln life.
const TRUE_SHIFT: f64 = -0.28;

/// Standard errors that a bin may be off: of seven bins at fixed seeds, right probabilities fail once in fifty.
const STANDARD_ERRORS: f64 = 3.0;
/// Share of the cells whose 90 % interval must hold the truth: 90 % less three standard errors of some thirty cells.
const LEAST_COVERAGE: f64 = 0.74;
/// Joint draws.
const DRAWS: u32 = 512;

fn recipe(seed: u64) -> Recipe {
    Recipe {
        poles: POLES,
        seed,
        true_shift: TRUE_SHIFT,
        unknown_kind: 0.0,
        ..Recipe::default()
    }
}

/// Networks enough for comparisons in which a wrong account is wrong by far.
const FEW_SEEDS: &[u64] = &[21, 22];
/// [`STANDARD_ERRORS`] of two times seven bins: right probabilities fail once in fifty.
const STANDARD_ERRORS_OF_TWO: f64 = 3.2;

/// The year since which invented owners list the poles that went.
const LISTED_SINCE: i16 = 2006;

/// How much the number of poles below the limit may differ between two ways to account for who is gone, where both are
/// right: they see different records of the same wood, and the number itself is known to about 8 % (its interval over the
/// joint draws of four networks).
const SAME_NUMBER: f64 = 0.08;

/// Beliefs about the invented networks of every seed.
fn learn(models: &Models, change: impl Fn(&mut Programme)) -> Outcome {
    learn_of(models, &SEEDS, |_| {}, change, |_| {})
}

/// The same, of networks by a changed recipe and with what became of their lists.
fn learn_of(
    models: &Models,
    seeds: &[u64],
    recipe_change: impl Fn(&mut Recipe),
    change: impl Fn(&mut Programme),
    list_change: impl Fn(&mut Inventory),
) -> Outcome {
    let mut outcome = Outcome::new();
    for seed in seeds {
        let mut recipe = recipe(*seed);
        recipe_change(&mut recipe);
        let mut made = invent(&recipe, models);
        list_change(&mut made.inventory);
        let mut programme = programme(&recipe, DRAWS);
        change(&mut programme);
        let beliefs = believe(&made.inventory, models, &programme);
        outcome.add(&made, &beliefs);
    }
    outcome
}

fn models() -> Models {
    polewright::models::text::built_in().expect("valid models")
}

#[test]
fn the_owners_own_inspections_tell_the_truth() {
    let outcome = learn(&models(), |_| {});
    assert!(
        outcome.cells >= 20,
        "too few cells to tell: {}",
        outcome.cells
    );
    assert!(
        outcome.coverage() >= LEAST_COVERAGE,
        "{} of {} intervals",
        outcome.held,
        outcome.cells
    );
    for ((bin, upper), deviation) in outcome
        .bins
        .iter()
        .zip(&learned::BINS[1..])
        .zip(outcome.deviations())
    {
        assert!(bin.0 >= 100, "too few poles in the bin up to {upper}");
        assert!(
            deviation.abs() <= STANDARD_ERRORS,
            "bin up to {upper}: {bin:?}, {deviation:.2} standard errors"
        );
    }
}

#[test]
fn survivors_alone_look_too_healthy() {
    // As if condemned poles were never removed from the list: the rounds drop out of the denominator, and what the
    // test above demands is no longer true, by far.
    let outcome = learn(&models(), |programme| {
        programme.removals.mean_years_to_removal = 1e9;
    });
    let worst = outcome.deviations().into_iter().fold(0.0, f64::max);
    assert!(
        outcome.coverage() < 0.5 * LEAST_COVERAGE,
        "{} of {} intervals",
        outcome.held,
        outcome.cells
    );
    assert!(
        worst > 2.0 * STANDARD_ERRORS,
        "worst bin {worst} standard errors too healthy"
    );
}

fn listing_removed(recipe: &mut Recipe) {
    recipe.removed_listed_since = Some(LISTED_SINCE);
}

fn listed(programme: &mut Programme, causes: [bool; 3]) {
    programme.removals.listed = Some(ListedRemovals {
        since: date(LISTED_SINCE, 1, 1),
        causes,
    });
}

#[test]
fn removed_poles_records_tell_the_same_as_the_account_of_who_is_gone() {
    let models = models();
    let by_account = |change: &dyn Fn(&mut Programme), causes: &[RemovalCause]| {
        learn_of(&models, FEW_SEEDS, listing_removed, change, |inventory| {
            inventory
                .removed
                .retain(|gone| causes.contains(&gone.cause));
        })
    };
    let survivors = by_account(&|_| {}, &[]);
    let everybody = by_account(
        &|programme| listed(programme, [true; 3]),
        &RemovalCause::ALL,
    );
    let condemned = by_account(
        &|programme| listed(programme, [true, false, false]),
        &[RemovalCause::Condemned],
    );
    for (name, outcome) in [("all causes", &everybody), ("condemned alone", &condemned)] {
        let change = outcome.numbers().0 / survivors.numbers().0 - 1.0;
        assert!(change.abs() <= SAME_NUMBER, "{name}: {change:.3}");
        assert!(
            outcome.coverage() >= LEAST_COVERAGE,
            "{name}: {} of {}",
            outcome.held,
            outcome.cells
        );
        assert!(
            outcome.worst() <= STANDARD_ERRORS_OF_TWO,
            "{name}: {:?}",
            outcome.deviations()
        );
    }
}

#[test]
fn removed_poles_that_are_said_to_be_listed_and_are_not_mislead() {
    // The lists are said to hold all that went, and the condemned are missing: the records of the others make the list
    // count as kept.
    let outcome = learn_of(
        &models(),
        FEW_SEEDS,
        listing_removed,
        |programme| listed(programme, [true; 3]),
        |inventory| {
            let of = RemovalCause::Condemned;
            inventory.removed.retain(|gone| gone.cause != of);
        },
    );
    assert!(
        outcome.coverage() < 0.5 * LEAST_COVERAGE,
        "{} of {} intervals",
        outcome.held,
        outcome.cells
    );
}

#[test]
fn reinforced_rejects_that_stay_in_the_list_count_only_where_the_programme_says_so() {
    let models = models();
    let reinforced = |recipe: &mut Recipe| recipe.reinforced_share = 0.3;
    let learn_with = |seeds: &[u64], share: f64| {
        learn_of(
            &models,
            seeds,
            reinforced,
            |programme| programme.removals.reinforced_share = Fraction::clamped(share),
            |_| {},
        )
    };
    let (told, not_told) = (learn_with(FEW_SEEDS, 0.3), learn_with(FEW_SEEDS, 0.0));
    assert!(
        told.worst() <= STANDARD_ERRORS_OF_TWO,
        "{:?}",
        told.deviations()
    );
    // Reinforced poles stand in winds that would have felled them, and come back to wind and visits when their
    // reinforcements end. Left out of who is listed, that shows on all four networks: 22 of 33 intervals, 1.13 times as many
    // below the limit as there are.
    let all_told = learn_with(&SEEDS, 0.3);
    assert!(
        all_told.coverage() >= LEAST_COVERAGE,
        "{} of {}",
        all_told.held,
        all_told.cells
    );
    let ratio = all_told.ratio();
    assert!((ratio - 1.0).abs() <= SAME_NUMBER, "{ratio}");
    // Rejects that stay listed look like poles that decay fast: a quarter too many are expected below the limit.
    assert!(not_told.ratio() > 1.15, "{}", not_told.ratio());
    assert!(
        not_told.worst() > 1.5 * STANDARD_ERRORS_OF_TWO,
        "{:?}",
        not_told.deviations()
    );
}
