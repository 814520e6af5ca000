//! The first screen: danger, what is overdue, next year's round, new poles, how sure, what is assumed.
//!
//! The terminal's own lines laid out as cards: no figure is said here that is not said there.

use super::Report;
use super::charts::{BandPoint, bars};
use super::html::{caution, owners, sentence, text};
use crate::words::method::GROUNDLINE_ONLY;
use crate::words::overview::DangerRecord;
use crate::words::quantities::count;
use crate::words::screen::{Part, danger_by_kind, part};
use crate::words::{Caution, checks, previous};
use std::fmt::Write;

/// Past rounds shown beside the expected one.
const PAST_ROUNDS: usize = 3;

/// Poles judged dangerous that stand open on the first screen; the rest is one step away.
const DANGERS_SHOWN: usize = 9;

/// The first screen.
pub fn section(report: &Report<'_>) -> String {
    let mut page = danger(report);
    page.push_str("<section id=\"glance\" aria-labelledby=\"glance-h\">\n<h2 id=\"glance-h\">At a glance</h2>\n");
    let _ = writeln!(page, "<p class=\"limit\">{}</p>", sentence(GROUNDLINE_ONLY));
    page.push_str("<div class=\"cards\">\n");
    page.push_str(&card(report, Part::Overdue, ""));
    page.push_str(&card(report, Part::Round, &rejects(report)));
    page.push_str(&card(report, Part::Replaced, ""));
    page.push_str(&card(report, Part::Orders, ""));
    page.push_str(&changed(report));
    page.push_str(&card(report, Part::Uncertain, ""));
    page.push_str(&checked(report));
    page.push_str(&card(
        report,
        Part::Read,
        "<p><a href=\"#data\">Which problems, and what would help</a></p>",
    ));
    let assumed = part(report.overview, Part::Assumed);
    if let Some(first) = assumed.first() {
        let _ = writeln!(
            page,
            "<article class=\"card\"><h3>{}</h3><p><a href=\"#assumed\">Which, and where they come from</a></p></article>",
            sentence(first.trim_end_matches(':'))
        );
    }
    page.push_str("</div>\n</section>\n");
    page
}

/// Poles judged dangerous, each to be opened.
fn danger(report: &Report<'_>) -> String {
    let kinds = danger_by_kind(report.overview);
    if kinds.is_empty() {
        return String::new();
    }
    let mut page = String::from("<section id=\"danger\" aria-labelledby=\"danger-h\">\n");
    let mut id = " id=\"danger-h\"";
    for kind in kinds {
        let _ = writeln!(page, "<h2{id}>{}</h2>", sentence(&kind.heading));
        if !id.is_empty() {
            page.push_str(&caution(Caution::Climbing.text()));
        }
        id = "";
        let (first, rest) = kind.records.split_at(kind.records.len().min(DANGERS_SHOWN));
        page.push_str(&dangerous(report, first));
        if !rest.is_empty() {
            let _ = write!(
                page,
                "<details><summary>And {} more</summary>\n{}</details>\n",
                count(rest.len()),
                dangerous(report, rest)
            );
        }
    }
    page + "</section>\n"
}

fn dangerous(report: &Report<'_>, records: &[DangerRecord]) -> String {
    let mut page = String::from("<ul class=\"poles\">\n");
    for record in records {
        let line = record
            .line
            .as_ref()
            .map_or_else(String::new, |line| format!(", line {}", owners(line)));
        let _ = writeln!(
            page,
            "<li>{}{line}, judged <time>{}</time></li>",
            pole_button(report, &record.pole),
            text(&record.date)
        );
    }
    page + "</ul>\n"
}

/// A pole's id, which opens its story where a script runs.
pub fn pole_button(report: &Report<'_>, id: &str) -> String {
    report.fleet.inventory.find(id).map_or_else(
        || owners(id),
        |pole| {
            format!(
                "<button type=\"button\" class=\"link pole\" data-pole=\"{}\">{}</button>",
                pole.0,
                owners(id)
            )
        },
    )
}

/// What changed since the earlier plan, where the programme names one.
fn changed(report: &Report<'_>) -> String {
    let Some(since) = &report.overview.since_previous else {
        return String::new();
    };
    let more = "<p><a href=\"#duties\">What to read it with</a></p>";
    card_of(&previous::lines(since), more)
}

/// What the cross-checks found: a warning that only the terminal gives is soon scrolled away.
fn checked(report: &Report<'_>) -> String {
    let checks = report.overview.checks.as_ref();
    checks.map_or_else(String::new, |checks| card_of(&checks::lines(checks), ""))
}

fn card(report: &Report<'_>, which: Part, more: &str) -> String {
    card_of(&part(report.overview, which), more)
}

fn card_of(lines: &[String], more: &str) -> String {
    let mut page = String::from("<article class=\"card\">");
    let mut lines = lines.iter().flat_map(|line| line.split('\n'));
    let heading = lines.next().unwrap_or_default();
    let _ = writeln!(
        page,
        "<h3>{}</h3>\n<ul>",
        sentence(heading.trim_end_matches(':'))
    );
    for line in lines {
        let said = line.trim_start();
        let deep = line.len() - said.len() > 2;
        let loud = ["NO ", "NOT ", "WARNING"]
            .iter()
            .any(|word| said.starts_with(word));
        let said = sentence(said);
        let said = if loud {
            format!("<strong>{said}</strong>")
        } else {
            said
        };
        let _ = writeln!(
            page,
            "<li{}>{said}</li>",
            if deep { " class=\"deep\"" } else { "" }
        );
    }
    page.push_str("</ul>\n");
    page.push_str(more);
    page.push_str("</article>\n");
    page
}

/// Shares of rejects: the last rounds as they were, the next one as expected.
fn rejects(report: &Report<'_>) -> String {
    let round = &report.overview.next_round;
    let (Some(found), Some(visits)) = (round.expected_rejects, round.expected_inspections) else {
        return String::new();
    };
    if visits.mean <= 0.0 {
        return String::new();
    }
    let skipped = round.past_rounds.len().saturating_sub(PAST_ROUNDS);
    let mut points: Vec<BandPoint> = round
        .past_rounds
        .iter()
        .skip(skipped)
        .map(|past| {
            let share = 100.0 * past.rejects as f64 / (past.inspections.max(1)) as f64;
            BandPoint {
                label: past.year.to_string(),
                low: share,
                middle: share,
                high: share,
            }
        })
        .collect();
    let share = |rejects: f64| 100.0 * rejects / visits.mean;
    points.push(BandPoint {
        label: format!("{} expected", round.year),
        low: share(found.p10),
        middle: share(found.mean),
        high: share(found.p90),
    });
    bars(
        "rejects",
        "Share of inspections that end in a reject",
        "The last rounds as recorded, of poles still listed; the next one as expected, with the band in which 8 in 10 trials lie.",
        " %",
        &points,
    ) + "<p class=\"key\">Share of inspections that end in a reject: recorded (dark), expected (light, 8 in 10 trials within the whisker).</p>"
}
