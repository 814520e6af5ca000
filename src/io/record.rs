//! `run.json`: what exactly ran, on which inputs, with which result. Written last: it makes a folder ours.

use super::folder::PROGRAM;
use crate::words::overview::{AssumedFigure, Overview, Rows};
use serde::Serialize;
use std::collections::BTreeMap;

/// The record of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Record {
    /// This program.
    pub program: &'static str,
    /// Its version.
    pub version: &'static str,
    /// Title of the programme.
    pub title: String,
    /// The day from which it plans.
    pub plan_from: String,
    /// Seed.
    pub seed: u64,
    /// Trials.
    pub trials: u32,
    /// Who made the plan, when they said so.
    pub prepared_by: Option<String>,
    /// BLAKE3 digests of the inputs, by the name that the programme gives them.
    pub digests: BTreeMap<String, String>,
    /// Keys of the programme replaced on the command line.
    pub set: Vec<String>,
    /// Rows of the pole files.
    pub pole_rows: Rows,
    /// Rows of the inspection files.
    pub inspection_rows: Rows,
    /// Records of last inspections on rows of the pole files.
    pub last_inspections: Rows,
    /// Rows of the pole files that give a count.
    pub counted_rows: usize,
    /// Poles that those stand for.
    pub counted_poles: usize,
    /// Rows of the files of work done.
    pub work_rows: Rows,
    /// Rows of the files of failures.
    pub failure_rows: Rows,
    /// Rows of the files of decisions.
    pub decision_rows: Rows,
    /// Poles planned for.
    pub poles: usize,
    /// Poles that no layer shows, because their place is not known.
    pub poles_without_place: usize,
    /// Problems in the data, by code.
    pub problems: BTreeMap<&'static str, usize>,
    /// Defaults that stand in for figures which only the owner knows.
    pub assumed: Vec<AssumedFigure>,
    /// Seconds that each step took.
    pub seconds: Vec<(&'static str, f64)>,
    /// Files of the folder, this one apart.
    pub files: Vec<String>,
    /// The caution.
    pub caution: &'static str,
}

/// What a run knows of itself beside its result.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Who made the plan, when they said so.
    pub prepared_by: Option<String>,
    /// Digests of the inputs.
    pub digests: BTreeMap<String, String>,
    /// Keys of the programme replaced on the command line.
    pub set: Vec<String>,
    /// Rows of decisions.
    pub decision_rows: Rows,
    /// Seconds that each step took.
    pub seconds: Vec<(&'static str, f64)>,
    /// Files of the folder, the record apart.
    pub files: Vec<String>,
}

impl Record {
    /// The record of a run that gave this plan.
    pub fn of(seen: &Overview, run: Run) -> Self {
        let (program, version) = Self::program();
        Self {
            program,
            version,
            title: seen.title.clone(),
            plan_from: seen.plan_from.clone(),
            seed: seen.seed,
            trials: seen.trials,
            prepared_by: run.prepared_by,
            digests: run.digests,
            set: run.set,
            pole_rows: seen.pole_rows,
            inspection_rows: seen.inspection_rows,
            last_inspections: seen.last_inspections,
            counted_rows: seen.counted_rows,
            counted_poles: seen.counted_poles,
            work_rows: seen.work_rows,
            failure_rows: seen.failure_rows,
            decision_rows: run.decision_rows,
            poles: seen.poles,
            poles_without_place: seen.unknowns.place,
            problems: seen
                .problems
                .iter()
                .map(|problem| (problem.code, problem.count))
                .collect(),
            assumed: seen.assumed.clone(),
            seconds: run.seconds,
            files: run.files,
            caution: seen.caution,
        }
    }

    /// The name and version of this program.
    pub const fn program() -> (&'static str, &'static str) {
        (PROGRAM, env!("CARGO_PKG_VERSION"))
    }

    /// What of it everybody may see: no names of people, programmes or files, and no keys that were set.
    #[must_use]
    pub fn for_everybody(self) -> Self {
        Self {
            title: String::new(),
            prepared_by: None,
            digests: BTreeMap::new(),
            set: Vec::new(),
            ..self
        }
    }

    /// The text of the file.
    pub fn text(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }
}
