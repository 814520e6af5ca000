//! Policies that stand in where the programme names none: its cycle halved and stretched, what it does left undone, age in
//! place of inspection, nothing but failures, other turns under the same crews, and less and more money.

use super::course::{Course, Measure, Span};
use crate::belief::Beliefs;
use crate::programme::{Alternative, Programme, Turn};

/// The name of the programme's own policy.
pub const OWN: &str = "programme as it is";

/// Oldest age, years, at which poles are replaced by age alone: beyond it no curve says anything.
const OLDEST: f64 = 200.0;

/// The ready-made alternatives; `own` is the course of the programme's own policy.
pub fn ready_made(programme: &Programme, beliefs: &Beliefs, own: &Course) -> Vec<Alternative> {
    let of = Alternative::unchanged;
    let mut all = vec![
        // A cycle of half the length takes twice the crews: a shorter one on paper alone would only make a backlog.
        Alternative {
            cycle_factor: 0.5,
            crew_factor: 2.0,
            ..of("half the cycle, twice the crews")
        },
        Alternative {
            cycle_factor: 1.5,
            crew_factor: 2.0 / 3.0,
            ..of("1.5 times the cycle, 2/3 of the crews")
        },
    ];
    if programme.policy.remedial_treatment {
        all.push(Alternative {
            remedial_treatment: Some(false),
            ..of("no remedial treatment")
        });
    }
    if programme.policy.reinforce {
        all.push(Alternative {
            reinforce: Some(false),
            ..of("no reinforcement")
        });
    }
    if let Some(age) = age_of_as_many(beliefs, own) {
        all.push(Alternative {
            inspect: false,
            replace_at_age_years: Some(age),
            ..of(&format!("replaced at {age} years, no inspection"))
        });
    }
    all.push(Alternative {
        inspect: false,
        ..of("run to failure")
    });
    let turns = [
        ("fixed cycle, same crews", Turn::EarliestDue),
        ("oldest first, same crews", Turn::Oldest),
        ("likeliest reject first, same crews", Turn::LikeliestBelow),
    ];
    all.extend(turns.map(|(name, visit_first)| Alternative {
        visit_first,
        ..of(name)
    }));
    let money = [("80 % of the money", 0.8), ("120 % of the money", 1.2)];
    all.extend(money.map(|(name, factor)| Alternative {
        crew_factor: factor,
        budget_factor: factor,
        ..of(name)
    }));
    all
}

/// The age that as many of today's poles reach within the horizon as the programme's own policy buys new poles in it: the
/// fairest age to compare with.
fn age_of_as_many(beliefs: &Beliefs, own: &Course) -> Option<u16> {
    let new_poles = own.band(Measure::NewPoles, Span::Horizon)?.mean;
    let mut ages: Vec<f64> = beliefs
        .summaries
        .iter()
        .map(|summary| f64::from(summary.age))
        .collect();
    ages.sort_by(|one, other| other.total_cmp(one));
    let last = ages.get((new_poles.round() as usize).checked_sub(1)?);
    let reached = last.or(ages.last())? + f64::from(own.years());
    Some(reached.round().clamp(1.0, OLDEST) as u16)
}
