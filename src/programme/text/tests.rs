//! What is written is read, completed or refused with its place.

use super::{read, read_with};
use crate::pole::{Method, Preservative};
use crate::programme::sources::Field;
use crate::programme::{Limit, Programme, RuleKind};
use crate::units::LengthUnit;
use std::path::Path;

fn plan(text: &str) -> Programme {
    read(text, Path::new("programme.toml")).expect("a programme")
}

fn fault(text: &str) -> String {
    read(text, Path::new("programme.toml"))
        .expect_err("a fault")
        .to_string()
}

#[test]
fn one_line_is_a_programme_and_says_what_it_assumes() {
    let programme = plan("plan_from = 2026-01-01");
    assert_eq!(programme.first_year(), 2026);
    assert_eq!(
        (programme.schedule_years, programme.horizon_years),
        (12, 30)
    );
    assert_eq!(programme.inspections.len(), 3);
    assert!(
        matches!(programme.rejects[0].limit, Limit::Strength(share) if (share.get() - 2.0 / 3.0).abs() < 1e-12)
    );
    let keys: Vec<&str> = programme.assumed.iter().map(|a| a.key).collect();
    for key in [
        "decay_zone",
        "rule",
        "reject.least_strength",
        "crews.crew_days_per_year",
        "costs.failure",
        "hazards.other_demand",
        "removals.mean_years_to_removal",
    ] {
        assert!(keys.contains(&key), "{key} is missing from {keys:?}");
    }
}

#[test]
fn what_is_set_is_taken_and_not_assumed() {
    let programme = plan(
        r#"
plan_from = 2026-01-01
decay_zone = 2
[crews]
crew_days_per_year = 400
poles_per_crew_day = { sound_and_bore = 80 }
[[rule]]
name = "order"
zones = [4, 5]
first_age_years = 8
repeat_years = 8
kind = "law"
source = "an order, section 3"
least_method = "full_excavation"
[[poles]]
file = "poles.csv"
columns = { id = "Pole_ID", length = "Height" }
units = { length = "ft" }
[poles.codes.preservative]
"CREO" = "creosote"
"#,
    );
    assert_eq!(programme.default_zone.number(), 2);
    assert!(
        (programme.crews.poles_per_crew_day[Method::SoundAndBore.index()] - 80.0).abs() < 1e-12
    );
    assert_eq!(programme.inspections[0].kind, RuleKind::Law);
    let table = &programme.sources.poles[0];
    assert_eq!(table.columns[&Field::Id], ["Pole_ID"]);
    assert_eq!(table.units[&Field::Length], LengthUnit::Foot);
    assert_eq!(table.codes.preservative["creo"], Preservative::Creosote);
    let keys: Vec<&str> = programme.assumed.iter().map(|a| a.key).collect();
    for key in [
        "decay_zone",
        "rule",
        "rule.least_method",
        "crews.crew_days_per_year",
        "crews.poles_per_crew_day.sound_and_bore",
    ] {
        assert!(!keys.contains(&key), "{key} was set");
    }
    assert!(keys.contains(&"crews.poles_per_crew_day.patrol"));
}

#[test]
fn a_setting_replaces_one_key() {
    let text = "plan_from = 2026-01-01\n[[rule]]\nfirst_age_years = 8\nrepeat_years = 8\n";
    let settings = [
        "costs.discount_rate=0.03".to_owned(),
        "rule.0.repeat_years=6".to_owned(),
        "title=North".to_owned(),
        "plan_from=2027-01-01".to_owned(),
    ];
    let programme = read_with(text, Path::new("p.toml"), &settings).expect("a programme");
    assert!((programme.costs.discount_rate - 0.03).abs() < 1e-12);
    assert!((programme.inspections[0].repeat_years - 6.0).abs() < 1e-12);
    assert_eq!(programme.title, "North");
    assert_eq!(programme.first_year(), 2027);
    let wrong = read_with(text, Path::new("p.toml"), &["trials".to_owned()]);
    assert!(
        wrong
            .expect_err("no value")
            .to_string()
            .contains("--set trials")
    );
    let unknown = read_with(text, Path::new("p.toml"), &["trails=5".to_owned()]);
    let message = unknown.expect_err("unknown").to_string();
    assert!(message.contains("did you mean \"trials\""), "{message}");
}

#[test]
fn faults_name_their_line() {
    let text = "plan_from = 2026-01-01\n\n[costs]\n  discount_rate = 5\n";
    assert_eq!(
        fault(text),
        "programme.toml: line 4, column 3, costs.discount_rate: 5 cannot be (help: a number from 0 to 0.5)"
    );
    assert!(
        fault("plan_from = 2026-01-01\ntrails = 5")
            .contains("line 2, column 1: unknown key \"trails\"")
    );
    assert!(fault("").contains("plan_from"));
    assert!(fault("plan_from = \"soon\"").contains("soon is not a date"));
    assert!(
        fault("plan_from = 2026-01-01\ncosts.currency = \"EUR\"")
            .contains("currency without price_year")
    );
    assert!(fault("plan_from = 2026-01-01\nhazards.other_demand = nan").contains("NaN cannot be"));
}

#[test]
fn a_setting_that_cannot_be_is_named_with_what_is_expected() {
    let text = "plan_from = 2026-01-01\ntrials = 100\n";
    let fault = |setting: &str| {
        let settings = ["seed=3".to_owned(), setting.to_owned()];
        let refused = read_with(text, Path::new("p.toml"), &settings);
        refused.expect_err("a fault").to_string()
    };
    let words = fault("trials=abc");
    assert!(
        words.starts_with(
            "p.toml: --set trials=abc: expected a whole number, not the text \"abc\" (help: "
        ),
        "{words}"
    );
    assert!(fault("trials=0").contains("--set trials=0, trials: 0 cannot be"));
    assert!(fault("trails=5").contains("--set trails=5: unknown key \"trails\""));
    assert!(fault("costs=5").contains("--set costs=5: expected a table, not 5"));
}

#[test]
fn a_source_says_how_its_file_is_read() {
    let programme = plan(
        r#"
plan_from = 2026-01-01
[[poles]]
file = "poles.xlsx"
sheet = "Poles"
header_row = 3
join = "/"
columns = { id = ["LINE", "NUMBER"], notes = ["A", "B"] }
[poles.last_inspection]
contractor = "First"
default_method = "sound"
columns = { date = "LAST", sound_shell = ["S1", "S2"] }
codes.verdict = { OK = "sound" }
[[inspections]]
file = "a.csv"
contractor = "Second"
"#,
    );
    let table = &programme.sources.poles[0];
    assert_eq!(
        (table.sheet.as_deref(), table.header_row),
        (Some("Poles"), Some(3))
    );
    assert_eq!(table.columns[&Field::Id], ["LINE", "NUMBER"]);
    assert_eq!(
        [Field::Id, Field::Notes, Field::SoundShell].map(|field| table.between(field)),
        ["/", " ", "; "]
    );
    let last = table.last_inspection.as_ref().expect("a last inspection");
    assert_eq!(last.file, "poles.xlsx");
    assert_eq!(last.default_method, Some(Method::Sound));
    assert_eq!(last.columns[&Field::SoundShell], ["S1", "S2"]);
    assert_eq!(
        programme.sources.inspections[0].contractor.as_deref(),
        Some("Second")
    );
}

#[test]
fn a_source_with_keys_that_do_not_fit_is_refused() {
    let with = |keys: &str| fault(&format!("plan_from = 2026-01-01\n{keys}"));
    let poles = |keys: &str| with(&format!("[[poles]]\nfile = \"p\"\n{keys}"));
    let inspections = |keys: &str| with(&format!("[[inspections]]\nfile = \"i\"\n{keys}"));
    assert!(
        inspections("columns.pole_id = \"TAG\"").contains(
            "inspections 1, columns.pole_id: \"pole_id\" is not a field of inspections (help: did you mean \"id\"?"
        )
    );
    assert!(poles("columns.length = [\"A\", \"B\"]").contains("takes one column"));
    assert!(poles("columns.id = []").contains("neither a column nor a list"));
    assert!(poles("columns.id = [1]").contains("neither a column nor a list"));
    assert!(poles("header_row = 0").contains("header_row: 0 cannot be"));
    assert!(poles("contractor = \"x\"").contains("has no contractor"));
    assert!(inspections("last_inspection.columns.date = \"D\"").contains("below a [[poles]]"));
    assert!(poles("last_inspection.columns.id = \"D\"").contains("take id out"));
    assert!(poles("last_inspection.columns.length = \"D\"").contains("not a field"));
    assert!(poles("last_inspection.sheet = \"D\"").contains("unknown key \"sheet\""));
    assert!(poles("sheets = \"D\"").contains("did you mean \"sheet\""));
}

#[test]
fn removed_poles_are_listed_since_a_year_and_for_all_causes_unless_some_are_named() {
    let listed = |removals: &str| {
        let text = format!(
            "plan_from = 2026-01-01\n[removals]\n{removals}\n[[poles]]\nfile = \"p.csv\"\n"
        );
        read(&text, Path::new("p.toml")).map(|programme| programme.removals.listed)
    };
    let whole = listed("listed_since = 2015")
        .expect("a programme")
        .expect("listed");
    assert_eq!((whole.since.year(), whole.causes), (2015, [true; 3]));
    let some = listed("listed_since = 2015\nlisted_causes = [\"condemned\"]");
    let some = some.expect("a programme").expect("listed");
    assert_eq!(some.causes, [true, false, false]);
    assert_eq!(listed("").expect("a programme"), None);
    for wrong in [
        "listed_causes = [\"condemned\"]",
        "listed_since = 15",
        "listed_since = 2015\nlisted_causes = [\"rotten\"]",
    ] {
        assert!(listed(wrong).is_err(), "{wrong}");
    }
}
