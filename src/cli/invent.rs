//! `polewright invent`: an invented network with its hidden truth, in a folder.
//!
//! Writes what [`crate::invent`] makes; computes nothing.

use super::written;
use crate::invent::{Invented, Recipe, invent};
use crate::io::folder::{Folder, PROGRAM, RECORD};
use crate::{Error, Models};
use std::io::Write;
use std::path::PathBuf;

/// An invented network with its hidden truth: lists, records and a programme to try things on
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "Example:
  polewright invent --poles 1000 --seed 1 --out invented
  polewright plan invented/programme.toml --out plan")]
pub struct InventArgs {
    /// Poles that stand today
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=MOST_POLES))]
    pub poles: u32,
    /// Seed of all draws: the same seed gives the same files
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Folder to write
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Lists the poles that went since this year as removed, with their records
    #[arg(long, value_name = "YEAR", value_parser = clap::value_parser!(i16).range(1900..=2200))]
    pub removed_listed: Option<i16>,
    /// Puts the faults of real lists into them
    #[arg(long)]
    pub dirt: bool,
    /// Replaces an earlier output of this program
    #[arg(long)]
    pub overwrite: bool,
}

/// Most poles of one invented network: beyond that the texts no longer fit ordinary memory.
const MOST_POLES: i64 = 5_000_000;

/// Invents a network and writes its folder.
///
/// # Errors
/// When the folder or `out` cannot be written.
pub fn run(args: &InventArgs, models: &Models, out: &mut impl Write) -> Result<(), Error> {
    let mut folder = Folder::begin(&args.out, args.overwrite)?;
    let recipe = Recipe {
        removed_listed_since: args.removed_listed,
        ..Recipe::demo(args.poles as usize, args.seed, args.dirt)
    };
    let made = invent(&recipe, models);
    for (name, text) in made.files.all() {
        folder.write(name, |file| file.write_all(text.as_bytes()))?;
    }
    let record = record(args, folder.files());
    folder.finish(&record)?;
    written(out.write_all(page(args, &made).as_bytes()))
}

/// The record that makes the folder one of ours.
fn record(args: &InventArgs, files: &[String]) -> String {
    let record = serde_json::json!({
        "program": PROGRAM,
        "version": env!("CARGO_PKG_VERSION"),
        "command": "invent",
        "poles": args.poles,
        "seed": args.seed,
        "removed_listed": args.removed_listed,
        "dirt": args.dirt,
        "files": files,
    });
    format!("{record:#}\n")
}

fn page(args: &InventArgs, made: &Invented) -> String {
    let below = made.truth.iter().filter(|truth| truth.below_limit).count();
    format!(
        "invented {} poles and {} inspections; {} more poles were set in the past and are gone\n\
         {below} poles are below the limit: truth.csv says which, and no list does\n\
         written to {} ({RECORD} last)\n\
         next: polewright plan {} --out plan\n",
        made.inventory.len(),
        made.inventory.inspections().len(),
        made.removed,
        args.out.display(),
        args.out.join("programme.toml").display(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::models::text::built_in;
    use std::path::Path;

    fn args(out: &Path) -> InventArgs {
        InventArgs {
            poles: 200,
            seed: 3,
            out: out.to_owned(),
            removed_listed: None,
            dirt: true,
            overwrite: false,
        }
    }

    #[test]
    fn a_folder_is_written_once_and_replaced_only_when_asked() {
        let models = built_in().expect("valid models");
        let place = tempfile::tempdir().expect("a folder");
        let out = place.path().join("network");
        let mut page = Vec::new();
        run(&args(&out), &models, &mut page).expect("written");
        let text = String::from_utf8(page).expect("text");
        assert!(text.contains("invented 200 poles"), "{text}");
        let list = std::fs::read_to_string(out.join("poles.csv")).expect("a list");
        assert!(list.starts_with("pole_no,feeder,"));
        let again = run(&args(&out), &models, &mut Vec::new());
        assert!(
            again
                .expect_err("refused")
                .to_string()
                .contains("--overwrite")
        );
        let over = InventArgs {
            overwrite: true,
            ..args(&out)
        };
        run(&over, &models, &mut Vec::new()).expect("replaced");
    }
}
