//! The supplier's view: what to order by when, what to have ready, in which sizes, what to put back, and how to keep it;
//! one to three printed pages.

use super::Report;
use super::html::{caution, owners, sentence, table, table_of_most, text};
use super::outlook::by_size;
use crate::supply::OrderKind;
use crate::tables::{Value, length_unit, orders};
use crate::words::method::GROUNDLINE_ONLY;
use crate::words::orders::{
    NEVER_SMALLER, advice_basis, advice_in_words, against, given_demand, kind_in_words, median,
    other_demand_in_words, summary, use_class,
};
use crate::words::supply::{YARD, YARD_MARK, put_back, year_in_words};
use crate::words::{Caution, calendar_year};
use std::fmt::Write;

/// Years told one by one; later ones are in the owner's view.
const YEARS_TOLD: u16 = 5;

/// The columns of `orders.csv` that a page has room for: name, head, whether numbers.
const SHOWN: [(&str, &str, bool); 15] = [
    ("size", "Size", false),
    ("species", "Species", false),
    ("preservative", "Preservative", false),
    ("drying", "Drying", false),
    ("need_by", "Need by", false),
    ("order_by", "Order by", false),
    ("enough", "Enough", true),
    ("on_hand", "On hand", true),
    ("on_order", "On order", true),
    ("quantity", "Order", true),
    ("lots", "Lots", true),
    ("trucks", "Trucks", true),
    ("volume", "m3", true),
    ("mass", "t", true),
    ("note", "Note", false),
];

/// Rows of a table of orders that stand open, those with the most poles: what a sheet of paper has room for.
const ORDERS_OPEN: usize = 16;

/// The supplier's view.
pub fn section(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let mut page = String::from("<div id=\"supplier-view\">\n");
    page.push_str(&to_order(report));
    let _ = writeln!(
        page,
        "<section aria-labelledby=\"ready-h\">\n<h2 id=\"ready-h\">What to have ready when</h2>",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str(&by_size(report));
    page.push_str("</section>\n");
    page.push_str(&what_to_put_back(report));
    page.push_str(
        "<section aria-labelledby=\"years-h\">\n<h2 id=\"years-h\">The plan year by year</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str("<dl>\n");
    for year in 0..fleet.programme.schedule_years.min(YEARS_TOLD) {
        let _ = writeln!(page, "<dt>{}</dt>", calendar_year(fleet.programme, year));
        for said in year_in_words(&fleet, year) {
            let _ = writeln!(page, "<dd>{}</dd>", sentence(&said));
        }
    }
    let _ = writeln!(
        page,
        "</dl>\n</section>\n<section aria-labelledby=\"yard-h\">\n<h2 id=\"yard-h\">Keeping poles in the yard ({})</h2>\n<ul>",
        text(YARD_MARK)
    );
    for rule in YARD {
        let _ = writeln!(page, "<li>{}</li>", text(rule));
    }
    page.push_str("</ul>\n");
    page.push_str(&caution(Caution::TreatedWood.text()));
    page.push_str("</section>\n</div>\n");
    page
}

/// What to order, for the owner: in words, with the way to the tables.
pub fn orders_section(report: &Report<'_>) -> String {
    let mut page = String::from(
        "<section id=\"orders\" aria-labelledby=\"orders-h\">\n<h2 id=\"orders-h\">Orders</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    for said in summary(&report.fleet) {
        let _ = writeln!(page, "<p>{}</p>", sentence(&said));
    }
    page.push_str("<details><summary>What to order by when</summary>\n");
    page.push_str(&orders_table(
        report,
        "To order on the first day of the plan",
        &[OrderKind::Now, OrderKind::Total],
    ));
    page.push_str("</details>\n<p>The supplier's view of this page has all orders, what to put back and why, and how to keep poles in the yard; orders.csv holds the same rows.</p>\n");
    page + "</section>\n"
}

/// What to order, in words and as tables.
fn to_order(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let mut page = format!(
        "<section aria-labelledby=\"order-h\">\n<h2 id=\"order-h\">What to order: {}</h2>\n",
        owners(&report.overview.title)
    );
    page.push_str(&caution(Caution::Estimate.text()));
    let _ = writeln!(page, "<p class=\"limit\">{}</p>", sentence(GROUNDLINE_ONLY));
    for said in summary(&fleet) {
        let _ = writeln!(page, "<p>{}</p>", sentence(&said));
    }
    let _ = writeln!(
        page,
        "<p><strong>{}</strong></p>",
        sentence(&other_demand_in_words(&fleet))
    );
    let given = given_demand(&fleet, length_unit(&fleet.programme.sources));
    if !given.is_empty() {
        let items: Vec<String> = given
            .iter()
            .map(|own| format!("<li>{}</li>", owners(own)))
            .collect();
        let _ = writeln!(page, "<ul>\n{}\n</ul>", items.join("\n"));
    }
    for (caption, kinds) in [
        (
            "To order on the first day of the plan, and all sizes together",
            &[OrderKind::Now, OrderKind::Total][..],
        ),
        ("Braces, apart from poles", &[OrderKind::Brace][..]),
        ("Kept for storms, apart", &[OrderKind::StormReserve][..]),
        (
            "What to expect at later reviews: plan again before ordering",
            &[OrderKind::Later][..],
        ),
    ] {
        page.push_str(&orders_table(report, caption, kinds));
    }
    page + "</section>\n"
}

/// Rows of some kinds, without the columns that none of them fills; nothing when there are none.
fn orders_table(report: &Report<'_>, caption: &str, kinds: &[OrderKind]) -> String {
    let sheet = orders::orders(report.fleet);
    let listed = report.fleet.plan.orders.rows.iter().enumerate();
    let rows: Vec<Vec<Value>> = listed
        .filter(|(_, order)| kinds.contains(&order.kind))
        .map(|(number, _)| sheet.row(number))
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let filled = |place: usize| rows.iter().any(|row| row[place] != Value::Empty);
    let shown: Vec<(usize, &str, bool)> = SHOWN
        .iter()
        .filter_map(|(name, head, number)| Some((sheet.place(name)?, *head, *number)))
        .filter(|(place, _, _)| filled(*place))
        .collect();
    // Notes are long and few: numbers lead to them, so that a row takes one line of paper.
    let note = sheet.place("note");
    let mut notes: Vec<String> = Vec::new();
    let quantity = sheet.place("quantity");
    let weight = |row: &[Value]| match quantity.map(|place| &row[place]) {
        Some(Value::Whole(number)) => *number as f64,
        // Totals and what has no number stand always.
        _ => f64::INFINITY,
    };
    let cells: Vec<(f64, Vec<String>)> = rows
        .iter()
        .map(|row| {
            let cells = shown.iter().map(|(place, _, _)| {
                if Some(*place) != note {
                    return cell(&row[*place]);
                }
                let said = row[*place].cell().into_owned();
                let known = notes.iter().position(|own| *own == said);
                let number = known.unwrap_or_else(|| {
                    notes.push(said);
                    notes.len() - 1
                });
                (number + 1).to_string()
            });
            (weight(row), cells.collect())
        })
        .collect();
    let heads: Vec<(&str, bool)> = shown
        .iter()
        .map(|(_, head, number)| (*head, *number))
        .collect();
    let notes: Vec<String> = notes
        .iter()
        .map(|note| format!("<li>{}</li>", sentence(note)))
        .collect();
    format!(
        "{}<ol class=\"notes\">\n{}\n</ol>\n",
        table_of_most(caption, &heads, cells, ORDERS_OPEN),
        notes.join("\n")
    )
}

fn cell(value: &Value) -> String {
    match value {
        Value::Text(raw) => owners(&raw.replace('_', " ")),
        other => text(&other.cell()),
    }
}

/// What goes in, and which kind of pole costs least a year in each zone.
fn what_to_put_back(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let mut page = format!(
        "<section aria-labelledby=\"back-h\">\n<h2 id=\"back-h\">What to put back</h2>\n{}<p>{}</p>\n<p>{}</p>\n<p>{}</p>\n",
        caution(Caution::Estimate.text()),
        sentence(&put_back(&fleet)),
        sentence(NEVER_SMALLER),
        sentence(&use_class(fleet.programme)),
    );
    let mut rows = Vec::new();
    for advice in &fleet.plan.orders.advice {
        for choice in &advice.choices {
            rows.push(vec![
                text(&advice.zone.to_string()),
                text(&kind_in_words(choice)),
                text(&median(choice)),
                text(if choice.learned { "yours" } else { "published" }),
                text(&against(choice, &advice.choices[0])),
                choice
                    .allowed_by
                    .as_ref()
                    .map_or_else(|| "not said".to_owned(), |own| owners(own)),
            ]);
        }
    }
    if rows.is_empty() {
        return page + "</section>\n";
    }
    let _ = writeln!(
        page,
        "<h3>Advice by cost a year</h3>\n<p>{}</p>\n<ul>",
        sentence(&advice_basis(&fleet))
    );
    for advice in &fleet.plan.orders.advice {
        let _ = writeln!(page, "<li>{}</li>", sentence(&advice_in_words(advice)));
    }
    page.push_str("</ul>\n");
    page.push_str(&table(
        "Kinds of pole by zone, with 90 % intervals; cost a year against the cheapest of the zone",
        &[
            ("Zone", false),
            ("Kind", false),
            ("Median life, years", true),
            ("By", false),
            ("Cost a year", true),
            ("Allowed by", false),
        ],
        &rows,
    ));
    page + "</section>\n"
}
