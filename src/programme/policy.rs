//! What is done with what an inspection finds: the one `respond`, used by the value of a visit and by every trial.

use crate::pole::{Method, Preservative, Species};

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
    /// Years for which a remedial treatment slows decay.
    pub treatment_years: f64,
    /// A pole inspected within this many years is left out of its line's round.
    pub exempt_inspected_within_years: f64,
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
    /// Replacement after the policy's waiting time.
    Replace,
}

/// What the policy does with what was seen.
pub fn respond(policy: &Policy, seen: Seen) -> Response {
    match seen {
        Seen::Decay if policy.remedial_treatment => Response::Treat,
        Seen::NoDecay | Seen::Decay => Response::Leave,
        Seen::BelowLimit => Response::Replace,
    }
}
