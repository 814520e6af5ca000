//! What is wrong with the owner's decisions that only the plan can tell, as problems at the rows where they stand.

use super::decided::{DecisionIndex, Decisions, Outcome, Refusal};
use crate::inventory::{Decision, Inventory, Target};
use crate::pole::{DecisionKind, PoleIndex, Vocabulary};
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
                review_of(decision)
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
        (
            Refusal::ReviewTooEarly,
            Code::ReviewTooEarly,
            format!(
                "its review date {} is in no later year than the day by which it must be done",
                review_of(decision)
            ),
            "refused: it must be done as if nothing had been decided",
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
    if let Some((what, done)) = beyond_review(inventory, decision, outcome) {
        found.push(problem(Code::DeferralBeyondReview, what, done));
    }
    if found.is_empty() && outcome.followed.is_empty() {
        let left = &outcome.left_to_verdict;
        let what = match named(inventory, &outcome.outdone_by) {
            Some(others) => format!("whatever it could change is decided by {others}"),
            None if !left.is_empty() => format!(
                "what was recorded is answered by decisions on the pole itself alone{}",
                of_poles(inventory, decision, left)
            ),
            None => "there is nothing that it could change".to_owned(),
        };
        found.push(problem(
            Code::DecisionWithoutEffect,
            what,
            "it does nothing",
        ));
    }
    found
}

fn review_of(decision: &Decision) -> String {
    let review = decision.review_date;
    review.map_or_else(String::new, |date| date.to_string())
}

/// What is wrong with a decision that puts off to a year after its own review, and what was done; `None` for any other.
fn beyond_review(
    inventory: &Inventory,
    decision: &Decision,
    outcome: &Outcome,
) -> Option<(String, &'static str)> {
    let (year, review) = (decision.year?, decision.review_date?);
    let what = |poles: &[PoleIndex]| {
        format!(
            "it puts off to {year}, and after the review date {review} it no longer holds unless it is renewed{}",
            of_poles(inventory, decision, poles)
        )
    };
    if !outcome.shortened.is_empty() {
        let done = "what must be done is put off to the year of the review only";
        return Some((what(&outcome.shortened), done));
    }
    let waits = decision.kind == DecisionKind::Defer && !outcome.followed.is_empty();
    (waits && review.year() < year).then(|| {
        let done = "kept: nothing that must be done is put off";
        (what(&outcome.followed), done)
    })
}

/// The decisions that go before another one, in words; `None` where there are none.
fn named(inventory: &Inventory, decisions: &[DecisionIndex]) -> Option<String> {
    let all = decisions
        .iter()
        .filter_map(|index| inventory.decisions.get(*index));
    let words = all.map(|decision| {
        let on = match &decision.target {
            Target::Pole(pole) => format!("pole {}", inventory.id(*pole)),
            Target::Package(name) => format!("package \"{name}\""),
            Target::Line(line) => format!("line {}", inventory.names.get(*line)),
        };
        let row = decision.source.row;
        format!("{} on {on} (row {row})", decision.kind.word())
    });
    let words: Vec<String> = words.collect();
    let more = words.len().saturating_sub(NAMED);
    let first = words.iter().take(NAMED).cloned().collect::<Vec<_>>();
    (!words.is_empty()).then(|| match more {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    })
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
