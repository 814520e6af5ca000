//! Policies side by side: each lives through the same trials, so that their differences carry little noise.
//!
//! A thin composition over the steps of a plan: beliefs are made once, because they are about the past; every policy then
//! makes its own schedule, held to by the same audit, and lives through trials on the same draws, which are addressed by
//! slot (model section 5). [`paired`] takes the differences trial by trial, [`ready`] has the policies that stand in when
//! the programme names none. Opens no file, writes no sentence.

mod course;
pub mod paired;
pub mod ready;

pub use course::{Course, Measure, Span, Unit};
pub use paired::{Compared, Comparison, Difference, Dominated, compared};

use crate::belief::{Beliefs, believe};
use crate::error::Error;
use crate::inventory::Inventory;
use crate::models::Models;
use crate::plan::{nothing_to_plan, refuse_breaches};
use crate::pole::PoleIndex;
use crate::programme::{Alternative, Programme, Turn};
use crate::schedule::due::{Duty, duty};
use crate::schedule::packages::days_for_one;
use crate::schedule::worth::{life_of_replacement, timing, visit_values};
use crate::schedule::{Schedule, VisitValues, schedule, schedule_in_turn, schedule_with};
use crate::trial::trial;

/// What all policies share: the records, and what is believed of them under the programme.
#[derive(Debug)]
pub struct Setting<'a> {
    inventory: &'a Inventory,
    models: &'a Models,
    programme: &'a Programme,
    beliefs: Beliefs,
    duties: Vec<Duty>,
    /// The value of a visit under the programme's own rules.
    values: Vec<VisitValues>,
    /// Median life of the poles that are put in, mean over the places, years.
    new_life: f64,
}

impl<'a> Setting<'a> {
    /// The estimated condition of every pole, once for all policies.
    ///
    /// # Errors
    /// When there is no pole to plan for.
    pub fn new(
        inventory: &'a Inventory,
        models: &'a Models,
        programme: &'a Programme,
    ) -> Result<Self, Error> {
        if let Some(refusal) = nothing_to_plan(inventory) {
            return Err(refusal);
        }
        let beliefs = believe(inventory, models, programme);
        let duties: Vec<Duty> = inventory
            .indices()
            .map(|pole| duty(inventory, programme, pole))
            .collect();
        let values = visit_values(inventory, models, &beliefs, programme, &duties);
        let lives = inventory
            .indices()
            .map(|pole| life_of_replacement(inventory, models, programme, pole));
        let new_life = lives.sum::<f64>() / inventory.len() as f64;
        Ok(Self {
            inventory,
            models,
            programme,
            beliefs,
            duties,
            values,
            new_life,
        })
    }

    /// What becomes of the fleet under a policy.
    ///
    /// # Errors
    /// When the audit finds a broken promise in its schedule.
    pub fn course(&self, alternative: &Alternative) -> Result<Course, Error> {
        let programme = alternative.of(self.programme);
        let mut schedule = self.schedule(alternative, &programme);
        refuse_breaches(self.inventory, &programme, &schedule)?;
        for visits in &mut schedule.visits {
            visits.replace_at_age = alternative.replace_at_age_years;
        }
        let tally = trial(
            self.inventory,
            self.models,
            &self.beliefs,
            &schedule,
            &programme,
        );
        let value = alternative
            .keeps_the_rules()
            .then(|| self.value_of(&schedule));
        let laws = alternative.laws_not_kept(self.programme);
        let mut course = Course::new(
            self.inventory,
            &programme,
            alternative,
            &schedule,
            &tally,
            self.new_life,
        );
        course.laws_not_kept = laws.into_iter().map(str::to_owned).collect();
        course.value = value;
        Ok(course)
    }

    fn schedule(&self, alternative: &Alternative, programme: &Programme) -> Schedule {
        match alternative.visit_first {
            // The owner's decisions may change a pole's method and so what its visit is worth.
            Turn::MostWorth
                if alternative.keeps_the_rules() && self.inventory.decisions.is_empty() =>
            {
                schedule_with(self.inventory, programme, &self.values)
            }
            Turn::MostWorth => schedule(self.inventory, self.models, &self.beliefs, programme),
            turn => schedule_in_turn(self.inventory, programme, &self.turns(turn, programme)),
        }
    }

    /// Values that put the poles in the order of a turn instead of that of what their visits are worth.
    fn turns(&self, turn: Turn, programme: &Programme) -> Vec<VisitValues> {
        let score = |pole: PoleIndex| {
            let summary = self.beliefs.summary(pole);
            match turn {
                Turn::MostWorth | Turn::EarliestDue => 0.0,
                Turn::Oldest => summary.age.max(0.0),
                Turn::LikeliestBelow => summary.below_limit.first().copied().unwrap_or(0.0),
            }
        };
        self.inventory
            .indices()
            .map(|pole| {
                let duty = duty(self.inventory, programme, pole);
                let timing = timing(programme, &duty);
                let mut values = VisitValues::nothing(timing.due_year, timing.years);
                // Weighed a crew-day, as values are: the order must not depend on how long a visit takes.
                let days = days_for_one(programme, duty.method);
                let own = score(pole) * OUTWEIGHS_ANY_TRIP * days as f32;
                if duty.stands && own.is_finite() {
                    let early = values.by_year.iter_mut().take(timing.due_year.into());
                    early.for_each(|value| *value = own);
                }
                values
            })
            .collect()
    }

    /// What the visits before their due years are worth in a schedule, all together: total J less this is what the
    /// schedule is expected to cost.
    fn value_of(&self, schedule: &Schedule) -> f64 {
        let visit = |pole: PoleIndex| match schedule.visits[pole.get()].first {
            Some(year) if self.duties[pole.get()].verdict.is_none() => {
                self.values[pole.get()].at(year)
            }
            _ => 0.0,
        };
        self.inventory.indices().map(visit).sum()
    }

    /// The beliefs that all policies start from.
    pub const fn beliefs(&self) -> &Beliefs {
        &self.beliefs
    }
}

/// Makes every visit in an order by turns go alone rather than with its line, as such plans do.
const OUTWEIGHS_ANY_TRIP: f32 = 1e9;

#[cfg(test)]
mod tests;
