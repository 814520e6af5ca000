//! Remedial agents: which decay they reach, when they act, and how much they slow it (model section 1, "Clock").
//!
//! An agent slows the decay of one mode for its years. It does not slow the protected phase, gives back no strength and
//! helps no pole below its limit. The years and the factor are figures of `models/agents.toml`; what a treatment does to
//! progress is in [`clock`](super::clock).

use super::clock::Stretch;
use crate::pole::{Agent, AgentPlace, Inspection, Mode};
use crate::programme::Policy;

/// When an agent acts, in years from the treatment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgentYears {
    /// It has spread far enough after so many years.
    pub from: f64,
    /// It is spent after so many years.
    pub until: f64,
}

/// The speed of the decay clock while an agent acts: 1 would be no effect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClockFactor {
    /// Least.
    pub low: f64,
    /// As likely to be exceeded as not.
    pub usual: f64,
    /// Greatest.
    pub high: f64,
}

/// Nodes that stand for the factor of a recorded treatment. Seven of them move no probability by 0.001.
pub const FACTOR_NODES: usize = 3;

impl ClockFactor {
    /// The factor from a uniform draw: evenly from the least to the usual one, and from there to the greatest, so that
    /// half lie on either side of the usual one.
    pub fn at(&self, uniform: f64) -> f64 {
        if uniform < 0.5 {
            self.low + (self.usual - self.low) * 2.0 * uniform
        } else {
            self.usual + (self.high - self.usual) * (2.0 * uniform - 1.0)
        }
    }

    /// Equally likely factors that stand for all.
    pub fn nodes(&self) -> [f64; FACTOR_NODES] {
        std::array::from_fn(|node| self.at((node as f64 + 0.5) / FACTOR_NODES as f64))
    }
}

/// All agents.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agents {
    /// By [`Agent::index`].
    pub years: [AgentYears; Agent::ALL.len()],
    /// How much any of them slows decay.
    pub factor: ClockFactor,
}

impl Agents {
    /// The decay that a recorded treatment slows and when, in years after the treatment; `None` where none was given,
    /// its agent is unknown, or the agent was put where it does nothing.
    pub fn credited(&self, inspection: &Inspection) -> Option<(Mode, AgentYears)> {
        let agent = inspection.agent.filter(|_| inspection.treated)?;
        let mode = reached(agent, inspection.agent_place)?;
        Some((mode, self.years[agent.index()]))
    }
}

/// The treatments that a policy gives, by [`Mode::index`]: when they act, in years from the visit.
pub type Planned = [Option<AgentYears>; Mode::ALL.len()];

impl Agents {
    /// What a policy's treatment of a decayed pole reaches and for how long: what its agent does, and where it names none
    /// either decay for the policy's years. Nothing where it treats no pole.
    pub fn planned(&self, policy: &Policy) -> Planned {
        let mut planned = [None; Mode::ALL.len()];
        if !policy.remedial_treatment {
            return planned;
        }
        for mode in Mode::ALL {
            planned[mode.index()] = match (policy.remedial_agent, policy.treatment_years) {
                (Some(agent), given) if reached(agent, None) == Some(mode) => {
                    let usual = self.years[agent.index()];
                    let until = given.unwrap_or(usual.until);
                    Some(AgentYears {
                        from: usual.from.min(until),
                        until,
                    })
                }
                (None, Some(until)) => Some(AgentYears { from: 0.0, until }),
                _ => None,
            };
        }
        planned
    }
}

impl AgentYears {
    /// The stretch of calendar time in which an agent given `years` after the plan date acts.
    pub fn stretch(self, years: f64) -> Stretch {
        Stretch {
            from: years + self.from,
            until: years + self.until,
        }
    }
}

/// The decay that an agent reaches: fumigants and rods act inside the wood, pastes and bandages from the outside.
/// `None` in a place where it does nothing.
pub fn reached(agent: Agent, place: Option<AgentPlace>) -> Option<Mode> {
    let mode = match agent {
        Agent::MetamSodium
        | Agent::Mitc
        | Agent::Dazomet
        | Agent::Chloropicrin
        | Agent::BoronRod
        | Agent::FluorideRod => Mode::Internal,
        Agent::Paste | Agent::Bandage => Mode::External,
    };
    place
        .is_none_or(|place| place.mode() == mode)
        .then_some(mode)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_of_the_factors_lie_on_either_side_of_the_usual_one() {
        let factor = ClockFactor {
            low: 0.3,
            usual: 0.5,
            high: 0.8,
        };
        // Even on both sides: 0.3 + 0.2 x 0.4, and 0.5 + 0.3 x 0.6.
        for (uniform, value) in [(0.0, 0.3), (0.2, 0.38), (0.5, 0.5), (0.8, 0.68), (1.0, 0.8)] {
            assert!((factor.at(uniform) - value).abs() < 1e-12, "{uniform}");
        }
        // The mean of all is (0.4 + 0.65) / 2 = 0.525; the middle node is the median.
        let nodes = factor.nodes();
        assert!((nodes[1] - 0.5).abs() < 1e-12);
        let mean: f64 = nodes.iter().sum::<f64>() / FACTOR_NODES as f64;
        assert!((mean - 0.525).abs() < 0.005, "{mean}");
    }

    #[test]
    fn a_policy_treats_with_its_agent_or_with_whatever_helps() {
        let agents = crate::models::text::built_in()
            .expect("valid models")
            .remedies
            .agents;
        let planned = |remedial_treatment, remedial_agent, treatment_years| {
            let planned = agents.planned(&Policy {
                remedial_treatment,
                remedial_agent,
                treatment_years,
                ..crate::common::policy()
            });
            planned.map(|years| years.map(|years| (years.from, years.until)))
        };
        assert_eq!(planned(false, Some(Agent::Paste), None), [None, None]);
        assert_eq!(
            planned(true, Some(Agent::Paste), None),
            [Some((0.0, 10.0)), None]
        );
        assert_eq!(
            planned(true, Some(Agent::BoronRod), None),
            [None, Some((2.0, 10.0))]
        );
        assert_eq!(
            planned(true, Some(Agent::BoronRod), Some(7.0)),
            [None, Some((2.0, 7.0))]
        );
        assert_eq!(planned(true, None, Some(8.0)), [Some((0.0, 8.0)); 2]);
    }

    #[test]
    fn an_agent_reaches_one_kind_of_decay_and_only_from_its_place() {
        let internal = Some(AgentPlace::Internal);
        let outside = Some(AgentPlace::GroundlineExternal);
        assert_eq!(reached(Agent::Dazomet, None), Some(Mode::Internal));
        assert_eq!(reached(Agent::Dazomet, internal), Some(Mode::Internal));
        assert_eq!(reached(Agent::Dazomet, outside), None);
        assert_eq!(reached(Agent::Paste, None), Some(Mode::External));
        assert_eq!(reached(Agent::Paste, internal), None);
    }
}
