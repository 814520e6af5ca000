//! The years ahead: packages of next year, new poles by year and size with bands, what stays below the limit.

use super::Report;
use super::charts::{BandPoint, band};
use super::html::{caution, owners, sentence, table, table_of_most, text};
use crate::pole::Vocabulary;
use crate::tables::length_unit;
use crate::trial::{Band, Demand, YearForecast};
use crate::words::quantities::{count, new_size_in_words, size_in_words, to_figures};
use crate::words::reasons::method_in_words;
use crate::words::screen::crew_days;
use crate::words::supply::in_a_cell;
use crate::words::{Caution, calendar_year};
use std::fmt::Write;

/// Single years shown in tables by size.
const YEARS_BY_SIZE: usize = 5;

/// Rows of the table by size that stand open, the total among them: what a sheet of paper has room for.
const SIZES_OPEN: usize = 15;

/// What does not add up, said at every table by size.
const NOT_ADDED: &str = "Mean, and in brackets the band in which 8 in 10 trials lie. Upper ends of sizes or years do not add up to those of totals: all are rarely high in the same trial.";

/// The work of the first plan year, package by package.
pub fn packages(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let year = calendar_year(fleet.programme, 0);
    let mut page = format!(
        "<section id=\"packages\" aria-labelledby=\"packages-h\">\n<h2 id=\"packages-h\">Packages of {year}</h2>\n"
    );
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str(&caution(Caution::Digging.text()));
    page.push_str(&caution(Caution::Boring.text()));
    let mine = fleet.plan.schedule.packages.iter().enumerate();
    let rows: Vec<Vec<String>> = mine
        .filter(|(_, package)| package.year == Some(0))
        .map(|(number, package)| {
            vec![
                format!(
                    "<button type=\"button\" class=\"link package\" data-package=\"{number}\">{}</button>",
                    owners(&package.name)
                ),
                text(method_in_words(package.method)),
                count(package.poles.len()),
                crew_days(package.crew_days),
            ]
        })
        .collect();
    if rows.is_empty() {
        page.push_str("<p>No inspection is planned in this year.</p>\n");
    } else {
        page.push_str(&table(
            "Inspections done together; choose one to see it on the map and in the list",
            &[
                ("Package", false),
                ("Method", false),
                ("Poles", true),
                ("Crew-days", true),
            ],
            &rows,
        ));
    }
    page + "</section>\n"
}

/// What is shown of a year.
type Pick = fn(&YearForecast) -> Band;

/// The forecast.
pub fn section(report: &Report<'_>) -> String {
    let forecast = &report.fleet.plan.forecast;
    let mut page = String::from(
        "<section id=\"outlook\" aria-labelledby=\"outlook-h\">\n<h2 id=\"outlook-h\">New poles in the years ahead</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str("<p class=\"key\">The line is the mean, the band holds 8 in 10 trials.</p>\n");
    let about = format!(
        "By year from {} trials; the table below holds the same figures.",
        count(forecast.trials as usize)
    );
    let figures: [(&str, &str, Pick); 4] = [
        ("new", "New poles needed, all kinds", |year| {
            year.replacements
        }),
        (
            "found",
            "Poles that inspections judge below the limit",
            |year| year.rejects_found,
        ),
        (
            "below",
            "Poles standing below the limit at the end of the year",
            |year| year.below_limit,
        ),
        ("failures", "Poles that fail in service", |year| {
            year.failures
        }),
    ];
    page.push_str("<div class=\"charts\">\n");
    for (name, title, pick) in figures {
        let points: Vec<BandPoint> = forecast
            .years
            .iter()
            .map(|year| point(year.year, pick(year)))
            .collect();
        let _ = writeln!(
            page,
            "<figure><figcaption>{}</figcaption>{}</figure>",
            text(title),
            band(name, title, &about, &points)
        );
    }
    page.push_str("</div>\n");
    page.push_str(&by_year(&forecast.years));
    page.push_str(&by_size(report));
    page + "</section>\n"
}

fn point(year: i16, band: Band) -> BandPoint {
    BandPoint {
        label: year.to_string(),
        low: band.p10,
        middle: band.mean,
        high: band.p90,
    }
}

fn by_year(years: &[YearForecast]) -> String {
    let rows: Vec<Vec<String>> = years
        .iter()
        .map(|year| {
            let mut row = vec![year.year.to_string()];
            let bands = [
                year.inspections,
                year.rejects_found,
                year.replacements,
                year.failures,
                year.below_limit,
            ];
            row.extend(bands.map(in_a_cell));
            row
        })
        .collect();
    let heads = [
        ("Year", false),
        ("Inspections", true),
        ("Judged below the limit", true),
        ("New poles", true),
        ("Failures in service", true),
        ("Standing below the limit", true),
    ];
    format!(
        "<details><summary>The same as a table, year by year</summary>\n<p>{}</p>\n{}</details>\n",
        sentence(NOT_ADDED),
        table("The years ahead", &heads, &rows)
    )
}

/// New poles by size: the next years one by one, then the whole forecast.
pub fn by_size(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let forecast = &fleet.plan.forecast;
    let unit = length_unit(&fleet.programme.sources);
    let years: Vec<i16> = forecast
        .years
        .iter()
        .take(YEARS_BY_SIZE)
        .map(|year| year.year)
        .collect();
    let of = |group: Option<usize>, year: Option<i16>| -> Option<&Demand> {
        let rows = if group.is_some() {
            &forecast.by_group
        } else {
            &forecast.demand
        };
        rows.iter()
            .find(|row| row.group == group && row.year == year && row.kind.is_none())
    };
    let cells = |group: Option<usize>| {
        let spans = years.iter().map(|year| Some(*year)).chain([None]);
        spans.map(move |year| {
            of(group, year).map_or_else(|| "0".to_owned(), |row| in_a_cell(row.count))
        })
    };
    let mut rows = Vec::new();
    for (number, group) in forecast.groups.iter().enumerate() {
        if of(Some(number), None).is_none() {
            continue;
        }
        let preservative = group.preservative.map_or_else(
            || "preservative unknown".to_owned(),
            |kind| kind.word().replace('_', " "),
        );
        let species = group.species.map_or_else(
            || "species unknown".to_owned(),
            |kind| kind.word().replace('_', " "),
        );
        let size = new_size_in_words(&group.new, unit);
        let old = size_in_words(group.old, &fleet.inventory.names, unit);
        let instead = if old == size {
            String::new()
        } else {
            format!(" for {}", owners(&old))
        };
        let mut row = vec![format!(
            "{}{instead}, {}, {}",
            owners(&size),
            text(&species),
            text(&preservative)
        )];
        row.extend(cells(Some(number)));
        let needed = of(Some(number), None).map_or(0.0, |row| row.count.mean);
        rows.push((needed, row));
    }
    let mut total = vec!["<strong>all sizes</strong>".to_owned()];
    total.extend(cells(None));
    rows.push((f64::INFINITY, total));
    let labels: Vec<String> = years
        .iter()
        .map(i16::to_string)
        .chain([format!("{} years", forecast.years.len())])
        .collect();
    let heads: Vec<(&str, bool)> = std::iter::once(("Size, species and preservative", false))
        .chain(labels.iter().map(|label| (label.as_str(), true)))
        .collect();
    let unknown = of(None, None).map_or(0.0, |row| row.share_from_unknown_size);
    let unknown = if unknown > 0.0 {
        format!(
            " {} % of all new poles stand in for poles whose size the list does not give in full.",
            to_figures(100.0 * unknown, 2)
        )
    } else {
        String::new()
    };
    format!(
        "<p>{}</p>\n{}",
        sentence(&format!("{NOT_ADDED}{unknown}")),
        table_of_most("New poles by size", &heads, rows, SIZES_OPEN)
    )
}
