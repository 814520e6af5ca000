//! `field/replacements-YEAR.html`: what to bring, how to set it and what becomes of the old pole, for every pole that the
//! first plan year replaces, by line.
//!
//! The rules that hold for all stand once, the facts of each pole with it. Sentences come from [`words`](crate::words);
//! opens no file, asks nobody for anything and runs no script.

use super::field_sheet::{open, sentence_case, whereabouts};
use super::html::{caution, owners, sentence, text};
use crate::pole::PoleIndex;
use crate::schedule::{Action, Standing};
use crate::tables::length_unit;
use crate::units::LengthUnit;
use crate::words::cautions::fitting;
use crate::words::field::{facts_in_words, last_finding};
use crate::words::quantities::counted;
use crate::words::replacing::{
    ATTACHERS, FIELD_CUTS, HANDLING, OLD_POLE, REPLACING_MARK, SETTING_DEPTH, replacement_spec,
    setting_depth_in_words,
};
use crate::words::supply::YARD;
use crate::words::{Case, Caution, caution_of_round, reason_of};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Boxes that whoever sets the new pole fills: what the next list of poles and of work done needs.
const BOXES: [&str; 8] = [
    "date set",
    "new pole's tag",
    "brand: size, class",
    "brand: species, preservative, year",
    "depth set",
    "old pole drawn, on",
    "section of the old pole at its groundline",
    "remarks",
];

/// The page; `None` where the first plan year replaces no pole.
pub fn replacements(fleet: Case<'_>) -> Option<String> {
    let all = planned(fleet, Action::Replace);
    if all.is_empty() {
        return None;
    }
    let year = fleet.calendar_year(0);
    let mut page = open(&format!("Replacements {year}"));
    let _ = writeln!(
        page,
        "<header>\n<h1>Replacements {year}</h1>\n<p>{}. {} to be replaced.</p>",
        owners(&fleet.programme.title),
        counted(all.len(), "pole", "poles"),
    );
    page.push_str(&caution(&caution_of_round(all.iter().copied())));
    page.push_str(&dangerous(fleet));
    page.push_str("</header>\n<main>");
    page.push_str(&rules());
    let unit = length_unit(&fleet.programme.sources);
    for (place, (line, cases)) in by_line(&all).into_iter().enumerate() {
        let heading = line.map_or_else(
            || "No line on record".to_owned(),
            |line| format!("Line {}", owners(line)),
        );
        let _ = writeln!(
            page,
            "<section aria-labelledby=\"line-{place}\">\n<h2 id=\"line-{place}\">{heading}: {}</h2>",
            counted(cases.len(), "pole", "poles")
        );
        for case in cases {
            page.push_str(&one(&case, unit));
        }
        page.push_str("</section>\n");
    }
    page.push_str("</main>\n</body>\n</html>\n");
    Some(page)
}

/// The poles for which the first plan year plans `action`, in the order of the inventory.
fn planned(fleet: Case<'_>, wanted: Action) -> Vec<Case<'_>> {
    fleet
        .inventory
        .indices()
        .map(|pole: PoleIndex| Case { pole, ..fleet })
        .filter(|case| {
            matches!(case.row().standing, Standing::Planned { action, year: 0, .. } if action == wanted)
        })
        .collect()
}

/// By line and place in it, poles of no line last.
fn by_line<'a>(all: &[Case<'a>]) -> Vec<(Option<&'a str>, Vec<Case<'a>>)> {
    let mut lines: BTreeMap<(bool, Option<&'a str>), Vec<Case<'a>>> = BTreeMap::new();
    for case in all {
        let line = case.inventory.line_of(case.pole);
        lines.entry((line.is_none(), line)).or_default().push(*case);
    }
    for cases in lines.values_mut() {
        cases.sort_by_key(|case| (case.facts().sequence, case.pole));
    }
    lines
        .into_iter()
        .map(|((_, line), cases)| (line, cases))
        .collect()
}

/// What is not on this page because it cannot wait for it.
fn dangerous(fleet: Case<'_>) -> String {
    match planned(fleet, Action::MakeSafe).len() {
        0 => String::new(),
        number => format!(
            "<p><strong>{} judged dangerous {} not on this page: made safe today by the owner's own procedure (schedule.csv, make_safe).</strong></p>\n",
            counted(number, "pole", "poles"),
            if number == 1 { "is" } else { "are" }
        ),
    }
}

/// What holds for every pole of the page.
fn rules() -> String {
    let mut page = format!(
        "<section aria-labelledby=\"rules-h\">\n<h2 id=\"rules-h\">For every pole</h2>\n<p class=\"quiet\">{}.</p>\n<p>{}</p>\n",
        sentence_case(REPLACING_MARK),
        sentence(SETTING_DEPTH)
    );
    for (heading, lines) in [
        ("Others at the pole", &ATTACHERS[..]),
        ("Keeping the new pole", &YARD[..]),
        ("Handling it", &HANDLING[..]),
        ("Cuts and holes made in the field", &FIELD_CUTS[..]),
        ("The old pole", &OLD_POLE[..]),
    ] {
        let _ = writeln!(page, "<h3>{heading}</h3>\n<ul class=\"tick\">");
        for line in lines {
            let _ = writeln!(page, "<li>{}</li>", sentence(line));
        }
        page.push_str("</ul>\n");
    }
    page.push_str(&caution(Caution::TreatedWood.text()));
    page + "</section>\n"
}

fn one(case: &Case<'_>, unit: LengthUnit) -> String {
    let anchor = case.pole.0;
    let mut page = format!(
        "<article aria-labelledby=\"pole-{anchor}\">\n<h3 id=\"pole-{anchor}\">{}</h3>\n<dl class=\"facts\">\n",
        owners(case.id())
    );
    for (name, said) in [
        (
            "Bring",
            owners(&replacement_spec(case, unit).replace('_', " ")),
        ),
        (
            "Set",
            text(&setting_depth_in_words(case.facts().length, unit)),
        ),
        ("Old pole", owners(&facts_in_words(case, unit))),
        ("Last finding", sentence(&last_finding(case))),
        ("Why", owners(&reason_of(case))),
        ("Where", whereabouts(case)),
    ] {
        let _ = writeln!(page, "<dt>{name}</dt><dd>{said}</dd>");
    }
    page.push_str("</dl>\n");
    page.push_str(&caution(fitting(case).text()));
    page.push_str("<dl class=\"form\">\n");
    for name in BOXES {
        let class = if name == "remarks" || name.starts_with("section") {
            "w12"
        } else {
            "w4"
        };
        let _ = writeln!(
            page,
            "<div class=\"{class}\"><dt>{}</dt><dd></dd></div>",
            text(name)
        );
    }
    page + "</dl>\n</article>\n"
}

#[cfg(test)]
mod tests {
    use super::replacements;
    use crate::pole::PoleIndex;
    use crate::report::html::text;
    use crate::schedule::{Action, Standing};
    use crate::words::Caution;
    use crate::words::sample::{self, Sample};

    fn page_of(sample: &Sample) -> String {
        replacements(sample.case(PoleIndex(0))).expect("a pole to replace")
    }

    #[test]
    fn each_pole_to_replace_says_what_to_bring_and_how_deep_to_set_it() {
        let page = page_of(&sample::fleet());
        for said in [
            "Replacements 2026",
            "1 pole to be replaced",
            "Line <bdi>Mill road</bdi>: 1 pole",
            "<bdi>40 ft class 4, pine, creosote</bdi>",
            "<dd>6.0 ft</dd>",
            "No stack higher than 3 m",
            "Never cut the butt",
            "Tell every other owner and attacher",
            "Common practice; the owner",
            "1 pole judged dangerous is not on this page",
        ] {
            assert!(page.contains(said), "{said}: {page}");
        }
        for caution in [Caution::Estimate, Caution::TreatedWood, Caution::Flagged] {
            assert!(page.contains(&text(caution.text())), "{caution:?}");
        }
        // A-2 is to be replaced, and no other.
        assert_eq!(page.matches("<article").count(), 1);
        assert!(page.contains("<bdi>A-2</bdi>"));
    }

    #[test]
    fn a_year_without_replacements_has_no_page() {
        let mut sample = sample::fleet();
        let rows: Vec<PoleIndex> = sample.inventory.indices().collect();
        for pole in rows {
            let row = &mut sample.plan.schedule.rows[pole.get()];
            if matches!(
                row.standing,
                Standing::Planned {
                    action: Action::Replace,
                    ..
                }
            ) {
                row.standing = Standing::NotDue;
            }
        }
        assert!(replacements(sample.case(PoleIndex(0))).is_none());
    }

    #[test]
    fn hostile_text_of_a_list_stays_text() {
        let mut sample = sample::fleet();
        let hostile = "</style><script>alert(1)</script>\"'\u{202e}\u{1f332}";
        hostile.clone_into(&mut sample.programme.title);
        sample.programme.inspections[0].name = hostile.to_owned();
        let page = page_of(&sample);
        assert!(!page.contains("<script") && page.contains("&lt;script&gt;alert(1)"));
        assert_eq!(page.matches("</style>").count(), 1);
    }
}
