//! The folder of an earlier plan: its `schedule.csv` through the reader of lists, and what `run.json` says of the run.

use super::{not_read, table_of};
use crate::Error;
use crate::io::folder::PROGRAM;
use crate::programme::sources::TableSource;
use crate::score::previous::Previous;
use crate::units::Date;
use std::path::Path;

/// The record of a run.
const RECORD: &str = "run.json";
/// The schedule.
const SCHEDULE: &str = "schedule.csv";

/// Reads the plan in `folder`, which the programme calls `name`; also gives each file's name and the digest of its bytes.
///
/// # Errors
/// When a file is missing, when the folder is not one of ours, and when its schedule lacks columns.
pub fn read_previous(
    folder: &Path,
    name: &str,
) -> Result<(Previous, Vec<(String, String)>), Error> {
    let mut digests = Vec::new();
    let mut bytes_of = |file: &str| {
        let path = folder.join(file);
        let help = "[previous] names a folder that `polewright plan` wrote, from the programme's folder; one written with --public holds no schedule";
        let bytes = std::fs::read(&path).map_err(|cause| not_read(&path, cause, help))?;
        let digest = blake3::hash(&bytes).to_hex().to_string();
        digests.push((format!("{name}/{file}"), digest));
        Ok::<_, Error>((bytes, path))
    };
    let (record, path) = bytes_of(RECORD)?;
    let (version, plan_from) = run_of(&record).ok_or_else(|| Error::Unreadable {
        path,
        what: "this is no record of a plan of ours".to_owned(),
        help: "[previous] names a folder that `polewright plan` wrote".to_owned(),
    })?;
    let (bytes, path) = bytes_of(SCHEDULE)?;
    let source = TableSource {
        file: format!("{name}/{SCHEDULE}"),
        ..TableSource::default()
    };
    let table = table_of(&bytes, &source, &path)?;
    let previous = Previous::new(&table, version, plan_from, &path)?;
    Ok((previous, digests))
}

/// Version and first day of a run, where the record is one of ours.
fn run_of(record: &[u8]) -> Option<(String, Date)> {
    let record: serde_json::Value = serde_json::from_slice(record).ok()?;
    if record.get("program")?.as_str()? != PROGRAM {
        return None;
    }
    let version = record.get("version")?.as_str()?.to_owned();
    let plan_from = record.get("plan_from")?.as_str()?.parse().ok()?;
    Some((version, plan_from))
}

#[cfg(test)]
mod tests {
    use super::{read_previous, run_of};
    use jiff::civil::date;

    #[test]
    fn a_record_of_ours_has_a_version_and_a_day_and_no_other_is_taken() {
        let own = br#"{"program": "polewright", "version": "0.1.0", "plan_from": "2025-01-01"}"#;
        assert_eq!(run_of(own), Some(("0.1.0".to_owned(), date(2025, 1, 1))));
        assert_eq!(run_of(br#"{"program": "another", "version": "1"}"#), None);
        assert_eq!(run_of(b"no JSON"), None);
    }

    #[test]
    fn a_missing_folder_and_an_alien_one_are_refused_with_help() {
        let place = tempfile::tempdir().expect("a temporary folder");
        let refused = |folder: &str| {
            let read = read_previous(&place.path().join(folder), folder);
            read.expect_err("no plan").to_string()
        };
        let said = refused("nowhere");
        assert!(
            said.contains("no such file") && said.contains("[previous]"),
            "{said}"
        );
        std::fs::write(place.path().join("run.json"), "{}").expect("a file");
        assert!(refused(".").contains("no record of a plan"));
        let own = r#"{"program": "polewright", "version": "0.1.0", "plan_from": "2025-01-01"}"#;
        std::fs::write(place.path().join("run.json"), own).expect("a file");
        assert!(refused(".").contains("--public holds no schedule"));
        std::fs::write(place.path().join("schedule.csv"), "id,year\nA,2025\n").expect("a file");
        assert!(refused(".").contains("no column pole_id"));
    }
}
