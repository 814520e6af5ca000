//! The supplier's view: what to have ready when, in which sizes, and how to keep it; one to three printed pages.

use super::Report;
use super::html::{caution, owners, sentence, text};
use super::outlook::by_size;
use crate::words::method::GROUNDLINE_ONLY;
use crate::words::supply::{YARD, YARD_MARK, put_back, year_in_words};
use crate::words::{Caution, calendar_year};
use std::fmt::Write;

/// Years told one by one; later ones are in the owner's view.
const YEARS_TOLD: u16 = 5;

/// The supplier's view.
pub fn section(report: &Report<'_>) -> String {
    let fleet = report.fleet;
    let mut page = String::from("<div id=\"supplier-view\">\n");
    let _ = writeln!(
        page,
        "<section aria-labelledby=\"ready-h\">\n<h2 id=\"ready-h\">What to have ready when: {}</h2>",
        owners(&report.overview.title)
    );
    page.push_str(&caution(Caution::Estimate.text()));
    let _ = writeln!(page, "<p class=\"limit\">{}</p>", sentence(GROUNDLINE_ONLY));
    page.push_str(&by_size(report));
    let _ = writeln!(
        page,
        "<h3>What to put back</h3>\n<p>{}</p>\n</section>",
        sentence(&put_back(&fleet))
    );
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
