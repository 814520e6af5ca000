//! The page as a whole: head with its policy, parts in order, data, scripts.
//!
//! The policy forbids every request and lets only the scripts and the style run whose digests it names; data are not
//! scripts. Nothing of a plan stands outside an escaped text or a packet.

use super::html::{caution, json_for_script, owners, sentence, text};
use super::pack::{packed, policy_hash};
use super::{
    Report, assumed, budget, duties, glance, history, learned, looked_back, map, outlook, supplier,
};
use crate::pole::{Verdict, Vocabulary};
use crate::tables::length_unit;
use crate::units::LengthUnit;
use crate::words::method::VALUE_OF_VISIT;
use std::fmt::Write;

const STYLE: [&str; 2] = [
    include_str!("assets/leaflet.css"),
    include_str!("assets/page.css"),
];

const SCRIPTS: [&str; 5] = [
    include_str!("assets/leaflet.js"),
    include_str!("assets/data.js"),
    include_str!("assets/map.js"),
    include_str!("assets/list.js"),
    include_str!("assets/story.js"),
];

/// Parts of the owner's view that the page's contents list: anchor and name.
const CONTENTS: [(&str, &str); 13] = [
    ("glance", "At a glance"),
    ("map-part", "Map"),
    ("list-part", "Poles"),
    ("packages", "Packages"),
    ("outlook", "Years ahead"),
    ("money", "Budgets"),
    ("orders", "Orders"),
    ("duties", "Duties"),
    ("learned", "Curves"),
    ("back", "Hindcast"),
    ("data", "Data"),
    ("assumed", "Assumed"),
    ("method", "Method"),
];

/// `report.html`.
pub fn page(report: &Report<'_>) -> String {
    let style = STYLE.concat();
    let mut page = String::from(
        "<!doctype html>\n<html lang=\"en\" data-view=\"both\">\n<head>\n<meta charset=\"utf-8\">\n",
    );
    let scripts: Vec<String> = SCRIPTS.iter().map(|script| policy_hash(script)).collect();
    let _ = writeln!(
        page,
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src {}; style-src {}; img-src data:; base-uri 'none'; form-action 'none'\">",
        scripts.join(" "),
        policy_hash(&style)
    );
    let _ = writeln!(
        page,
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n<title>{}</title>\n<style>{style}</style>\n</head>\n<body>",
        text(&report.overview.title)
    );
    page.push_str(&head(report));
    page.push_str("<main id=\"main\">\n<div id=\"owner-view\">\n");
    for part in [
        glance::section(report),
        map::map_section(report),
        map::list_section(report),
        outlook::packages(report),
        outlook::section(report),
        budget::section(report),
        supplier::orders_section(report),
        duties::section(report),
        learned::calibration_section(report),
        looked_back::section(report),
        learned::data_section(report),
        assumed::section(report),
        learned::method_section(),
    ] {
        page.push_str(&part);
    }
    page.push_str("</div>\n");
    page.push_str(&supplier::section(report));
    page.push_str(&learned::provenance_section(report));
    page.push_str("</main>\n");
    page.push_str(include_str!("assets/story.html"));
    let _ = writeln!(
        page,
        "<footer><p class=\"caution\">{}</p></footer>",
        sentence(report.overview.caution)
    );
    page.push_str(&data(report));
    for script in SCRIPTS {
        let _ = writeln!(page, "<script>{script}</script>");
    }
    page.push_str("</body>\n</html>\n");
    page
}

fn head(report: &Report<'_>) -> String {
    let overview = report.overview;
    let by = report
        .provenance
        .prepared_by
        .as_ref()
        .map_or_else(String::new, |name| {
            format!(", prepared by {}", owners(name))
        });
    let mut page = String::from("<a class=\"skip\" href=\"#main\">To the content</a>\n<header>\n");
    let _ = writeln!(
        page,
        "<h1>{}</h1>\n<p>Plan from {}{by}</p>",
        owners(&overview.title),
        text(&overview.plan_from)
    );
    page.push_str(&caution(overview.caution));
    page.push_str(
        "<div class=\"views\" role=\"group\" aria-label=\"View\" hidden>\n<button type=\"button\" data-to=\"owner\" aria-pressed=\"true\">Owner's view</button>\n<button type=\"button\" data-to=\"supplier\" aria-pressed=\"false\">Supplier's view</button>\n<button type=\"button\" id=\"print\">Print</button>\n</div>\n</header>\n<nav aria-label=\"Contents\"><ul>\n",
    );
    for (anchor, name) in CONTENTS {
        let _ = writeln!(page, "<li><a href=\"#{anchor}\">{name}</a></li>");
    }
    page + "</ul></nav>\n"
}

/// The packets and what the scripts must know beside them.
fn data(report: &Report<'_>) -> String {
    let programme = report.fleet.programme;
    let verdicts: serde_json::Map<String, serde_json::Value> = Verdict::WORDS
        .iter()
        .map(|(verdict, word, _)| ((*word).to_owned(), verdict.is_reject().into()))
        .collect();
    let feet = matches!(
        length_unit(&programme.sources),
        LengthUnit::Foot | LengthUnit::Inch
    );
    let settings = serde_json::json!({
        "first_year": programme.first_year(),
        "schedule_years": programme.schedule_years,
        "plan_from": programme.plan_from.to_string(),
        "caution": report.overview.caution,
        "value_of_visit": VALUE_OF_VISIT,
        "money": programme.costs.currency.as_ref().map_or_else(
            || "units of cost".to_owned(),
            |(currency, year)| format!("{currency} of {year}"),
        ),
        "rejects": verdicts,
        "feet": feet,
    });
    format!(
        "<script type=\"application/json\" id=\"settings\">{}</script>\n<script type=\"text/plain\" id=\"first-packet\">{}</script>\n<script type=\"text/plain\" id=\"second-packet\">{}</script>\n",
        json_for_script(&settings),
        packed(&map::packet(report)),
        packed(&history::packet(report))
    )
}
