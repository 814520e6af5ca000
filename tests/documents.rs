//! The README holds what the code holds: fields, vocabularies, problem codes, cautions, and every key of a programme.
//!
//! After a change that is meant, run this once with `REFRESH_README=1` and read the difference. The page that the README
//! shows is compared with a real run by `.ci/run` (`tests/outside/readme.py`).

use polewright::problem::codes::table_of_codes;
use polewright::programme::sources::{field_table, vocabulary_tables};
use polewright::words::Caution;
use std::fs;
use std::path::Path;

/// The shapes of a programme, from which its keys are read.
const TWINS: &str = include_str!("../src/programme/text/twins.rs");

fn readme() -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    fs::read_to_string(path).expect("the README")
}

/// The README with the part called `name` replaced by `text`.
fn with_part(readme: &str, name: &str, text: &str) -> String {
    let start = format!("<!-- {name} -->\n");
    let (before, rest) = readme.split_once(&start).expect("the part's start");
    let (_, after) = rest.split_once("<!-- end -->").expect("the part's end");
    format!("{before}{start}{text}<!-- end -->{after}")
}

#[test]
fn its_tables_are_those_of_the_code() {
    let cautions = Caution::ALL.map(Caution::text).join("\n- ");
    let cautions = format!("- {cautions}\n");
    let parts = [
        ("fields", field_table()),
        ("vocabularies", vocabulary_tables()),
        ("codes", table_of_codes()),
        ("cautions", cautions),
    ];
    let written = readme();
    let mut wanted = written.clone();
    for (name, text) in parts {
        assert!(text.lines().count() > 5, "{name} has next to nothing");
        wanted = with_part(&wanted, name, &text);
    }
    if std::env::var_os("REFRESH_README").is_some() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
        fs::write(path, &wanted).expect("a README that can be written");
        return;
    }
    assert!(
        written == wanted,
        "README.md differs from the code: REFRESH_README=1 cargo test --test documents, and read the difference"
    );
}

/// Tables of a programme by the struct that reads them.
fn tables_of(shape: &str) -> &'static [&'static str] {
    match shape {
        "Written" => &[""],
        "WrittenReject" => &["reject."],
        "WrittenRule" => &["rule."],
        "WrittenAboveGround" => &["above_ground."],
        "WrittenPolicy" => &["policy."],
        "WrittenCrews" => &["crews."],
        "WrittenCosts" => &["costs."],
        "WrittenBudget" => &["budget."],
        "WrittenPrevious" => &["previous."],
        "WrittenRemovals" => &["removals."],
        "WrittenHazards" => &["hazards."],
        "WrittenScope" => &["scope."],
        "WrittenTable" => &["poles.", "inspections."],
        "WrittenLastInspection" => &["poles.last_inspection."],
        "WrittenSupply" => &["supply."],
        "WrittenSubstitution" => &["substitution."],
        "WrittenStock" => &["stock."],
        "WrittenGivenDemand" => &["other_demand."],
        "WrittenPutBack" => &["put_back."],
        "WrittenYard" => &["yard."],
        "WrittenAlternative" => &["alternatives."],
        // Methods are keys of their own here; they are one row each in two tables.
        "ByMethod" => &[],
        other => panic!("{other} is a shape that this test does not know"),
    }
}

#[test]
fn it_explains_every_key_of_a_programme() {
    let readme = readme();
    let (mut shape, mut seen) = ("", 0);
    for line in TWINS.lines() {
        if let Some(rest) = line.strip_prefix("pub(super) struct ") {
            shape = rest.trim_end_matches(" {");
        }
        let Some((key, kind)) = line
            .strip_prefix("    pub ")
            .and_then(|rest| rest.split_once(": "))
        else {
            continue;
        };
        for table in tables_of(shape) {
            // Two keys of a source belong to one of the two kinds of sources alone.
            if [
                ("poles.", "contractor"),
                ("inspections.", "last_inspection"),
            ]
            .contains(&(table, key))
            {
                continue;
            }
            let is_table = kind.starts_with("Written")
                || kind.starts_with("Vec<Written")
                || kind.starts_with("Option<WrittenYard");
            let found = if is_table {
                readme.contains(&format!("**`[{key}]`**"))
                    || readme.contains(&format!("**`[[{key}]]`**"))
            } else {
                readme.contains(&format!("`{table}{key}`"))
            };
            assert!(found, "README.md does not explain {table}{key}");
            seen += 1;
        }
    }
    assert!(
        seen > 50,
        "too few keys were seen to prove anything: {seen}"
    );
}

#[test]
fn the_developers_guide_lists_every_module_and_dependency() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let guide = fs::read_to_string(root.join("DEVELOPERS.md")).expect("the guide");
    let mut names: Vec<String> = fs::read_dir(root.join("src"))
        .expect("the sources")
        .map(|entry| entry.expect("an entry"))
        .map(|entry| {
            let folder = entry.path().is_dir();
            let name = entry.file_name().to_string_lossy().into_owned();
            if folder { format!("{name}/") } else { name }
        })
        .collect();
    let manifest: toml::Table = fs::read_to_string(root.join("Cargo.toml"))
        .expect("the manifest")
        .parse()
        .expect("TOML");
    for table in ["dependencies", "dev-dependencies"] {
        let listed = manifest[table].as_table().expect("a table");
        names.extend(listed.keys().cloned());
    }
    assert!(names.len() > 35, "too few names to prove anything");
    for name in names {
        assert!(
            guide.contains(&format!("`{name}`")),
            "DEVELOPERS.md does not list {name}"
        );
    }
}
