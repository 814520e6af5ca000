//! Flags and a programme's file, made into plain values before any work starts.

use crate::Error;
use crate::intake::take_in;
use crate::inventory::Inventory;
use crate::io::read::read_sources;
use crate::models::{self, Models};
use crate::problem::Problems;
use crate::programme::{self, Programme};
use clap::Args;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Flags that every command on a programme takes.
#[derive(Debug, Clone, Default, Args)]
pub struct Common {
    /// Replaces a key of the programme: --set policy.replace_within_years=2 (may be repeated)
    #[arg(long, value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Takes the models from the TOML files of a folder instead of the built-in ones
    #[arg(long, value_name = "DIR")]
    pub models: Option<PathBuf>,
    /// Workers for our own work (0: one for each core); the result does not depend on it
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub threads: usize,
    /// Prints nothing but errors
    #[arg(long)]
    pub quiet: bool,
}

/// Flags of commands that run trials.
#[derive(Debug, Clone, Default, Args)]
pub struct Trials {
    /// Monte Carlo trials, instead of the programme's
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1_000_000))]
    pub trials: Option<u32>,
    /// Seed of all draws, instead of the programme's
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
}

/// A programme with everything that it names, read.
#[derive(Debug)]
pub struct Job {
    /// The decisions, flags merged in.
    pub programme: Programme,
    /// The curves.
    pub models: Models,
    /// The records.
    pub inventory: Inventory,
    /// What is wrong with them.
    pub problems: Problems,
    /// BLAKE3 digests of every input, by name.
    pub digests: BTreeMap<String, String>,
}

/// Reads a programme and merges the flags into it.
///
/// # Errors
/// When the file cannot be read or is no programme.
pub fn read_programme(
    path: &Path,
    common: &Common,
    trials: &Trials,
) -> Result<(Programme, String), Error> {
    let text = read_text(path)?;
    let mut programme = programme::text::read_with(&text, path, &common.set)?;
    programme.trials = trials.trials.unwrap_or(programme.trials);
    programme.seed = trials.seed.unwrap_or(programme.seed);
    Ok((programme, digest(&text)))
}

/// Reads a programme, its models and its records.
///
/// # Errors
/// When a file cannot be read or understood, and on codes that the programme does not map.
pub fn read_job(path: &Path, common: &Common, trials: &Trials) -> Result<Job, Error> {
    let (programme, digest_of_programme) = read_programme(path, common, trials)?;
    let mut digests = BTreeMap::from([(name_of(path), digest_of_programme)]);
    let models = read_models(common.models.as_deref(), &mut digests)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let read = read_sources(&programme, folder)?;
    digests.extend(read.digests);
    let (inventory, problems) = take_in(&read.poles, &read.inspections, &programme)?;
    Ok(Job {
        programme,
        models,
        inventory,
        problems,
        digests,
    })
}

/// The models of a folder, or the built-in ones.
///
/// # Errors
/// When the folder holds no model, or one that is not valid.
pub fn read_models(
    folder: Option<&Path>,
    digests: &mut BTreeMap<String, String>,
) -> Result<Models, Error> {
    let Some(folder) = folder else {
        return models::text::built_in();
    };
    let failed = |cause| Error::File {
        path: folder.to_owned(),
        cause,
    };
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|ending| ending == "toml") {
            paths.push(path);
        }
    }
    if paths.is_empty() {
        return Err(Error::Unreadable {
            path: folder.to_owned(),
            what: "the folder holds no model (*.toml)".to_owned(),
            help: "leave --models out to use the built-in ones".to_owned(),
        });
    }
    paths.sort();
    let mut texts = Vec::with_capacity(paths.len());
    for path in paths {
        let text = read_text(&path)?;
        let name = name_of(&path);
        digests.insert(format!("models/{name}"), digest(&text));
        texts.push((name, text));
    }
    models::text::read(&texts)
}

/// A text file; its error says what it should have been.
fn read_text(path: &Path) -> Result<String, Error> {
    let bytes = fs::read(path).map_err(|cause| Error::File {
        path: path.to_owned(),
        cause,
    })?;
    String::from_utf8(bytes).map_err(|_| Error::Unreadable {
        path: path.to_owned(),
        what: "this is not a UTF-8 text".to_owned(),
        help: "a programme or model is a TOML text; is this a list of poles? then try `polewright check`"
            .to_owned(),
    })
}

fn name_of(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

fn digest(text: &str) -> String {
    blake3::hash(text.as_bytes()).to_hex().to_string()
}
