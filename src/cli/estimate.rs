//! `polewright estimate`: the supplier's hour: a bare list, a zone and a number of years to one page and its quantities.
//!
//! Reads the list as `check LIST` guesses it, plans with few assumptions, and writes the page, the quantities and the
//! programme that it used, so that a customer can go on from there.

use super::check_lists::seen_from;
use super::job::{Common, Trials, read_models};
use super::progress::Progress;
use super::{Outcome, show};
use crate::Error;
use crate::intake::{Guess, guess, take_in_all};
use crate::inventory::Inventory;
use crate::io::folder::Folder;
use crate::io::read::{ReadSources, read_sources, read_table};
use crate::io::record::{Record, Run};
use crate::models::Models;
use crate::plan::plan;
use crate::pole::PoleIndex;
use crate::problem::Problems;
use crate::programme::{Programme, text};
use crate::report::{self, Estimate, Provenance, Report};
use crate::tables::columns::columns;
use crate::tables::{length_unit, orders, problems, quantities};
use crate::units::{Date, Zone};
use crate::words::estimate::{self as words, Asked};
use crate::words::overview::{Overview, overview};
use crate::words::quantities::counted;
use crate::words::{Case, screen};
use clap::Args;
use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// Estimates the new poles that a bare list will need: one page with totals, bands and assumptions, no offer
#[derive(Debug, Args)]
#[command(after_help = "Example:
  polewright estimate data-demo/poles.csv --zone 3 --years 10 --out estimate --trials 200

The list may have one pole a row, or counts by size, decade and preservative. Columns are guessed as `polewright check
LIST` does. Writes estimate.html, quantities.csv, orders.csv, data_problems.csv, columns.csv, programme.toml and run.json.")]
pub struct EstimateArguments {
    /// A list of poles, and inspections where there are any
    #[arg(required = true, value_name = "LIST")]
    lists: Vec<PathBuf>,
    /// Decay zone, 1 (low) to 5 (severe), of poles whose list gives none
    #[arg(long, value_name = "Z", value_parser = clap::value_parser!(u8).range(1..=5))]
    zone: u8,
    /// Years to look ahead
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=100))]
    years: u16,
    /// Folder to write; it must not exist yet, or be empty
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Replaces the folder when an earlier run wrote it
    #[arg(long)]
    overwrite: bool,
    /// The day on which the estimate is made; today, when not given
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
    /// Days for which it holds
    #[arg(long, value_name = "DAYS", default_value_t = 90, value_parser = clap::value_parser!(i32).range(0..=3650))]
    valid_days: i32,
    /// Prints the page as JSON
    #[arg(long)]
    json: bool,
    /// Who makes the estimate
    #[arg(long, value_name = "NAME")]
    prepared_by: Option<String>,
    #[command(flatten)]
    trials: Trials,
    #[command(flatten)]
    common: Common,
}

/// The name of the programme in the folder.
const PROGRAMME: &str = "programme.toml";

/// A list, read by the programme that was made of it.
struct Prepared {
    guesses: Vec<Guess>,
    /// The programme's text.
    written: String,
    programme: Programme,
    models: Models,
    inventory: Inventory,
    problems: Problems,
    provenance: Provenance,
    /// The lists, by their names.
    names: Vec<String>,
}

impl EstimateArguments {
    /// Runs the command.
    ///
    /// # Errors
    /// When it cannot run; then nothing was written.
    pub fn run(&self) -> Result<Outcome, Error> {
        let mut progress = Progress::new(self.common.quiet);
        let folder = Folder::begin(&self.out, self.overwrite)?;
        let asked = self.asked();
        progress.step("reading", &self.lists[0].display().to_string());
        let read = self.prepared(&asked)?;
        progress.step("planning", &counted(read.inventory.len(), "pole", "poles"));
        let plan = self
            .common
            .on_threads(|| plan(&read.inventory, &read.models, &read.programme))??;
        let seen = overview(
            &read.inventory,
            &read.problems,
            &read.models,
            &read.programme,
            &plan,
        );
        let fleet = Case {
            inventory: &read.inventory,
            models: &read.models,
            programme: &read.programme,
            plan: &plan,
            pole: PoleIndex(0),
        };
        progress.step("writing", &self.out.display().to_string());
        let folder = write(folder, &read, fleet, &seen, &asked)?;
        progress.end();
        let record = Record::of(
            &seen,
            Run {
                prepared_by: self.prepared_by.clone(),
                digests: read.provenance.digests.clone(),
                set: self.common.set.clone(),
                decision_rows: read.inventory.decision_rows.into(),
                seconds: progress.seconds(),
                files: folder.files().to_vec(),
            },
        );
        let files = folder.finish(&record.text())?;
        self.tell(&read, fleet, &seen, &asked, &files)?;
        Ok(Outcome::Done)
    }

    /// Reads the lists twice: how many crew-days a round takes is known only once the poles are counted.
    fn prepared(&self, asked: &Asked) -> Result<Prepared, Error> {
        let guesses = self.guesses(asked)?;
        let first = self.programme(&words::programme(&guesses, asked, None))?;
        let read = read_sources(&first, &self.out)?;
        let (inventory, _) = take_in_all(&read.tables(), &first)?;
        let days = words::crew_days(&first, inventory.len());
        let written = words::programme(&guesses, asked, Some(days));
        let programme = self.programme(&written)?;
        let (inventory, problems) = take_in_all(&read.tables(), &programme)?;
        Ok(Prepared {
            guesses,
            written,
            programme,
            models: read_models(self.common.models.as_deref())?,
            inventory,
            problems,
            provenance: self.provenance(&read),
            names: self.lists.iter().map(|path| name_of(path)).collect(),
        })
    }

    fn tell(
        &self,
        read: &Prepared,
        fleet: Case<'_>,
        seen: &Overview,
        asked: &Asked,
        files: &[String],
    ) -> Result<(), Error> {
        let place = self.out.display().to_string();
        if self.json {
            let page = serde_json::json!({
                "estimate": words::terms(asked, &read.names),
                "not_an_offer": words::NOT_AN_OFFER,
                "overview": seen,
                "folder": place,
                "files": files,
            });
            return show(&format!("{page:#}\n"));
        }
        if self.common.quiet {
            return show(&screen::danger_only(seen));
        }
        let lists = (read.names.as_slice(), length_unit(&read.programme.sources));
        show(&words::page(&fleet, seen, asked, lists, (&place, files)))
    }

    fn asked(&self) -> Asked {
        let today = || {
            jiff::tz::TimeZone::UTC
                .to_datetime(jiff::Timestamp::now())
                .date()
        };
        Asked {
            on: self.date.unwrap_or_else(today),
            valid_days: self.valid_days,
            zone: Zone::new(self.zone).unwrap_or(Zone::ALL[2]),
            years: self.years,
        }
    }

    /// What the lists probably are, named as the programme in the folder must name them.
    fn guesses(&self, asked: &Asked) -> Result<Vec<Guess>, Error> {
        let one = |path: &PathBuf| {
            let mut guess = guess(&read_table(path)?, asked.plan_from());
            guess.file = seen_from(&self.out, path)?;
            Ok(guess)
        };
        self.lists.iter().map(one).collect()
    }

    fn programme(&self, written: &str) -> Result<Programme, Error> {
        let path = self.out.join(PROGRAMME);
        let mut programme = text::read_with(written, &path, &self.common.set)?;
        programme.trials = self.trials.trials.unwrap_or(programme.trials);
        programme.seed = self.trials.seed.unwrap_or(programme.seed);
        Ok(programme)
    }

    fn provenance(&self, read: &ReadSources) -> Provenance {
        let digests = read.digests.iter();
        let digests: BTreeMap<String, String> = digests
            .map(|(path, digest)| (name_of(Path::new(path)), digest.clone()))
            .collect();
        Provenance {
            program: Record::program(),
            prepared_by: self.prepared_by.clone(),
            digests,
            set: self.common.set.clone(),
        }
    }
}

/// Writes everything but the record.
fn write(
    mut folder: Folder,
    read: &Prepared,
    fleet: Case<'_>,
    seen: &Overview,
    asked: &Asked,
) -> Result<Folder, Error> {
    let page = report::estimate(&Estimate {
        report: Report {
            fleet,
            problems: &read.problems,
            overview: seen,
            provenance: &read.provenance,
            duties: &[],
            looked_back: None,
        },
        asked,
        lists: &read.names,
        reading: &read.guesses.iter().flat_map(as_read).collect::<Vec<_>>(),
    });
    folder.write("estimate.html", |out| out.write_all(page.as_bytes()))?;
    let mut described = Vec::new();
    for sheet in [
        quantities::quantities(fleet),
        orders::orders(fleet),
        problems::problems(&read.problems),
    ] {
        folder.write_csv(&sheet)?;
        described.push((format!("{}.csv", sheet.name), sheet.columns.clone()));
    }
    folder.write_csv(&columns(&described))?;
    folder.write(PROGRAMME, |out| out.write_all(read.written.as_bytes()))?;
    Ok(folder)
}

fn name_of(path: &Path) -> String {
    path.file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// What each column of a list was taken for, with how sure that is.
fn as_read(guess: &Guess) -> Vec<String> {
    let own = guess.reading.columns.iter();
    own.map(|own| {
        format!(
            "{}: {} ({})",
            own.field.info().name,
            own.columns.join(", "),
            own.sureness.word()
        )
    })
    .collect()
}
