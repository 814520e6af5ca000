//! What is wrong with the owner's decisions that only the plan can tell, as problems at the rows where they stand.

use super::decided::{Decisions, Outcome, Refusal};
use crate::inventory::{Decision, Inventory, Target};
use crate::pole::PoleIndex;
use crate::problem::{Code, Problem};

/// Poles named in one problem before the rest is only counted.
const NAMED: usize = 3;

impl Decisions {
    /// One problem for each way in which a decision is refused or does nothing, in the order of the decisions.
    pub fn problems(&self, inventory: &Inventory) -> Vec<Problem> {
        let all = inventory.decisions.iter().zip(&self.outcomes);
        all.flat_map(|(decision, outcome)| of_one(inventory, decision, outcome))
            .collect()
    }
}

fn of_one(inventory: &Inventory, decision: &Decision, outcome: &Outcome) -> Vec<Problem> {
    let problem = |code, what, done: &str| Problem {
        code,
        source: decision.source,
        cell: Some(decision.cell.clone()),
        pole: match decision.target {
            Target::Pole(pole) => Some(inventory.id(pole).to_owned()),
            Target::Package(_) | Target::Line(_) => None,
        },
        what,
        done: done.to_owned(),
    };
    if let (true, Target::Package(name)) = (outcome.unmatched, &decision.target) {
        let what = format!("no package is called \"{name}\"");
        return vec![problem(Code::UnknownPackage, what, "it does nothing")];
    }
    let refused = |refusal: Refusal| -> Vec<PoleIndex> {
        let own = outcome.refused.iter().filter(|(_, why)| *why == refusal);
        own.map(|(pole, _)| *pole).collect()
    };
    let mut found = Vec::new();
    for (refusal, code, what, done) in [
        (
            Refusal::Incomplete,
            Code::DeferralIncomplete,
            format!(
                "it puts off what must be done without {}",
                lacking(decision)
            ),
            "refused: it must be done as if nothing had been decided",
        ),
        (
            Refusal::PastReview,
            Code::DeferralPastReview,
            format!(
                "the review date {} lies before the plan",
                decision
                    .review_date
                    .map_or_else(String::new, |date| date.to_string())
            ),
            "it no longer holds",
        ),
        (
            Refusal::LesserAction,
            Code::LesserAction,
            "what was recorded calls for more".to_owned(),
            "refused: the recorded verdict keeps its action",
        ),
        (
            Refusal::WeakMethod,
            Code::WeakMethod,
            "a rule that calls for the pole wants a stronger method".to_owned(),
            "refused: inspected as the rules want",
        ),
    ] {
        let poles = refused(refusal);
        if !poles.is_empty() {
            found.push(problem(
                code,
                format!("{what}{}", of_poles(inventory, decision, &poles)),
                done,
            ));
        }
    }
    if found.is_empty() && outcome.followed.is_empty() {
        let what = "there is nothing that it could change".to_owned();
        found.push(problem(
            Code::DecisionWithoutEffect,
            what,
            "it does nothing",
        ));
    }
    found
}

/// What a deferral lacks.
fn lacking(decision: &Decision) -> String {
    let parts = [
        ("a name", decision.by.is_some()),
        ("an interim control", decision.interim_control.is_some()),
        ("a review date", decision.review_date.is_some()),
    ];
    let lacking: Vec<&str> = parts
        .into_iter()
        .filter(|(_, given)| !given)
        .map(|(part, _)| part)
        .collect();
    lacking.join(" and without ")
}

/// The poles of a line or package that a refusal is about.
fn of_poles(inventory: &Inventory, decision: &Decision, poles: &[PoleIndex]) -> String {
    if matches!(decision.target, Target::Pole(_)) {
        return String::new();
    }
    let named: Vec<&str> = poles
        .iter()
        .take(NAMED)
        .map(|pole| inventory.id(*pole))
        .collect();
    let more = poles.len().saturating_sub(NAMED);
    let more = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    format!(", for {}{more}", named.join(", "))
}
