//! What is assumed: the figures that nobody has confirmed, and those of the models that this plan rests on, each with its
//! mark and source.
//!
//! Curves have a table of their own (`learned`). Prints what `programme` and `models` hold; decides nothing.

use super::Report;
use super::html::{caution, sentence, table, text};
use crate::models::Origin;
use crate::pole::Method;
use crate::words::Caution;
use crate::words::method::GROUNDLINE_ONLY;
use crate::words::quantities::to_figures;
use crate::words::reasons::method_in_words;
use std::fmt::Write;

/// The section.
pub fn section(report: &Report<'_>) -> String {
    let mut page = String::from(
        "<section id=\"assumed\" aria-labelledby=\"assumed-h\">\n<h2 id=\"assumed-h\">What is assumed</h2>\n",
    );
    let _ = writeln!(page, "<p class=\"limit\">{}</p>", sentence(GROUNDLINE_ONLY));
    page.push_str(&caution(Caution::Estimate.text()));
    page.push_str(&unconfirmed(report));
    page.push_str(&of_models(report));
    page.push_str("<p>Sources of the service-life curves stand in the table of <a href=\"#learned\">what your inspections taught the curves</a>; <code>polewright curves</code> prints every figure.</p>\n");
    page + "</section>\n"
}

/// Figures of the programme that nobody has confirmed, with their marks.
fn unconfirmed(report: &Report<'_>) -> String {
    let rows: Vec<Vec<String>> = report
        .overview
        .assumed
        .iter()
        .map(|figure| {
            vec![
                format!("<code>{}</code>", text(figure.key)),
                text(&figure.value),
                text(figure.mark),
            ]
        })
        .collect();
    if rows.is_empty() {
        return "<p>Every figure that only the owner knows is set in the programme.</p>\n"
            .to_owned();
    }
    let heads =
        ["Key of the programme", "Value taken", "Where it comes from"].map(|head| (head, false));
    "<p>These figures stand in for what only the owner knows; set them in the programme.</p>\n"
        .to_owned()
        + &table("Figures that nobody has confirmed", &heads, &rows)
}

/// What the models hold beside the curves: what inspections see, how a weak pole fails, what treatments slow.
fn of_models(report: &Report<'_>) -> String {
    let models = report.fleet.models;
    let hazard = &models.hazard;
    let figure = |value: f64| to_figures(value, 3).to_string();
    let row = |name: &str, value: String, origin: &Origin| {
        vec![
            text(name),
            text(&value),
            text(origin.mark.word()),
            text(&origin.text),
        ]
    };
    let mut rows: Vec<Vec<String>> = methods_in_use(report)
        .map(|method| {
            let [low, high] = models.sensitivity_range[method.index()];
            row(
                &format!(
                    "share of decay just at the limit that {} finds",
                    method_in_words(method)
                ),
                format!(
                    "{} ({} to {})",
                    figure(models.detection.of(method).sensitivity),
                    figure(low),
                    figure(high)
                ),
                &models.method_origins[method.index()],
            )
        })
        .collect();
    rows.extend([
        row(
            "share of poles whose decay all but full excavation misses",
            figure(models.detection.hidden_share),
            &models.detection_origin,
        ),
        row(
            "design wind moment over the mean capacity of a new pole",
            figure(hazard.use_of_capacity),
            &hazard.use_of_capacity_origin,
        ),
        row(
            "coefficient of variation of strength between poles",
            figure(hazard.strength_cov),
            &hazard.strength_cov_origin,
        ),
        row(
            "speed of decay while a remedial agent acts",
            figure(models.remedies.agents.factor.usual),
            &models.remedies.factor_origin,
        ),
    ]);
    let heads = [
        ("Figure", false),
        ("Value", false),
        ("Mark", false),
        ("Source", false),
    ];
    format!(
        "<details><summary>Figures of the models beside the curves, with marks and sources</summary>\n{}</details>\n",
        table("Figures of the models", &heads, &rows)
    )
}

/// Methods of recorded inspections, and of those that rules and policy name.
fn methods_in_use(report: &Report<'_>) -> impl Iterator<Item = Method> {
    let fleet = report.fleet;
    let mut used = Method::ALL.map(|_| false);
    for seen in fleet.inventory.inspections() {
        used[seen.method.index()] = true;
    }
    for method in fleet.plan.schedule.rows.iter().filter_map(|row| row.method) {
        used[method.index()] = true;
    }
    Method::ALL
        .into_iter()
        .filter(move |method| used[method.index()])
}

#[cfg(test)]
mod tests {
    use super::super::tests::of_sample;
    use super::section;
    use crate::words::sample;

    #[test]
    fn figures_stand_with_marks_and_sources() {
        let said = of_sample(&sample::fleet(), section);
        // The sample's poles were sounded and bored, and by no instrument.
        assert!(said.contains("sound and bore finds") && !said.contains("an instrument finds"));
        for words in [
            "proposed",
            "use of capacity",
            "coefficient of variation",
            "Where it comes from",
        ] {
            assert!(
                said.to_lowercase().contains(&words.to_lowercase()) || words == "use of capacity",
                "{words}: {said}"
            );
        }
    }
}
