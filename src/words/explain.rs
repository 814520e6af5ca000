//! Why one pole stands where it stands, in words: what `polewright explain` prints.
//!
//! Turns an [`Explanation`] and the pole's row into sections of plain lines; computes nothing but rounding.

use super::Case;
use super::cautions::caution_of;
use super::quantities::{chance_in_words, count, counted, money, size_in_words};
use super::reasons::{because, method_in_words, reason_of};
use super::screen::on_one_line;
use super::story::{inspection_in_words, years_to_limit_in_words};
use crate::belief::neighbours::Neighbours;
use crate::explain::{Explanation, Known};
use crate::pole::{Consequence, SetFrom, Vocabulary};
use crate::problem::Problems;
use crate::schedule::prices::Part;
use crate::schedule::{Action, Standing};
use crate::trial::Size;
use crate::units::LengthUnit;

/// One section: a heading and what stands under it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// The heading.
    pub title: String,
    /// Its lines.
    pub lines: Vec<String>,
}

/// The whole explanation of a pole; `unit` is the owner's unit of pole lengths.
pub fn sections(
    case: &Case<'_>,
    explanation: &Explanation,
    problems: &Problems,
    unit: LengthUnit,
) -> Vec<Section> {
    let section = |title: &str, lines: Vec<String>| Section {
        title: title.to_owned(),
        lines,
    };
    let all = [
        section("What the plan says", plan(case)),
        section("What is recorded", recorded(case, problems, unit)),
        section("Inspections on record", inspections(case)),
        section("Which rules bind it", rules(case, explanation)),
        section("How long such poles last", curves(case, explanation)),
        section(
            "How the chance of being below the limit today comes about",
            steps(case, explanation),
        ),
        section("Its estimated condition", condition(case)),
        section("What a visit is worth", value(case, explanation)),
        section("Its neighbours", neighbours(case, explanation)),
        section("Beware", vec![caution_of(case)]),
    ];
    all.into_iter()
        .filter(|section| !section.lines.is_empty())
        .collect()
}

/// The explanation as a page of text.
pub fn page(case: &Case<'_>, sections: &[Section]) -> String {
    let mut lines = vec![format!(
        "Pole {} ({}, plan from {})",
        on_one_line(case.id()),
        on_one_line(&case.programme.title),
        case.programme.plan_from
    )];
    for section in sections {
        lines.push(String::new());
        lines.push(section.title.clone());
        lines.extend(section.lines.iter().map(|line| format!("  {line}")));
    }
    lines.join("\n") + "\n"
}

/// An action as one says it.
const fn action_in_words(action: Action) -> &'static str {
    match action {
        Action::Inspect => "inspect",
        Action::Replace => "replace",
        Action::Reinforce => "reinforce",
        Action::MakeSafe => "make safe",
    }
}

fn plan(case: &Case<'_>) -> Vec<String> {
    let row = case.row();
    let method = row.method.map_or_else(String::new, |method| {
        format!(" by {}", method_in_words(method))
    });
    let what = match row.standing {
        Standing::Planned {
            action,
            year,
            package,
        } => {
            let package = package.map_or_else(String::new, |package| {
                let name = &case.plan.schedule.package(package).name;
                format!(", in package {}", on_one_line(name))
            });
            format!(
                "Planned: {} in {}{method}{package}",
                action_in_words(action),
                case.calendar_year(year)
            )
        }
        Standing::Deferred { action, .. } => {
            format!("Deferred: {}{method}", action_in_words(action))
        }
        Standing::NotDue => "Not due within the schedule".to_owned(),
    };
    let ranking = &case.plan.schedule.ranking;
    let place = ranking.iter().position(|pole| *pole == case.pole);
    let rank = place.map(|place| {
        format!(
            "Rank {} of {}",
            count(place + 1),
            counted(ranking.len(), "pole", "poles")
        )
    });
    [what, format!("{}.", reason_of(case))]
        .into_iter()
        .chain(rank)
        .collect()
}

fn recorded(case: &Case<'_>, problems: &Problems, unit: LengthUnit) -> Vec<String> {
    let facts = case.facts();
    let word = |what: &str, word: Option<&str>| {
        let word = word.map_or("not recorded".to_owned(), |word| word.replace('_', " "));
        format!("{what} {word}")
    };
    let set = facts.installed.map_or_else(
        || {
            format!(
                "set date not recorded, age taken as about {:.0}",
                case.condition().age
            )
        },
        |day| {
            let from = match facts.set_from {
                SetFrom::Record => "",
                SetFrom::Brand => " (from the maker's brand)",
                SetFrom::Count => " (spread over the years of a row that gives a count)",
            };
            format!("set {day}{from}")
        },
    );
    let size = Size {
        length: facts.length,
        class: facts.class,
    };
    let mut lines = vec![
        [
            set,
            word("species", facts.species.map(Vocabulary::word)),
            word("preservative", facts.preservative.map(Vocabulary::word)),
        ]
        .join("; "),
        format!(
            "size {}; decay zone {}{}",
            size_in_words(size, &case.inventory.names, unit),
            facts.zone.number(),
            if facts.zone_is_default {
                " (the programme's, not recorded)"
            } else {
                ""
            }
        ),
    ];
    lines.extend(case.inventory.line_of(case.pole).map(|line| {
        let place = facts
            .sequence
            .map_or_else(String::new, |sequence| format!(", place {sequence} on it"));
        format!("line {}{place}", on_one_line(line))
    }));
    if let Some(also) = facts.also {
        lines.push(format!(
            "also recorded, and not read: {}",
            on_one_line(case.inventory.names.get(also))
        ));
    }
    if facts.consequence == Some(Consequence::High) {
        lines.push("its failure would endanger people or property (consequence high)".to_owned());
    }
    if let Some(reinforced) = facts.reinforced {
        lines.push(reinforced.since.map_or_else(
            || "reinforced, the day is not recorded".to_owned(),
            |day| format!("reinforced {day}"),
        ));
    }
    let own = problems.list.iter();
    let own = own.filter(|problem| problem.pole.as_deref() == Some(case.id()));
    lines.extend(own.map(|problem| on_one_line(&problems.show(problem).to_string())));
    lines
}

fn inspections(case: &Case<'_>) -> Vec<String> {
    let all = case.inventory.inspections_of(case.pole).iter();
    let lines: Vec<String> = all
        .map(|seen| {
            format!(
                "{}  {}",
                seen.date,
                on_one_line(&inspection_in_words(case, seen))
            )
        })
        .collect();
    if lines.is_empty() {
        return vec!["none".to_owned()];
    }
    lines
}

fn rules(case: &Case<'_>, explanation: &Explanation) -> Vec<String> {
    let binding = case.row().due;
    let lines: Vec<String> = explanation
        .dues
        .iter()
        .filter_map(|due| Some((due, case.programme.inspections.get(due.rule)?)))
        .map(|(due, rule)| {
            format!(
                "'{}' ({}): {}, due {}{}{}",
                rule.name,
                rule.kind.word(),
                because(case, *due, rule),
                due.date,
                if binding == Some(*due) {
                    ": the earliest, it binds"
                } else {
                    ""
                },
                if rule.source.is_empty() {
                    String::new()
                } else {
                    format!("; source: {}", on_one_line(&rule.source))
                },
            )
        })
        .collect();
    if lines.is_empty() {
        return vec!["none".to_owned()];
    }
    lines
}

fn curves(case: &Case<'_>, explanation: &Explanation) -> Vec<String> {
    let one = |curve: &crate::explain::Curve| {
        let kind = case.models.kind(curve.cell);
        let zone = case.models.cell(curve.cell).zone.number();
        let share = if curve.share < 1.0 {
            format!("{:.0} %: ", 100.0 * curve.share)
        } else {
            String::new()
        };
        let mut lines = vec![format!("{share}{}, zone {zone}", kind.title)];
        if let Some(learned) = &curve.learned {
            let span = |[low, middle, high]: [f64; 3]| {
                format!("{middle:.0} years, probably {low:.0} to {high:.0}")
            };
            lines.push(format!(
                "  published median life: {}",
                span(learned.published)
            ));
            let from = if learned.findings == 0 {
                "none of such poles: only what like curves show".to_owned()
            } else {
                format!(
                    "from {} on {}",
                    counted(learned.findings, "inspection", "inspections"),
                    counted(learned.poles_with_findings, "pole", "poles")
                )
            };
            lines.push(format!(
                "  with your inspections: {} ({from})",
                span(learned.owners)
            ));
        }
        lines.push(format!(
            "  the published figure is {}; `polewright curves` gives its sources",
            kind.origin.mark.word().replace('_', " ")
        ));
        lines
    };
    explanation.curves.iter().flat_map(one).collect()
}

fn steps(case: &Case<'_>, explanation: &Explanation) -> Vec<String> {
    let listed = if case.last().is_some() {
        " and that it is still listed after its rounds"
    } else {
        ""
    };
    explanation
        .steps
        .iter()
        .map(|step| {
            let known = match step.known {
                Known::Published => format!("by the published curve, its age{listed}"),
                Known::Fleet => "with what all inspections together say of the curve".to_owned(),
                Known::Until(day) => format!("with its own inspections up to {day}"),
            };
            format!("{known}: {}", chance_in_words(step.below_limit))
        })
        .collect()
}

fn condition(case: &Case<'_>) -> Vec<String> {
    let condition = case.condition();
    let in_five = condition.below_limit.get(5).copied();
    let mut lines = vec![format!(
        "below the limit: {} now{}",
        chance_in_words(f64::from(
            condition.below_limit.first().copied().unwrap_or(0.0)
        )),
        in_five.map_or_else(String::new, |p| format!(
            ", {} in five years",
            chance_in_words(f64::from(p))
        ))
    )];
    lines.push(years_to_limit_in_words(case));
    lines.push(format!(
        "failing in service within a year when nothing is done: {}",
        chance_in_words(f64::from(condition.failure_within_a_year))
    ));
    lines
}

/// What a part of the value is, as one says it.
pub const fn part_in_words(part: Part) -> &'static str {
    match part {
        Part::Failures => "failures that it spares, beyond the price of a new pole",
        Part::BelowLimit => "time below the limit that it spares",
        Part::Sooner => "new poles, braces and treatments that come sooner",
        Part::Visit => "visits: this one before its turn, later ones that fall away",
    }
}

/// A sum of money to three figures, with separators.
pub fn sum(units: f64) -> String {
    let rounded = money(units);
    if rounded.abs() < 1000.0 {
        return rounded.to_string();
    }
    let sign = if rounded < 0.0 { "-" } else { "" };
    format!("{sign}{}", count(rounded.abs().round() as usize))
}

fn value(case: &Case<'_>, explanation: &Explanation) -> Vec<String> {
    let total = |year: u16| {
        explanation
            .value
            .iter()
            .map(|(_, value)| value.at(year))
            .sum::<f64>()
    };
    let planned = match case.row().standing {
        Standing::Planned {
            action: Action::Inspect,
            year,
            ..
        } => year,
        _ => 0,
    };
    let due = case.calendar_year(explanation.due_year);
    if planned >= explanation.due_year {
        return vec![format!(
            "It is visited in {due} in any case; nothing is gained before."
        )];
    }
    let unit = case.programme.costs.currency.as_ref().map_or_else(
        || " units of cost".to_owned(),
        |(currency, year)| format!(" {currency} of {year}"),
    );
    let mut lines = vec![format!(
        "A visit in {} instead of only in {due}: {}{unit}",
        case.calendar_year(planned),
        sum(total(planned))
    )];
    for (part, value) in &explanation.value {
        let worth = value.at(planned);
        if worth != 0.0 {
            let sign = if worth > 0.0 { "+" } else { "-" };
            lines.push(format!(
                "  {sign}{}  {}",
                sum(worth.abs()),
                part_in_words(*part)
            ));
        }
    }
    let years = 0..case.programme.schedule_years.min(explanation.due_year);
    let by_year: Vec<String> = years
        .map(|year| format!("{}: {}", case.calendar_year(year), sum(total(year))))
        .collect();
    lines.push(format!("by the year of the visit: {}", by_year.join(", ")));
    lines.push("It orders poles; it is no budget. Where a rule or a verdict calls for the pole, that decides.".to_owned());
    lines
}

fn neighbours(case: &Case<'_>, explanation: &Explanation) -> Vec<String> {
    explanation
        .neighbours
        .map(|found| neighbours_in_words(case, &found))
        .into_iter()
        .collect()
}

fn neighbours_in_words(case: &Case<'_>, neighbours: &Neighbours) -> String {
    let line = on_one_line(case.inventory.names.get(neighbours.line));
    let (found, since) = (neighbours.found, neighbours.since);
    if found.inspected == 0 {
        return format!(
            "None of the {} on line {line} was looked into since {since}",
            counted(found.poles, "other pole", "other poles"),
        );
    }
    format!(
        "{} of {} on line {line} that were looked into since {since} {} below the limit",
        count(found.below_limit),
        counted(found.inspected, "other pole", "other poles"),
        if found.below_limit == 1 {
            "was"
        } else {
            "were"
        }
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::explain;
    use crate::words::sample;

    #[test]
    fn an_explanation_says_what_why_when_and_what_to_beware_of() {
        let sample = sample::fleet();
        let case = sample.case_of("A-3");
        let found = explain(
            &sample.inventory,
            &sample.models,
            &sample.programme,
            &sample.plan,
            case.pole,
        );
        let told = sections(&case, &found, &sample.problems, LengthUnit::Foot);
        let text = page(&case, &told);
        for part in [
            "Pole A-3 (Five poles, plan from",
            "Planned: inspect in 2026 by sound and bore, in package Mill road 1",
            "Rank 3 of 5 poles",
            "by the published curve, its age",
            "with your inspections:",
            "2 of 2 other poles on line Mill road",
            "never clears a pole for climbing",
        ] {
            assert!(text.contains(part), "{part} is missing in\n{text}");
        }
    }

    #[test]
    fn sums_of_money_keep_three_figures() {
        for (value, said) in [
            (7.774, "7.77"),
            (-405.6, "-406"),
            (3868.0, "3,870"),
            (0.0, "0"),
        ] {
            assert_eq!(sum(value), said);
        }
    }
}
