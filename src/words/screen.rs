//! The terminal's page: a plan in one screen, danger first.
//!
//! Text in, text out: [`Overview`] to lines of at most about 100 characters.

use super::overview::{Needed, NextRound, Overview, Replacements, Rows, Spread, Unknowns};
use super::quantities::{Estimate, count, counted, to_figures, whole};

/// Names or ids listed before the rest is only counted.
const LISTED: usize = 8;

/// The page; `files` were written into `folder`.
pub fn page(overview: &Overview, folder: &str, files: &[String]) -> String {
    let mut lines = Vec::new();
    danger(overview, &mut lines);
    lines.push(format!(
        "{} (plan from {}, {}, seed {})",
        overview.title,
        overview.plan_from,
        counted(overview.trials as usize, "trial", "trials"),
        overview.seed
    ));
    read(overview, &mut lines);
    overdue(overview, &mut lines);
    round(&overview.next_round, &mut lines);
    replaced(&overview.replacements, &mut lines);
    uncertain(&overview.unknowns, &mut lines);
    assumed(overview, &mut lines);
    if !files.is_empty() {
        lines.push(format!("Written to {folder}: {}", files.join(", ")));
    }
    lines.push(overview.caution.to_owned());
    lines.join("\n") + "\n"
}

fn danger(overview: &Overview, lines: &mut Vec<String>) {
    let records = &overview.danger;
    if records.is_empty() {
        return;
    }
    lines.push(format!(
        "DANGER: {} judged dangerous. Act today by your own procedure, do not wait for this plan.",
        counted(records.len(), "pole is", "poles are")
    ));
    for record in records.iter().take(LISTED) {
        let line = record
            .line
            .as_ref()
            .map_or_else(String::new, |line| format!(", line {line}"));
        lines.push(format!("  {}{line}, judged {}", record.pole, record.date));
    }
    if records.len() > LISTED {
        lines.push(format!(
            "  and {} more, at the top of schedule.csv",
            count(records.len() - LISTED)
        ));
    }
    lines.push(String::new());
}

fn read(overview: &Overview, lines: &mut Vec<String>) {
    let rows = |what: &str, rows: Rows| {
        format!(
            "  {what}: {} rows read, {} used, {} out of scope, {} set aside",
            count(rows.read),
            count(rows.used),
            count(rows.out_of_scope),
            count(rows.set_aside)
        )
    };
    lines.push(format!(
        "Read: {} to plan for",
        counted(overview.poles, "pole", "poles")
    ));
    lines.push(rows("poles", overview.pole_rows));
    lines.push(rows("inspections", overview.inspection_rows));
    let total: usize = overview.problems.iter().map(|problem| problem.count).sum();
    if total == 0 {
        lines.push("  no problem found in the data".to_owned());
        return;
    }
    lines.push(format!(
        "  {} in the data (all listed in data_problems.csv):",
        counted(total, "problem", "problems")
    ));
    let mut worst: Vec<_> = overview.problems.iter().collect();
    worst.sort_by_key(|problem| std::cmp::Reverse(problem.count));
    for problem in worst.iter().take(LISTED) {
        lines.push(format!(
            "    {} x {}[{}] {}",
            count(problem.count),
            problem.severity,
            problem.code,
            problem.title
        ));
    }
}

fn overdue(overview: &Overview, lines: &mut Vec<String>) {
    let total: usize = overview.overdue.iter().map(|rule| rule.poles).sum();
    if total == 0 {
        lines.push("Overdue: no inspection is overdue by the programme's rules".to_owned());
    } else {
        lines.push(format!(
            "Overdue: {}",
            counted(total, "inspection", "inspections")
        ));
        for rule in &overview.overdue {
            lines.push(format!(
                "  {} by '{}' ({}), the oldest since {} (pole {})",
                count(rule.poles),
                rule.rule,
                rule.kind,
                rule.oldest,
                rule.oldest_pole
            ));
        }
    }
    if overview.nothing_recorded > 0 {
        lines.push(format!(
            "  {} neither a set date nor an inspection on record: nothing proves that they are not overdue",
            counted(overview.nothing_recorded, "more has", "more have")
        ));
    }
    if overview.rejects_standing > 0 {
        lines.push(format!(
            "  {} judged below the limit and still listed, to be replaced",
            counted(overview.rejects_standing, "pole was", "poles were")
        ));
    }
    if overview.deferred > 0 {
        lines.push(format!(
            "  NOT COMPLIANT: {} called for found no crew-days; each is marked deferred in schedule.csv",
            counted(overview.deferred, "visit", "visits")
        ));
    }
}

fn round(round: &NextRound, lines: &mut Vec<String>) {
    lines.push(format!(
        "{} round: {} on {}, {} of {} crew-days",
        round.year,
        counted(round.inspections, "inspection", "inspections"),
        counted(round.lines.len(), "line", "lines"),
        to_figures(round.crew_days, 3),
        to_figures(round.crew_days_available, 3)
    ));
    if !round.lines.is_empty() {
        lines.push(format!("  lines: {}", some_of(&round.lines)));
    }
    if let (Some(rejects), Some(visits)) = (round.expected_rejects, round.expected_inspections) {
        lines.push(format!(
            "  rejects expected{}: {}",
            share(rejects.mean, visits.mean),
            spread(rejects)
        ));
    }
    if !round.past_rounds.is_empty() {
        let past: Vec<String> = round
            .past_rounds
            .iter()
            .map(|past| {
                format!(
                    "{}: {} of {}{}",
                    past.year,
                    count(past.rejects),
                    count(past.inspections),
                    share(past.rejects as f64, past.inspections as f64)
                )
            })
            .collect();
        lines.push(format!("  rejects recorded by year: {}", past.join("; ")));
    }
}

fn replaced(replacements: &Replacements, lines: &mut Vec<String>) {
    lines.push(format!("New poles needed in {}:", replacements.first_year));
    lines.extend(replacements.in_first_year.iter().map(needed));
    lines.push(format!(
        "New poles needed over {} years:",
        replacements.horizon_years
    ));
    lines.extend(replacements.over_horizon.iter().map(needed));
    if replacements.horizon_years > 5 {
        lines.push(format!(
            "  of these about {} in the first five years (mean; bands by year in quantities.csv)",
            whole(replacements.mean_of_five_years)
        ));
    }
}

fn needed(needed: &Needed) -> String {
    format!(
        "  {}: {}",
        needed.kind.replace('_', " "),
        spread(needed.count)
    )
}

fn uncertain(unknowns: &Unknowns, lines: &mut Vec<String>) {
    lines.push("Most uncertain:".to_owned());
    let counts: Vec<String> = [
        (unknowns.set_date, "without a set date"),
        (unknowns.species, "without a species"),
        (unknowns.preservative, "without a preservative"),
        (unknowns.size, "without a full size"),
        (unknowns.place, "without coordinates"),
        (unknowns.never_inspected, "never inspected"),
        (unknowns.generic_curve, "judged by the generic curve"),
    ]
    .into_iter()
    .filter(|(number, _)| *number > 0)
    .map(|(number, what)| format!("{} {what}", count(number)))
    .collect();
    if counts.is_empty() {
        lines.push("  every pole has its date, species, preservative, size and place".to_owned());
    } else {
        lines.push(format!("  poles: {}", counts.join(", ")));
    }
    for cell in &unknowns.widest_cells {
        let [low, middle, high] = cell.median_years.map(|years| to_figures(years, 2));
        lines.push(format!(
            "  median life of {}, zone {}: {middle} years, probably {low} to {high} ({}){}",
            cell.title,
            cell.zone,
            counted(cell.poles, "pole", "poles"),
            if cell.contradicted {
                "; NOT TO BE TRUSTED: the findings contradict the curve or what is said of removed poles"
            } else {
                ""
            }
        ));
    }
}

fn assumed(overview: &Overview, lines: &mut Vec<String>) {
    if overview.assumed.is_empty() {
        return;
    }
    lines.push(format!(
        "WARNING: {} nobody has confirmed; set in the programme:",
        counted(
            overview.assumed.len(),
            "figure stands in that",
            "figures stand in that"
        )
    ));
    for figure in &overview.assumed {
        lines.push(format!(
            "  {} = {} ({})",
            figure.key, figure.value, figure.mark
        ));
    }
}

/// "412 +- 9, probably 380 to 450": mean with its error, then the band in which 8 of 10 trials lie.
fn spread(spread: Spread) -> String {
    let mean = Estimate {
        value: spread.mean,
        error: spread.standard_error,
    };
    format!(
        "{mean} (8 in 10 trials between {} and {})",
        whole(spread.p10),
        whole(spread.p90)
    )
}

fn share(part: f64, whole: f64) -> String {
    if whole > 0.0 {
        format!(" ({} %)", to_figures(100.0 * part / whole, 2))
    } else {
        String::new()
    }
}

fn some_of(names: &[String]) -> String {
    let listed = names
        .iter()
        .take(LISTED)
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(", ");
    match names.len().saturating_sub(LISTED) {
        0 => listed,
        more => format!("{listed} and {} more", count(more)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{overview, sample};

    #[test]
    fn a_plan_fits_on_one_screen_with_danger_first() {
        let sample = sample::fleet();
        let seen = overview(
            &sample.inventory,
            &sample.problems,
            &sample.models,
            &sample.programme,
            &sample.plan,
        );
        let text = page(&seen, "out", &["schedule.csv".to_owned()]);
        assert!(text.starts_with("DANGER: 1 pole is judged dangerous. Act today"));
        assert!(text.lines().count() <= 40, "{text}");
        insta::assert_snapshot!(text);
    }
}
