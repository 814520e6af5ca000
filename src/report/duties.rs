//! What the rules called for and what was done, year by year for all districts together; failures on record.
//!
//! The counts are those of `compliance.csv`, which has the districts.

use super::Report;
use super::html::{caution, owners, sentence, table, text};
use crate::score::compliance::{Account, Counts, Where};
use crate::score::failing::FailureRate;
use crate::words::compliance::CAUTION;
use crate::words::previous::{self, PROGRESS_CAUTION};
use crate::words::quantities::{count, to_figures};
use std::fmt::Write;

/// The section.
pub fn section(report: &Report<'_>) -> String {
    let mut page = String::from(
        "<section id=\"duties\" aria-labelledby=\"duties-h\">\n<h2 id=\"duties-h\">Duties by rule</h2>\n",
    );
    page.push_str(&caution(CAUTION));
    page.push_str("<p class=\"key\">Past years by the records of poles that are listed today, years to come by the schedule and each pole's next visit. Districts stand in compliance.csv.</p>\n");
    let mut rows = Vec::new();
    let mut failed = Vec::new();
    for line in report
        .duties
        .iter()
        .filter(|line| line.place == Where::Everywhere)
    {
        let year = i32::from(report.fleet.programme.first_year()) + line.year;
        match &line.account {
            Account::Rule { rule, counts } => {
                let rules = &report.fleet.programme.inspections;
                let name = rules.get(*rule).map_or("", |rule| rule.name.as_str());
                rows.push(duty(name, year, line.year < 0, counts));
            }
            Account::All(all) => {
                failed.extend(all.failures.map(|own| failures(year, all.standing, &own)));
            }
        }
    }
    let heads = [
        ("Rule", false),
        ("Year", true),
        ("Due", true),
        ("Done or planned", true),
        ("Overdue at the end", true),
        ("Oldest since", false),
        ("Deferred", true),
        ("Cycle done", true),
    ];
    page.push_str("<details><summary>Rules, year by year</summary>\n");
    page.push_str(&table("Poles by rule and year", &heads, &rows));
    page.push_str("</details>\n");
    if !failed.is_empty() {
        let heads = [
            ("Year", true),
            ("Poles", true),
            ("Unassisted failures", true),
            ("In 10,000 poles", true),
            ("Exact 95 % interval", true),
            ("Mean of three years", true),
        ];
        page.push_str(&table("Failures on record", &heads, &failed));
    }
    if let Some(since) = &report.overview.since_previous {
        page.push_str("<h3>Since the earlier plan</h3>\n");
        page.push_str(&caution(PROGRESS_CAUTION));
        for line in previous::lines(since) {
            let _ = writeln!(page, "<p>{}</p>", sentence(line.trim_start()));
        }
    }
    page + "</section>\n"
}

fn duty(rule: &str, year: i32, is_past: bool, counts: &Counts) -> Vec<String> {
    let (done, deferred) = if is_past {
        ("done", String::new())
    } else {
        ("planned", count(counts.deferred))
    };
    vec![
        owners(rule),
        year.to_string(),
        count(counts.due),
        text(&format!("{} {done}", count(counts.done))),
        count(counts.overdue),
        counts
            .oldest_overdue
            .map_or_else(String::new, |date| text(&date.to_string())),
        deferred,
        counts.share_of_cycle().map_or_else(String::new, |share| {
            sentence(&format!("{} %", to_figures(100.0 * share, 3)))
        }),
    ]
}

fn failures(year: i32, standing: usize, own: &FailureRate) -> Vec<String> {
    let figure = |rate: f64| to_figures(rate, 3).to_string();
    vec![
        year.to_string(),
        count(standing),
        count(own.unassisted),
        own.per_10_000.map_or_else(String::new, figure),
        own.interval.map_or_else(String::new, |interval| {
            format!("{} to {}", figure(interval.low), figure(interval.high))
        }),
        own.mean.map_or_else(String::new, figure),
    ]
}
