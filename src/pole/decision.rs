//! What owners decide about single poles, lines and packages, and what can be done to a pole: words only.
//!
//! What a decision does to a plan is the schedule's; how it is written down is `intake`'s.

use super::Vocabulary;

/// What is to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Action {
    /// Inspect.
    Inspect,
    /// Fit a brace at the groundline.
    Reinforce,
    /// Replace.
    Replace,
    /// Make safe today, by the owner's own procedure.
    MakeSafe,
}

impl Vocabulary for Action {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Inspect, "inspect", "an inspection"),
        (Self::Reinforce, "reinforce", "a brace at the groundline"),
        (Self::Replace, "replace", "a new pole"),
        (
            Self::MakeSafe,
            "make_safe",
            "made safe by the owner's own procedure",
        ),
    ];
}

/// What an owner decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DecisionKind {
    /// In this year.
    Pin,
    /// Not in this plan.
    LeaveOut,
    /// By this method.
    Method,
    /// This instead of what the policy would do.
    Action,
    /// Not before this year.
    Defer,
    /// As it stands in an earlier plan.
    Freeze,
    /// A recorded verdict no longer stands.
    Clear,
}

impl Vocabulary for DecisionKind {
    const WORDS: &'static [(Self, &'static str, &'static str)] = &[
        (Self::Pin, "pin", "in the given year, whatever else is due"),
        (
            Self::LeaveOut,
            "leave_out",
            "not among the visits of this plan",
        ),
        (
            Self::Method,
            "method",
            "inspected by the method in the column `method`",
        ),
        (
            Self::Action,
            "action",
            "the action in the column `action`, instead of what the policy would do",
        ),
        (Self::Defer, "defer", "not before the given year"),
        (
            Self::Freeze,
            "freeze",
            "as in an earlier plan: kept in the given year, a package together",
        ),
        (
            Self::Clear,
            "clear",
            "a named engineer clears what was recorded up to the date: a reject or danger no longer stands",
        ),
    ];
}
