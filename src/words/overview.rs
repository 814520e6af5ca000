//! What a plan says in one look, as values: danger first, then what is overdue, next year's round, what will be
//! replaced, what is most uncertain.
//!
//! Counts and picks from the plan, computes no model. [`super::screen`] puts it into words; `--json` prints it as it is.

use super::compliance::CycleDone;
use super::decisions::{Decided, decided};
use super::failures::{RecordedFailures, recorded};
use super::funding::{Unfunded, unfunded};
use super::orders::{Buying, buying};
use super::previous::SincePrevious;
use super::years::{YearsChosen, years_chosen};
use super::{Case, Checks, calendar_year};
use crate::inventory::{Inventory, RowCount};
use crate::models::Models;
use crate::plan::Plan;
use crate::pole::{NameIndex, PoleIndex};
use crate::problem::Problems;
use crate::programme::Programme;
use crate::schedule::due::hidden_dangers;
use crate::schedule::{Action, Deferral, DueBecause, Priority, Reason, Standing};
use crate::score::funding::funding;
use crate::trial::{Band, Kind};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Last rounds' years shown beside the expected rejects.
const PAST_ROUNDS: usize = 5;

/// Most uncertain curve cells shown.
const WIDEST_CELLS: usize = 3;

/// A count over the trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

impl From<Band> for Spread {
    fn from(band: Band) -> Self {
        Self {
            mean: band.mean,
            standard_error: band.standard_error,
            p10: band.p10,
            p50: band.p50,
            p90: band.p90,
        }
    }
}

/// Rows of the files of one kind, and where each went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Rows {
    /// Read.
    pub read: usize,
    /// Used.
    pub used: usize,
    /// About poles that are not planned for.
    pub out_of_scope: usize,
    /// Not usable.
    pub set_aside: usize,
}

impl From<RowCount> for Rows {
    fn from(count: RowCount) -> Self {
        Self {
            read: count.read,
            used: count.used,
            out_of_scope: count.out_of_scope,
            set_aside: count.set_aside,
        }
    }
}

/// Problems of one code.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ProblemCount {
    /// Code.
    pub code: &'static str,
    /// Severity.
    pub severity: &'static str,
    /// What kind of problem.
    pub title: &'static str,
    /// How many.
    pub count: usize,
}

/// A pole judged dangerous.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DangerRecord {
    /// Id.
    pub pole: String,
    /// Line.
    pub line: Option<String>,
    /// When it was judged so.
    pub date: String,
}

/// Inspections overdue by one rule.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OverdueByRule {
    /// Rule.
    pub rule: String,
    /// Law or guideline.
    pub kind: &'static str,
    /// Poles.
    pub poles: usize,
    /// The earliest due date.
    pub oldest: String,
    /// Its pole.
    pub oldest_pole: String,
}

/// Rejects found in one past year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PastRound {
    /// Year.
    pub year: i16,
    /// Inspections that say something about the wood.
    pub inspections: usize,
    /// Rejects among them.
    pub rejects: usize,
}

/// The first plan year's inspections.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextRound {
    /// Year.
    pub year: i16,
    /// Poles planned for inspection.
    pub inspections: usize,
    /// Lines that they stand on.
    pub lines: Vec<String>,
    /// Crew-days that it takes.
    pub crew_days: f64,
    /// Crew-days that there are.
    pub crew_days_available: f64,
    /// Rejects expected.
    pub expected_rejects: Option<Spread>,
    /// Inspections expected, over the trials.
    pub expected_inspections: Option<Spread>,
    /// What the last rounds really found.
    pub past_rounds: Vec<PastRound>,
}

/// New poles needed over some years.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Needed {
    /// The kind of demand; `total` for all together, taken from the trials.
    pub kind: &'static str,
    /// How many.
    pub count: Spread,
}

/// Replacements to expect.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Replacements {
    /// The first plan year.
    pub first_year: i16,
    /// By kind, in that year.
    pub in_first_year: Vec<Needed>,
    /// Mean of the first five years together: means add, quantiles do not.
    pub mean_of_five_years: f64,
    /// Years of the whole forecast.
    pub horizon_years: u16,
    /// By kind, over the whole forecast.
    pub over_horizon: Vec<Needed>,
}

/// A curve cell whose median is little known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WideCell {
    /// Its kind of pole.
    pub title: String,
    /// Decay zone.
    pub zone: u8,
    /// Poles.
    pub poles: usize,
    /// The owner's median life: 5 %, 50 % and 95 %, years.
    pub median_years: [f64; 3],
    /// Whether the findings contradict the curve, so that the interval cannot be trusted.
    pub contradicted: bool,
}

/// What is least known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unknowns {
    /// Poles without a set date.
    pub set_date: usize,
    /// Poles without a species.
    pub species: usize,
    /// Poles without a preservative.
    pub preservative: usize,
    /// Poles without a length or a class.
    pub size: usize,
    /// Poles without coordinates.
    pub place: usize,
    /// Poles never inspected.
    pub never_inspected: usize,
    /// Poles judged by the generic curve.
    pub generic_curve: usize,
    /// Poles taken as a mixture of curves, their kind not being recorded.
    pub several_curves: usize,
    /// The widest cells.
    pub widest_cells: Vec<WideCell>,
}

/// A figure that nobody has confirmed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AssumedFigure {
    /// Key in the programme.
    pub key: &'static str,
    /// Value taken.
    pub value: String,
    /// Where it comes from.
    pub mark: &'static str,
}

/// A plan in one look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Overview {
    /// Title of the programme.
    pub title: String,
    /// The day from which it plans.
    pub plan_from: String,
    /// Trials.
    pub trials: u32,
    /// Seed.
    pub seed: u64,
    /// Rows of the pole files.
    pub pole_rows: Rows,
    /// Rows of the inspection files.
    pub inspection_rows: Rows,
    /// Records of last inspections on rows of the pole files.
    pub last_inspections: Rows,
    /// Rows of the pole files that give a count.
    pub counted_rows: usize,
    /// Poles that those stand for.
    pub counted_poles: usize,
    /// Rows of the files of work done.
    pub work_rows: Rows,
    /// Rows of the files of failures.
    pub failure_rows: Rows,
    /// Poles that are gone and whose records are kept apart.
    pub removed: usize,
    /// What their records taught, or what would make them teach; `None` where there are none.
    pub removed_records: Option<String>,
    /// What of the records is taken on trust or left unused, in sentences.
    pub on_trust: Vec<String>,
    /// Poles planned for.
    pub poles: usize,
    /// Problems in the data.
    pub problems: Vec<ProblemCount>,
    /// Danger records.
    pub danger: Vec<DangerRecord>,
    /// Poles of whose place the last word before their set date was danger, while nothing says that they are new.
    pub hidden_danger: Vec<DangerRecord>,
    /// Inspections overdue, by rule.
    pub overdue: Vec<OverdueByRule>,
    /// Poles of which nothing is recorded that proves that they are not overdue; not among those.
    pub nothing_recorded: usize,
    /// Poles rejected and still standing.
    pub rejects_standing: usize,
    /// Poles with a defect above the groundline that a rule acts upon.
    pub above_ground: usize,
    /// Must-do and other work that found no room.
    pub deferred: usize,
    /// Those of them that found crew-days and no money.
    pub deferred_for_money: usize,
    /// What became of the owner's decisions, if there are any.
    pub decisions: Option<Decided>,
    /// The first year's round.
    pub next_round: NextRound,
    /// How good the years of the visits are.
    pub years: YearsChosen,
    /// Replacements.
    pub replacements: Replacements,
    /// What to order.
    pub orders: Buying,
    /// Failures on record, if any are.
    pub failures: Option<RecordedFailures>,
    /// What is least known.
    pub unknowns: Unknowns,
    /// The plan's numbers and the inspections held against each other, where that was asked for.
    pub checks: Option<Checks>,
    /// Defaults in place of the owner's figures.
    pub assumed: Vec<AssumedFigure>,
    /// How far each rule's cycle is, where that was counted.
    pub cycles: Vec<CycleDone>,
    /// Must-dos for which the limits of money do not suffice.
    pub unfunded: Vec<Unfunded>,
    /// What became of the earlier plan, where the programme names one.
    pub since_previous: Option<SincePrevious>,
    /// The caution.
    pub caution: &'static str,
}

/// A plan in one look.
pub fn overview(
    inventory: &Inventory,
    problems: &Problems,
    models: &Models,
    programme: &Programme,
    plan: &Plan,
) -> Overview {
    let cases: Vec<Case<'_>> = plan
        .schedule
        .ranking
        .iter()
        .map(|&pole| Case {
            inventory,
            models,
            programme,
            plan,
            pole,
        })
        .collect();
    Overview {
        title: programme.title.clone(),
        plan_from: programme.plan_from.to_string(),
        trials: plan.forecast.trials,
        seed: programme.seed,
        pole_rows: inventory.pole_rows.into(),
        inspection_rows: inventory.inspection_rows.into(),
        last_inspections: inventory.last_inspections.into(),
        counted_rows: inventory.counted.rows,
        counted_poles: inventory.counted.poles,
        work_rows: inventory.work_rows.into(),
        failure_rows: inventory.failure_rows.into(),
        removed: inventory.removed.len(),
        removed_records: super::removed::line(&plan.beliefs.calibration.removed),
        on_trust: super::records::on_trust(inventory, programme),
        poles: inventory.len(),
        problems: problem_counts(problems),
        danger: danger(&cases),
        hidden_danger: hidden_danger(inventory),
        overdue: overdue(&cases),
        nothing_recorded: cases.iter().filter(|case| nothing_recorded(case)).count(),
        rejects_standing: cases
            .iter()
            .filter(|case| matches!(case.row().reason, Reason::Reject { .. }))
            .count(),
        above_ground: cases
            .iter()
            .filter(|case| matches!(case.row().reason, Reason::AboveGround { .. }))
            .count(),
        deferred: deferred(&cases, Deferral::is_for_want),
        deferred_for_money: deferred(&cases, |reason| reason == Deferral::Money),
        decisions: decided(inventory, programme, plan),
        next_round: next_round(&cases, inventory, programme, plan),
        years: years_chosen(programme, &plan.schedule),
        replacements: replacements(programme, plan),
        orders: buying(&Case {
            inventory,
            models,
            programme,
            plan,
            pole: PoleIndex(0),
        }),
        failures: recorded(inventory, programme, plan),
        unknowns: unknowns(&cases, models, plan),
        checks: None,
        assumed: programme
            .assumed
            .iter()
            .map(|assumed| AssumedFigure {
                key: assumed.key,
                value: assumed.value.clone(),
                mark: assumed.mark,
            })
            .collect(),
        cycles: Vec::new(),
        since_previous: None,
        unfunded: unfunded(
            inventory,
            programme,
            &funding(inventory, programme, &plan.schedule),
        ),
        caution: super::Caution::Estimate.text(),
    }
}

fn problem_counts(problems: &Problems) -> Vec<ProblemCount> {
    problems
        .by_code()
        .into_iter()
        .map(|(code, count)| {
            let info = code.info();
            ProblemCount {
                code: info.name,
                severity: info.severity.word(),
                title: info.title,
                count,
            }
        })
        .collect()
}

fn danger(cases: &[Case<'_>]) -> Vec<DangerRecord> {
    cases
        .iter()
        .filter_map(|case| match case.row().reason {
            Reason::Danger { date } | Reason::AboveGround { date, .. }
                if case.row().priority == Priority::Danger =>
            {
                Some(DangerRecord {
                    pole: case.id().to_owned(),
                    line: case.inventory.line_of(case.pole).map(str::to_owned),
                    date: date.to_string(),
                })
            }
            _ => None,
        })
        .collect()
}

fn hidden_danger(inventory: &Inventory) -> Vec<DangerRecord> {
    hidden_dangers(inventory)
        .into_iter()
        .map(|(pole, date)| DangerRecord {
            pole: inventory.id(pole).to_owned(),
            line: inventory.line_of(pole).map(str::to_owned),
            date: date.to_string(),
        })
        .collect()
}

fn nothing_recorded(case: &Case<'_>) -> bool {
    case.row()
        .due
        .is_some_and(|due| due.because == DueBecause::NothingRecorded)
}

/// Poles deferred for such a reason.
fn deferred(cases: &[Case<'_>], is_meant: impl Fn(Deferral) -> bool) -> usize {
    let rows = cases.iter().map(|case| case.row().standing);
    rows.filter(
        |standing| matches!(standing, Standing::Deferred { reason, .. } if is_meant(*reason)),
    )
    .count()
}

/// What visits that a rule calls for did not find.
pub fn what_they_want(overview: &Overview) -> &'static str {
    match overview.deferred_for_money {
        0 => "no crew-days",
        own if own == overview.deferred => "no money within the limits",
        _ => "no crew-days, or no money within the limits,",
    }
}

fn overdue(cases: &[Case<'_>]) -> Vec<OverdueByRule> {
    let mut by_rule: BTreeMap<usize, Vec<&Case<'_>>> = BTreeMap::new();
    for case in cases {
        let late = case.row().overdue_days > 0 && !nothing_recorded(case);
        if let (Some(due), true) = (case.row().due, late) {
            by_rule.entry(due.rule).or_default().push(case);
        }
    }
    by_rule
        .into_values()
        .filter_map(|late| {
            let oldest = late
                .iter()
                .min_by_key(|case| (case.row().due.map(|due| due.date), case.pole))?;
            let rule = oldest.rule()?;
            Some(OverdueByRule {
                rule: rule.name.clone(),
                kind: rule.kind.word(),
                poles: late.len(),
                oldest: oldest.row().due?.date.to_string(),
                oldest_pole: oldest.id().to_owned(),
            })
        })
        .collect()
}

fn next_round(
    cases: &[Case<'_>],
    inventory: &Inventory,
    programme: &Programme,
    plan: &Plan,
) -> NextRound {
    let visited: Vec<PoleIndex> = cases
        .iter()
        .filter(|case| {
            matches!(
                case.row().standing,
                Standing::Planned {
                    action: Action::Inspect,
                    year: 0,
                    ..
                }
            )
        })
        .map(|case| case.pole)
        .collect();
    let lines: BTreeSet<NameIndex> = visited
        .iter()
        .filter_map(|&pole| inventory.pole(pole).line)
        .collect();
    let first = plan.forecast.years.first();
    NextRound {
        year: calendar_year(programme, 0),
        inspections: visited.len(),
        lines: lines
            .into_iter()
            .map(|line| inventory.names.get(line).to_owned())
            .collect(),
        crew_days: plan.schedule.crew_days.first().copied().unwrap_or(0.0),
        crew_days_available: programme.crews.crew_days_per_year,
        expected_rejects: first.map(|year| year.rejects_found.into()),
        expected_inspections: first.map(|year| year.inspections.into()),
        past_rounds: past_rounds(inventory),
    }
}

/// The last years' inspections that look into the wood, and the rejects among them.
fn past_rounds(inventory: &Inventory) -> Vec<PastRound> {
    let mut by_year: BTreeMap<i16, (usize, usize)> = BTreeMap::new();
    for inspection in inventory.inspections() {
        if inspection.method.is_intrusive()
            && inspection.verdict != crate::pole::Verdict::NotInspected
        {
            let counts = by_year.entry(inspection.date.year()).or_default();
            counts.0 += 1;
            counts.1 += usize::from(inspection.verdict.is_reject());
        }
    }
    let skipped = by_year.len().saturating_sub(PAST_ROUNDS);
    by_year
        .into_iter()
        .skip(skipped)
        .map(|(year, (inspections, rejects))| PastRound {
            year,
            inspections,
            rejects,
        })
        .collect()
}

fn replacements(programme: &Programme, plan: &Plan) -> Replacements {
    let first_year = calendar_year(programme, 0);
    Replacements {
        first_year,
        in_first_year: needed(plan, Some(first_year)),
        mean_of_five_years: plan
            .forecast
            .years
            .iter()
            .take(5)
            .map(|year| year.replacements.mean)
            .sum(),
        horizon_years: programme.horizon_years,
        over_horizon: needed(plan, None),
    }
}

/// The rows of all sizes together, by kind and in total.
fn needed(plan: &Plan, year: Option<i16>) -> Vec<Needed> {
    let of_kind = |kind: Option<Kind>| {
        plan.forecast
            .demand
            .iter()
            .find(|row| row.year == year && row.group.is_none() && row.kind == kind)
            .map(|row| Needed {
                kind: kind.map_or("total", Kind::word),
                count: row.count.into(),
            })
    };
    Kind::ALL
        .into_iter()
        .map(Some)
        .chain([None])
        .filter_map(of_kind)
        .collect()
}

fn unknowns(cases: &[Case<'_>], models: &Models, plan: &Plan) -> Unknowns {
    let count =
        |unknown: &dyn Fn(&Case<'_>) -> bool| cases.iter().filter(|case| unknown(case)).count();
    let mut cells: Vec<WideCell> = plan
        .beliefs
        .calibration
        .cells
        .iter()
        .map(|learned| WideCell {
            title: models.kind(learned.cell).title.clone(),
            zone: models.cell(learned.cell).zone.number(),
            poles: learned.poles,
            median_years: learned.owners,
            contradicted: learned.pinned,
        })
        .collect();
    let width =
        |cell: &WideCell| cell.median_years[2] / cell.median_years[0].max(f64::MIN_POSITIVE);
    // Contradicted cells come first and are all shown.
    cells.sort_by(|a, b| {
        let order = b.contradicted.cmp(&a.contradicted);
        order.then(width(b).total_cmp(&width(a)))
    });
    let contradicted = cells.iter().filter(|cell| cell.contradicted).count();
    cells.truncate(WIDEST_CELLS.max(contradicted));
    Unknowns {
        set_date: count(&|case| case.facts().installed.is_none()),
        species: count(&|case| case.facts().species.is_none()),
        preservative: count(&|case| case.facts().preservative.is_none()),
        size: count(&|case| case.facts().length.is_none() || case.facts().class.is_none()),
        place: count(&|case| case.facts().place.is_none()),
        never_inspected: count(&|case| case.last().is_none()),
        generic_curve: count(&|case| models.is_generic(case.condition().cell)),
        several_curves: count(&|case| case.condition().curves > 1),
        widest_cells: cells,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::sample;

    #[test]
    fn the_overview_counts_what_the_plan_holds() {
        let sample = sample::fleet();
        let seen = overview(
            &sample.inventory,
            &sample.problems,
            &sample.models,
            &sample.programme,
            &sample.plan,
        );
        assert_eq!(seen.danger.len(), 1);
        assert_eq!(seen.overdue.len(), 1);
        assert_eq!(seen.overdue[0].oldest, "2023-06-30");
        assert_eq!(seen.deferred, 1);
        assert_eq!(seen.next_round.lines, ["Mill road"]);
        assert_eq!(seen.next_round.past_rounds.len(), 2);
        assert_eq!(
            (seen.unknowns.set_date, seen.unknowns.generic_curve),
            (1, 1)
        );
        // 1.6 a year in the sample, five years.
        assert!((seen.replacements.mean_of_five_years - 8.0).abs() < 1e-12);
        assert_eq!(
            seen.replacements
                .in_first_year
                .iter()
                .map(|needed| needed.kind)
                .collect::<Vec<_>>(),
            ["planned", "after_failure", "total"]
        );
    }
}
