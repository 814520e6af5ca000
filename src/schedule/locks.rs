//! From the owner's decisions to what is fixed for each pole before any year is filled (model section 7).
//!
//! A decision on a pole goes before one on its package, and that before one on its line. What a recorded verdict calls
//! for is touched by decisions on the pole itself alone; what must be done by a day is put off only by a decision with a
//! name, an interim control and a review date that has not passed, and no further than to that date. Knows no beliefs and
//! no crews.

use super::decided::{Decided, DecisionIndex, Decisions, Outcome, Refusal, When};
use super::due::{Duty, StandingVerdict, duty, satisfies_rules};
use super::{Action, Package};
use crate::inventory::{Decision, Inventory, Target};
use crate::pole::{DecisionKind, PoleIndex, Verdict};
use crate::programme::{Programme, Seen};
use crate::units::{Date, years_between};
use std::collections::BTreeMap;

/// The poles of the package with a name, where there is such a package.
pub(super) type Packages<'a> = &'a dyn Fn(&str) -> Option<Vec<PoleIndex>>;

/// What a decision fixes for one pole.
#[derive(Debug, Clone, Copy)]
struct Claim {
    decision: DecisionIndex,
    /// 0 for a decision on the pole, 1 on its package, 2 on its line.
    level: u8,
    date: Option<Date>,
    fixes: Decided,
}

/// What all decisions of an inventory come to; `duties` by pole, computed here where they are not given.
pub(super) fn settle(
    inventory: &Inventory,
    programme: &Programme,
    duties: Option<&[Duty]>,
    packages: Packages<'_>,
) -> Decisions {
    let mut outcomes = Vec::with_capacity(inventory.decisions.len());
    let mut claims: BTreeMap<PoleIndex, Vec<Claim>> = BTreeMap::new();
    for (index, decision) in inventory.decisions.iter().enumerate() {
        let about = poles_of(inventory, &decision.target, packages);
        let mut outcome = Outcome {
            unmatched: about.is_none(),
            about: about.unwrap_or_default(),
            ..Outcome::default()
        };
        for pole in &outcome.about {
            let own = match duties {
                Some(duties) => duties[pole.get()],
                None => duty(inventory, programme, *pole),
            };
            let case = Case {
                inventory,
                programme,
                decision,
                index,
                pole: *pole,
                duty: &own,
            };
            match case.admitted() {
                Ok(None) if case.is_left_to_verdict() => outcome.left_to_verdict.push(*pole),
                Ok(None) => {}
                Ok(Some(fixes)) => claims.entry(*pole).or_default().push(Claim {
                    decision: index,
                    level: case.level(),
                    date: decision.date,
                    fixes,
                }),
                Err(refusal) => outcome.refused.push((*pole, refusal)),
            }
        }
        if decision.kind == DecisionKind::Clear && clears_something(inventory, decision) {
            outcome.followed.clone_from(&outcome.about);
        }
        outcomes.push(outcome);
    }
    let mut of_poles = BTreeMap::new();
    for (pole, mut claims) in claims {
        let decided = most_special(&mut claims);
        let followed = decided.decisions();
        for decision in &followed {
            outcomes[*decision].followed.push(pole);
        }
        if let Some((decision, When::PutOff(until))) = decided.when {
            let wanted = plan_year(programme, &inventory.decisions[decision]);
            if wanted.is_some_and(|wanted| wanted > until) {
                outcomes[decision].shortened.push(pole);
            }
        }
        for claim in claims {
            if !followed.contains(&claim.decision) {
                outcomes[claim.decision].outdone_by.extend(&followed);
            }
        }
        of_poles.insert(pole, decided);
    }
    for outcome in &mut outcomes {
        outcome.outdone_by.sort_unstable();
        outcome.outdone_by.dedup();
    }
    Decisions { outcomes, of_poles }
}

/// The plan year that a decision names.
fn plan_year(programme: &Programme, decision: &Decision) -> Option<u16> {
    let year = decision.year?;
    Some(u16::try_from(year.saturating_sub(programme.first_year())).unwrap_or(0))
}

/// The poles that a decision is about; `None` where it names a package that there is not.
fn poles_of(
    inventory: &Inventory,
    target: &Target,
    packages: Packages<'_>,
) -> Option<Vec<PoleIndex>> {
    match target {
        Target::Pole(pole) => Some(vec![*pole]),
        Target::Line(line) => {
            let on_line = |pole: &PoleIndex| inventory.pole(*pole).line == Some(*line);
            Some(inventory.indices().filter(on_line).collect())
        }
        Target::Package(name) => packages(name),
    }
}

/// What counts where several decisions fix the same: the most special, of these the latest.
fn most_special(claims: &mut [Claim]) -> Decided {
    claims.sort_by(|a, b| {
        let order = a.level.cmp(&b.level).then(b.date.cmp(&a.date));
        order.then(a.decision.cmp(&b.decision))
    });
    let first = |of: fn(&Decided) -> bool| claims.iter().find(|claim| of(&claim.fixes));
    let when = first(|fixes| fixes.when.is_some());
    let action = first(|fixes| fixes.action.is_some());
    let mut decided = Decided {
        when: when.and_then(|claim| claim.fixes.when),
        method: first(|fixes| fixes.method.is_some()).and_then(|claim| claim.fixes.method),
        action: action.and_then(|claim| claim.fixes.action),
    };
    // What is left out has nothing done to it: the more special of the two decisions counts.
    if let (Some(when), Some(action), Some((_, When::Out))) = (when, action, decided.when) {
        if when.level < action.level {
            decided.action = None;
        } else {
            decided.when = None;
        }
    }
    decided
}

/// Whether anything that a clearing may clear is recorded, of the pole or of one that stood there before.
fn clears_something(inventory: &Inventory, decision: &Decision) -> bool {
    let (Target::Pole(pole), Some(until)) = (&decision.target, decision.date) else {
        return false;
    };
    let own = inventory.inspections_of(*pole).iter();
    let before = inventory
        .removed
        .iter()
        .filter(|gone| gone.id == inventory.id(*pole))
        .flat_map(|gone| &gone.inspections);
    own.chain(before).any(|look| {
        let defect = look
            .above_ground
            .is_some_and(|seen| seen.iter().next().is_some());
        look.date <= until && (look.verdict.is_reject() || defect)
    })
}

/// One decision about one pole.
struct Case<'a> {
    inventory: &'a Inventory,
    programme: &'a Programme,
    decision: &'a Decision,
    index: DecisionIndex,
    pole: PoleIndex,
    duty: &'a Duty,
}

impl Case<'_> {
    fn level(&self) -> u8 {
        match self.decision.target {
            Target::Pole(_) => 0,
            Target::Package(_) => 1,
            Target::Line(_) => 2,
        }
    }

    /// What was recorded of one pole is answered by a decision on that pole.
    fn is_left_to_verdict(&self) -> bool {
        self.duty.stands && self.duty.verdict.is_some() && self.level() > 0
    }

    /// What the decision fixes, or why it is refused; nothing where it is not about what this pole needs.
    fn admitted(&self) -> Result<Option<Decided>, Refusal> {
        let puts_off = matches!(
            self.decision.kind,
            DecisionKind::Defer | DecisionKind::LeaveOut
        );
        if puts_off && self.is_past_review() {
            return Err(Refusal::PastReview);
        }
        if self.is_left_to_verdict() {
            return Ok(None);
        }
        match (self.duty.stands, self.duty.verdict) {
            (false, _) => Ok(None),
            (true, Some(verdict)) => self.upon(&verdict),
            (true, None) => self.on_inspection(),
        }
    }

    /// The plan year that the decision names.
    fn year(&self) -> Option<u16> {
        plan_year(self.programme, self.decision)
    }

    fn is_past_review(&self) -> bool {
        let review = self.decision.review_date;
        review.is_some_and(|date| date < self.programme.plan_from)
    }

    /// A must-do that is due in the plan year `latest`, put off to a later one, but no further than to its review: beyond
    /// that day nobody has signed for it.
    fn put_off_past(&self, latest: u16, until: u16) -> Result<When, Refusal> {
        let signed = self.put_off(until.min(self.after_review()))?;
        match signed {
            When::PutOff(until) if until <= latest => Err(Refusal::ReviewTooEarly),
            signed => Ok(signed),
        }
    }

    /// A must-do put off to a plan year.
    fn put_off(&self, until: u16) -> Result<When, Refusal> {
        let signed = self.decision.by.is_some()
            && self.decision.interim_control.is_some()
            && self.decision.review_date.is_some();
        if !signed {
            return Err(Refusal::Incomplete);
        }
        if self.is_past_review() {
            return Err(Refusal::PastReview);
        }
        Ok(When::PutOff(until))
    }

    /// Where a must-do is left out of this plan: it is owed again when the review date is over, and in the next plan at
    /// the earliest.
    fn after_review(&self) -> u16 {
        let review = self
            .decision
            .review_date
            .unwrap_or(self.programme.plan_from);
        self.programme.year_of(review).clamp(1, i32::from(u16::MAX)) as u16
    }

    /// When a pole is done that must be done by the plan year `latest`, where something must.
    fn when(&self, latest: Option<u16>) -> Result<Option<When>, Refusal> {
        let missed = |year: u16| latest.filter(|latest| year > *latest);
        let when = match (self.decision.kind, self.year()) {
            (DecisionKind::LeaveOut, _) if latest.is_some() => self.put_off(self.after_review())?,
            (DecisionKind::LeaveOut, _) => When::Out,
            (DecisionKind::Method | DecisionKind::Clear, _) | (_, None) => return Ok(None),
            (kind, Some(year)) => match missed(year) {
                Some(latest) => self.put_off_past(latest, year)?,
                None if kind == DecisionKind::Defer => When::NotBefore(year),
                None => When::In(year),
            },
        };
        Ok(Some(when))
    }

    fn fixed(&self, when: Option<When>, action: Option<Action>) -> Option<Decided> {
        let decided = Decided {
            when: when.map(|when| (self.index, when)),
            method: None,
            action: action.map(|action| (self.index, action)),
        };
        (decided != Decided::default()).then_some(decided)
    }

    /// A decision about a pole whose recorded verdict calls for action.
    fn upon(&self, standing: &StandingVerdict) -> Result<Option<Decided>, Refusal> {
        let action = self.decision.action;
        let enough = |action| match action {
            Action::MakeSafe => true,
            Action::Replace => standing.verdict != Verdict::Danger,
            Action::Reinforce => standing.seen() == Seen::Reinforceable,
            Action::Inspect => false,
        };
        if action.is_some_and(|action| !enough(action)) {
            return Err(Refusal::LesserAction);
        }
        let deadline = standing.deadline(self.programme);
        let latest = self.programme.year_of(deadline).max(0) as u16;
        Ok(self.fixed(self.when(Some(latest))?, action))
    }

    /// A decision about a pole that is to be inspected, now or later.
    fn on_inspection(&self) -> Result<Option<Decided>, Refusal> {
        let programme = self.programme;
        if let Some(method) = self.decision.method {
            let enough = satisfies_rules(self.inventory, programme, self.pole, method);
            return if enough {
                Ok(Some(Decided {
                    method: Some((self.index, method)),
                    ..Decided::default()
                }))
            } else {
                Err(Refusal::WeakMethod)
            };
        }
        let kept = matches!(self.decision.kind, DecisionKind::Pin | DecisionKind::Freeze);
        if kept && self.level() > 0 && self.year().is_some_and(|year| self.is_spared(year)) {
            return Ok(None);
        }
        let years = programme.schedule_years.max(1);
        let by_law = self
            .duty
            .law_until
            .map(|date| programme.year_of(date).max(0) as u16);
        let owed = by_law.filter(|year| *year < years);
        Ok(self.fixed(self.when(owed)?, self.decision.action))
    }

    /// Whether a round of its line or package spares the pole in a plan year: inspected shortly before, or young still.
    fn is_spared(&self, year: u16) -> bool {
        let visit = self.programme.year_start(i32::from(year));
        if let Some(last) = self.duty.last {
            let spared = self.programme.policy.exempt_inspected_within_years;
            return years_between(last, visit) < spared;
        }
        let rule = self
            .duty
            .due
            .map(|due| &self.programme.inspections[due.rule]);
        let set = self.inventory.pole(self.pole).installed;
        rule.zip(set).is_some_and(|(rule, set)| {
            years_between(set, visit) < rule.first_age_years - rule.repeat_years / 2.0
        })
    }
}

/// The poles of the package called `name`: of those planned without decisions on packages the one with exactly this
/// name, else the stretch of this name, whatever the year and method that follow it.
pub(super) fn named_package(
    name: &str,
    packages: &[Package],
    stretches: &[super::packages::Stretch],
) -> Option<Vec<PoleIndex>> {
    let name = name.trim();
    let in_order = |poles: &[PoleIndex]| {
        let mut poles = poles.to_vec();
        poles.sort_unstable();
        poles
    };
    if let Some(package) = packages.iter().find(|package| package.name == name) {
        return Some(in_order(&package.poles));
    }
    let rest_is_year = |rest: &str| {
        let Some(rest) = rest.strip_prefix(", ") else {
            return rest.is_empty();
        };
        let year = rest.split(", ").next().unwrap_or_default();
        year.len() == 4 && year.bytes().all(|letter| letter.is_ascii_digit())
    };
    stretches
        .iter()
        .find(|stretch| {
            name.strip_prefix(stretch.name.as_str())
                .is_some_and(rest_is_year)
        })
        .map(|stretch| in_order(&stretch.poles))
}

#[cfg(test)]
mod tests;
