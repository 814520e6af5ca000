//! The page as a whole: what must be in it, what must not, and that nothing of a list can act in it.

use super::{Provenance, Report, page};
use crate::pole::PoleIndex;
use crate::score::compliance::compliance;
use crate::score::crosscheck::{Crosscheck, Judgement};
use crate::score::whole_rounds::Rounds;
use crate::words::overview::Overview;
use crate::words::sample::{self, Sample};
use crate::words::{Caution, Checks, overview};
use std::collections::BTreeMap;

fn provenance() -> Provenance {
    Provenance {
        program: ("polewright", "0.0.0"),
        prepared_by: Some("<b>Ann</b>".to_owned()),
        digests: BTreeMap::from([("poles.csv".to_owned(), "abc123".to_owned())]),
        set: vec!["trials=5".to_owned()],
    }
}

fn page_of(sample: &Sample) -> String {
    of_sample(sample, page)
}

/// What a part of the page makes of a sample.
pub fn of_sample(sample: &Sample, part: impl Fn(&Report<'_>) -> String) -> String {
    let seen = overview(
        &sample.inventory,
        &sample.problems,
        &sample.models,
        &sample.programme,
        &sample.plan,
    );
    part(&Report {
        fleet: sample.case(PoleIndex(0)),
        problems: &sample.problems,
        duties: &compliance(&sample.inventory, &sample.programme, &sample.plan.schedule),
        overview: &seen,
        looked_back: None,
        provenance: &provenance(),
    })
}

/// The page without its scripts and style: what a reader gets.
fn body_of(page: &str) -> String {
    let mut body = String::new();
    let mut rest = page;
    while let Some(at) = rest
        .find("<script")
        .into_iter()
        .chain(rest.find("<style"))
        .min()
    {
        body.push_str(&rest[..at]);
        let end = rest[at..].find("</s").expect("a closing tag") + at;
        rest = &rest[end + 3..];
    }
    body + rest
}

#[test]
fn the_first_screen_says_danger_work_doubt_and_limits() {
    let body = body_of(&page_of(&sample::fleet()));
    for said in [
        "DANGER: 1 pole is judged dangerous. Act today",
        "Overdue: 1 inspection",
        "2026 round: 1 inspection on 1 line",
        "rejects expected",
        "rejects recorded by year: 2024: 1 of 2",
        "Only the groundline is modelled",
        "1 figure stands in that nobody has confirmed",
        "Not on the map: 1",
        "0.50 \u{b1} 0.03",
    ] {
        assert!(body.contains(said), "{said}");
    }
    let danger = body.find("DANGER").expect("danger");
    assert!(danger < body.find("id=\"glance\"").expect("the cards"));
}

#[test]
fn warnings_of_the_cross_checks_stand_on_the_first_screen() {
    let sample = sample::fleet();
    let first_screen = |checks: Option<Checks>| {
        of_sample(&sample, |report| {
            let overview = Overview {
                checks: checks.clone(),
                ..report.overview.clone()
            };
            super::glance::section(&Report {
                overview: &overview,
                ..*report
            })
        })
    };
    let judgement = Judgement {
        with_records: 20.0,
        published_alone: 40.0,
        with_records_in_a_year: 22.0,
        published_alone_in_a_year: 44.0,
    };
    let checks = Checks {
        numbers: Crosscheck {
            pace: None,
            judgement,
            rounds: Rounds {
                inspections: 100,
                in_parts: 50,
            },
        },
        inspections: 100,
        horizon_years: 30,
        far_below: Vec::new(),
    };
    let page = first_screen(Some(checks));
    assert!(
        page.contains("<strong>WARNING: 50 of 100 inspections looked at less than 70 %"),
        "{page}"
    );
    assert!(!first_screen(None).contains("Cross-checks"));
}

#[test]
fn every_list_and_both_views_carry_cautions() {
    let body = body_of(&page_of(&sample::fleet()));
    for caution in Caution::ALL {
        assert!(
            body.contains(&super::html::sentence(caution.text())),
            "{caution:?}"
        );
    }
    for part in body.split("<section ").skip(1) {
        let table = part.contains("<table");
        let exempt = part.starts_with("id=\"provenance\"");
        assert!(
            !table || exempt || part.contains("class=\"caution\""),
            "{part}"
        );
    }
}

#[test]
fn the_page_asks_nobody_for_anything() {
    let page = page_of(&sample::fleet());
    assert!(page.contains("default-src 'none'; script-src 'sha256-"));
    // The library of the map names its home in a line of thanks that the page does not show; the policy forbids asking.
    let library = include_str!("assets/leaflet.js");
    assert!(include_str!("assets/map.js").contains("attributionControl: false"));
    let page = page.replace(library.trim_end(), "");
    for asks in [
        "src=\"http",
        "href=\"http",
        "url(",
        "@import",
        "<link",
        "<iframe",
        "sourceMappingURL",
        "src=\"//",
    ] {
        assert!(!page.contains(asks), "{asks}");
    }
    for ours in [
        include_str!("assets/data.js"),
        include_str!("assets/map.js"),
        include_str!("assets/list.js"),
        include_str!("assets/story.js"),
    ] {
        for unsafe_word in [
            "innerHTML",
            "outerHTML",
            "insertAdjacent",
            "document.write",
            "eval(",
            "fetch(",
            "XMLHttp",
        ] {
            assert!(!ours.contains(unsafe_word), "{unsafe_word}");
        }
    }
    assert!(
        !body_of(&page).contains("style="),
        "the policy forbids inline styles"
    );
}

#[test]
fn hostile_text_in_a_plan_stays_text() {
    let mut sample = sample::fleet();
    let hostile = "</script><script>alert(1)</script>\"'\u{202e}=1+1\u{1f332}";
    hostile.clone_into(&mut sample.programme.title);
    sample.programme.inspections[0].name = hostile.to_owned();
    sample.plan.schedule.packages[0].name = hostile.to_owned();
    sample.problems.files = vec![hostile.to_owned()];
    let page = page_of(&sample);
    assert!(!page.contains("<script>alert"));
    assert!(!page.contains("<b>Ann</b>") && page.contains("&lt;b&gt;Ann"));
    // Three script elements with data, five with scripts, and each closes once.
    assert_eq!(page.matches("<script").count(), 8);
    assert_eq!(page.matches("</script>").count(), 8);
    assert!(page.contains("<title>&lt;/script&gt;"));
}

#[test]
fn the_same_plan_gives_the_same_page() {
    let sample = sample::fleet();
    assert!(page_of(&sample) == page_of(&sample));
}

#[test]
fn scripts_and_licences_of_others_stand_beside_each_other() {
    let page = page_of(&sample::fleet());
    assert!(include_str!("assets/leaflet.js").contains("Leaflet 1.9.4"));
    assert!(page.contains("Licence of Leaflet 1.9.4") && page.contains("BSD 2-Clause License"));
    for digest in ["abc123", "trials=5", "polewright 0.0.0"] {
        assert!(page.contains(digest), "{digest}");
    }
}

#[test]
fn a_supplier_reads_sizes_years_and_the_yard() {
    let body = body_of(&page_of(&sample::fleet()));
    let view = body.split("id=\"supplier-view\"").nth(1).expect("the view");
    for said in [
        "40 ft class 4",
        "at least 150 mm clear",
        "First in, first out",
        "common practice",
        "old pole&#39;s size",
    ] {
        assert!(view.contains(said), "{said}");
    }
}
