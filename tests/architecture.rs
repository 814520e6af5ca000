//! The house rules that can be read off the sources: who may know whom, and which file alone names a library.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Modules from the ground up: each may import only those above it in this list.
const ORDER: [&str; 29] = [
    "units",
    "maths",
    "chance",
    "parallel",
    "error",
    "problem",
    "pole",
    "inventory",
    "programme",
    "wood",
    "models",
    "space",
    "projection",
    "intake",
    "belief",
    "schedule",
    "trial",
    "supply",
    "plan",
    "explain",
    "invent",
    "score",
    "compare",
    "sensitivity",
    "words",
    "tables",
    "report",
    "io",
    "cli",
];

/// What alone may name a library, as a path below `src`: a file, or a folder ending in `/`.
const ONLY_PLACES: [(&str, &[&str]); 21] = [
    ("csv_core", &["io/read/splitter.rs"]),
    ("rayon", &["parallel.rs"]),
    ("libm", &["maths.rs"]),
    ("rstar", &["space.rs"]),
    ("geo", &["space.rs", "space/"]),
    ("proj4rs", &["projection.rs"]),
    ("crs_definitions", &["projection.rs"]),
    ("polars", &["io/parquet.rs"]),
    ("geojson", &["io/"]),
    ("calamine", &["io/read/workbook.rs"]),
    ("zip", &["io/read/archive.rs", "io/read/workbook.rs"]),
    ("rustix", &["io/beside.rs"]),
    ("rust_xlsxwriter", &["io/workbook.rs"]),
    ("rand_distr", &["invent/"]),
    ("clap", &["cli/"]),
    ("clap_complete", &["cli/pages.rs"]),
    ("clap_mangen", &["cli/pages.rs"]),
    ("flate2", &["report/pack.rs"]),
    ("base64", &["report/pack.rs"]),
    ("sha2", &["report/pack.rs"]),
    ("terminal_size", &["cli/fold.rs"]),
];

/// Words of the outside world that only `io` and `cli` may use.
const EDGE_ONLY: [&str; 6] = [
    "std::fs",
    "std::env",
    "std::process",
    "SystemTime",
    "Instant",
    "std::io::std",
];

/// Errors carry problems' places and problems are listed by the error's module; both stand on the ground floor.
const EXCEPTIONS: [(&str, &str); 1] = [("problem", "error")];

struct File {
    /// Path below `src`, with `/`.
    path: String,
    module: String,
    /// The text without its test module, comments and string literals left in.
    code: String,
}

fn sources() -> Vec<File> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        let entries = fs::read_dir(folder).expect("a readable source folder");
        for path in entries.map(|entry| entry.expect("a readable entry").path()) {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(read(&root, &path));
            }
        }
    }
    found.sort_by(|one, other| one.path.cmp(&other.path));
    assert!(
        found.len() > 50,
        "the walk found too little to prove anything"
    );
    found
}

fn read(root: &Path, path: &PathBuf) -> File {
    let below = path.strip_prefix(root).expect("a file below src");
    let path_text = below
        .components()
        .map(|part| part.as_os_str().to_string_lossy())
        .collect::<Vec<_>>()
        .join("/");
    let text = fs::read_to_string(path).expect("a readable source file");
    let code = text.split("mod tests {").next().unwrap_or_default();
    let code = code
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect::<Vec<_>>()
        .join("\n");
    let module = path_text
        .split('/')
        .next()
        .unwrap_or_default()
        .trim_end_matches(".rs")
        .to_owned();
    File {
        path: path_text,
        module,
        code,
    }
}

fn is_test_only(file: &File) -> bool {
    file.path.ends_with("tests.rs")
        || file.path.ends_with("words/sample.rs")
        || file.path.ends_with("/tests/mod.rs")
}

/// Modules named in `crate::name` and `crate::{name, ...}`.
fn imports(code: &str) -> Vec<String> {
    let mut names = Vec::new();
    for part in code.split("crate::").skip(1) {
        let word = |text: &str| {
            text.chars()
                .take_while(|c| c.is_ascii_lowercase() || *c == '_')
                .collect::<String>()
        };
        if let Some(group) = part.strip_prefix('{') {
            let group = group.split('}').next().unwrap_or_default();
            names.extend(group.split(',').map(|name| word(name.trim())));
        } else {
            names.push(word(part));
        }
    }
    names.retain(|name| !name.is_empty());
    names
}

#[test]
fn imports_only_go_up_the_list() {
    let rank: BTreeMap<&str, usize> = ORDER
        .iter()
        .enumerate()
        .map(|(rank, name)| (*name, rank))
        .collect();
    let mut seen = 0;
    for file in sources()
        .iter()
        .filter(|file| !["lib", "main"].contains(&file.module.as_str()))
    {
        if is_test_only(file) {
            continue;
        }
        let own = *rank
            .get(file.module.as_str())
            .unwrap_or_else(|| panic!("{} has no floor in ORDER", file.path));
        for name in imports(&file.code) {
            let Some(other) = rank.get(name.as_str()) else {
                continue;
            };
            let allowed = EXCEPTIONS.contains(&(file.module.as_str(), name.as_str()));
            assert!(
                *other <= own || allowed,
                "{} imports {name}, which stands on a floor above",
                file.path
            );
            seen += 1;
        }
    }
    assert!(
        seen > 200,
        "too few imports were seen to prove anything: {seen}"
    );
}

#[test]
fn each_library_is_named_in_its_one_place() {
    for (library, places) in ONLY_PLACES {
        let mut named = 0;
        for file in sources().iter().filter(|file| !is_test_only(file)) {
            let names_it = file
                .code
                .match_indices(&format!("{library}::"))
                .any(|(at, _)| {
                    !file.code[..at]
                        .ends_with(|c: char| c.is_ascii_alphanumeric() || c == '_' || c == ':')
                });
            if names_it {
                let allowed = places.iter().any(|place| {
                    file.path == *place || place.ends_with('/') && file.path.starts_with(place)
                });
                assert!(
                    allowed,
                    "{} names {library}, which belongs to {places:?}",
                    file.path
                );
                named += 1;
            }
        }
        assert!(named > 0, "nothing names {library}: is it still used?");
    }
}

#[test]
fn only_the_edges_touch_the_outside_world() {
    for file in sources()
        .iter()
        .filter(|file| !["io", "cli", "main", "error"].contains(&file.module.as_str()))
    {
        for word in EDGE_ONLY {
            assert!(!file.code.contains(word), "{} uses {word}", file.path);
        }
    }
}

#[test]
fn what_is_from_memory_is_printed_on_request_and_used_by_nothing() {
    let naming: Vec<String> = sources()
        .into_iter()
        .filter(|file| file.code.contains("second_opinion::"))
        .map(|file| file.path)
        .collect();
    assert_eq!(naming, ["cli/curves.rs"]);
}

#[test]
fn no_source_breaks_the_house_style_that_lints_cannot_see() {
    for file in sources() {
        assert!(
            !file.code.contains("::*;"),
            "{} has a glob import",
            file.path
        );
        assert!(
            !file.code.contains("macro_rules!"),
            "{} defines a macro",
            file.path
        );
        assert!(
            !file.code.contains("HashMap"),
            "{} uses a map without order",
            file.path
        );
        assert!(
            !file.code.contains("todo!(") && !file.code.contains("unimplemented!("),
            "{} is a stub",
            file.path
        );
    }
}
