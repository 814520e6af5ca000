//! `polewright hindcast`: read, look back from earlier years, write the folder, say in a page how the forecasts came off.

use super::job::{Common, Job, Trials, read_job};
use super::progress::Progress;
use super::{Outcome, show};
use crate::Error;
use crate::io::folder::Folder;
use crate::io::record::Record;
use crate::score::forecast::Holds;
use crate::score::hindcast::{AsOf, Hindcast, Question, hindcast};
use crate::tables::columns::columns;
use crate::tables::{ColumnInfo, hindcast as tables};
use crate::words::quantities::counted;
use crate::words::{Caution, hindcast as words, hindcast_charts as charts};
use clap::Args;
use serde_json::{Value, json};
use std::io::Write;
use std::path::PathBuf;

/// Hides later inspections, forecasts them from what was known in earlier years, and scores the forecasts
#[derive(Debug, Args)]
#[command(after_help = "Example:
  polewright hindcast data-demo/programme.toml --as-of 2021 2022 2023 2024 2025 --out hindcast

Writes hindcast.csv, scores.csv, reliability.csv, coverage.csv, columns.csv, reliability.svg, lift.svg and run.json.")]
pub struct HindcastArguments {
    /// The programme: decisions, and where the lists are
    programme: PathBuf,
    /// Years to look back from, each as it was known on 1 January
    #[arg(long, value_name = "YEAR", required = true, num_args = 1.., value_parser = clap::value_parser!(i16).range(1900..=9000))]
    as_of: Vec<i16>,
    /// Folder to write; it must not exist yet, or be empty
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Years within which the next inspection counts, instead of until the next --as-of and five at most
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=50))]
    window_years: Option<u16>,
    /// The list holds every pole removed since the first --as-of, with its day of removal
    #[arg(long)]
    removed_listed: bool,
    /// Replaces the folder when an earlier run wrote it
    #[arg(long)]
    overwrite: bool,
    /// Prints the page as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    trials: Trials,
    #[command(flatten)]
    common: Common,
}

impl HindcastArguments {
    /// Runs the command.
    ///
    /// # Errors
    /// When it cannot run; then nothing was written.
    pub fn run(&self) -> Result<Outcome, Error> {
        let mut progress = Progress::new(self.common.quiet);
        let folder = Folder::begin(&self.out, self.overwrite)?;
        progress.step("reading", &self.programme.display().to_string());
        let job = read_job(&self.programme, &self.common, &self.trials)?;
        self.check(&job)?;
        let poles = counted(job.inventory.len(), "pole", "poles");
        let years = counted(self.as_of.len(), "year", "years");
        progress.step("looking back", &format!("on {poles} from {years}"));
        let back = self.look_back(&job)?;
        progress.step("writing", &self.out.display().to_string());
        let files = self.write(folder, &job, &back, &mut progress)?;
        progress.end();
        self.tell(&job, &back, &files)?;
        Ok(Outcome::Done)
    }

    /// Refuses a question that no list can answer.
    fn check(&self, job: &Job) -> Result<(), Error> {
        let plan_from = job.programme.plan_from;
        let latest = self.as_of.iter().copied().max().unwrap_or(i16::MAX);
        let what = if latest > plan_from.year()
            || latest == plan_from.year() && plan_from.day_of_year() == 1
        {
            format!(
                "--as-of {latest} does not lie before plan_from = {plan_from}: nothing later is read"
            )
        } else if job.inventory.is_empty() {
            "no pole is left to look back on".to_owned()
        } else {
            return Ok(());
        };
        Err(Error::Argument {
            what,
            help: "choose earlier years; `polewright check` lists what was read".to_owned(),
        })
    }

    fn look_back(&self, job: &Job) -> Result<Hindcast, Error> {
        let question = Question {
            as_of: self.as_of.clone(),
            window_years: self.window_years,
            holds: if self.removed_listed {
                Holds::Removed
            } else {
                Holds::Survivors
            },
        };
        self.common
            .on_threads(|| hindcast(&job.inventory, &job.models, &job.programme, &question))
    }

    fn write(
        &self,
        mut folder: Folder,
        job: &Job,
        back: &Hindcast,
        progress: &mut Progress,
    ) -> Result<Vec<String>, Error> {
        let mut described: Vec<(String, Vec<ColumnInfo>)> = Vec::new();
        for sheet in &tables::hindcast(back) {
            folder.write_csv(sheet)?;
            described.push((format!("{}.csv", sheet.name), sheet.columns.clone()));
        }
        folder.write_csv(&columns(&described))?;
        for (name, chart) in [
            ("reliability.svg", charts::reliability(back)),
            ("lift.svg", charts::lift(back)),
        ] {
            folder.write(name, |out| out.write_all(chart.as_bytes()))?;
        }
        let record = self.record(job, back, folder.files(), progress);
        folder.finish(&format!("{record:#}\n"))
    }

    fn record(
        &self,
        job: &Job,
        back: &Hindcast,
        files: &[String],
        progress: &mut Progress,
    ) -> Value {
        let (program, version) = Record::program();
        json!({
            "program": program,
            "version": version,
            "command": "hindcast",
            "title": job.programme.title,
            "plan_from": job.programme.plan_from.to_string(),
            "as_of": self.as_of,
            "window_years": self.window_years,
            "removed_listed": self.removed_listed,
            "said": words::said(back),
            "verdict": words::verdict(back),
            "cautions": words::cautions(back),
            "bins": back.scores.iter().flat_map(|scores| &scores.bins).collect::<Vec<_>>(),
            "seed": job.programme.seed,
            "trials": job.programme.trials,
            "digests": job.digests,
            "set": self.common.set,
            "seconds": progress.seconds(),
            "files": files,
            "caution": Caution::Estimate.text(),
        })
    }

    fn tell(&self, job: &Job, back: &Hindcast, files: &[String]) -> Result<(), Error> {
        let folder = self.out.display().to_string();
        let title = &job.programme.title;
        if self.json {
            let page = as_json(title, back, &folder, files);
            show(&format!("{page:#}\n"))
        } else if self.common.quiet {
            Ok(())
        } else {
            show(&words::page(title, back, &folder, files))
        }
    }
}

fn as_json(title: &str, back: &Hindcast, folder: &str, files: &[String]) -> Value {
    let year = |year: &AsOf| {
        json!({
            "as_of": year.year,
            "until": year.until.to_string(),
            "poles": year.counts,
            "age_curve": year.age_curve,
            "scores": year.scores,
        })
    };
    json!({
        "title": title,
        "list_holds": back.holds,
        "years": back.years.iter().map(year).collect::<Vec<_>>(),
        "together": back.scores,
        "age_curve_with_hindsight": back.hindsight_curve,
        "verdict": words::verdict(back),
        "cautions": words::cautions(back),
        "folder": folder,
        "files": files,
        "caution": Caution::Estimate.text(),
    })
}
