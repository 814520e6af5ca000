//! `estimate.html`: the supplier's hour on one printed page, without a script and without a map.
//!
//! The same parts as the report's: sentences from [`words`](crate::words), tables by `html`. Opens no file and asks nobody.

use super::html::{caution, owners, sentence, table, text};
use super::pack::policy_hash;
use super::{Provenance, Report};
use crate::supply::OrderKind;
use crate::tables::length_unit;
use crate::trial::{Demand, Kind};
use crate::words::Caution;
use crate::words::estimate::{Asked, ENGINEER, NOT_AN_OFFER, assumptions, by_size, terms};
use crate::words::orders::use_class;
use crate::words::quantities::to_figures;
use crate::words::screen::{Part, danger_by_kind, part};
use crate::words::supply::in_a_cell;
use std::fmt::Write;

const STYLE: &str = include_str!("assets/page.css");

/// Sizes in the table; the rest is in `quantities.csv`.
const SIZES: usize = 12;

/// What an estimate shows beside its plan.
#[derive(Debug, Clone, Copy)]
pub struct Estimate<'a> {
    /// The plan behind it.
    pub report: Report<'a>,
    /// What was asked for.
    pub asked: &'a Asked,
    /// The lists, by their names.
    pub lists: &'a [String],
    /// What each column of theirs was taken for.
    pub reading: &'a [String],
}

/// `estimate.html`.
pub fn estimate(of: &Estimate<'_>) -> String {
    let overview = of.report.overview;
    let mut page = format!(
        "<!doctype html>\n<html lang=\"en\" data-view=\"estimate\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src {}; base-uri 'none'; form-action 'none'\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Estimate of new poles</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<header>\n<h1>Estimate of new poles</h1>\n<p>{}</p>\n",
        policy_hash(STYLE),
        owners(&terms(of.asked, of.lists))
    );
    let _ = writeln!(
        page,
        "<p class=\"limit\">{}</p>\n{}</header>\n<main id=\"main\">",
        sentence(NOT_AN_OFFER),
        caution(overview.caution)
    );
    page.push_str(&danger(of));
    page.push_str(&totals(of));
    page.push_str(&sizes(of));
    page.push_str(&decides(of));
    page.push_str(&received(of));
    page.push_str(&assumed(of));
    page.push_str(&provenance(of.report.provenance, of));
    let _ = writeln!(
        page,
        "</main>\n<footer>{}</footer>\n</body>\n</html>",
        caution(overview.caution)
    );
    page
}

fn danger(of: &Estimate<'_>) -> String {
    let kinds = danger_by_kind(of.report.overview);
    if kinds.is_empty() {
        return String::new();
    }
    let mut page = String::from("<section id=\"danger\">\n");
    for kind in kinds {
        let _ = writeln!(
            page,
            "<h2>{}</h2>\n<ul class=\"dense\">",
            sentence(&kind.heading)
        );
        for record in kind.records {
            let _ = writeln!(
                page,
                "<li>{}, judged {}</li>",
                owners(&record.pole),
                record.date
            );
        }
        page.push_str("</ul>\n");
    }
    page + &caution(Caution::Climbing.text()) + "</section>\n"
}

/// New poles by kind: in the first year and over all.
fn totals(of: &Estimate<'_>) -> String {
    let forecast = &of.report.fleet.plan.forecast;
    let first = forecast.years.first().map(|year| year.year);
    let find = |kind: Option<Kind>, year: Option<i16>| -> Option<&Demand> {
        let mut rows = forecast.demand.iter();
        rows.find(|row| row.group.is_none() && row.kind == kind && row.year == year)
    };
    let kinds = Kind::NEW_POLES.map(Some).into_iter().chain([None]);
    let rows: Vec<Vec<String>> = kinds
        .map(|kind| {
            let name = kind.map_or("<strong>all new poles</strong>".to_owned(), |kind| {
                text(&kind.word().replace('_', " "))
            });
            let cell =
                |year| find(kind, year).map_or_else(|| "0".to_owned(), |row| in_a_cell(row.count));
            vec![name, cell(first), cell(None)]
        })
        .collect();
    let years = format!("{} years", of.asked.years);
    let first = first.map_or_else(String::new, |year| year.to_string());
    let heads = [
        ("Kind", false),
        (first.as_str(), true),
        (years.as_str(), true),
    ];
    format!(
        "<section>\n<h2>New poles</h2>\n<p>Mean of {} trials, and in brackets the band in which 8 in 10 of them lie.</p>\n{}</section>\n",
        forecast.trials,
        table("New poles by kind", &heads, &rows)
    )
}

fn sizes(of: &Estimate<'_>) -> String {
    let fleet = &of.report.fleet;
    let all = by_size(fleet, length_unit(&fleet.programme.sources));
    let rows: Vec<Vec<String>> = all
        .iter()
        .take(SIZES)
        .map(|(name, row)| vec![owners(name), in_a_cell(row.count)])
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let more = match all.len().saturating_sub(SIZES) {
        0 => String::new(),
        more => format!("<p>And {more} more kinds, in quantities.csv.</p>\n"),
    };
    let unknown = fleet
        .plan
        .forecast
        .demand
        .iter()
        .find(|row| row.year.is_none() && row.group.is_none() && row.kind.is_none());
    let unknown = unknown.map_or(0.0, |row| row.share_from_unknown_size);
    let unknown = if unknown > 0.0 {
        format!(
            " {} % of all new poles stand in for poles whose size the list does not give in full: measure before ordering.",
            to_figures(100.0 * unknown, 2)
        )
    } else {
        String::new()
    };
    let years = format!("New poles over {} years", of.asked.years);
    format!(
        "<section>\n<h2>By size</h2>\n{}<p>Upper ends of sizes do not add up to that of the total: all are rarely high in the same trial.{unknown}</p>\n{}{more}</section>\n",
        caution(Caution::Estimate.text()),
        table(
            &years,
            &[("Size, species and preservative", false), ("Poles", true)],
            &rows
        )
    )
}

fn decides(of: &Estimate<'_>) -> String {
    let now: u32 = {
        let orders = &of.report.fleet.plan.orders;
        orders.of(OrderKind::Now).map(|row| row.quantity).sum()
    };
    format!(
        "<section>\n<h2>What decides</h2>\n<p>{}</p>\n<p>{}</p>\n<p>To be {} % sure of each size until a second order can arrive, {now} poles would have to be ordered for the first day of the plan.</p>\n</section>\n",
        sentence(ENGINEER),
        sentence(&use_class(of.report.fleet.programme)),
        to_figures(
            100.0 * of.report.fleet.programme.supply.chance_of_not_running_short,
            3
        )
    )
}

fn received(of: &Estimate<'_>) -> String {
    let mut page = String::from("<section>\n<h2>Data received</h2>\n<ul class=\"dense\">\n");
    let read = part(of.report.overview, Part::Read);
    for line in read.iter().flat_map(|line| line.split('\n')) {
        let said = owners(line.trim());
        let loud = line.trim().starts_with("NO ");
        let _ = if loud {
            writeln!(page, "<li><strong>{said}</strong></li>")
        } else {
            writeln!(page, "<li>{said}</li>")
        };
    }
    page.push_str("</ul>\n<p>Columns as they were taken (field: column, how sure):</p>\n<ul class=\"dense\">\n");
    for line in of.reading {
        let _ = writeln!(page, "<li>{}</li>", owners(line));
    }
    page + "</ul>\n</section>\n"
}

fn assumed(of: &Estimate<'_>) -> String {
    let mut page = String::from("<section>\n<h2>Assumptions</h2>\n<ul>\n");
    for line in assumptions(of.asked, of.report.fleet.programme) {
        let _ = writeln!(page, "<li>{}</li>", sentence(&line));
    }
    let figures: Vec<String> = of
        .report
        .overview
        .assumed
        .iter()
        .map(|figure| format!("{} = {} ({})", figure.key, figure.value, figure.mark))
        .collect();
    let _ = writeln!(
        page,
        "</ul>\n<details><summary>{} figures that nobody has confirmed</summary>\n<p>{}</p>\n</details>\n</section>",
        figures.len(),
        sentence(&figures.join("; "))
    );
    page
}

fn provenance(of: &Provenance, estimate: &Estimate<'_>) -> String {
    let (program, version) = of.program;
    let digests: Vec<String> = of
        .digests
        .iter()
        .map(|(name, digest)| format!("{}: {}", owners(name), text(digest)))
        .collect();
    let by = of.prepared_by.as_ref().map_or_else(String::new, |name| {
        format!(", prepared by {}", owners(name))
    });
    format!(
        "<section id=\"provenance\">\n<h2>Where it comes from</h2>\n<p>{} {}, seed {}, {} trials{by}. Digests of what was read: {}.</p>\n</section>\n",
        text(program),
        text(version),
        estimate.report.overview.seed,
        estimate.report.overview.trials,
        digests.join(", ")
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pole::PoleIndex;
    use crate::units::Zone;
    use crate::words::{overview, sample};
    use jiff::civil::date;
    use std::collections::BTreeMap;

    #[test]
    fn a_page_says_what_it_is_what_it_read_and_what_it_assumed_and_acts_on_nothing() {
        let sample = sample::fleet();
        let seen = overview(
            &sample.inventory,
            &sample.problems,
            &sample.models,
            &sample.programme,
            &sample.plan,
        );
        let asked = Asked {
            on: date(2025, 11, 3),
            valid_days: 90,
            zone: Zone::ALL[2],
            years: 10,
        };
        let page = estimate(&Estimate {
            report: Report {
                fleet: sample.case(PoleIndex(0)),
                problems: &sample.problems,
                overview: &seen,
                provenance: &Provenance {
                    program: ("polewright", "0.0.0"),
                    prepared_by: None,
                    digests: BTreeMap::from([("<b>.csv".to_owned(), "abc123".to_owned())]),
                    set: Vec::new(),
                },
                duties: &[],
                looked_back: None,
            },
            asked: &asked,
            lists: &["<script>alert(1)</script>.csv".to_owned()],
            reading: &["length: HEIGHT (sure)".to_owned()],
        });
        for words in [
            "An estimate, not an offer and not an inspection",
            "valid until 2026-02-01",
            "DANGER: 1 pole is judged dangerous",
            "engineer decides the class",
            "all new poles",
            "40 ft class 4, pine, creosote",
            "length: HEIGHT (sure)",
            "crews.crew_days_per_year = 2",
            "abc123",
            "&lt;script&gt;alert",
        ] {
            assert!(page.contains(words), "{words}");
        }
        assert!(!page.contains("<script") && !page.contains("<b>.csv"));
        assert!(page.matches("never clears a pole").count() >= 3);
    }
}
