//! What stands behind the plan: calibration, data quality, method, cautions, provenance, licences.

use super::Report;
use super::charts::{BandPoint, intervals};
use super::glance::pole_button;
use super::html::{caution, owners, sentence, table, text};
use crate::problem::{Code, Problem};
use crate::schedule::Standing;
use crate::tables::Value;
use crate::tables::calibration::calibration;
use crate::tables::schedule::schedule;
use crate::words::Caution;
use crate::words::method::{STEPS, VALUE_OF_VISIT};
use crate::words::quantities::{count, counted};
use crate::words::uncertain::{self, UncertainFigure};
use std::fmt::Write;

/// Problems of one code that the page lists; the rest are counted.
const LISTED: usize = 100;

/// Poles whose records are best repaired first.
const REPAIRS: usize = 20;

/// Flags of a record that its owner can repair; the others say what stands in for what is lacking.
const REPAIRABLE: [&str; 7] = [
    "set_date_unknown",
    "species_unknown",
    "preservative_unknown",
    "length_unknown",
    "class_unknown",
    "place_unknown",
    "see_data_problems",
];

/// Licences of what is in the page and not ours.
const LICENCES: [(&str, &str); 1] = [(
    "Leaflet 1.9.4, which moves the map",
    include_str!("assets/leaflet-LICENSE.txt"),
)];

/// Medians as published and as the owner's inspections make them.
pub fn calibration_section(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let mut page = String::from(
        "<section id=\"learned\" aria-labelledby=\"learned-h\">\n<h2 id=\"learned-h\">What your inspections taught the curves</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str("<p class=\"key\">Median life in years: as published (hollow, above) and with your inspections (filled, below), each with its 90 % interval. Where the interval has hardly narrowed, little was learned.</p>\n");
    let rows: Vec<(String, BandPoint, BandPoint)> = fleet
        .plan
        .beliefs
        .calibration
        .cells
        .iter()
        .map(|learned| {
            let label = format!(
                "{}, zone {} ({})",
                fleet.models.kind(learned.cell).title,
                fleet.models.cell(learned.cell).zone,
                counted(learned.findings, "inspection", "inspections")
            );
            (label, interval(learned.published), interval(learned.owners))
        })
        .collect();
    page.push_str(&intervals(
        "medians",
        "Median life in years, published and with your inspections",
        "Each kind of pole with two intervals of 90 %; the table below holds the same figures.",
        &rows,
    ));
    page.push_str(&figures_list(report));
    page.push_str("<details><summary>The same as a table, with sources</summary>\n");
    page.push_str(&calibration_table(report));
    page + "</details>\n</section>\n"
}

/// What inspections are read with, before and after.
fn figures_list(report: &Report<'_>) -> String {
    let figures = &report.fleet.plan.beliefs.calibration.figures;
    if figures.is_empty() {
        return String::new();
    }
    let lines: Vec<String> = figures
        .iter()
        .map(|learned| {
            let line = uncertain::line(&UncertainFigure::of(learned));
            format!("<li>{}</li>", text(&line))
        })
        .collect();
    format!(
        "<p>Inspections are read with figures that are not certain either, and the inspections say something of these too (5 to 95 %):</p>\n<ul>\n{}\n</ul>\n",
        lines.join("\n")
    )
}

fn interval(years: [f64; 3]) -> BandPoint {
    BandPoint {
        label: String::new(),
        low: years[0],
        middle: years[1],
        high: years[2],
    }
}

fn calibration_table(report: &Report<'_>) -> String {
    let sheet = calibration(report.fleet);
    let shown = [
        ("title", "Kind of pole", false),
        ("zone", "Zone", true),
        ("poles", "Poles", true),
        ("findings", "Inspections", true),
        ("published_median", "Published median", true),
        ("published_p05", "from", true),
        ("published_p95", "to", true),
        ("owners_median", "Yours", true),
        ("owners_p05", "from", true),
        ("owners_p95", "to", true),
        ("mark", "Mark", false),
        ("source", "Source", false),
        ("denominator", "Assumed of poles that are gone", false),
        ("note", "Note", false),
    ];
    let places: Vec<usize> = shown
        .iter()
        .filter_map(|(name, _, _)| sheet.place(name))
        .collect();
    let rows: Vec<Vec<String>> = sheet
        .rows()
        .map(|row| places.iter().map(|place| cell(&row[*place])).collect())
        .collect();
    let heads = shown.map(|(_, head, number)| (head, number));
    table("Median lives, years, with 90 % intervals", &heads, &rows)
}

fn cell(value: &Value) -> String {
    match value {
        Value::Text(raw) => text(raw),
        other => text(&other.cell()),
    }
}

/// Problems in the data, by code, and which.
pub fn data_section(report: &Report<'_>) -> String {
    let problems = report.problems;
    let mut page = String::from(
        "<section id=\"data\" aria-labelledby=\"data-h\">\n<h2 id=\"data-h\">Problems in the data</h2>\n",
    );
    page.push_str(&caution(
        "What is wrong is treated as unknown; the pole stays in the plan. A pole whose record is wrong is no safer for it.",
    ));
    page.push_str(&repairs(report));
    let codes = problems.by_code();
    if codes.is_empty() {
        page.push_str("<p>No problem was found in the data.</p>\n");
    }
    for (code, number) in codes {
        let info = code.info();
        let _ = writeln!(
            page,
            "<details><summary>{} × {} ({} {})</summary>\n<p>What would help: {}</p>",
            count(number),
            text(info.title),
            text(info.severity.word()),
            text(info.name),
            text(info.help)
        );
        page.push_str(&problems_of(report, code, number));
        page.push_str("</details>\n");
    }
    page + "</section>\n"
}

/// The most urgent poles whose records have gaps: where a repaired record tells most.
fn repairs(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let sheet = schedule(fleet);
    let Some(flags) = sheet.place("data_flags") else {
        return String::new();
    };
    let gaps = |number: usize| {
        let gaps: Vec<String> = sheet.row(number)[flags]
            .cell()
            .split(';')
            .filter(|flag| REPAIRABLE.contains(flag))
            .map(|flag| flag.replace('_', " "))
            .collect();
        (!gaps.is_empty()).then(|| gaps.join(", "))
    };
    let ranked = fleet.plan.schedule.ranking.iter().enumerate();
    let rows: Vec<Vec<String>> = ranked
        .filter(|(_, pole)| fleet.plan.schedule.row(**pole).standing != Standing::NotDue)
        .filter_map(|(number, pole)| Some((number, pole, gaps(number)?)))
        .take(REPAIRS)
        .map(|(number, pole, gaps)| {
            vec![
                count(number + 1),
                pole_button(report, fleet.inventory.id(*pole)),
                text(&gaps),
            ]
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    let heads = [
        ("Rank", true),
        ("Pole", false),
        ("What its record lacks", false),
    ];
    format!(
        "<h3>Records to repair first</h3>\n<p>The most urgent poles whose records have gaps: what is not known makes a pole's estimate wide, and its place in the list with it. Look it up, or have it written down at the next visit. All gaps stand in schedule.csv (data_flags).</p>\n{}<h3>Problems by code</h3>\n",
        table(
            "Most urgent poles with gaps in their records",
            &heads,
            &rows
        )
    )
}

fn problems_of(report: &Report<'_>, code: Code, number: usize) -> String {
    let listed = report
        .problems
        .list
        .iter()
        .filter(|problem| problem.code == code);
    let row = |problem: &Problem| {
        vec![
            format!(
                "{} {}",
                owners(report.problems.file(problem.source)),
                problem.source.row
            ),
            problem
                .cell
                .as_ref()
                .map_or_else(String::new, |cell| owners(&cell.column)),
            problem
                .cell
                .as_ref()
                .map_or_else(String::new, |cell| owners(&cell.raw)),
            problem
                .pole
                .as_ref()
                .map_or_else(String::new, |id| pole_button(report, id)),
            owners(&problem.what),
            text(&problem.done),
        ]
    };
    let rows: Vec<Vec<String>> = listed.take(LISTED).map(row).collect();
    let more = if number > rows.len() {
        format!(
            "<p>And {} more, in data_problems.csv.</p>\n",
            count(number - rows.len())
        )
    } else {
        String::new()
    };
    let heads =
        ["File and row", "Column", "Cell", "Pole", "What", "Done"].map(|head| (head, false));
    table(code.info().title, &heads, &rows) + &more
}

/// How it was made, and every caution.
pub fn method_section() -> String {
    let mut page = String::from(
        "<section id=\"method\" aria-labelledby=\"method-h\">\n<h2 id=\"method-h\">How this plan was made</h2>\n<dl>\n",
    );
    for (name, said) in STEPS {
        let _ = writeln!(page, "<dt>{}</dt><dd>{}</dd>", text(name), sentence(said));
    }
    let _ = writeln!(
        page,
        "<dt>Value of a visit</dt><dd>{}</dd>\n</dl>\n<h3>Cautions</h3>\n<ul class=\"cautions\">",
        sentence(VALUE_OF_VISIT)
    );
    for caution in Caution::ALL {
        let _ = writeln!(page, "<li>{}</li>", sentence(caution.text()));
    }
    page + "</ul>\n</section>\n"
}

/// What exactly made this page.
pub fn provenance_section(report: &Report<'_>) -> String {
    let provenance = report.provenance;
    let overview = report.overview;
    let (program, version) = provenance.program;
    let mut rows: Vec<(String, String)> = vec![
        ("Made by".to_owned(), text(&format!("{program} {version}"))),
        ("Plan from".to_owned(), text(&overview.plan_from)),
        ("Trials".to_owned(), count(overview.trials as usize)),
        ("Seed".to_owned(), overview.seed.to_string()),
    ];
    if let Some(name) = &provenance.prepared_by {
        rows.push(("Prepared by".to_owned(), owners(name)));
    }
    rows.extend(
        provenance
            .set
            .iter()
            .map(|set| ("Set on the command line".to_owned(), owners(set))),
    );
    rows.extend(provenance.digests.iter().map(|(name, digest)| {
        (
            format!("BLAKE3 of {}", owners(name)),
            format!("<code>{}</code>", text(digest)),
        )
    }));
    let mut page = String::from(
        "<section id=\"provenance\" aria-labelledby=\"provenance-h\">\n<h2 id=\"provenance-h\">Where this page comes from</h2>\n<dl class=\"facts\">\n",
    );
    for (name, said) in rows {
        let _ = writeln!(page, "<dt>{name}</dt><dd>{said}</dd>");
    }
    page.push_str("</dl>\n<p>The same inputs, seed and version give the same page. It asks no server for anything.</p>\n");
    for (name, licence) in LICENCES {
        let _ = writeln!(
            page,
            "<details><summary>Licence of {}</summary><pre>{}</pre></details>",
            text(name),
            text(licence)
        );
    }
    page + "</section>\n"
}
