//! What records and rules call for: the verdict that stands, and the binding due date with its rule (model section 7).
//!
//! Law and guideline alike bind when the programme adopts them; the earliest date wins and is named. Knows neither
//! beliefs nor crews. Nothing here clears a pole: only a recorded finding by an equal or better method does, or a named
//! engineer by a recorded decision.

use super::{Due, DueBecause};
use crate::inventory::{Ended, Inventory};
use crate::pole::{
    Consequence, Defect, Inspection, Method, NameIndex, PoleIndex, Status, Verdict, Vocabulary,
};
use crate::problem::Source;
use crate::programme::{
    AboveGroundAction, AboveGroundRule, InspectionRule, Programme, RuleKind, Seen,
};
use crate::units::{Date, date_after, days_after};

/// A verdict below the limit that nothing has lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StandingVerdict {
    /// Where the record stands.
    pub source: Source,
    /// When it was given.
    pub date: Date,
    /// The verdict.
    pub verdict: Verdict,
    /// By what method.
    pub method: Method,
    /// The defect above the groundline that calls for it, and the days within which its rule wants it done; `None` where
    /// it is the groundline that was judged. A defect stands as danger where it is to be made safe, else as a reject.
    pub defect: Option<(Defect, i32)>,
    /// The end of the reinforcement that settled the verdict until then.
    pub braced_until: Option<Date>,
    /// Whether the pole has been reinforced before: nobody braces it twice.
    pub was_braced: bool,
}

impl StandingVerdict {
    /// The day by which it must be acted upon.
    pub fn deadline(&self, programme: &Programme) -> Date {
        let policy = &programme.policy;
        match (self.defect, self.verdict) {
            (Some((_, days)), _) => days_after(self.date, days),
            (None, Verdict::Danger) => days_after(self.date, policy.make_safe_within_days),
            (None, _) => date_after(
                self.braced_until.unwrap_or(self.date),
                policy.replace_within_years,
            ),
        }
    }

    /// What the verdict shows to whoever decides.
    pub fn seen(&self) -> Seen {
        if self.verdict == Verdict::RejectReinforceable && !self.was_braced {
            Seen::Reinforceable
        } else {
            Seen::BelowLimit
        }
    }
}

/// Poles that stand under a danger verdict, in the order of their ids.
pub fn dangers(inventory: &Inventory, programme: &Programme) -> Vec<(PoleIndex, StandingVerdict)> {
    inventory
        .indices()
        .filter(|pole| inventory.pole(*pole).status != Status::Removed)
        .filter_map(|pole| Some((pole, standing_verdict(inventory, programme, pole)?)))
        .filter(|(_, standing)| standing.verdict == Verdict::Danger)
        .collect()
}

/// Poles of whose place the last word before the set date that the list gives was danger, with its day, in the order of
/// their ids: no work done says that a new pole stands there, and no engineer has cleared it. Where the set date is
/// mistyped they are dangerous today.
pub fn hidden_dangers(inventory: &Inventory) -> Vec<(PoleIndex, Date)> {
    let mut found: Vec<(PoleIndex, Date)> = inventory
        .removed
        .iter()
        .filter(|gone| gone.because == Ended::SetSince)
        .filter_map(|gone| {
            let says = |seen: &&Inspection| seen.verdict != Verdict::NotInspected;
            let last = gone.inspections.iter().rfind(says)?;
            let pole = inventory.find(&gone.id)?;
            let cleared = inventory.cleared_until(pole);
            let stands = inventory.pole(pole).status != Status::Removed
                && last.verdict == Verdict::Danger
                && cleared.is_none_or(|until| until < last.date);
            stands.then_some((pole, last.date))
        })
        .collect();
    found.sort_unstable();
    found
}

/// What records and rules call for at one pole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    /// Whether the pole is there at all.
    pub stands: bool,
    /// The verdict that calls for action.
    pub verdict: Option<StandingVerdict>,
    /// The binding rule and its date.
    pub due: Option<Due>,
    /// The last day on which an inspection that a law calls for is in time: the earliest of all laws that bind the pole.
    pub law_until: Option<Date>,
    /// The method that satisfies the policy and every rule that calls for the pole within the schedule.
    pub method: Method,
    /// Years from one inspection to the next once the pole is reinforced, where a rule for such poles says so.
    pub braced_repeat_years: Option<f64>,
    /// The last inspection by a method that satisfies the binding rule; by any that looks into the wood where no rule
    /// binds.
    pub last: Option<Date>,
}

/// What records and rules call for at one pole.
pub fn duty(inventory: &Inventory, programme: &Programme, pole: PoleIndex) -> Duty {
    let due = binding_due(inventory, programme, pole);
    let least = due.map_or(Method::Patrol, |due| {
        programme.inspections[due.rule].least_method
    });
    let findings = findings(inventory, programme, pole);
    Duty {
        stands: inventory.pole(pole).status != Status::Removed,
        verdict: standing_verdict(inventory, programme, pole),
        due,
        law_until: law_until(inventory, programme, pole),
        method: method_needed(inventory, programme, pole),
        braced_repeat_years: programme
            .inspections
            .iter()
            .filter(|rule| rule.applies.reinforced_only && fits(inventory, rule, pole))
            .map(|rule| rule.repeat_years)
            .min_by(f64::total_cmp),
        last: last_qualifying(findings, least).map(|inspection| inspection.date),
    }
}

/// The inspections that had happened by the plan date, oldest first.
fn findings<'a>(
    inventory: &'a Inventory,
    programme: &Programme,
    pole: PoleIndex,
) -> &'a [Inspection] {
    let all = inventory.inspections_of(pole);
    &all[..all.partition_point(|inspection| inspection.date <= programme.plan_from)]
}

/// What calls for action: of the verdict on the groundline and the defects above it what is dangerous, else what is to be
/// done first; of equals the groundline.
pub fn standing_verdict(
    inventory: &Inventory,
    programme: &Programme,
    pole: PoleIndex,
) -> Option<StandingVerdict> {
    let groundline = groundline_verdict(inventory, programme, pole);
    let above = Defect::WORDS
        .iter()
        .filter_map(|(defect, _, _)| standing_defect(inventory, programme, pole, *defect));
    groundline.into_iter().chain(above).min_by_key(|standing| {
        let is_milder = standing.verdict != Verdict::Danger;
        (is_milder, standing.deadline(programme))
    })
}

/// A defect above the groundline for which the programme has a rule: the earliest record that no later one, by an equal
/// or better method and with a word on such defects, found gone.
fn standing_defect(
    inventory: &Inventory,
    programme: &Programme,
    pole: PoleIndex,
    defect: Defect,
) -> Option<StandingVerdict> {
    let AboveGroundRule {
        action,
        within_days,
        ..
    } = programme.above_ground_rule(defect)?;
    let mut standing: Vec<&Inspection> = Vec::new();
    for finding in findings(inventory, programme, pole) {
        match finding.above_ground {
            Some(seen) if seen.has(defect) => standing.push(finding),
            Some(_) => standing.retain(|earlier| !finding.method.is_at_least(earlier.method)),
            None => {}
        }
    }
    let first = standing
        .into_iter()
        .find(|record| !is_cleared(inventory, programme, pole, record.date))?;
    Some(StandingVerdict {
        source: first.source,
        date: first.date,
        verdict: match action {
            AboveGroundAction::MakeSafe => Verdict::Danger,
            AboveGroundAction::Replace => Verdict::RejectReplace,
        },
        method: first.method,
        defect: Some((defect, *within_days)),
        braced_until: None,
        was_braced: inventory.pole(pole).reinforced.is_some(),
    })
}

/// The verdict on the groundline that calls for action: the earliest danger that stands, else the earliest reject.
///
/// A finding above the limit by an equal or better method lifts a reject or danger; a reject by an equal or better
/// method turns danger into a reject. A brace fitted on or after the verdict settles a reject that a brace restores, for
/// as long as the brace lives; to pass the pole meanwhile says nothing of the wood behind it, and lifts nothing.
pub fn groundline_verdict(
    inventory: &Inventory,
    programme: &Programme,
    pole: PoleIndex,
) -> Option<StandingVerdict> {
    let mut standing: Vec<StandingVerdict> = Vec::new();
    let brace = brace_of(inventory, programme, pole);
    let bridged = |on: Date, judged: Date| {
        brace.is_some_and(|(since, until)| judged <= since && since <= on && on < until)
    };
    for finding in findings(inventory, programme, pole) {
        if finding.verdict == Verdict::NotInspected {
            continue;
        }
        standing.retain(|earlier| {
            let milder = if earlier.verdict == Verdict::Danger {
                finding.verdict != Verdict::Danger
            } else {
                !finding.verdict.is_reject()
            };
            let lifts = milder && finding.method.is_at_least(earlier.method);
            !lifts || bridged(finding.date, earlier.date)
        });
        if finding.verdict.is_reject() {
            standing.push(StandingVerdict {
                source: finding.source,
                date: finding.date,
                verdict: finding.verdict,
                method: finding.method,
                defect: None,
                braced_until: None,
                was_braced: inventory.pole(pole).reinforced.is_some(),
            });
        }
    }
    standing.retain(|earlier| !is_cleared(inventory, programme, pole, earlier.date));
    if let Some((since, until)) = brace {
        for earlier in &mut standing {
            let restorable = earlier.verdict == Verdict::RejectReinforceable;
            earlier.braced_until = (restorable && since >= earlier.date).then_some(until);
        }
        standing.retain(|earlier| {
            earlier
                .braced_until
                .is_none_or(|until| until <= programme.plan_from)
        });
    }
    let danger = standing.iter().find(|v| v.verdict == Verdict::Danger);
    danger.or(standing.first()).copied()
}

/// Whether a named engineer cleared what was recorded of a pole on this day. What is recorded later stands.
fn is_cleared(inventory: &Inventory, programme: &Programme, pole: PoleIndex, on: Date) -> bool {
    let until = inventory.cleared_until(pole);
    until.is_some_and(|until| on <= until && until <= programme.plan_from)
}

/// The days on which a pole was reinforced and on which the reinforcement has lived its life, where the first is recorded.
fn brace_of(inventory: &Inventory, programme: &Programme, pole: PoleIndex) -> Option<(Date, Date)> {
    let since = inventory.pole(pole).reinforced?.since?;
    (since <= programme.plan_from).then(|| (since, programme.policy.brace_ends(since)))
}

/// The earliest due date of all rules that bind a pole; of equal dates a law's, then the rule listed first.
pub fn binding_due(inventory: &Inventory, programme: &Programme, pole: PoleIndex) -> Option<Due> {
    dues(inventory, programme, pole)
        .min_by_key(|due| (due.date, programme.inspections[due.rule].kind, due.rule))
}

/// When each rule that binds a pole calls for it, in the order of the programme.
pub fn dues(
    inventory: &Inventory,
    programme: &Programme,
    pole: PoleIndex,
) -> impl Iterator<Item = Due> {
    let rules = programme.inspections.iter().enumerate();
    rules
        .filter(move |(_, rule)| applies(inventory, rule, pole))
        .map(move |(place, rule)| due_by_rule(inventory, programme, (place, rule), pole))
}

/// The earliest day, grace included, by which a law that binds the pole wants it inspected.
fn law_until(inventory: &Inventory, programme: &Programme, pole: PoleIndex) -> Option<Date> {
    let rules = programme.inspections.iter().enumerate();
    rules
        .filter(|(_, rule)| rule.kind == RuleKind::Law && applies(inventory, rule, pole))
        .map(|(place, rule)| {
            let due = due_by_rule(inventory, programme, (place, rule), pole);
            days_after(due.date, rule.grace_days)
        })
        .min()
}

/// Whether an inspection by this method satisfies every rule that calls for the pole within the schedule.
pub fn satisfies_rules(
    inventory: &Inventory,
    programme: &Programme,
    pole: PoleIndex,
    method: Method,
) -> bool {
    calling(inventory, programme, pole).all(|rule| method.is_at_least(rule.least_method))
}

/// Whether a rule binds a pole: every part that it gives must fit.
pub fn applies(inventory: &Inventory, rule: &InspectionRule, index: PoleIndex) -> bool {
    let braced = inventory.pole(index).reinforced.is_some();
    fits(inventory, rule, index) && (braced || !rule.applies.reinforced_only)
}

/// Whether a rule would bind a pole if it were reinforced.
fn fits(inventory: &Inventory, rule: &InspectionRule, index: PoleIndex) -> bool {
    let pole = inventory.pole(index);
    let to = &rule.applies;
    let names = |listed: &[String], own: Option<NameIndex>| {
        listed.is_empty()
            || own.is_some_and(|own| listed.iter().any(|name| name == inventory.names.get(own)))
    };
    (to.zones.is_empty() || to.zones.contains(&pole.zone))
        && names(&to.lines, pole.line)
        && names(&to.districts, pole.district)
        && !(to.high_consequence_only && pole.consequence != Some(Consequence::High))
}

/// When one rule calls for a pole that it binds. A rule that comes into force later calls for nothing before that day.
///
/// A rule for reinforced poles counts from the reinforcement and looks at nothing before it. Under every rule somebody
/// must look at a reinforcement when its life is over, unless somebody has since.
fn due_by_rule(
    inventory: &Inventory,
    programme: &Programme,
    (place, rule): (usize, &InspectionRule),
    pole: PoleIndex,
) -> Due {
    let brace = brace_of(inventory, programme, pole);
    let since = brace
        .map(|(since, _)| since)
        .filter(|_| rule.applies.reinforced_only);
    let last = last_qualifying(findings(inventory, programme, pole), rule.least_method)
        .filter(|last| since.is_none_or(|since| last.date >= since));
    let start = since.or(inventory.pole(pole).installed);
    let (date, because) = if let Some(last) = last {
        let (years, because) = interval(rule, last.verdict);
        (date_after(last.date, years), because)
    } else if let Some(start) = start {
        (
            date_after(start, rule.first_age_years),
            DueBecause::FirstAge,
        )
    } else {
        (programme.plan_from, DueBecause::NothingRecorded)
    };
    let (date, because) = match brace {
        Some((_, end)) if end < date && last.is_none_or(|last| last.date < end) => {
            (end, DueBecause::BraceEnds)
        }
        _ => (date, because),
    };
    Due {
        date: rule.effective.map_or(date, |from| date.max(from)),
        rule: place,
        because,
    }
}

/// Years to the next inspection after one with this verdict: the shorter interval where decay was found and the rule
/// has one.
fn interval(rule: &InspectionRule, verdict: Verdict) -> (f64, DueBecause) {
    match rule.after_decay_years {
        Some(years) if verdict != Verdict::Sound && years < rule.repeat_years => {
            (years, DueBecause::AfterDecay)
        }
        _ => (rule.repeat_years, DueBecause::Repeat),
    }
}

/// The last inspection that a rule with this least method counts: one that looks into the wood, is strong enough and
/// says something.
fn last_qualifying(findings: &[Inspection], least: Method) -> Option<&Inspection> {
    findings
        .iter()
        .rfind(|inspection| counts_for(inspection, least))
}

/// Whether a rule with this least method counts an inspection.
pub fn counts_for(inspection: &Inspection, least: Method) -> bool {
    inspection.verdict != Verdict::NotInspected
        && inspection.method.is_intrusive()
        && inspection.method.is_at_least(least)
}

/// The policy's method, or a stronger one where a rule that calls for the pole within the schedule wants it: one visit
/// then satisfies them all.
fn method_needed(inventory: &Inventory, programme: &Programme, pole: PoleIndex) -> Method {
    calling(inventory, programme, pole)
        .map(|rule| rule.least_method)
        .fold(programme.policy.method, |strongest, least| {
            if strongest.is_at_least(least) {
                strongest
            } else {
                least
            }
        })
}

/// The rules that call for a pole within the schedule.
fn calling<'a>(
    inventory: &'a Inventory,
    programme: &'a Programme,
    pole: PoleIndex,
) -> impl Iterator<Item = &'a InspectionRule> {
    let end = programme.year_start(i32::from(programme.schedule_years.max(1)));
    programme
        .inspections
        .iter()
        .enumerate()
        .filter(move |(_, rule)| applies(inventory, rule, pole))
        .filter(move |(place, rule)| {
            due_by_rule(inventory, programme, (*place, rule), pole).date < end
        })
        .map(|(_, rule)| rule)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::common::{inspected, inventory_of, pole_set, programme, rule, signed, with};
    use crate::pole::{DecisionKind, Defects, Pole, Reinforcement};
    use crate::programme::{AppliesTo, RuleKind};
    use crate::units::Zone;
    use jiff::civil::date;

    const FIRST: PoleIndex = PoleIndex(0);

    fn due_of(programme: &Programme, pole: Pole, findings: Vec<Inspection>) -> Option<Due> {
        binding_due(
            &inventory_of(vec![("P-1", "L", pole, findings)]),
            programme,
            FIRST,
        )
    }

    fn verdict_of(findings: Vec<Inspection>) -> Option<Verdict> {
        let inventory = inventory_of(vec![("P-1", "L", pole_set(1980), findings)]);
        standing_verdict(&inventory, &programme(), FIRST).map(|standing| standing.verdict)
    }

    #[test]
    fn the_published_table_gives_its_due_dates() {
        // Source: RUS Bulletin 1730B-121, table of recommended inspection: initial 12-15, 10-12, 8-10 years and
        // subsequent 12, 10, 8 years for decay zones 1, 2-3, 4-5. Published; the earlier end of each range is taken.
        let table = [(1, 12, 12), (2, 10, 10), (3, 10, 10), (4, 8, 8), (5, 8, 8)];
        let mut programme = programme();
        programme.inspections = [(vec![1], 12.0), (vec![2, 3], 10.0), (vec![4, 5], 8.0)]
            .into_iter()
            .map(|(zones, years)| InspectionRule {
                applies: AppliesTo {
                    zones: zones.into_iter().filter_map(Zone::new).collect(),
                    ..AppliesTo::default()
                },
                ..rule("bulletin", years, years)
            })
            .collect();
        for (zone, first, repeat) in table {
            let pole = Pole {
                zone: Zone::new(zone).expect("a zone"),
                installed: Some(date(2015, 5, 1)),
                ..pole_set(2015)
            };
            let never = due_of(&programme, pole, Vec::new()).expect("a rule for every zone");
            assert_eq!(never.date, date_after(date(2015, 5, 1), f64::from(first)));
            assert_eq!(never.date.year(), 2015 + first, "zone {zone}");
            assert_eq!(never.because, DueBecause::FirstAge);
            let seen = inspected(date(2020, 5, 1), Method::PartialExcavation, Verdict::Sound);
            let again = due_of(&programme, pole, vec![seen]).expect("a rule for every zone");
            assert_eq!(again.date.year(), 2020 + repeat, "zone {zone}");
            assert_eq!(again.because, DueBecause::Repeat);
        }
    }

    #[test]
    fn sight_hammer_and_an_empty_visit_reset_nothing() {
        for (method, verdict) in [
            (Method::Patrol, Verdict::Sound),
            (Method::Sound, Verdict::Sound),
            (Method::SoundAndBore, Verdict::Sound),
            (Method::FullExcavation, Verdict::NotInspected),
        ] {
            let seen = inspected(date(2022, 5, 1), method, verdict);
            let due = due_of(&programme(), pole_set(1980), vec![seen]).expect("a rule");
            assert_eq!(due.because, DueBecause::FirstAge, "{method:?} {verdict:?}");
            let undated = Pole {
                installed: None,
                ..pole_set(1980)
            };
            let due = due_of(&programme(), undated, vec![seen]).expect("a rule");
            assert_eq!(due.because, DueBecause::NothingRecorded);
            assert_eq!(due.date, programme().plan_from);
        }
    }

    #[test]
    fn an_instrument_counts_as_partial_excavation() {
        let seen = inspected(date(2022, 5, 1), Method::Instrument, Verdict::Sound);
        let mut programme = programme();
        let due = due_of(&programme, pole_set(1980), vec![seen]).expect("a rule");
        assert_eq!(due.because, DueBecause::Repeat);
        programme.inspections[0].least_method = Method::FullExcavation;
        let due = due_of(&programme, pole_set(1980), vec![seen]).expect("a rule");
        assert_eq!(due.because, DueBecause::FirstAge);
    }

    #[test]
    fn decay_at_the_last_inspection_shortens_the_interval() {
        let mut programme = programme();
        programme.inspections[0].after_decay_years = Some(4.0);
        let first = inspected(
            date(2018, 5, 1),
            Method::PartialExcavation,
            Verdict::DecayServiceable,
        );
        let later = inspected(date(2022, 5, 1), Method::PartialExcavation, Verdict::Sound);
        let due = due_of(&programme, pole_set(1980), vec![first]).expect("a rule");
        assert_eq!(
            (due.date.year(), due.because),
            (2022, DueBecause::AfterDecay)
        );
        let due = due_of(&programme, pole_set(1980), vec![first, later]).expect("a rule");
        assert_eq!((due.date.year(), due.because), (2032, DueBecause::Repeat));
    }

    #[test]
    fn the_earliest_rule_wins_and_a_law_wins_a_tie() {
        let mut programme = programme();
        programme.inspections = vec![rule("ten", 12.0, 10.0), rule("eight", 12.0, 8.0), {
            InspectionRule {
                kind: RuleKind::Law,
                ..rule("law", 12.0, 8.0)
            }
        }];
        let seen = inspected(date(2020, 5, 1), Method::PartialExcavation, Verdict::Sound);
        let due = due_of(&programme, pole_set(1980), vec![seen]).expect("a rule");
        assert_eq!((due.rule, due.date.year()), (2, 2028));
    }

    #[test]
    fn a_rule_calls_for_nothing_before_it_is_in_force() {
        let mut programme = programme();
        programme.inspections[0].effective = Some(date(2027, 1, 1));
        let due = due_of(&programme, pole_set(1980), Vec::new()).expect("a rule");
        assert_eq!(due.date, date(2027, 1, 1));
    }

    #[test]
    fn a_rule_binds_only_what_it_applies_to() {
        let mut programme = programme();
        programme.inspections[0].applies.lines = vec!["another".to_owned()];
        assert_eq!(due_of(&programme, pole_set(1980), Vec::new()), None);
        programme.inspections[0].applies = AppliesTo {
            high_consequence_only: true,
            ..AppliesTo::default()
        };
        assert_eq!(due_of(&programme, pole_set(1980), Vec::new()), None);
        let high = Pole {
            consequence: Some(Consequence::High),
            ..pole_set(1980)
        };
        assert!(due_of(&programme, high, Vec::new()).is_some());
    }

    #[test]
    fn only_an_equal_or_better_method_lifts_a_verdict() {
        let bad = |verdict| inspected(date(2020, 5, 1), Method::PartialExcavation, verdict);
        let later = |method| inspected(date(2022, 5, 1), method, Verdict::DecayServiceable);
        for verdict in [Verdict::Danger, Verdict::RejectReplace] {
            assert_eq!(verdict_of(vec![bad(verdict)]), Some(verdict));
            let weaker = later(Method::SoundAndBore);
            assert_eq!(verdict_of(vec![bad(verdict), weaker]), Some(verdict));
            let equal = later(Method::Instrument);
            assert_eq!(verdict_of(vec![bad(verdict), equal]), None);
            assert_eq!(verdict_of(vec![bad(verdict), equal, bad(verdict)]), None);
        }
    }

    #[test]
    fn danger_becomes_a_reject_only_by_an_equal_or_better_method() {
        let danger = inspected(date(2020, 5, 1), Method::PartialExcavation, Verdict::Danger);
        let reject = |method| inspected(date(2022, 5, 1), method, Verdict::RejectReplace);
        assert_eq!(
            verdict_of(vec![danger, reject(Method::Sound)]),
            Some(Verdict::Danger)
        );
        assert_eq!(
            verdict_of(vec![danger, reject(Method::FullExcavation)]),
            Some(Verdict::RejectReplace)
        );
    }

    #[test]
    fn a_brace_fitted_after_the_verdict_settles_what_a_brace_restores() {
        let judged = |verdict| inspected(date(2020, 5, 1), Method::PartialExcavation, verdict);
        let braced = |since, verdict| {
            let pole = Pole {
                reinforced: Some(Reinforcement { since, kind: None }),
                ..pole_set(1980)
            };
            let inventory = inventory_of(vec![("P-1", "L", pole, vec![judged(verdict)])]);
            standing_verdict(&inventory, &programme(), FIRST)
        };
        let after = Some(date(2021, 1, 1));
        assert_eq!(braced(after, Verdict::RejectReinforceable), None);
        assert!(braced(after, Verdict::RejectReplace).is_some());
        assert!(braced(None, Verdict::RejectReinforceable).is_some());
        assert!(braced(Some(date(2019, 1, 1)), Verdict::RejectReinforceable).is_some());
    }

    /// A pole reinforced on this day.
    fn braced(since: Date) -> Pole {
        Pole {
            reinforced: Some(Reinforcement {
                since: Some(since),
                kind: None,
            }),
            ..pole_set(1970)
        }
    }

    #[test]
    fn a_verdict_that_a_brace_settled_comes_back_when_the_brace_has_lived() {
        // Twenty years by the policy: a brace of 2010 holds until 2030, one of 2004 until 2024, before the plan date.
        let judged = |year| {
            inspected(
                date(year, 5, 1),
                Method::PartialExcavation,
                Verdict::RejectReinforceable,
            )
        };
        let standing = |since: Date, year| {
            let pole = braced(since);
            let inventory = inventory_of(vec![("P-1", "L", pole, vec![judged(year)])]);
            standing_verdict(&inventory, &programme(), FIRST)
        };
        assert_eq!(standing(date(2010, 1, 1), 2009), None);
        let passed = inspected(date(2012, 5, 1), Method::FullExcavation, Verdict::Sound);
        let pole = braced(date(2004, 1, 1));
        let inventory = inventory_of(vec![("P-1", "L", pole, vec![judged(2003), passed])]);
        assert!(standing_verdict(&inventory, &programme(), FIRST).is_some());
        let back = standing(date(2004, 1, 1), 2003).expect("it stands again");
        assert_eq!(back.braced_until, Some(date(2024, 1, 1)));
        assert_eq!(back.seen(), Seen::BelowLimit);
    }

    #[test]
    fn somebody_looks_at_a_brace_when_its_life_is_over() {
        // Inspected in 2023, so that the guideline calls for it in 2033; the brace of 2010 ends in 2030.
        let seen = inspected(date(2023, 5, 1), Method::PartialExcavation, Verdict::Sound);
        let due = due_of(&programme(), braced(date(2010, 3, 1)), vec![seen]).expect("a rule");
        assert_eq!(
            (due.date, due.because),
            (date(2030, 3, 1), DueBecause::BraceEnds)
        );
        // One of 2004 was over in March 2024; a look in May 2024 saw it so.
        let late = inspected(date(2024, 5, 1), Method::PartialExcavation, Verdict::Sound);
        let due = due_of(&programme(), braced(date(2004, 3, 1)), vec![late]).expect("a rule");
        assert_eq!((due.date.year(), due.because), (2034, DueBecause::Repeat));
    }

    #[test]
    fn a_rule_for_reinforced_poles_counts_from_the_reinforcement_and_binds_no_other() {
        let mut programme = programme();
        programme.inspections = vec![rule("braces", 6.0, 4.0)];
        programme.inspections[0].applies.reinforced_only = true;
        let before = inspected(date(2019, 5, 1), Method::PartialExcavation, Verdict::Sound);
        let after = inspected(date(2024, 5, 1), Method::PartialExcavation, Verdict::Sound);
        assert_eq!(due_of(&programme, pole_set(1970), vec![before]), None);
        let of = |findings| due_of(&programme, braced(date(2020, 3, 1)), findings).expect("a rule");
        let first = of(vec![before]);
        assert_eq!(
            (first.date, first.because),
            (date(2026, 3, 1), DueBecause::FirstAge)
        );
        assert_eq!(of(vec![before, after]).date, date(2028, 5, 1));
    }

    #[test]
    fn a_defect_above_the_groundline_acts_by_its_rule() {
        let rule = |defect, action, within_days| AboveGroundRule {
            defects: vec![defect],
            action,
            within_days,
        };
        let mut programme = programme();
        programme.above_ground = vec![
            rule(Defect::Split, AboveGroundAction::Replace, 400),
            rule(Defect::Fire, AboveGroundAction::MakeSafe, 2),
        ];
        let seen = |year, method, defects: Option<Defects>, verdict| Inspection {
            above_ground: defects,
            ..inspected(date(year, 5, 1), method, verdict)
        };
        let of = |findings| {
            let inventory = inventory_of(vec![("P-1", "L", pole_set(1980), findings)]);
            standing_verdict(&inventory, &programme, FIRST)
        };
        let (patrol, none) = (Method::Patrol, Some(Defects::default()));
        let split = Some(Defects::default().with(Defect::Split));
        let found = of(vec![seen(2024, patrol, split, Verdict::Sound)]).expect("a defect");
        assert_eq!(found.defect, Some((Defect::Split, 400)));
        assert_eq!(found.verdict, Verdict::RejectReplace);
        assert_eq!(found.deadline(&programme), date(2025, 6, 5));
        // Fire is dangerous and goes before a reject at the groundline; a reject due earlier goes before a split.
        let both = split.map(|defects| defects.with(Defect::Fire));
        let reject = seen(2023, Method::FullExcavation, None, Verdict::RejectReplace);
        let found = of(vec![reject, seen(2024, patrol, both, Verdict::Sound)]).expect("fire");
        assert_eq!(found.defect, Some((Defect::Fire, 2)));
        let found = of(vec![reject, seen(2024, patrol, split, Verdict::Sound)]).expect("a reject");
        assert_eq!(found.defect, None);
        // Only a word on such defects lifts one, and only by an equal or better method.
        let again = |method, defects| {
            of(vec![
                seen(2023, Method::Sound, split, Verdict::Sound),
                seen(2024, method, defects, Verdict::Sound),
            ])
        };
        assert!(again(Method::FullExcavation, None).is_some());
        assert!(again(patrol, none).is_some());
        assert!(again(Method::Sound, none).is_none());
        // A defect that no rule covers acts not at all.
        let lean = Some(Defects::default().with(Defect::Lean));
        assert!(of(vec![seen(2024, patrol, lean, Verdict::Sound)]).is_none());
    }

    #[test]
    fn an_engineer_clears_defects_above_the_groundline_too_but_none_recorded_later() {
        let mut programme = programme();
        programme.plan_from = date(2026, 1, 1);
        programme.above_ground = vec![AboveGroundRule {
            defects: vec![Defect::Split],
            action: AboveGroundAction::MakeSafe,
            within_days: 2,
        }];
        let split = |year| Inspection {
            above_ground: Some(Defects::default().with(Defect::Split)),
            ..inspected(date(year, 5, 1), Method::Patrol, Verdict::Sound)
        };
        let dangers_of = |years: &[i16]| {
            let findings = years.iter().copied().map(split).collect();
            let inventory = inventory_of(vec![("P-1", "L", pole_set(1980), findings)]);
            let clear = signed(0, DecisionKind::Clear, None);
            let dangers = dangers(&with(inventory, vec![clear]), &programme);
            dangers.iter().map(|(_, own)| own.date).collect::<Vec<_>>()
        };
        // Cleared in November 2024.
        assert_eq!(dangers_of(&[2024]), []);
        assert_eq!(dangers_of(&[2024, 2025]), [date(2025, 5, 1)]);
    }

    #[test]
    fn an_inspection_after_the_plan_date_is_not_read() {
        let seen = inspected(date(2025, 5, 1), Method::FullExcavation, Verdict::Danger);
        assert_eq!(verdict_of(vec![seen]), None);
    }
}
