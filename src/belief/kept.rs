//! What the records say was done to keep a pole, as stretches of calendar time.
//!
//! A treatment of which the agent is unknown, and a reinforcement of unknown day, are credited with nothing. Knows the
//! agents' years and the life that the owner grants a reinforcement; what they do to the wood is in
//! [`wood::clock`](crate::wood::clock).

use crate::pole::{Inspection, Pole};
use crate::units::{Date, years_between};
use crate::wood::{Agents, Stretch, Upkeep};

/// What is the same for every pole of a fleet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Keeping {
    /// How long remedial agents act.
    pub agents: Agents,
    /// Years for which a reinforcement holds the groundline.
    pub brace_years: f64,
    /// The plan date: inspections after it are not read.
    pub plan_from: Date,
}

impl Keeping {
    /// What was done to keep one pole, up to the plan date.
    pub fn recorded(&self, pole: &Pole, inspections: &[Inspection]) -> Upkeep {
        let mut upkeep = Upkeep::default();
        let after_plan = |date| -years_between(date, self.plan_from);
        for visit in inspections
            .iter()
            .filter(|visit| visit.date <= self.plan_from)
        {
            if let Some((mode, years)) = self.agents.credited(visit) {
                upkeep.treat(mode, years.stretch(after_plan(visit.date)));
            }
        }
        let since = pole.reinforced.and_then(|brace| brace.since);
        if let Some(since) = since.filter(|since| *since <= self.plan_from) {
            let from = after_plan(since);
            upkeep.brace(Stretch {
                from,
                until: from + self.brace_years,
            });
        }
        upkeep
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, pole_set};
    use crate::models::text::built_in;
    use crate::pole::{Agent, AgentPlace, Method, Mode, Reinforcement, Verdict};
    use jiff::civil::date;

    fn keeping() -> Keeping {
        Keeping {
            agents: built_in().expect("valid models").remedies.agents,
            brace_years: 20.0,
            plan_from: date(2025, 1, 1),
        }
    }

    fn treated(agent: Option<Agent>, place: Option<AgentPlace>) -> Upkeep {
        let visit = Inspection {
            treated: true,
            agent,
            agent_place: place,
            ..inspected(
                date(2020, 1, 1),
                Method::PartialExcavation,
                Verdict::DecayServiceable,
            )
        };
        keeping().recorded(&pole_set(1980), &[visit])
    }

    #[test]
    fn a_known_agent_is_credited_for_its_years_and_an_unknown_one_with_nothing() {
        // Dazomet: ten years from 2020-01-01, five before the plan date and five after it.
        let upkeep = treated(Some(Agent::Dazomet), None);
        assert!(upkeep.is_slowed_between(Mode::Internal, -4.9, -4.8));
        assert!(upkeep.is_slowed_between(Mode::Internal, 4.9, 4.98));
        assert!(!upkeep.is_slowed_between(Mode::Internal, 5.1, 9.0));
        assert!(!upkeep.is_slowed(Mode::External));
        assert_eq!(treated(None, None), Upkeep::default());
        let outside = Some(AgentPlace::GroundlineExternal);
        assert_eq!(treated(Some(Agent::Dazomet), outside), Upkeep::default());
    }

    #[test]
    fn a_brace_counts_from_its_day_and_not_without_one() {
        let braced = |since| {
            let pole = Pole {
                reinforced: Some(Reinforcement { since, kind: None }),
                ..pole_set(1980)
            };
            keeping().recorded(&pole, &[])
        };
        let upkeep = braced(Some(date(2015, 1, 1)));
        assert!(upkeep.is_braced(0.0) && upkeep.is_braced(9.9) && !upkeep.is_braced(10.1));
        assert_eq!(braced(None), Upkeep::default());
    }
}
