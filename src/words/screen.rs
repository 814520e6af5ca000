//! The terminal's page: a plan in one screen, danger first.
//!
//! Text in, text out: [`Overview`] to lines of at most about 100 characters.

use super::failures;
use super::orders;
use super::overview::{
    AssumedFigure, DangerRecord, Needed, NextRound, Overview, Replacements, Rows, Spread, Unknowns,
};
use super::quantities::{Estimate, count, counted, to_decimals, to_figures, whole};
use crate::inventory::RowCount;
use std::collections::BTreeSet;

/// Names or ids listed before the rest is only counted.
const LISTED: usize = 8;

/// Characters after which a list goes on in the next line.
const LINE_LENGTH: usize = 100;

/// What the page says under a folder for everybody.
pub const PAGE_OF_A_PUBLIC_FOLDER: &str = "The folder holds totals and coarse squares, for everybody. This page names poles: it is for you alone, and what it says of schedule.csv is in the owner's plan.\n";

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
    lines.extend(super::years::lines(&overview.years));
    replaced(&overview.replacements, &mut lines);
    lines.extend(orders::lines(&overview.orders));
    lines.extend(overview.failures.iter().flat_map(failures::lines));
    uncertain(&overview.unknowns, &mut lines);
    if let Some(since) = &overview.since_previous {
        lines.extend(super::previous::lines(since));
    }
    if let Some(checks) = &overview.checks {
        lines.extend(super::checks::lines(checks));
    }
    assumed(overview, &mut lines);
    if !files.is_empty() {
        lines.push(format!("Written to {folder}: {}", listed(files)));
    }
    lines.push(GROUNDLINE_ONLY.to_owned());
    lines.push(overview.caution.to_owned());
    lines.join("\n") + "\n"
}

/// Files by name, those of a folder by their number; what is there in two forms is one sheet.
fn listed(files: &[String]) -> String {
    let mut names: Vec<String> = Vec::new();
    for file in files {
        let Some((inside, _)) = file.split_once('/') else {
            names.push(file.clone());
            continue;
        };
        let sheets: BTreeSet<&str> = files
            .iter()
            .filter(|other| other.split('/').next() == Some(inside))
            .map(|other| {
                other
                    .rsplit_once('.')
                    .map_or(other.as_str(), |(name, _)| name)
            })
            .collect();
        let count = sheets.len();
        let name = format!("{inside}/ ({})", counted(count, "sheet", "sheets"));
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(", ")
}

/// What the figures are not about.
const GROUNDLINE_ONLY: &str = "Only the groundline is modelled: tops, splits, woodpeckers, insects, fire, impact and lean act by [[above_ground]] rules alone.";

/// A part of the page, for outputs that lay it out anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Poles judged dangerous; empty when there are none.
    Danger,
    /// What was read and what is wrong with it.
    Read,
    /// What is overdue and what found no room.
    Overdue,
    /// The first year's round.
    Round,
    /// New poles needed.
    Replaced,
    /// What to order.
    Orders,
    /// What is least known.
    Uncertain,
    /// Figures that nobody has confirmed; empty when there are none.
    Assumed,
}

/// The lines of one part: the first is its heading, the others are indented by two or more blanks.
pub fn part(overview: &Overview, part: Part) -> Vec<String> {
    let mut lines = Vec::new();
    match part {
        Part::Danger => danger(overview, &mut lines),
        Part::Read => read(overview, &mut lines),
        Part::Overdue => overdue(overview, &mut lines),
        Part::Round => {
            round(&overview.next_round, &mut lines);
            lines.extend(super::years::lines(&overview.years));
        }
        Part::Replaced => replaced(&overview.replacements, &mut lines),
        Part::Orders => lines.extend(orders::lines(&overview.orders)),
        Part::Uncertain => uncertain(&overview.unknowns, &mut lines),
        Part::Assumed => assumed(overview, &mut lines),
    }
    lines.retain(|line| !line.is_empty());
    lines
}

/// Only the danger records: what is said even to who wants to hear nothing. Empty when there are none.
pub fn danger_only(overview: &Overview) -> String {
    let mut lines = Vec::new();
    danger(overview, &mut lines);
    lines.join("\n")
}

fn danger(overview: &Overview, lines: &mut Vec<String>) {
    for kind in danger_by_kind(overview) {
        let records = kind.records;
        lines.push(kind.heading);
        for record in records.iter().take(LISTED) {
            let line = record
                .line
                .as_ref()
                .map_or_else(String::new, |line| format!(", line {}", on_one_line(line)));
            lines.push(format!(
                "  {}{line}, judged {}",
                on_one_line(&record.pole),
                record.date
            ));
        }
        if records.len() > LISTED {
            lines.push(format!(
                "  and {} more, {}",
                count(records.len() - LISTED),
                kind.rest_is
            ));
        }
        lines.push(String::new());
    }
}

/// Records of danger of one kind.
#[derive(Debug)]
pub struct DangerOfKind<'a> {
    /// What stands above them.
    pub heading: String,
    /// The records; there is at least one.
    pub records: &'a [DangerRecord],
    /// Where those are found that a short list leaves out.
    pub rest_is: &'static str,
}

/// The records of danger: those that stand, then those that a set date hides.
pub fn danger_by_kind(overview: &Overview) -> Vec<DangerOfKind<'_>> {
    let (stands, hidden) = (&overview.danger, &overview.hidden_danger);
    let all = [
        DangerOfKind {
            heading: format!(
                "DANGER: {} judged dangerous. Act today by your own procedure, do not wait for this plan.",
                counted(stands.len(), "pole is", "poles are")
            ),
            records: stands,
            rest_is: "at the top of schedule.csv",
        },
        DangerOfKind {
            heading: hidden_danger(hidden.len()),
            records: hidden,
            rest_is: "in data_problems.csv (P506)",
        },
    ];
    let has_records = |kind: &DangerOfKind<'_>| !kind.records.is_empty();
    all.into_iter().filter(has_records).collect()
}

/// What is said of poles whose danger lies before the set date of the list.
pub fn hidden_danger(poles: usize) -> String {
    format!(
        "DANGER, unless a new pole stands there: {} judged dangerous before the set date of the list (P506). Look today; if it is the old pole, make it safe and correct the date.",
        counted(poles, "pole was", "poles were")
    )
}

/// What must stand beside every number when no inspection is on record.
const NOBODY_LOOKED: &str = "  NO INSPECTION is on record: the forecast supposes that nobody has ever looked at these poles. If somebody has, it shows too many failures; add the inspection records before you rely on its numbers.";

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
    lines.extend(overview.on_trust.iter().map(|line| format!("  {line}")));
    lines.push(rows("poles", overview.pole_rows));
    if overview.counted_rows > 0 {
        lines.push(format!(
            "    of these {} with a count, which stand for {}: their ids and years are of our own making",
            counted(overview.counted_rows, "row", "rows"),
            counted(overview.counted_poles, "pole", "poles")
        ));
    }
    lines.push(rows("inspections", overview.inspection_rows));
    let last = overview.last_inspections;
    if last.read > 0 {
        lines.push(format!(
            "  last inspections on rows of poles: {} found, {} used, {} out of scope, {} set aside",
            count(last.read),
            count(last.used),
            count(last.out_of_scope),
            count(last.set_aside)
        ));
    }
    for (what, of_kind) in [
        ("work done", overview.work_rows),
        ("failures", overview.failure_rows),
        ("decisions", decision_rows(overview)),
    ] {
        if of_kind.read > 0 {
            lines.push(rows(what, of_kind));
        }
    }
    if let Some(removed) = &overview.removed_records {
        lines.push(format!("  {removed}"));
    }
    if overview.poles > 0 && overview.unknowns.never_inspected == overview.poles {
        lines.push(NOBODY_LOOKED.to_owned());
    }
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
    // Notes come last, however many: most of them only list what was left out on purpose.
    worst.sort_by_key(|problem| {
        let is_note = problem.severity == "note";
        (is_note, std::cmp::Reverse(problem.count))
    });
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

/// Rows of the files of decisions.
fn decision_rows(overview: &Overview) -> Rows {
    let none = RowCount::default().into();
    overview.decisions.as_ref().map_or(none, |own| own.rows)
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
                on_one_line(&rule.oldest_pole)
            ));
        }
    }
    lines.extend(super::compliance::lines(&overview.cycles));
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
    if overview.above_ground > 0 {
        lines.push(format!(
            "  {} a defect above the groundline that a rule acts upon",
            counted(overview.above_ground, "pole has", "poles have")
        ));
    }
    if overview.deferred > 0 {
        lines.push(format!(
            "  NOT COMPLIANT: {} called for found {}; each is marked deferred in schedule.csv",
            counted(overview.deferred, "visit", "visits"),
            super::overview::what_they_want(overview)
        ));
    }
    lines.extend(super::funding::lines(&overview.unfunded));
    if let Some(decided) = &overview.decisions {
        lines.extend(super::decisions::lines(decided));
    }
}

fn round(round: &NextRound, lines: &mut Vec<String>) {
    let lines_of_it = match round.lines.len() {
        0 => String::new(),
        number => format!(" on {}", counted(number, "line", "lines")),
    };
    lines.push(format!(
        "{} round: {}{lines_of_it}, {} of {} crew-days",
        round.year,
        counted(round.inspections, "inspection", "inspections"),
        crew_days(round.crew_days),
        crew_days(round.crew_days_available)
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
        lines.push(
            "    (of poles still listed only: rejects replaced since have left the list, so past rounds look better than they were)"
                .to_owned(),
        );
    }
}

/// Crew-days to a tenth.
pub fn crew_days(days: f64) -> String {
    if days > 0.0 && days < 0.1 {
        "less than 0.1".to_owned()
    } else {
        to_decimals(days, 1).to_string()
    }
}

fn replaced(replacements: &Replacements, lines: &mut Vec<String>) {
    lines.push(format!("New poles needed in {}:", replacements.first_year));
    lines.extend(
        replacements
            .in_first_year
            .iter()
            .filter(|own| occurs(own))
            .map(needed),
    );
    lines.push(format!(
        "New poles needed over {} years:",
        replacements.horizon_years
    ));
    lines.extend(
        replacements
            .over_horizon
            .iter()
            .filter(|own| occurs(own))
            .map(needed),
    );
    if replacements.horizon_years > 5 {
        lines.push(format!(
            "  of these about {} in the first five years (mean; bands by year in quantities.csv)",
            whole(replacements.mean_of_five_years)
        ));
    }
}

/// Whether a kind occurs in any trial: an owner who reinforces nothing need not read of it.
fn occurs(needed: &Needed) -> bool {
    needed.count.mean > 0.0
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
        (
            unknowns.several_curves,
            "taken as a mixture of the kinds recorded here",
        ),
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
    let figures: Vec<String> = families(overview)
        .into_iter()
        .map(|(family, figures)| match figures.as_slice() {
            [only] => format!("{} = {}", only.key, only.value),
            several => format!(
                "{family}.* ({})",
                counted(several.len(), "figure", "figures")
            ),
        })
        .collect();
    lines.extend(wrapped(&figures));
    lines.push(
        "  `polewright check` lists them with where they come from; run.json keeps them".to_owned(),
    );
}

/// Figures by the table of the programme that they stand in; a short family is shown figure by figure.
fn families(overview: &Overview) -> Vec<(&str, Vec<&AssumedFigure>)> {
    let mut families: Vec<(&str, Vec<&AssumedFigure>)> = Vec::new();
    for figure in &overview.assumed {
        let family = figure
            .key
            .rsplit_once('.')
            .map_or(figure.key, |(family, _)| family);
        match families.iter_mut().find(|(known, _)| *known == family) {
            Some((_, figures)) => figures.push(figure),
            None => families.push((family, vec![figure])),
        }
    }
    families
}

/// Items in indented lines of readable length.
fn wrapped(items: &[String]) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::from(" ");
    for (place, item) in items.iter().enumerate() {
        if line.len() > 1 && line.len() + item.len() > LINE_LENGTH {
            lines.push(std::mem::replace(&mut line, String::from(" ")));
        }
        line.push(' ');
        line.push_str(item);
        if place + 1 < items.len() {
            line.push(',');
        }
    }
    lines.push(line);
    lines
}

/// "412 +- 9, probably 380 to 450": mean with its error, then the band in which 8 of 10 trials lie.
pub fn spread(spread: Spread) -> String {
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

/// A text from the data without line ends and other signs that move a terminal's cursor.
pub(super) fn on_one_line(text: &str) -> String {
    text.replace(char::is_control, " ")
}

fn some_of(names: &[String]) -> String {
    let listed = names
        .iter()
        .take(LISTED)
        .map(|name| on_one_line(name))
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
        assert!(text.starts_with(&danger_only(&seen)));
        for one in [
            Part::Danger,
            Part::Overdue,
            Part::Round,
            Part::Replaced,
            Part::Orders,
        ] {
            let lines = part(&seen, one);
            assert!(
                lines.len() > 1 && text.contains(&lines.join("\n")),
                "{one:?}"
            );
        }
        insta::assert_snapshot!(text);
    }

    #[test]
    fn many_assumed_figures_are_shown_by_family() {
        let sample = sample::fleet();
        let mut seen = overview(
            &sample.inventory,
            &sample.problems,
            &sample.models,
            &sample.programme,
            &sample.plan,
        );
        let figure = |key| AssumedFigure {
            key,
            value: "1".to_owned(),
            mark: "proposed",
        };
        seen.assumed = vec![
            figure("costs.inspection.patrol"),
            figure("costs.inspection.sound"),
            figure("horizon_years"),
        ];
        let mut lines = Vec::new();
        assumed(&seen, &mut lines);
        assert_eq!(
            lines[1],
            "  costs.inspection.* (2 figures), horizon_years = 1"
        );
    }
}
