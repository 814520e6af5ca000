//! The map, the ranked list and the story of a pole: what stands in the page for them, and the data that they show.
//!
//! The data are the columns of `schedule.csv`, packed in the order of ids; the drawing is in `assets/`.

use super::Report;
use super::html::{caution, owners, sentence, table, text};
use super::pack::{Column, differences, joined, quoted};
use crate::pole::PoleIndex;
use crate::tables::schedule::schedule;
use crate::tables::{Sheet, Value};
use crate::words::quantities::{chance_in_words, count, counted};
use crate::words::{Case, Caution};
use std::fmt::Write;

/// Columns that the page has in another form or another packet.
const NOT_PACKED: [&str; 3] = ["reason", "longitude", "latitude"];

/// Places are kept to a millionth of a degree: a tenth of a metre.
const STEPS_PER_DEGREE: f64 = 1e6;

/// Rows of the list that stands in for the table where no script runs.
const ROWS_WITHOUT_SCRIPT: usize = 60;

/// The first packet, as JSON: what map and list need at once.
pub fn packet(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let sheet = schedule(fleet);
    let mut columns = vec![Column::default(); sheet.columns.len()];
    let (mut now, mut later) = (Column::default(), Column::default());
    let mut places = Vec::new();
    for (pole, row) in by_id(fleet, &sheet) {
        for (column, value) in columns.iter_mut().zip(&row) {
            column.push(value);
        }
        let yearly = &fleet.plan.beliefs.summary(pole).below_limit;
        let said = |year: usize| {
            let p = yearly.get(year).or(yearly.last()).copied().unwrap_or(0.0);
            chance_in_words(f64::from(p))
        };
        now.push_text(&said(0));
        later.push_text(&said(5));
        places.push(fleet.inventory.pole(pole).place);
    }
    let steps = |degrees: f64| (degrees * STEPS_PER_DEGREE).round() as i64;
    let packed = sheet
        .columns
        .iter()
        .zip(&columns)
        .filter(|(info, column)| !NOT_PACKED.contains(&info.name) && !column.is_empty())
        .map(|(info, column)| format!("{}:{}", quoted(info.name), column.json()));
    let extra = [("chance_now", &now), ("chance_5y", &later)]
        .into_iter()
        .map(|(name, column)| format!("\"{name}\":{}", column.json()));
    format!(
        "{{\"poles\":{},\"x\":{},\"y\":{},\"columns\":{{{}}}}}",
        fleet.inventory.len(),
        differences(
            places
                .iter()
                .map(|place| place.map(|place| steps(place.longitude)))
        ),
        differences(
            places
                .iter()
                .map(|place| place.map(|place| steps(place.latitude)))
        ),
        joined(packed.chain(extra))
    )
}

/// The rows of the schedule in the order of ids: neighbours stand together, which packs well.
fn by_id<'s>(
    fleet: Case<'s>,
    sheet: &'s Sheet<'_>,
) -> impl Iterator<Item = (PoleIndex, Vec<Value>)> + 's {
    let mut rank = vec![0; fleet.inventory.len()];
    for (place, pole) in fleet.plan.schedule.ranking.iter().enumerate() {
        rank[pole.get()] = place;
    }
    fleet
        .inventory
        .indices()
        .map(move |pole| (pole, sheet.row(rank[pole.get()])))
}

/// The map's part of the page.
pub fn map_section(report: &Report<'_>) -> String {
    let missing = report.overview.unknowns.place;
    let poles = report.fleet.inventory.len();
    let mut page = String::from(
        "<section id=\"map-part\" aria-labelledby=\"map-h\">\n<h2 id=\"map-h\">Map</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    let _ = writeln!(
        page,
        "<p>{} on the map. <strong>Not on the map: {}</strong>{}</p>",
        counted(poles - missing.min(poles), "pole", "poles"),
        count(missing),
        if missing > 0 {
            " (without coordinates; <button type=\"button\" id=\"show-unplaced\" class=\"link\">list them</button>)."
        } else {
            "."
        }
    );
    page.push_str(include_str!("assets/map.html"));
    page.push_str("</section>\n");
    page
}

/// The ranked list's part of the page, with a plain list for where no script runs.
pub fn list_section(report: &Report<'_>) -> String {
    let mut page = String::from(
        "<section id=\"list-part\" aria-labelledby=\"list-h\">\n<h2 id=\"list-h\">Poles, most urgent first</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str(&caution(Caution::NotProven.text()));
    page.push_str(include_str!("assets/list.html"));
    page.push_str("<noscript>\n");
    page.push_str(&plain_list(report));
    page.push_str("</noscript>\n</section>\n");
    page
}

/// The top of the ranking as a plain table.
fn plain_list(report: &Report<'_>) -> String {
    let sheet = schedule(report.fleet);
    let shown = [
        "rank", "pole_id", "line", "action", "year", "due_date", "reason", "caution",
    ];
    let places: Vec<usize> = shown.iter().filter_map(|name| sheet.place(name)).collect();
    let rows: Vec<Vec<String>> = (0..sheet.len.min(ROWS_WITHOUT_SCRIPT))
        .map(|number| {
            let row = sheet.row(number);
            let cell = |place: &usize| match &row[*place] {
                Value::Text(raw) => owners(raw),
                other => text(&other.cell()),
            };
            places.iter().map(cell).collect()
        })
        .collect();
    let heads: Vec<(&str, bool)> = [
        "Rank", "Pole", "Line", "Action", "Year", "Due", "Why", "Caution",
    ]
    .map(|head| (head, false))
    .to_vec();
    format!(
        "<p>{}</p>\n{}",
        sentence(&format!(
            "This page shows the first {} of {} poles, because no script runs here. All are in schedule.csv.",
            count(rows.len()),
            count(sheet.len)
        )),
        table("Most urgent poles", &heads, &rows)
    )
}
