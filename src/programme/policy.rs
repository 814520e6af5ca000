//! What is done with what an inspection finds: the one `respond`, used by the value of a visit and by every trial.

use crate::pole::{Agent, Method, Preservative, Species, Vocabulary};
use crate::units::{Date, Fraction, date_after};

/// Who goes along when poles of a line are visited.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Round {
    /// The rest of the stretch of their line.
    Line,
    /// The rest of their neighbourhood on the map, whatever the line.
    Neighbourhood,
    /// Nobody: each pole is visited for itself.
    Pole,
}

impl Vocabulary for Round {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (
            Self::Line,
            "whole_line",
            "the rest of the stretch of the line goes along",
        ),
        (
            Self::Neighbourhood,
            "neighbourhood",
            "what stands nearby goes along, whatever the line",
        ),
        (
            Self::Pole,
            "single_poles",
            "each pole is visited for itself",
        ),
    ];
}

/// The owner's policy.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Method of planned inspections.
    pub method: Method,
    /// Years from a reject verdict to the replacement of the pole.
    pub replace_within_years: f64,
    /// Days within which a pole judged dangerous is made safe.
    pub make_safe_within_days: i32,
    /// Whether poles with decay that stay are given a remedial treatment at the visit.
    pub remedial_treatment: bool,
    /// The agent of those treatments. Without one, whatever decay is found is taken as reached.
    pub remedial_agent: Option<Agent>,
    /// Years for which a remedial treatment slows decay; as long as the agent lasts, when not given.
    pub treatment_years: Option<f64>,
    /// Whether rejects that a brace would restore are reinforced; otherwise they are replaced.
    pub reinforce: bool,
    /// Years for which a reinforcement holds the groundline.
    pub reinforcement_life_years: f64,
    /// Share of rejects yet to be found that inspectors will judge fit for a brace: only they can, because nothing is
    /// recorded of the wood above the groundline.
    pub reinforceable_share: Fraction,
    /// A pole inspected within this many years is left out of its line's round.
    pub exempt_inspected_within_years: f64,
    /// Who goes along on a round.
    pub round: Round,
    /// Share of what visits can save that may be given up so that poles below the limit are reached earlier.
    pub worst_first_within: Fraction,
    /// Species of replacement poles; like the old pole, when not given.
    pub new_species: Option<Species>,
    /// Preservative of replacement poles; like the old pole, when not given.
    pub new_preservative: Option<Preservative>,
}

/// What an inspection shows to whoever decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// No decay found.
    NoDecay,
    /// Decay found, judged above the limit.
    Decay,
    /// Judged below the limit; a brace would restore it.
    Reinforceable,
    /// Judged below the limit.
    BelowLimit,
}

/// What follows from an inspection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Response {
    /// Nothing until the next visit.
    Leave,
    /// A remedial treatment at the visit.
    Treat,
    /// A brace at the groundline after the policy's waiting time.
    Reinforce,
    /// Replacement after the policy's waiting time.
    Replace,
}

/// What the policy does with what was seen.
pub fn respond(policy: &Policy, seen: Seen) -> Response {
    match seen {
        Seen::Decay if policy.remedial_treatment => Response::Treat,
        Seen::NoDecay | Seen::Decay => Response::Leave,
        Seen::Reinforceable if policy.reinforce => Response::Reinforce,
        Seen::Reinforceable | Seen::BelowLimit => Response::Replace,
    }
}

impl Policy {
    /// The day on which a reinforcement fitted on `since` has lived its life.
    pub fn brace_ends(&self, since: Date) -> Date {
        date_after(since, self.reinforcement_life_years)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::policy;

    #[test]
    fn only_a_policy_that_reinforces_does_and_only_what_is_fit_for_it() {
        let all = [
            Seen::NoDecay,
            Seen::Decay,
            Seen::Reinforceable,
            Seen::BelowLimit,
        ];
        let answers = |reinforce| {
            let policy = Policy {
                reinforce,
                ..policy()
            };
            all.map(|seen| respond(&policy, seen))
        };
        let [leave, replace] = [Response::Leave, Response::Replace];
        assert_eq!(answers(false), [leave, leave, replace, replace]);
        assert_eq!(answers(true), [leave, leave, Response::Reinforce, replace]);
    }
}
