//! From beliefs to the value of a visit for every pole: brings together what [`waiting`](super::waiting) is a formula of.
//!
//! The due year comes from the binding rule, prices from the programme and the life of what would be put in, detection
//! from the models. Must not know packages or crews.

use super::due::{Duty, duty};
use super::prices::{Part, Prices};
use super::waiting::{Believed, Timing, VisitValues, outcomes, value_of_visits};
use crate::belief::{Beliefs, Scratch, State};
use crate::inventory::Inventory;
use crate::models::Models;
use crate::parallel;
use crate::pole::{Mode, PoleIndex};
use crate::programme::Programme;
use crate::wood::agents::Planned;
use crate::wood::progress::REFERENCE_DIAMETER;
use crate::wood::strength::limit_progress;
use crate::wood::{Detection, FailureHazard, Section, Upkeep};

/// Strength ratios over which the hazard at the limit is averaged: weak poles carry most of it, and 400 midpoints reach
/// the weakest of 800.
const STRENGTH_POINTS: u32 = 400;

/// The value of a visit to every pole, by [`PoleIndex`].
pub fn visit_values(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    programme: &Programme,
    duties: &[Duty],
) -> Vec<VisitValues> {
    let scale = Scale::new(inventory, models, beliefs, programme);
    let poles: Vec<PoleIndex> = inventory.indices().collect();
    parallel::map_with(&poles, Scratch::default, |scratch, pole| {
        let duty = &duties[pole.get()];
        if !duty.stands {
            let timing = timing(programme, duty);
            return VisitValues::nothing(timing.due_year, timing.years);
        }
        let states = beliefs.states(inventory, *pole, scratch);
        let upkeep = &scratch.grid.upkeep;
        scale.weigh(*pole, duty, (&states, upkeep), &scale.prices(*pole, duty))
    })
}

/// The value of a visit to one pole, by what it comes from; the parts add up to the whole.
pub fn value_by_part(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    programme: &Programme,
    pole: PoleIndex,
) -> Vec<(Part, VisitValues)> {
    let scale = Scale::new(inventory, models, beliefs, programme);
    scale.by_part(pole, &mut Scratch::default())
}

/// The same for several poles, in their order.
pub fn values_by_part(
    inventory: &Inventory,
    models: &Models,
    beliefs: &Beliefs,
    programme: &Programme,
    poles: &[PoleIndex],
) -> Vec<Vec<(Part, VisitValues)>> {
    let scale = Scale::new(inventory, models, beliefs, programme);
    parallel::map_with(poles, Scratch::default, |scratch, pole| {
        scale.by_part(*pole, scratch)
    })
}

/// What values are weighed with, the same for all poles.
struct Scale<'a> {
    inventory: &'a Inventory,
    models: &'a Models,
    beliefs: &'a Beliefs,
    programme: &'a Programme,
    hazard: f64,
    treatment: Planned,
}

impl<'a> Scale<'a> {
    fn new(
        inventory: &'a Inventory,
        models: &'a Models,
        beliefs: &'a Beliefs,
        programme: &'a Programme,
    ) -> Self {
        Self {
            inventory,
            models,
            beliefs,
            programme,
            hazard: hazard_at_limit(programme),
            treatment: models.remedies.agents.planned(&programme.policy),
        }
    }

    fn prices(&self, pole: PoleIndex, duty: &Duty) -> Prices {
        let costs = &self.programme.costs;
        Prices::new(
            costs,
            costs.inspection[duty.method.index()],
            life_of_replacement(self.inventory, self.models, self.programme, pole),
            self.hazard,
            self.programme.policy.reinforcement_life_years,
        )
    }

    /// The value of a visit to a pole at the prices of each part alone.
    fn by_part(&self, pole: PoleIndex, scratch: &mut Scratch) -> Vec<(Part, VisitValues)> {
        let duty = duty(self.inventory, self.programme, pole);
        let states = self.beliefs.states(self.inventory, pole, scratch);
        let believed = (states.as_slice(), &scratch.grid.upkeep);
        let prices = self.prices(pole, &duty);
        let parts = Part::ALL.into_iter();
        parts
            .map(|part| {
                let value = self.weigh(pole, &duty, believed, &prices.only(part));
                (part, value)
            })
            .collect()
    }

    /// The value of a visit to a pole, by the states that it may be in and what was done to keep it.
    fn weigh(
        &self,
        pole: PoleIndex,
        duty: &Duty,
        (states, upkeep): (&[State], &Upkeep),
        prices: &Prices,
    ) -> VisitValues {
        let detection = self.beliefs.sees.of(duty.method);
        let unbraced = self.inventory.pole(pole).reinforced.is_none();
        value_of_visits(
            &Believed {
                states,
                upkeep,
                treatment: &self.treatment,
                factor: self.models.remedies.agents.factor.usual,
                blind: Detection::hides_from(duty.method),
            },
            |state, upkeep, years| self.beliefs.standing(pole, state, upkeep, years),
            |progress, limit| {
                let (found, rejected) = detection.found_and_rejected(progress, limit);
                outcomes(&self.programme.policy, found, rejected, unbraced)
            },
            prices,
            timing(self.programme, duty),
        )
    }
}

/// When a pole is visited in any case: in the year of its due date; if it is due or overdue, one interval from now, as
/// if this visit were skipped; where no rule binds it, at the end of the schedule.
pub fn timing(programme: &Programme, duty: &Duty) -> Timing {
    let years = programme.schedule_years;
    let (due_year, interval) = match duty.due {
        None => (f64::from(years), f64::from(years)),
        Some(due) => {
            let interval = programme.inspections[due.rule].repeat_years;
            let year = programme.year_of(due.date);
            let due_year = if year > 0 { f64::from(year) } else { interval };
            (due_year, interval)
        }
    };
    Timing {
        due_year: due_year.round().max(1.0) as u16,
        interval: interval.max(1.0),
        years,
    }
}

/// Median life of the pole that would be put in: as the policy says, like the old one where it says nothing.
pub fn life_of_replacement(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
    index: PoleIndex,
) -> f64 {
    let pole = inventory.pole(index);
    let policy = &programme.policy;
    let cell = models.cell_for(
        policy.new_species.or(pole.species),
        policy.new_preservative.or(pole.preservative),
        pole.through_bored,
        pole.zone,
    );
    models.cell(cell).life.main.quantile(0.5)
}

/// The price of a pole-year below the limit that the programme's prices come to, mean over the poles, cost units.
pub fn usual_below_limit_year(
    inventory: &Inventory,
    models: &Models,
    programme: &Programme,
) -> f64 {
    let hazard = hazard_at_limit(programme);
    let brace = programme.policy.reinforcement_life_years;
    let prices = inventory.indices().map(|pole| {
        let life = life_of_replacement(inventory, models, programme, pole);
        Prices::new(&programme.costs, 0.0, life, hazard, brace).below_limit_year
    });
    prices.sum::<f64>() / inventory.len().max(1) as f64
}

/// Yearly hazard of a pole of the reference diameter at its limit, over all strengths: that of the mode in which it is
/// lower, so that acting at the limit pays in both. 0 when no limit is in force.
fn hazard_at_limit(programme: &Programme) -> f64 {
    let hazards = &programme.hazards;
    let wind = FailureHazard::new(hazards.use_of_capacity, hazards.strength_cov);
    Mode::ALL
        .into_iter()
        .filter_map(|mode| {
            let limit = limit_progress(
                &programme.rejects,
                programme.plan_from,
                mode,
                REFERENCE_DIAMETER,
            );
            limit.is_finite().then(|| {
                let section = Section::at_progress(REFERENCE_DIAMETER, mode, limit);
                let remaining = section.remaining_strength();
                let points = f64::from(STRENGTH_POINTS);
                (0..STRENGTH_POINTS)
                    .map(|point| wind.strength_ratio((f64::from(point) + 0.5) / points))
                    .map(|ratio| wind.yearly(ratio, remaining))
                    .sum::<f64>()
                    / points
            })
        })
        .min_by(f64::total_cmp)
        .unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme};
    use crate::pole::{Method, Verdict};
    use jiff::civil::date;

    #[test]
    fn the_parts_of_a_value_add_up_to_it() {
        let programme = programme();
        let finding = inspected(
            date(2015, 5, 1),
            Method::SoundAndBore,
            Verdict::DecayServiceable,
        );
        let inventory = inventory_of(vec![("P-1", "L", pole_set(1968), vec![finding])]);
        let models = crate::models::text::built_in().expect("built-in models");
        let beliefs = crate::belief::believe(&inventory, &models, &programme);
        let pole = PoleIndex(0);
        let duties = [duty(&inventory, &programme, pole)];
        let whole = &visit_values(&inventory, &models, &beliefs, &programme, &duties)[0];
        let parts = value_by_part(&inventory, &models, &beliefs, &programme, pole);
        assert!(whole.most() > 0.0, "{whole:?}");
        for year in 0..programme.schedule_years {
            let sum: f64 = parts.iter().map(|(_, part)| part.at(year)).sum();
            // Values are kept as f32 beside chains of 10,000.
            assert!((sum - whole.at(year)).abs() < 0.01, "{year}: {sum}");
        }
        let at_once = |wanted| {
            let found = parts.iter().find(|(part, _)| *part == wanted);
            found.map_or(0.0, |(_, value)| value.at(0))
        };
        assert!(at_once(Part::Failures) > 0.0 && at_once(Part::BelowLimit) > 0.0);
        assert!(at_once(Part::Visit) < 0.0);
    }

    #[test]
    fn the_due_year_is_the_rules_or_one_interval_from_now() {
        let programme = programme();
        let due_year = |year, findings| {
            let inventory = inventory_of(vec![("P-1", "L", pole_set(year), findings)]);
            timing(&programme, &duty(&inventory, &programme, PoleIndex(0))).due_year
        };
        // Set in July 2020, first inspection at 12 years: July 2032, seven years after the plan date.
        assert_eq!(due_year(2020, Vec::new()), 7);
        // Overdue: as if this visit were skipped, so ten years from the plan date.
        assert_eq!(due_year(1980, Vec::new()), 10);
        let seen = inspected(date(2018, 5, 1), Method::PartialExcavation, Verdict::Sound);
        assert_eq!(due_year(1980, vec![seen]), 3);
    }
}
