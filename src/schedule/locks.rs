//! From the owner's decisions to what is fixed for each pole before any year is filled (model section 7).
//!
//! A decision on a pole goes before one on its package, and that before one on its line. What a recorded verdict calls
//! for is touched by decisions on the pole itself alone; what must be done by a day is put off only by a decision with a
//! name, an interim control and a review date that has not passed. Knows no beliefs and no crews.

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
    for (pole, claims) in claims {
        let decided = most_special(claims);
        for decision in decided.decisions() {
            outcomes[decision].followed.push(pole);
        }
        of_poles.insert(pole, decided);
    }
    Decisions { outcomes, of_poles }
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
fn most_special(mut claims: Vec<Claim>) -> Decided {
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

    /// What the decision fixes, or why it is refused; nothing where it is not about what this pole needs.
    fn admitted(&self) -> Result<Option<Decided>, Refusal> {
        let puts_off = matches!(
            self.decision.kind,
            DecisionKind::Defer | DecisionKind::LeaveOut
        );
        if puts_off && self.is_past_review() {
            return Err(Refusal::PastReview);
        }
        match (self.duty.stands, self.duty.verdict) {
            (false, _) => Ok(None),
            // What was recorded of one pole is answered by a decision on that pole.
            (true, Some(_)) if self.level() > 0 => Ok(None),
            (true, Some(verdict)) => self.upon(&verdict),
            (true, None) => self.on_inspection(),
        }
    }

    /// The plan year that the decision names.
    fn year(&self) -> Option<u16> {
        let first = self.programme.first_year();
        let year = self.decision.year?;
        Some(u16::try_from(year.saturating_sub(first)).unwrap_or(0))
    }

    fn is_past_review(&self) -> bool {
        let review = self.decision.review_date;
        review.is_some_and(|date| date < self.programme.plan_from)
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
        let late = |year: u16| latest.is_some_and(|latest| year > latest);
        let when = match (self.decision.kind, self.year()) {
            (DecisionKind::LeaveOut, _) if latest.is_some() => self.put_off(self.after_review())?,
            (DecisionKind::LeaveOut, _) => When::Out,
            (DecisionKind::Method | DecisionKind::Clear, _) | (_, None) => return Ok(None),
            (_, Some(year)) if late(year) => self.put_off(year)?,
            (DecisionKind::Defer, Some(year)) => When::NotBefore(year),
            (_, Some(year)) => When::In(year),
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
mod tests {
    use super::super::{Action, Deferral, Schedule, Standing, audit, decide, schedule_with};
    use super::super::{Outcome, Reason, Refusal, When};
    use crate::common::{
        decision, inspected, inventory_of, no_values, pole_set, programme, rule, signed,
        visits_a_year, with,
    };
    use crate::inventory::{Decision, Inventory, Target};
    use crate::pole::{DecisionKind, Inspection, Method, PoleIndex, Verdict};
    use crate::problem::Code;
    use crate::programme::{Programme, RuleKind};
    use jiff::civil::date;

    /// Inspected by partial excavation in May of this year, with this verdict.
    fn seen(year: i16, verdict: Verdict) -> Vec<Inspection> {
        vec![inspected(
            date(year, 5, 1),
            Method::PartialExcavation,
            verdict,
        )]
    }

    /// Poles of 1980 on one line, inspected in these years with these verdicts; by the guideline of every ten years.
    fn line(poles: &[(i16, Verdict)]) -> Inventory {
        let names: Vec<String> = (0..poles.len()).map(|pole| format!("P-{pole}")).collect();
        let listed = names.iter().zip(poles);
        inventory_of(
            listed
                .map(|(name, (year, verdict))| {
                    (name.as_str(), "L", pole_set(1980), seen(*year, *verdict))
                })
                .collect(),
        )
    }

    fn solved(inventory: &Inventory, programme: &Programme) -> Schedule {
        let schedule = schedule_with(inventory, programme, &no_values(inventory, programme));
        assert_eq!(audit(inventory, programme, &schedule), Vec::new());
        schedule
    }

    fn standing(schedule: &Schedule, pole: u32) -> Standing {
        schedule.row(PoleIndex(pole)).standing
    }

    fn year_of(schedule: &Schedule, pole: u32) -> Option<u16> {
        match standing(schedule, pole) {
            Standing::Planned { year, .. } => Some(year),
            _ => None,
        }
    }

    fn put_off(action: Action, until: u16) -> Standing {
        Standing::Deferred {
            action,
            reason: Deferral::Decision { until },
        }
    }

    fn codes(inventory: &Inventory, programme: &Programme) -> Vec<Code> {
        let problems = decide(inventory, programme).problems(inventory);
        problems.iter().map(|problem| problem.code).collect()
    }

    const SOUND: Verdict = Verdict::Sound;

    #[test]
    fn a_pinned_pole_keeps_its_year_and_counts_even_where_it_overfills_it() {
        // One visit a year, three poles due in the first one, and two of them kept for the third.
        let mut programme = programme();
        programme.crews = visits_a_year(&programme, 1);
        for kind in [DecisionKind::Pin, DecisionKind::Freeze] {
            let kept = [1, 2].map(|pole| decision(pole, kind, Some(2027)));
            let inventory = with(line(&[(2015, SOUND); 3]), kept.to_vec());
            let schedule = solved(&inventory, &programme);
            let years: Vec<_> = (0..3).map(|pole| year_of(&schedule, pole)).collect();
            assert_eq!(years, [Some(0), Some(2), Some(2)]);
            assert!((schedule.crew_days[2] - 2.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_pole_that_nothing_calls_for_is_visited_in_its_year_because_it_was_decided() {
        let pin = decision(0, DecisionKind::Pin, Some(2026));
        let inventory = with(line(&[(2024, SOUND)]), vec![pin]);
        let mut programme = programme();
        programme.schedule_years = 5;
        let schedule = solved(&inventory, &programme);
        assert_eq!(year_of(&schedule, 0), Some(1));
        assert_eq!(schedule.row(PoleIndex(0)).reason, Reason::Decision);
    }

    #[test]
    fn what_is_left_out_is_not_visited_and_the_trials_know_it() {
        let out = decision(0, DecisionKind::LeaveOut, None);
        let inventory = with(line(&[(2015, SOUND), (2015, SOUND)]), vec![out]);
        let schedule = solved(&inventory, &programme());
        assert_eq!(standing(&schedule, 0), put_off(Action::Inspect, 10));
        assert_eq!(schedule.visits[0].first, Some(10));
        assert_eq!(year_of(&schedule, 1), Some(0));
    }

    #[test]
    fn nothing_is_done_before_the_year_to_which_it_is_deferred() {
        let wait = |year| decision(0, DecisionKind::Defer, Some(year));
        let inventory = with(line(&[(2015, SOUND), (2015, SOUND)]), vec![wait(2028)]);
        let schedule = solved(&inventory, &programme());
        assert_eq!(
            (year_of(&schedule, 0), year_of(&schedule, 1)),
            (Some(3), Some(0))
        );
        let inventory = with(line(&[(2015, SOUND)]), vec![wait(2040)]);
        let schedule = solved(&inventory, &programme());
        assert_eq!(standing(&schedule, 0), put_off(Action::Inspect, 15));
    }

    #[test]
    fn a_decided_method_is_taken_if_the_rules_accept_it() {
        let by = |method| Decision {
            method: Some(method),
            ..decision(0, DecisionKind::Method, None)
        };
        for (method, taken) in [
            (Method::FullExcavation, Method::FullExcavation),
            (Method::SoundAndBore, Method::PartialExcavation),
        ] {
            let inventory = with(line(&[(2015, SOUND)]), vec![by(method)]);
            let schedule = solved(&inventory, &programme());
            assert_eq!(schedule.row(PoleIndex(0)).method, Some(taken));
            let refused = (method != taken).then_some(Code::WeakMethod);
            assert_eq!(codes(&inventory, &programme()), Vec::from_iter(refused));
        }
    }

    #[test]
    fn a_decided_action_takes_the_place_of_the_policys_but_is_never_less_than_what_was_recorded() {
        use Action::{Inspect, MakeSafe, Reinforce, Replace};
        let does = |action, year| Decision {
            action: Some(action),
            ..decision(0, DecisionKind::Action, year)
        };
        let mut programme = programme();
        programme.policy.reinforce = true;
        let done = |verdict, action, year| {
            let inventory = with(line(&[(2024, verdict)]), vec![does(action, year)]);
            let schedule = solved(&inventory, &programme);
            let Standing::Planned { action, year, .. } = standing(&schedule, 0) else {
                panic!("not planned");
            };
            (action, year, codes(&inventory, &programme))
        };
        let lesser = || vec![Code::LesserAction];
        // Judged in May 2024: to be acted upon by May 2025, in the first plan year.
        for (verdict, decided, action, refused) in [
            (Verdict::RejectReinforceable, Replace, Replace, vec![]),
            (Verdict::RejectReinforceable, Inspect, Reinforce, lesser()),
            (Verdict::RejectReplace, Reinforce, Replace, lesser()),
            (Verdict::RejectReplace, MakeSafe, MakeSafe, vec![]),
            (Verdict::Danger, Replace, MakeSafe, lesser()),
        ] {
            assert_eq!(done(verdict, decided, None), (action, 0, refused));
        }
        assert_eq!(done(SOUND, Replace, Some(2027)), (Replace, 2, vec![]));
        assert_eq!(done(SOUND, Reinforce, None), (Reinforce, 0, vec![]));
        assert_eq!(done(SOUND, Inspect, None), (Inspect, 0, vec![]));
    }

    #[test]
    fn a_must_do_is_put_off_only_under_a_name_with_a_control_and_a_review_to_come() {
        let mut by_law = programme();
        by_law.inspections[0].kind = RuleKind::Law;
        for (poles, action, replaced, first) in [
            (
                (2024, Verdict::RejectReplace),
                Action::Replace,
                Some(3),
                None,
            ),
            ((2024, Verdict::Danger), Action::MakeSafe, Some(3), None),
            ((2014, SOUND), Action::Inspect, None, Some(3)),
        ] {
            let complete = signed(0, DecisionKind::Defer, Some(2028));
            let inventory = with(line(&[poles]), vec![complete.clone()]);
            let schedule = solved(&inventory, &by_law);
            assert_eq!(standing(&schedule, 0), put_off(action, 3));
            let visits = schedule.visits[0];
            assert_eq!((visits.replace, visits.first), (replaced, first));
            let lacking = [
                Decision {
                    by: None,
                    ..complete.clone()
                },
                Decision {
                    interim_control: None,
                    ..complete.clone()
                },
                Decision {
                    review_date: None,
                    ..complete.clone()
                },
            ];
            for (incomplete, code) in lacking
                .into_iter()
                .map(|own| (own, Code::DeferralIncomplete))
                .chain([(
                    Decision {
                        review_date: Some(date(2024, 12, 31)),
                        ..complete
                    },
                    Code::DeferralPastReview,
                )])
            {
                let inventory = with(line(&[poles]), vec![incomplete]);
                let schedule = solved(&inventory, &by_law);
                assert_eq!(year_of(&schedule, 0), Some(0), "{code}");
                assert_eq!(codes(&inventory, &by_law), [code]);
            }
        }
    }

    #[test]
    fn a_must_do_that_is_left_out_is_owed_again_when_its_review_is_over() {
        let reject = [(2024, Verdict::RejectReplace)];
        let out = |signed: bool| {
            let kind = DecisionKind::LeaveOut;
            let own = if signed {
                self::signed(0, kind, None)
            } else {
                decision(0, kind, None)
            };
            let inventory = with(line(&reject), vec![own]);
            standing(&solved(&inventory, &programme()), 0)
        };
        // Review by March 2026: the second plan year.
        assert_eq!(out(true), put_off(Action::Replace, 1));
        assert!(matches!(out(false), Standing::Planned { year: 0, .. }));
    }

    #[test]
    fn a_pin_in_time_needs_no_signature_and_a_late_one_does() {
        // Judged in May 2024, replaced within three years: by May 2027, plan year 2.
        let mut programme = programme();
        programme.policy.replace_within_years = 3.0;
        let reject = [(2024, Verdict::RejectReplace)];
        for (pin, planned) in [
            (decision(0, DecisionKind::Pin, Some(2026)), Some(1)),
            (decision(0, DecisionKind::Pin, Some(2029)), Some(2)),
            (signed(0, DecisionKind::Pin, Some(2029)), None),
        ] {
            let inventory = with(line(&reject), vec![pin]);
            assert_eq!(year_of(&solved(&inventory, &programme), 0), planned);
        }
    }

    fn on_line(inventory: &Inventory, own: Decision) -> Decision {
        let line = inventory.pole(PoleIndex(0)).line.expect("a line");
        Decision {
            target: Target::Line(line),
            ..own
        }
    }

    #[test]
    fn a_line_is_visited_in_its_year_but_for_poles_just_inspected_and_those_decided_by_themselves()
    {
        let inventory = line(&[
            (2015, SOUND),
            (2018, SOUND),
            (2024, SOUND),
            (2024, Verdict::RejectReplace),
            (2018, SOUND),
        ]);
        let pin = on_line(&inventory, decision(0, DecisionKind::Pin, Some(2027)));
        let own = decision(4, DecisionKind::Pin, Some(2025));
        let inventory = with(inventory, vec![pin, own]);
        let schedule = solved(&inventory, &programme());
        let years: Vec<_> = (0..5).map(|pole| year_of(&schedule, pole)).collect();
        // The third was seen in 2024 and is spared for five years; what a verdict calls for stays as it is.
        assert_eq!(years, [Some(2), Some(2), Some(9), Some(0), Some(0)]);
    }

    #[test]
    fn a_law_binds_the_poles_of_a_line_one_by_one() {
        let mut programme = programme();
        programme.inspections[0].kind = RuleKind::Law;
        let inventory = line(&[(2015, SOUND), (2023, SOUND)]);
        let wait = on_line(&inventory, decision(0, DecisionKind::Defer, Some(2027)));
        let inventory = with(inventory, vec![wait]);
        let outcome = &decide(&inventory, &programme).outcomes[0];
        assert_eq!(
            *outcome,
            Outcome {
                about: vec![PoleIndex(0), PoleIndex(1)],
                followed: vec![PoleIndex(1)],
                refused: vec![(PoleIndex(0), Refusal::Incomplete)],
                unmatched: false,
            }
        );
        let problem = &decide(&inventory, &programme).problems(&inventory)[0];
        assert!(problem.what.ends_with(", for P-0"), "{}", problem.what);
    }

    #[test]
    fn a_package_is_found_by_its_name_or_by_its_stretch_and_stays_together() {
        let pin = |name: &str, year| Decision {
            target: Target::Package(name.to_owned()),
            ..decision(0, DecisionKind::Freeze, Some(year))
        };
        let fleet = || line(&[(2015, SOUND), (2015, SOUND), (2022, SOUND)]);
        let of = |decisions| {
            let inventory = with(fleet(), decisions);
            let schedule = solved(&inventory, &programme());
            let years: Vec<_> = (0..3).map(|pole| year_of(&schedule, pole)).collect();
            let outcome = schedule.decisions.outcomes.first();
            let about = outcome.map_or(0, |outcome| outcome.about.len());
            (years, about)
        };
        // Two of the three are due in 2025; the third was seen in 2022, is spared for five years and due in 2032.
        let (before, after) = (
            vec![Some(0), Some(0), Some(7)],
            vec![Some(1), Some(1), Some(7)],
        );
        assert_eq!(of(vec![]), (before, 0));
        assert_eq!(of(vec![pin("L, 2025", 2026)]), (after.clone(), 2));
        // A package of last year's plan: the whole stretch is meant.
        assert_eq!(of(vec![pin("L, 2024", 2026)]), (after, 3));
        let inventory = with(fleet(), vec![pin("M, 2025", 2026)]);
        assert_eq!(codes(&inventory, &programme()), [Code::UnknownPackage]);
        assert_eq!(year_of(&solved(&inventory, &programme()), 0), Some(0));
    }

    #[test]
    fn an_engineer_clears_what_was_recorded_up_to_that_day_and_nothing_later() {
        let clear = |day| Decision {
            date: Some(day),
            ..signed(0, DecisionKind::Clear, None)
        };
        for verdict in [Verdict::Danger, Verdict::RejectReplace] {
            for (day, stands) in [
                (date(2024, 5, 1), false),
                (date(2024, 4, 30), true),
                (date(2024, 12, 1), false),
            ] {
                let inventory = with(line(&[(2024, verdict)]), vec![clear(day)]);
                let schedule = solved(&inventory, &programme());
                let acted = matches!(
                    standing(&schedule, 0),
                    Standing::Planned {
                        action: Action::Replace | Action::MakeSafe,
                        ..
                    }
                );
                assert_eq!(acted, stands, "{verdict:?} cleared on {day}");
                let nothing = stands.then_some(Code::DecisionWithoutEffect);
                assert_eq!(codes(&inventory, &programme()), Vec::from_iter(nothing));
            }
        }
    }

    #[test]
    fn a_later_law_is_kept_too_where_an_earlier_guideline_binds() {
        // Due in May 2025 by the guideline and in May 2027 by the law.
        let mut programme = programme();
        let mut law = rule("law", 12.0, 12.0);
        law.kind = RuleKind::Law;
        programme.inspections.push(law);
        let pin = |year| decision(0, DecisionKind::Pin, Some(year));
        for (year, decided) in [(2027, Some(When::In(2))), (2028, None)] {
            let inventory = with(line(&[(2015, SOUND)]), vec![pin(year)]);
            let when = solved(&inventory, &programme)
                .decisions
                .of(PoleIndex(0))
                .when;
            assert_eq!(when.map(|(_, when)| when), decided);
        }
    }
}
