//! What a look back found: whether forecasts from earlier years held, where `polewright hindcast` was run on these lists.
//!
//! Sentences are the hindcast's own; nothing is scored here.

use super::Report;
use super::html::{caution, owners, table, text};
use crate::words::Caution;
use crate::words::quantities::{chance_in_words, count, to_figures};
use std::fmt::Write;

/// What a hindcast found.
#[derive(Debug, Clone, PartialEq)]
pub struct LookedBack {
    /// Years from which it looked back.
    pub as_of: Vec<i16>,
    /// What was expected and found, in sentences.
    pub said: Vec<String>,
    /// The verdict.
    pub verdict: String,
    /// How it may mislead.
    pub cautions: Vec<String>,
    /// Whether it read the very lists of this plan.
    pub same_lists: bool,
    /// Forecasts of like size together.
    pub bins: Vec<ReliabilityBin>,
}

/// Forecasts of like size, with what was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReliabilityBin {
    /// Chances above the first, up to the second.
    pub chances: [f64; 2],
    /// How many.
    pub looks: usize,
    /// The mean of their chances.
    pub mean_chance: f64,
    /// How many were found below the limit.
    pub found: usize,
    /// The exact 95 % interval of the share that this shows.
    pub interval: [f64; 2],
}

/// The section: how to get one, where none was run.
pub fn section(report: &Report<'_>) -> String {
    let mut page = String::from(
        "<section id=\"back\" aria-labelledby=\"back-held-h\">\n<h2 id=\"back-held-h\">Did earlier forecasts hold?</h2>\n",
    );
    page.push_str(&caution(Caution::Estimate.text()));
    let Some(back) = report.looked_back else {
        page.push_str("<p>No look back stands in this page. <code>polewright hindcast</code> hides what later inspections found, forecasts it from what was known before and counts; <code>polewright plan --hindcast DIR</code> then shows it here.</p>\n");
        return page + "</section>\n";
    };
    let years: Vec<String> = back.as_of.iter().map(i16::to_string).collect();
    let _ = writeln!(
        page,
        "<p>Looked back from {}: what later inspections found was hidden, forecast from what was known on 1 January, and counted.</p>",
        years.join(", ")
    );
    if !back.same_lists {
        page.push_str("<p class=\"limit\">It read other lists than this plan, or another programme: compare with care, or run it again.</p>\n");
    }
    let _ = writeln!(
        page,
        "<p><strong>Verdict: {}</strong></p>\n<ul>",
        owners(&back.verdict)
    );
    for said in back.said.iter().chain(&back.cautions) {
        let _ = writeln!(
            page,
            "<li>{}</li>",
            owners(&said.trim().replace(" +- ", " \u{b1} "))
        );
    }
    page.push_str("</ul>\n");
    page.push_str(&bins(back));
    page + "</section>\n"
}

fn bins(back: &LookedBack) -> String {
    let percent = |share: f64| to_figures(100.0 * share, 2).to_string();
    let rows: Vec<Vec<String>> = back
        .bins
        .iter()
        .map(|bin| {
            let [low, high] = bin.interval;
            let [above, up_to] = bin.chances;
            let held = (low..=high).contains(&bin.mean_chance);
            vec![
                text(&format!("{} to {} %", percent(above), percent(up_to))),
                count(bin.looks),
                text(&chance_in_words(bin.mean_chance)),
                text(&format!(
                    "{} ({} to {} %)",
                    count(bin.found),
                    percent(low),
                    percent(high)
                )),
                if held { "yes" } else { "no" }.to_owned(),
            ]
        })
        .collect();
    if rows.is_empty() {
        return String::new();
    }
    table(
        "Were the chances what they said? Forecasts of like size together",
        &[
            ("Chance given", false),
            ("Looks", true),
            ("Mean chance", false),
            ("Found (exact 95 % interval)", true),
            ("Held", false),
        ],
        &rows,
    )
}

#[cfg(test)]
mod tests {
    use super::super::{Report, tests::of_sample};
    use super::{LookedBack, ReliabilityBin, section};
    use crate::words::sample;

    #[test]
    fn a_look_back_says_its_verdict_and_whether_it_read_the_same_lists() {
        let sample = sample::fleet();
        let none = of_sample(&sample, section);
        assert!(none.contains("No look back stands in this page") && !none.contains("Verdict"));
        let back = LookedBack {
            as_of: vec![2021, 2023],
            said: vec!["  Together: 90 inspections, 4 +- 2 <expected>".to_owned()],
            verdict: "it held".to_owned(),
            cautions: vec!["few".to_owned()],
            same_lists: false,
            bins: vec![ReliabilityBin {
                chances: [0.01, 0.05],
                looks: 40,
                mean_chance: 0.03,
                found: 1,
                interval: [0.0006, 0.13],
            }],
        };
        let said = of_sample(&sample, |report| {
            section(&Report {
                looked_back: Some(&back),
                ..*report
            })
        });
        for words in [
            "from 2021, 2023",
            "it held",
            "4 \u{b1} 2 &lt;expected&gt;",
            "read other lists",
            "about 1 in 33",
            "1 (0.06 to 13 %)",
            ">yes<",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
    }
}
