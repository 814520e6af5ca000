//! `schedule.csv`: one row a pole in scope, most urgent first.
//!
//! Approvals, interim controls and locks are those of the owner's recorded decisions and empty without one: a value is
//! never invented to fill them.

use super::{Column, Holds, Sheet, Value, column, length_unit, measured};
use crate::belief;
use crate::belief::missing::DiameterOrigin;
use crate::pole::{Inspection, Pole, SetFrom, Vocabulary};
use crate::schedule::{Action, Deferral, Priority, Standing};
use crate::units::LengthUnit;
use crate::words::quantities::{
    LEAST_CHANCE, LEAST_YEARLY_FAILURE, chance, length, money, to_decimals, to_figures,
};
use crate::words::{Case, caution_of, decisions, reason_of, replacing};

/// One row: a pole with its rank.
pub struct Line<'a> {
    case: Case<'a>,
    rank: usize,
    unit: LengthUnit,
}

impl Line<'_> {
    fn facts(&self) -> &Pole {
        self.case.facts()
    }

    fn condition(&self) -> &belief::Summary {
        self.case.condition()
    }

    fn last(&self, value: impl Fn(&Inspection) -> Value) -> Value {
        self.case.last().map_or(Value::Empty, value)
    }

    /// What is called for, planned or not.
    fn action(&self) -> Option<Action> {
        match self.case.row().standing {
            Standing::Planned { action, .. } | Standing::Deferred { action, .. } => Some(action),
            Standing::NotDue => None,
        }
    }
}

/// The schedule of a plan.
pub fn schedule(fleet: Case<'_>) -> Sheet<'_> {
    let unit = length_unit(&fleet.programme.sources);
    let ranking = &fleet.plan.schedule.ranking;
    Sheet::new(
        "schedule",
        columns(fleet, unit),
        ranking.len(),
        move |row| Line {
            case: Case {
                pole: ranking[row],
                ..fleet
            },
            rank: row + 1,
            unit,
        },
    )
}

/// The rows of the schedule for this plan year and the next, and those that are called for and not planned.
pub fn near(fleet: Case<'_>) -> Sheet<'_> {
    let schedule_of = &fleet.plan.schedule;
    let ranking = schedule_of.ranking.iter().enumerate();
    let rows = ranking
        .filter(|(_, pole)| match schedule_of.row(**pole).standing {
            Standing::Planned { year, .. } => year < 2,
            Standing::Deferred { .. } => true,
            Standing::NotDue => false,
        })
        .map(|(row, _)| row);
    schedule(fleet).only(rows.collect())
}

fn columns(fleet: Case<'_>, unit: LengthUnit) -> Vec<Column<Line<'_>>> {
    let mut columns = who_and_when();
    columns.extend(why());
    columns.extend(condition());
    columns.extend(words());
    columns.extend(record(unit));
    columns.extend(money_and_place(fleet));
    columns
}

fn who_and_when<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "rank",
            Holds::Whole,
            "place in the list, 1 is the most urgent",
            |line| Value::whole(line.rank),
        ),
        column(
            "pole_id",
            Holds::Text,
            "the pole's id, as the owner writes it",
            |line| Value::text(line.case.id()),
        ),
        column("line", Holds::Text, "line, feeder or street", |line| {
            Value::maybe_text(line.case.inventory.line_of(line.case.pole))
        }),
        column("sequence", Holds::Whole, "place in the line", |line| {
            line.facts().sequence.map_or(Value::Empty, Value::whole)
        }),
        column(
            "status",
            Holds::Text,
            "planned, deferred or not_due",
            |line| {
                Value::text(match line.case.row().standing {
                    Standing::Planned { .. } => "planned",
                    Standing::Deferred { .. } => "deferred",
                    Standing::NotDue => "not_due",
                })
            },
        ),
        column(
            "action",
            Holds::Text,
            "what is called for: inspect, remedial_treatment, reinforce, replace, make_safe or not_due",
            |line| Value::text(line.action().map_or("not_due", Action::word)),
        ),
        column(
            "method",
            Holds::Text,
            "method of the planned inspection",
            |line| Value::maybe_text(line.case.row().method.map(Vocabulary::word)),
        ),
        column(
            "year",
            Holds::Whole,
            "plan year of the action, also where somebody put it off to a year of the schedule; empty when none is planned",
            |line| match line.case.row().standing {
                Standing::Planned { year, .. }
                | Standing::Deferred {
                    reason: Deferral::Decision { until: year },
                    ..
                } if year < line.case.programme.schedule_years => {
                    Value::whole(line.case.calendar_year(year))
                }
                Standing::Planned { .. } | Standing::Deferred { .. } | Standing::NotDue => {
                    Value::Empty
                }
            },
        ),
    ]
}

fn why<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "due_date",
            Holds::Day,
            "day by which something must be done: a verdict's where one stands, otherwise the binding rule's",
            |line| {
                let deadline = line.case.row().deadline(&line.case.programme.policy);
                deadline.map_or(Value::Empty, Value::Day)
            },
        ),
        measured(
            "days",
            "overdue_days",
            Holds::Whole,
            "days from the due date to the plan date; 0 when not overdue",
            |line| Value::whole(line.case.row().overdue_days.max(0)),
        ),
        column("rule", Holds::Text, "name of the binding rule", |line| {
            Value::maybe_text(line.case.rule().map(|rule| rule.name.as_str()))
        }),
        column("rule_kind", Holds::Text, "law or guideline", |line| {
            Value::maybe_text(line.case.rule().map(|rule| rule.kind.word()))
        }),
        column(
            "priority",
            Holds::Text,
            "danger, must_do (a recorded reject, or overdue by law), due, condition or none",
            |line| Value::text(priority_word(line.case.row().priority)),
        ),
        column(
            "package",
            Holds::Text,
            "inspections done together with this one",
            |line| match line.case.row().standing {
                Standing::Planned {
                    package: Some(package),
                    ..
                } => Value::text(line.case.plan.schedule.package(package).name.as_str()),
                _ => Value::Empty,
            },
        ),
        measured(
            "cost units of the programme",
            "value_of_visit",
            Holds::Number,
            "expected saving of a visit in the planned year over waiting for the binding due year; orders poles, is no budget",
            |line| Value::number(to_figures(line.case.row().value_of_visit, 3)),
        ),
    ]
}

/// The word of an urgency in tables.
pub const fn priority_word(priority: Priority) -> &'static str {
    match priority {
        Priority::Danger => "danger",
        Priority::MustDo => "must_do",
        Priority::Due => "due",
        Priority::Condition => "condition",
        Priority::None => "none",
    }
}

fn condition<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            "probability",
            "p_below_limit_now",
            Holds::Number,
            "probability of being below the limit at the plan date; two figures, 0.001 stands for 0.001 or less",
            |line| below_limit(line, 0),
        ),
        measured(
            "probability",
            "p_below_limit_5y",
            Holds::Number,
            "the same five years later when nothing is done",
            |line| below_limit(line, 5),
        ),
        measured(
            "probability",
            "p_failure_1y",
            Holds::Number,
            "probability of failing in service within a year of the plan date; 0.00001 stands for that or less",
            |line| {
                Value::number(chance(
                    f64::from(line.condition().failure_within_a_year),
                    LEAST_YEARLY_FAILURE,
                ))
            },
        ),
        measured(
            "years",
            "years_to_limit_p10",
            Holds::Number,
            "years until it is below the limit: 1 in 10 poles like it are sooner; empty when beyond what the model looks at",
            |line| years_to_limit(line, 0),
        ),
        measured(
            "years",
            "years_to_limit_p50",
            Holds::Number,
            "the same, half of them are sooner",
            |line| years_to_limit(line, 1),
        ),
        measured(
            "years",
            "years_to_limit_p90",
            Holds::Number,
            "the same, 9 in 10 of them are sooner",
            |line| years_to_limit(line, 2),
        ),
    ]
}

/// Probability of being below the limit some years on, or at the horizon where that comes first.
fn below_limit(line: &Line<'_>, years: usize) -> Value {
    let yearly = &line.condition().below_limit;
    yearly
        .get(years)
        .or(yearly.last())
        .map_or(Value::Empty, |&p| {
            Value::number(chance(f64::from(p), LEAST_CHANCE))
        })
}

fn years_to_limit(line: &Line<'_>, quantile: usize) -> Value {
    Value::number(to_decimals(
        f64::from(line.condition().years_to_limit[quantile]),
        1,
    ))
}

fn words<'a>() -> Vec<Column<Line<'a>>> {
    vec![
        column(
            "reason",
            Holds::Text,
            "why it stands where it stands",
            |line| Value::text(reason_of(&line.case)),
        ),
        column(
            "deferral_code",
            Holds::Text,
            "why something called for is not planned: crew_days (none are left), money (none within the limit where crew-days are left) or owners_decision",
            |line| match line.case.row().standing {
                Standing::Deferred { reason, .. } => Value::text(reason.code()),
                Standing::Planned { .. } | Standing::NotDue => Value::Empty,
            },
        ),
        column(
            "approved_by",
            Holds::Text,
            "who approved the deferral; empty until somebody has",
            |line| {
                let decision = decisions::deferring(&line.case);
                Value::maybe_text(decision.and_then(|own| own.by.as_deref()))
            },
        ),
        column(
            "interim_control",
            Holds::Text,
            "what keeps people safe until then; empty until the owner has named it",
            |line| {
                let decision = decisions::deferring(&line.case);
                Value::maybe_text(decision.and_then(|own| own.interim_control.as_deref()))
            },
        ),
        column(
            "locked_by",
            Holds::Text,
            "the owner's decisions that fixed this row, with who made them and when; empty when none did",
            |line| decisions::locked_by(&line.case).map_or(Value::Empty, Value::text),
        ),
    ]
}

fn record<'a>(unit: LengthUnit) -> Vec<Column<Line<'a>>> {
    vec![
        measured(
            unit.word(),
            "length",
            Holds::Number,
            "length of the pole",
            |line| {
                line.facts()
                    .length
                    .map_or(Value::Empty, |mm| Value::number(length(mm, line.unit)))
            },
        ),
        column(
            "class",
            Holds::Text,
            "pole class, by its name in the American tables, else as the owner writes it",
            |line| {
                Value::maybe_text(
                    line.facts()
                        .class
                        .map(|class| line.case.inventory.names.get(class)),
                )
            },
        ),
        column("species", Holds::Text, "species group", |line| {
            Value::maybe_text(line.facts().species.map(Vocabulary::word))
        }),
        column("preservative", Holds::Text, "preservative", |line| {
            Value::maybe_text(line.facts().preservative.map(Vocabulary::word))
        }),
        column(
            "install_year",
            Holds::Whole,
            "year in which it was set",
            install_year,
        ),
        column(
            "install_year_source",
            Holds::Text,
            "recorded, spread over the years of a row that gives a count, brand (the maker's), or estimated from the line and the inventory (then only a mean)",
            |line| {
                let facts = line.facts();
                Value::text(match facts.installed {
                    None => "estimated",
                    Some(_) => match facts.set_from {
                        SetFrom::Record => "recorded",
                        SetFrom::Brand => "brand",
                        SetFrom::Count => "spread",
                    },
                })
            },
        ),
        column(
            "last_date",
            Holds::Day,
            "day of the last inspection",
            |line| line.last(|last| Value::Day(last.date)),
        ),
        column("last_method", Holds::Text, "its method", |line| {
            line.last(|last| Value::text(last.method.word()))
        }),
        column("last_verdict", Holds::Text, "its verdict", |line| {
            line.last(|last| Value::text(last.verdict.word()))
        }),
    ]
}

fn install_year(line: &Line<'_>) -> Value {
    let recorded = line.facts().installed.map(crate::units::Date::year);
    let estimated = || {
        let age = line.condition().age;
        age.is_finite().then(|| {
            crate::units::date_after(line.case.programme.plan_from, -f64::from(age)).year()
        })
    };
    recorded
        .or_else(estimated)
        .map_or(Value::Empty, Value::whole)
}

fn money_and_place(fleet: Case<'_>) -> Vec<Column<Line<'_>>> {
    let money_unit = fleet
        .programme
        .costs
        .currency
        .as_ref()
        .map_or_else(String::new, |(currency, year)| {
            format!("{currency} of {year}")
        });
    vec![
        column(
            "replacement_spec",
            Holds::Text,
            "what to put in, for poles to be replaced",
            replacement_spec,
        ),
        measured(
            money_unit,
            "cost",
            Holds::Number,
            "cost of the action, three figures; empty unless the programme names currency and price year",
            cost,
        ),
        column(
            "caution",
            Holds::Text,
            "what to beware of; never empty",
            |line| Value::text(caution_of(&line.case)),
        ),
        column(
            "data_flags",
            Holds::Text,
            "what the record lacks and what stands in for it, separated by semicolons; several_curves: its kind is not known and it is a mixture of those recorded here; nearest_curve: no curve is for its species and preservative together; generic_curve: judged by the generic one",
            data_flags,
        ),
        measured(
            "degrees",
            "longitude",
            Holds::Number,
            "degrees east, WGS 84",
            |line| {
                line.facts().place.map_or(Value::Empty, |place| {
                    Value::number(to_decimals(place.longitude, 7))
                })
            },
        ),
        measured(
            "degrees",
            "latitude",
            Holds::Number,
            "degrees north, WGS 84",
            |line| {
                line.facts().place.map_or(Value::Empty, |place| {
                    Value::number(to_decimals(place.latitude, 7))
                })
            },
        ),
    ]
}

fn replacement_spec(line: &Line<'_>) -> Value {
    if line.action() != Some(Action::Replace) {
        return Value::Empty;
    }
    Value::text(replacing::replacement_spec(&line.case, line.unit))
}

fn cost(line: &Line<'_>) -> Value {
    let costs = &line.case.programme.costs;
    if costs.currency.is_none() {
        return Value::Empty;
    }
    match (line.action(), line.case.row().method) {
        (Some(Action::Inspect), Some(method)) => {
            Value::number(money(costs.inspection[method.index()]))
        }
        (Some(Action::Replace), _) => Value::number(money(costs.replacement)),
        (Some(Action::Reinforce), _) => Value::number(money(costs.reinforcement)),
        _ => Value::Empty,
    }
}

fn data_flags(line: &Line<'_>) -> Value {
    let facts = line.facts();
    let generic = line.case.models.is_generic(line.condition().cell);
    let diameter = diameter_flag(line);
    let flags: Vec<&str> = [
        (facts.installed.is_none(), "set_date_unknown"),
        (facts.species.is_none(), "species_unknown"),
        (facts.preservative.is_none(), "preservative_unknown"),
        (facts.length.is_none(), "length_unknown"),
        (facts.class.is_none(), "class_unknown"),
        (!diameter.is_empty(), diameter.as_str()),
        (facts.place.is_none(), "place_unknown"),
        (facts.zone_is_default, "zone_is_default"),
        (generic, "generic_curve"),
        (line.condition().curves > 1, "several_curves"),
        (line.case.models.is_nearest(facts), "nearest_curve"),
        (facts.has_problems, "see_data_problems"),
        (facts.set_from == SetFrom::Count, "from_a_count"),
        (facts.material_unknown, "material_unknown"),
    ]
    .into_iter()
    .filter_map(|(holds, flag)| holds.then_some(flag))
    .collect();
    Value::text(flags.join(";"))
}

/// What stands in for a groundline diameter that was never measured, and how much it is.
fn diameter_flag(line: &Line<'_>) -> String {
    let inspections = line.case.inventory.inspections_of(line.case.pole);
    let missing = line.case.plan.beliefs.missing();
    let (likely, origin) = missing.diameter(line.facts(), inspections);
    let from = match origin {
        DiameterOrigin::Measured => return String::new(),
        DiameterOrigin::ClassTable => "diameter_from_class_table",
        DiameterOrigin::TopDiameter => "diameter_from_top_diameter",
        DiameterOrigin::Assumed => "diameter_assumed",
    };
    let (unit, decimals) = match line.unit {
        LengthUnit::Foot | LengthUnit::Inch => (LengthUnit::Inch, 1),
        _ => (LengthUnit::Millimetre, 0),
    };
    format!(
        "{from} ({:.decimals$} {})",
        unit.write(likely.median),
        unit.word()
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::tables::tests::{assert_typed, cell};
    use crate::words::sample;

    /// Source: the project's contract with its users; outside checks read these names in this order.
    const CONTRACT: &str = "rank,pole_id,line,sequence,status,action,method,year,due_date,overdue_days,rule,rule_kind,priority,package,value_of_visit,p_below_limit_now,p_below_limit_5y,p_failure_1y,years_to_limit_p10,years_to_limit_p50,years_to_limit_p90,reason,deferral_code,approved_by,interim_control,locked_by,length,class,species,preservative,install_year,install_year_source,last_date,last_method,last_verdict,replacement_spec,cost,caution,data_flags,longitude,latitude";

    #[test]
    fn the_columns_are_the_contracts_in_its_order() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        let names: Vec<&str> = sheet.columns.iter().map(|column| column.name).collect();
        assert_eq!(names.join(","), CONTRACT);
        assert_typed(&sheet);
    }

    #[test]
    fn every_pole_has_one_row_with_a_reason_and_a_caution() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        assert_eq!(sheet.len, 5);
        for row in 0..sheet.len {
            assert!(!cell(&sheet, row, "caution").is_empty());
            assert!(!cell(&sheet, row, "reason").is_empty());
            assert_eq!(cell(&sheet, row, "approved_by"), "");
        }
    }

    #[test]
    fn a_row_says_what_to_do_when() {
        let sample = sample::fleet();
        let sheet = schedule(sample.case(PoleIndex(0)));
        let of = |row, column| cell(&sheet, row, column);
        assert_eq!(of(1, "replacement_spec"), "40 ft class 4, pine, creosote");
        assert_eq!(of(2, "year"), "2026");
        assert_eq!(of(2, "package"), "Mill road 1");
        assert_eq!(of(2, "p_below_limit_now"), "0.11");
        assert_eq!(of(2, "years_to_limit_p90"), "");
        assert_eq!(of(2, "length"), "40");
        // Age 31.4 at 2026-01-01 is a day of August 1994.
        assert_eq!(of(3, "install_year"), "1994");
        assert_eq!(of(3, "install_year_source"), "estimated");
        assert_eq!(of(3, "status"), "deferred");
        assert_eq!(of(3, "deferral_code"), "crew_days");
        assert_eq!(
            of(3, "data_flags"),
            "set_date_unknown;species_unknown;length_unknown;class_unknown;diameter_assumed (11.8 in);place_unknown;generic_curve;see_data_problems"
        );
        assert_eq!(of(4, "action"), "not_due");
        assert_eq!(of(4, "p_below_limit_now"), "0.001");
    }

    #[test]
    fn the_near_rows_are_those_of_the_schedule_that_call_for_something_soon() {
        let sample = sample::fleet();
        let all = schedule(sample.case(PoleIndex(0)));
        let near = near(sample.case(PoleIndex(0)));
        // B-2, the last of five, is not due.
        assert_eq!(near.len, 4);
        for row in 0..near.len {
            assert_eq!(near.row(row), all.row(row));
        }
    }

    #[test]
    fn money_stands_only_where_the_programme_names_its_currency() {
        let mut sample = sample::fleet();
        assert_eq!(cell(&schedule(sample.case(PoleIndex(0))), 1, "cost"), "");
        sample.programme.costs.currency = Some(("USD".to_owned(), 2012));
        let sheet = schedule(sample.case(PoleIndex(0)));
        assert_eq!(cell(&sheet, 1, "cost"), "8000");
        let place = sheet.place("cost").expect("a cost");
        assert_eq!(sheet.columns[place].unit, "USD of 2012");
    }
}
