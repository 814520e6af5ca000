//! What the owner's decisions came to: what each fixed, for which poles it was refused, and why. Types only.

use super::Action;
use crate::pole::{Method, PoleIndex};
use std::collections::BTreeMap;

/// A decision's place in [`Inventory::decisions`](crate::inventory::Inventory::decisions).
pub type DecisionIndex = usize;

/// When a decision wants a pole done. Plan years are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// In this plan year.
    In(u16),
    /// In this plan year or later.
    NotBefore(u16),
    /// Not in the years of the schedule.
    Out,
    /// What must be done earlier is put off to this plan year, with a name, an interim control and a review date.
    PutOff(u16),
}

/// What decisions fixed for one pole, each with the decision that did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Decided {
    /// When it is done.
    pub when: Option<(DecisionIndex, When)>,
    /// By which method it is inspected.
    pub method: Option<(DecisionIndex, Method)>,
    /// What is done.
    pub action: Option<(DecisionIndex, Action)>,
}

impl Decided {
    /// The plan year that is fixed. An action that is fixed without a year is done as soon as it may be.
    pub fn year(&self) -> Option<u16> {
        match (self.when, self.action) {
            (Some((_, When::In(year))), _) | (Some((_, When::NotBefore(year))), Some(_)) => {
                Some(year)
            }
            (None, Some(_)) => Some(0),
            _ => None,
        }
    }

    /// The first plan year in which it may be inspected; none where it is left out, or put off by name.
    pub fn inspected_from(&self) -> Option<u16> {
        match self.when {
            Some((_, When::NotBefore(year))) => Some(year),
            Some((_, When::Out | When::PutOff(_))) => None,
            Some((_, When::In(_))) | None => Some(0),
        }
    }

    /// The action that is fixed, other than an inspection.
    pub fn work(&self) -> Option<Action> {
        self.action
            .map(|(_, action)| action)
            .filter(|action| *action != Action::Inspect)
    }

    /// The decisions that fixed something, each once.
    pub fn decisions(&self) -> Vec<DecisionIndex> {
        let mut all: Vec<DecisionIndex> = [
            self.when.map(|(decision, _)| decision),
            self.method.map(|(decision, _)| decision),
            self.action.map(|(decision, _)| decision),
        ]
        .into_iter()
        .flatten()
        .collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

/// Why a decision is not followed for a pole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Refusal {
    /// It puts off what must be done, and nobody signs for it with an interim control and a review date.
    Incomplete,
    /// Its review date lies before the plan.
    PastReview,
    /// It does less than what was recorded calls for.
    LesserAction,
    /// The method does not satisfy the rules that call for the pole.
    WeakMethod,
    /// Its review comes in no later year than the day by which the pole must be done: it holds for nothing beyond that.
    ReviewTooEarly,
}

/// What became of one decision.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Outcome {
    /// The poles that it is about, in the order of ids.
    pub about: Vec<PoleIndex>,
    /// Poles for which it is followed. A more special decision may have left it fewer than it is about.
    pub followed: Vec<PoleIndex>,
    /// Poles for which it is refused.
    pub refused: Vec<(PoleIndex, Refusal)>,
    /// Must-dos that it puts off no further than to its review, although it names a later year.
    pub shortened: Vec<PoleIndex>,
    /// Poles of its line or package whose recorded verdict only a decision on the pole itself answers.
    pub left_to_verdict: Vec<PoleIndex>,
    /// Decisions that go before it at poles for which it would have fixed something.
    pub outdone_by: Vec<DecisionIndex>,
    /// Whether it names a package that there is not.
    pub unmatched: bool,
}

/// What all decisions came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Decisions {
    /// One for each decision of the inventory, in its order.
    pub outcomes: Vec<Outcome>,
    /// What is fixed, by pole.
    pub of_poles: BTreeMap<PoleIndex, Decided>,
}

impl Decisions {
    /// What is fixed for one pole; nothing for most.
    pub fn of(&self, pole: PoleIndex) -> Decided {
        self.of_poles.get(&pole).copied().unwrap_or_default()
    }
}
