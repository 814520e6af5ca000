//! What an earlier `polewright hindcast` wrote into its folder's `run.json`, read for the report.
//!
//! A twin of the record with checked content; knows no table and no page.

use crate::error::Error;
use crate::report::{LookedBack, ReliabilityBin};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The record, as far as the report shows it.
#[derive(Deserialize)]
struct Record {
    command: String,
    as_of: Vec<i16>,
    said: Vec<String>,
    verdict: String,
    cautions: Vec<String>,
    bins: Vec<Bin>,
    digests: BTreeMap<String, String>,
}

#[derive(Deserialize)]
struct Bin {
    above: f64,
    up_to: f64,
    count: usize,
    forecast: f64,
    happened: usize,
    interval: Ends,
}

#[derive(Deserialize)]
struct Ends {
    low: f64,
    high: f64,
}

/// Reads the record of a hindcast's folder; `digests` are those of the lists that the plan reads.
///
/// # Errors
/// When there is no such record, or it is another command's or an older version's.
pub fn read_look_back(
    folder: &Path,
    digests: &BTreeMap<String, String>,
) -> Result<LookedBack, Error> {
    let path = folder.join("run.json");
    let text = std::fs::read_to_string(&path).map_err(|cause| Error::File {
        path: path.clone(),
        cause,
    })?;
    let record: Record =
        serde_json::from_str(&text).map_err(|cause| unreadable(path.clone(), cause.to_string()))?;
    if record.command != "hindcast" {
        let what = format!("it is the record of `polewright {}`", record.command);
        return Err(unreadable(path, what));
    }
    Ok(LookedBack {
        as_of: record.as_of,
        said: record.said,
        verdict: record.verdict,
        cautions: record.cautions,
        same_lists: record.digests == *digests,
        bins: record.bins.iter().map(bin).collect(),
    })
}

const fn bin(own: &Bin) -> ReliabilityBin {
    ReliabilityBin {
        chances: [own.above, own.up_to],
        looks: own.count,
        mean_chance: own.forecast,
        found: own.happened,
        interval: [own.interval.low, own.interval.high],
    }
}

fn unreadable(path: PathBuf, what: String) -> Error {
    Error::Unreadable {
        path,
        what,
        help: "name the folder that `polewright hindcast PROGRAMME --as-of YEAR --out DIR` of this version wrote"
            .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder_with(record: &str) -> tempfile::TempDir {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("run.json"), record).expect("written");
        folder
    }

    #[test]
    fn a_look_back_is_read_and_held_to_the_lists_of_the_plan() {
        let folder = folder_with(
            r#"{"command": "hindcast", "as_of": [2020], "said": ["a"], "verdict": "b", "cautions": ["c"],
                "bins": [{"above": 0.01, "up_to": 0.02, "count": 9, "forecast": 0.015, "happened": 1, "interval": {"low": 0.001, "high": 0.4}}],
                "digests": {"poles.csv": "1"}, "more": 1}"#,
        );
        let lists = |digest: &str| BTreeMap::from([("poles.csv".to_owned(), digest.to_owned())]);
        let back = read_look_back(folder.path(), &lists("1")).expect("a look back");
        assert!(back.same_lists && back.bins[0].found == 1 && back.bins[0].looks == 9);
        let other = read_look_back(folder.path(), &lists("2")).expect("a look back");
        assert!(!other.same_lists);
    }

    #[test]
    fn the_folder_of_another_command_is_refused_with_what_to_name() {
        let lists = BTreeMap::new();
        let folder = folder_with(r#"{"command": "plan"}"#);
        let refused = read_look_back(folder.path(), &lists).expect_err("no look back");
        assert!(refused.to_string().contains("polewright hindcast"));
        let nothing = tempfile::tempdir().expect("a folder");
        assert!(read_look_back(nothing.path(), &lists).is_err());
    }
}
