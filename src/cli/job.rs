//! Flags and a programme's file, made into plain values before any work starts.

use crate::Error;
use crate::intake::take_in_all;
use crate::inventory::Inventory;
use crate::io::read::{read_previous, read_programme, read_sources};
use crate::models::{self, Models};
use crate::parallel::with_threads;
use crate::problem::Problems;
use crate::programme::Programme;
use crate::score::previous::Previous;
use clap::Args;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// More workers than any machine of today has cores; far more of them exhaust the memory for their stacks.
const MOST_THREADS: u64 = 1024;

/// Flags that every command on a programme takes.
#[derive(Debug, Clone, Default, Args)]
pub struct Common {
    /// Replaces a key of the programme: `--set policy.replace_within_years=2`; may be repeated
    #[arg(long, value_name = "KEY=VALUE")]
    pub set: Vec<String>,
    /// Takes the models from the TOML files of a folder instead of the built-in ones
    #[arg(long, value_name = "DIR")]
    pub models: Option<PathBuf>,
    /// Workers for our own work (0: one for each core); the result does not depend on it
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(..=MOST_THREADS))]
    pub threads: usize,
    /// Prints nothing but errors and danger records
    #[arg(long)]
    pub quiet: bool,
}

impl Common {
    /// Does `work` with as many workers as the flag says.
    ///
    /// # Errors
    /// When the machine does not give them.
    pub fn on_threads<R: Send>(&self, work: impl FnOnce() -> R + Send) -> Result<R, Error> {
        with_threads(self.threads, work).map_err(|cause| Error::File {
            path: PathBuf::from("--threads"),
            cause: std::io::Error::other(cause),
        })
    }
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
    /// The earlier plan that the programme names.
    pub previous: Option<Previous>,
    /// BLAKE3 digests of every input, by name.
    pub digests: BTreeMap<String, String>,
}

/// Reads a programme, its models and its records.
///
/// # Errors
/// When a file cannot be read or understood, and on codes that the programme does not map.
pub fn read_job(path: &Path, common: &Common, trials: &Trials) -> Result<Job, Error> {
    let (mut programme, folder) = read_programme(path, &common.set)?;
    programme.trials = trials.trials.unwrap_or(programme.trials);
    programme.seed = trials.seed.unwrap_or(programme.seed);
    let mut digests = BTreeMap::from([(name_of(path), digest(&read_text(path)?))]);
    let models = match &common.models {
        None => models::text::built_in()?,
        Some(models) => {
            let texts = model_texts(models)?;
            digests.extend(
                texts
                    .iter()
                    .map(|(name, text)| (format!("models/{name}"), digest(text))),
            );
            models::text::read(&texts)?
        }
    };
    let read = read_sources(&programme, &folder)?;
    let (inventory, problems) = take_in_all(&read.tables(), &programme)?;
    digests.extend(read.digests);
    let previous = match &programme.sources.previous {
        None => None,
        Some(name) => {
            let (previous, own) = read_previous(&folder.join(name), name)?;
            digests.extend(own);
            Some(previous)
        }
    };
    Ok(Job {
        programme,
        models,
        inventory,
        problems,
        previous,
        digests,
    })
}

/// The models of a folder, or the built-in ones.
///
/// # Errors
/// When the folder holds no model, or one that is not valid.
pub fn read_models(folder: Option<&Path>) -> Result<Models, Error> {
    match folder {
        None => models::text::built_in(),
        Some(folder) => models::text::read(&model_texts(folder)?),
    }
}

/// The TOML files of a folder, by name.
fn model_texts(folder: &Path) -> Result<Vec<(String, String)>, Error> {
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
    paths
        .into_iter()
        .map(|path| Ok((name_of(&path), read_text(&path)?)))
        .collect()
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
