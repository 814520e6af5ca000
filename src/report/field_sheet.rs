//! `field/PACKAGE.html`: the sheet of one package for phone and paper, beside the CSV that brings the findings back.
//!
//! The boxes are the columns that the crew fills in the CSV, by their names there, so that a filled page can be typed over
//! as it stands. Sentences come from [`words`](crate::words), columns from [`tables`](crate::tables); opens no file, asks
//! nobody for anything and runs no script.

use super::html::{caution, owners, sentence, text};
use super::pack::policy_hash;
use super::sketch::{Mark, sketch};
use crate::pole::{Defect, Place, SeenMode, Verdict, Vocabulary};
use crate::schedule::Package;
use crate::tables::{ColumnInfo, field, length_unit};
use crate::units::LengthUnit;
use crate::words::cautions::fitting;
use crate::words::field::{CHECKLIST, CHECKLIST_MARK, facts_in_words, last_finding};
use crate::words::quantities::counted;
use crate::words::reasons::method_in_words;
use crate::words::screen::crew_days;
use crate::words::{Case, caution_of_round, look_for};
use std::fmt::Write;

const STYLE: &str = include_str!("assets/sheet.css");

/// The sheet of one package with its number in the plan.
pub fn field_sheet(fleet: Case<'_>, number: usize, package: &Package) -> String {
    let year = fleet.calendar_year(package.year.unwrap_or(0));
    let unit = length_unit(&fleet.programme.sources);
    let mut page = open(&format!("Field sheet: {}", package.name));
    let _ = writeln!(
        page,
        "<header>\n<h1>{}</h1>\n<p>Package {number} of {year}, {}. {}, {}, {} crew-days.</p>",
        owners(&package.name),
        owners(&fleet.programme.title),
        counted(package.poles.len(), "pole", "poles"),
        text(method_in_words(package.method)),
        text(&crew_days(package.crew_days)),
    );
    page.push_str(&caution(&caution_of_round(cases(fleet, package))));
    let _ = writeln!(
        page,
        "<p class=\"quiet\">Findings come back by <code>{}</code>, which has the same boxes by the same names: a row for each pole, given to the next plan under <code>[[inspections]]</code>. Lengths in mm, or with their unit: 3.5 in.</p>\n</header>\n<main>",
        text(&field::file_name(number, package))
    );
    page.push_str(&map(fleet, package, unit));
    page.push_str(&checklist());
    page.push_str(
        "<section aria-labelledby=\"poles-h\">\n<h2 id=\"poles-h\">Poles in walking order</h2>\n",
    );
    let form = field::form();
    for (place, case) in cases(fleet, package).enumerate() {
        page.push_str(&stop(&case, place + 1, package, unit, &form));
    }
    page.push_str("</section>\n</main>\n</body>\n</html>\n");
    page
}

/// The head of a sheet, up to its body: its policy lets in nothing but the one style.
pub(super) fn open(title: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src {}; base-uri 'none'; form-action 'none'\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n<title>{}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n",
        policy_hash(STYLE),
        text(title)
    )
}

fn cases<'a>(fleet: Case<'a>, package: &'a Package) -> impl Iterator<Item = Case<'a>> {
    package.poles.iter().map(move |pole| Case {
        pole: *pole,
        ..fleet
    })
}

/// The poles on the ground, and those that no place is recorded of.
fn map(fleet: Case<'_>, package: &Package, unit: LengthUnit) -> String {
    let (mut marks, mut placeless) = (Vec::new(), Vec::new());
    for (place, case) in cases(fleet, package).enumerate() {
        let number = place + 1;
        match case.facts().place {
            Some(place) => marks.push(Mark { number, place }),
            None => placeless.push(number.to_string()),
        }
    }
    let mut page = String::from("<section aria-labelledby=\"map-h\">\n<h2 id=\"map-h\">Map</h2>\n");
    let title = format!(
        "{} in walking order, north up",
        counted(marks.len(), "pole", "poles")
    );
    if let Some((drawing, left_out)) = sketch(&marks, unit, &title) {
        let _ = writeln!(
            page,
            "{drawing}\n<p class=\"quiet\">Numbers are those of the list; the line joins the poles in the order of the way and is no road.{}</p>",
            if left_out > 0 {
                format!(
                    " {} without room for its number here: the list has every pole.",
                    counted(left_out, "pole is", "poles are")
                )
            } else {
                String::new()
            }
        );
    }
    if !placeless.is_empty() {
        let _ = writeln!(
            page,
            "<p>No place is recorded of number {}: find by line and tag.</p>",
            placeless.join(", ")
        );
    }
    page + "</section>\n"
}

fn checklist() -> String {
    let mut page = format!(
        "<section aria-labelledby=\"check-h\">\n<h2 id=\"check-h\">Before and between poles</h2>\n<p class=\"quiet\">{}.</p>\n<ul class=\"tick\">\n",
        sentence_case(CHECKLIST_MARK)
    );
    for line in CHECKLIST {
        let _ = writeln!(page, "<li>{}</li>", sentence(line));
    }
    page + "</ul>\n</section>\n"
}

/// A phrase of ours as the beginning of a sentence.
pub(super) fn sentence_case(phrase: &str) -> String {
    let mut letters = phrase.chars();
    letters.next().map_or_else(String::new, |first| {
        text(&format!("{}{}", first.to_uppercase(), letters.as_str()))
    })
}

/// One pole: what is known, what to look for, what to beware of, and the boxes.
fn stop(
    case: &Case<'_>,
    number: usize,
    package: &Package,
    unit: LengthUnit,
    form: &[ColumnInfo],
) -> String {
    let mut page = format!(
        "<article aria-labelledby=\"pole-{number}\">\n<h3 id=\"pole-{number}\">{number}. {}</h3>\n<p>{}. {}</p>\n<p><strong>Look for:</strong> {}</p>\n<p><strong>Last finding:</strong> {}. <strong>Method now:</strong> {}.</p>\n",
        owners(case.id()),
        owners(&facts_in_words(case, unit)),
        whereabouts(case),
        sentence(&look_for(case)),
        sentence(&last_finding(case)),
        text(method_in_words(package.method)),
    );
    page.push_str(&caution(fitting(case).text()));
    page.push_str("<dl class=\"form\">\n");
    for column in form {
        page.push_str(&a_box(column, package.method.word()));
    }
    page + "</dl>\n</article>\n"
}

/// The line, and the place as a link that a phone opens in a map of its own.
pub(super) fn whereabouts(case: &Case<'_>) -> String {
    let line = case
        .inventory
        .line_of(case.pole)
        .map_or_else(String::new, |line| format!("Line {}. ", owners(line)));
    let place = case.facts().place.map_or_else(
        || "No place on record.".to_owned(),
        |Place {
             longitude,
             latitude,
         }| {
            format!(
                "<a href=\"geo:{latitude:.6},{longitude:.6}\">{latitude:.6}, {longitude:.6}</a>"
            )
        },
    );
    line + &place
}

/// One box of the form: its name in the CSV, its unit, and words to tick where the CSV knows only some.
fn a_box(column: &ColumnInfo, method: &str) -> String {
    let words = choices(column.name);
    let unit = if column.unit.is_empty() {
        String::new()
    } else {
        format!(", {}", text(&column.unit))
    };
    let inside = if column.name == "method" {
        breakable(method)
    } else {
        let ticks: Vec<String> = words
            .iter()
            .map(|word| format!("<span>{}</span>", text(word)))
            .collect();
        ticks.join(" ")
    };
    let class = if words.is_empty() { "" } else { " choice" };
    format!(
        "<div class=\"{}{class}\"><dt>{}{unit}</dt><dd>{inside}</dd></div>\n",
        width(column.name),
        breakable(column.name),
    )
}

/// A word of ours that may go on in the next line after each of its parts.
fn breakable(word: &str) -> String {
    text(word).replace('_', "_<wbr>")
}

/// The words of a box that takes no others.
fn choices(name: &str) -> Vec<&'static str> {
    fn all<V: Vocabulary>() -> Vec<&'static str> {
        V::WORDS.iter().map(|(_, word, _)| *word).collect()
    }
    match name {
        "verdict" => all::<Verdict>(),
        "decay_mode" => all::<SeenMode>(),
        "above_ground_defect" => {
            let mut words = all::<Defect>();
            words.push("none");
            words
        }
        "treated" => vec!["yes"],
        _ => Vec::new(),
    }
}

/// How much of a line of 24 parts a box takes: the rows of the form come out even.
fn width(name: &str) -> &'static str {
    match name {
        "pocket_width" | "pocket_depth" | "pocket_side" | "pocket_height" | "treated" => "w3",
        "decay_mode" => "w8",
        "remarks" => "w9",
        "above_ground_defect" => "w12",
        "verdict" => "w16",
        _ => "w4",
    }
}

#[cfg(test)]
mod tests {
    use super::field_sheet;
    use crate::pole::PoleIndex;
    use crate::report::html::text;
    use crate::report::pack::policy_hash;
    use crate::tables::field;
    use crate::words::sample::{self, Sample};
    use crate::words::{Caution, look_for};

    fn page_of(sample: &Sample) -> String {
        let package = &sample.plan.schedule.packages[0];
        field_sheet(sample.case(PoleIndex(0)), 1, package)
    }

    #[test]
    fn a_sheet_has_every_box_of_its_csv_for_every_pole() {
        let sample = sample::fleet();
        let page = page_of(&sample).replace("<wbr>", "");
        let package = &sample.plan.schedule.packages[0];
        let boxes: Vec<&str> = page
            .split("<dt>")
            .skip(1)
            .filter_map(|part| part.split(['<', ',']).next())
            .collect();
        let form: Vec<&str> = field::form().iter().map(|column| column.name).collect();
        assert_eq!(boxes, form.repeat(package.poles.len()));
        for word in [
            "reject_replace",
            "not_inspected",
            "woodpecker",
            "none",
            "both",
        ] {
            assert!(page.contains(&format!("<span>{word}</span>")), "{word}");
        }
        assert!(page.contains(&field::file_name(1, package)));
    }

    #[test]
    fn a_sheet_says_what_is_known_what_to_look_for_and_what_to_beware_of() {
        let sample = sample::fleet();
        let page = page_of(&sample);
        let package = &sample.plan.schedule.packages[0];
        for pole in &package.poles {
            let case = sample.case(*pole);
            assert!(page.contains(&format!("<bdi>{}</bdi>", case.id())));
            assert!(page.contains(&text(&look_for(&case))));
        }
        for said in [
            "Package 1 of 2026",
            "Common practice; the owner",
            "sound and bore",
            "<svg",
            "Lone work",
        ] {
            assert!(page.contains(said), "{said}");
        }
        let caution = page.find(Caution::Estimate.text()).expect("a caution");
        assert!(caution < page.find("<svg").expect("the map"));
    }

    #[test]
    fn a_sheet_asks_nobody_for_anything_and_runs_nothing() {
        let page = page_of(&sample::fleet());
        let policy = format!(
            "default-src 'none'; style-src {}; base-uri 'none'; form-action 'none'",
            policy_hash(super::STYLE)
        );
        assert!(page.contains(&policy));
        for asks in [
            "<script", "style=", "src=", "url(", "@import", "<link", "http:", "https:",
        ] {
            assert!(!page.contains(asks), "{asks}");
        }
    }

    #[test]
    fn hostile_text_of_a_list_stays_text() {
        let mut sample = sample::fleet();
        let hostile = "</style><script>alert(1)</script>\"'\u{202e}=1+1\u{1f332}";
        hostile.clone_into(&mut sample.programme.title);
        hostile.clone_into(&mut sample.plan.schedule.packages[0].name);
        let page = page_of(&sample);
        assert!(!page.contains("<script"));
        assert_eq!(page.matches("</style>").count(), 1);
        // In the title, the heading and the first line.
        assert_eq!(page.matches("&lt;script&gt;alert(1)").count(), 3);
        assert!(
            page.contains("<bdi>&lt;/style&gt;") && page.contains("\u{202e}=1+1\u{1f332}</bdi>")
        );
    }
}
