//! `polewright compare`: read, let every policy live through the same trials, write the folder, say what they come to.

use super::job::{Common, Job, Trials, read_job};
use super::progress::Progress;
use super::{Outcome, show};
use crate::Error;
use crate::compare::ready::{OWN, ready_made};
use crate::compare::{Comparison, Course, Measure, Setting, compared};
use crate::io::folder::Folder;
use crate::io::record::Record;
use crate::programme::Alternative;
use crate::tables::columns::columns;
use crate::tables::{ColumnInfo, compare as tables, problems};
use crate::words::quantities::counted;
use crate::words::{Caution, compare as words};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;

/// Compares policies on the same draws: the programme's own with its alternatives, or with ready-made ones
#[derive(Debug, Args)]
#[command(after_help = "Example:
  polewright compare data-demo/programme.toml --out compare --trials 200

Alternatives are [[alternatives]] of the programme: a name and what each does otherwise (README). Where there are none, the
cycle is halved and stretched, treatment left out, poles are replaced by age or on failure alone, visited in other turns by
the same crews, and with 80 and 120 % of the money.

Writes compare.csv (policy by year), compare_totals.csv (over the horizon, and against the programme as it is),
data_problems.csv, columns.csv and run.json.")]
pub struct CompareArguments {
    /// The programme: decisions, and where the lists are
    programme: PathBuf,
    /// Folder to write; it must not exist yet, or be empty
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Replaces the folder when an earlier run wrote it
    #[arg(long)]
    overwrite: bool,
    /// Compares the ready-made alternatives beside the programme's own ones
    #[arg(long)]
    ready_made: bool,
    /// Prints the page as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    trials: Trials,
    #[command(flatten)]
    common: Common,
}

impl CompareArguments {
    /// Runs the command.
    ///
    /// # Errors
    /// When it cannot run; then nothing was written.
    pub fn run(&self) -> Result<Outcome, Error> {
        let mut progress = Progress::new(self.common.quiet);
        let folder = Folder::begin(&self.out, self.overwrite)?;
        progress.step("reading", &self.programme.display().to_string());
        let job = read_job(&self.programme, &self.common, &self.trials)?;
        let all = self.compare(&job, &mut progress)?;
        progress.step("writing", &self.out.display().to_string());
        let files = self.write(folder, &job, &all, &mut progress)?;
        progress.end();
        self.tell(&job, &all, &files)?;
        Ok(Outcome::Done)
    }

    fn compare(&self, job: &Job, progress: &mut Progress) -> Result<Comparison, Error> {
        let poles = counted(job.inventory.len(), "pole", "poles");
        progress.step("estimating", &format!("the condition of {poles}"));
        let setting = self
            .common
            .on_threads(|| Setting::new(&job.inventory, &job.models, &job.programme))??;
        let mut live = |alternative: &Alternative| -> Result<Course, Error> {
            progress.step("comparing", &format!("\"{}\"", alternative.name));
            self.common.on_threads(|| setting.course(alternative))?
        };
        let own = live(&Alternative::unchanged(OWN))?;
        let mut alternatives = job.programme.alternatives.clone();
        if alternatives.is_empty() || self.ready_made {
            alternatives.extend(ready_made(&job.programme, setting.beliefs(), &own));
        }
        let mut courses = vec![own];
        for alternative in &alternatives {
            courses.push(live(alternative)?);
        }
        Ok(compared(courses, job.programme.trials))
    }

    fn write(
        &self,
        mut folder: Folder,
        job: &Job,
        all: &Comparison,
        progress: &mut Progress,
    ) -> Result<Vec<String>, Error> {
        let mut described: Vec<(String, Vec<ColumnInfo>)> = Vec::new();
        for sheet in [
            tables::by_year(&job.programme, all),
            tables::totals(&job.programme, all),
            problems::problems(&job.problems),
        ] {
            folder.write_csv(&sheet)?;
            described.push((format!("{}.csv", sheet.name), sheet.columns.clone()));
        }
        folder.write_csv(&columns(&described))?;
        let record = self.record(job, all, folder.files(), progress);
        folder.finish(&format!("{record:#}\n"))
    }

    fn record(
        &self,
        job: &Job,
        all: &Comparison,
        files: &[String],
        progress: &mut Progress,
    ) -> Value {
        let (program, version) = Record::program();
        let policies = all.policies.iter();
        json!({
            "program": program,
            "version": version,
            "command": "compare",
            "title": job.programme.title,
            "plan_from": job.programme.plan_from.to_string(),
            "policies": policies.map(|own| own.course.alternative.name.as_str()).collect::<Vec<_>>(),
            "seed": job.programme.seed,
            "trials": job.programme.trials,
            "digests": job.digests,
            "set": self.common.set,
            "poles": job.inventory.len(),
            "problems": job.problems.list.len(),
            "seconds": progress.seconds(),
            "files": files,
            "caution": Caution::Estimate.text(),
        })
    }

    fn tell(&self, job: &Job, all: &Comparison, files: &[String]) -> Result<(), Error> {
        let folder = self.out.display().to_string();
        if self.json {
            let page = as_json(job, all, &folder, files);
            show(&format!("{page:#}\n"))
        } else if self.common.quiet {
            Ok(())
        } else {
            show(&words::page(&job.programme, all, &folder, files))
        }
    }
}

fn as_json(job: &Job, all: &Comparison, folder: &str, files: &[String]) -> Value {
    let has_money = job.programme.costs.currency.is_some();
    let is_money = |measure: Measure| measure.word().starts_with("cost");
    let policies = all.policies.iter().map(|own| {
        let told = own.differences.iter();
        let told = told.filter(|own| has_money || !is_money(own.measure));
        let kinds = told.map(|own| {
            json!({
                "kind": own.measure.word(),
                "mean": own.own.mean,
                "difference_mean": own.than_programme.mean,
                "difference_standard_error": own.than_programme.standard_error,
                "difference_p10": own.than_programme.p10,
                "difference_p90": own.than_programme.p90,
                "chance_lower": own.lower,
            })
        });
        json!({
            "policy": own.course.alternative.name,
            "kinds": kinds.collect::<Vec<_>>(),
            "visits_moved": own.visits_moved,
            "laws_not_kept": own.course.laws_not_kept,
        })
    });
    json!({
        "title": job.programme.title,
        "trials": all.trials,
        "policies": policies.collect::<Vec<_>>(),
        "sentences": words::sentences(&job.programme, all),
        "folder": folder,
        "files": files,
        "caution": Caution::Estimate.text(),
    })
}
