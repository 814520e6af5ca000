//! `polewright explain`: why one pole stands where it stands in the plan.

use super::job::{Common, Job, Trials, read_job};
use super::progress::Progress;
use super::{Outcome, show};
use crate::Error;
use crate::explain::{Explanation, Known, explain};
use crate::plan::plan;
use crate::pole::PoleIndex;
use crate::tables::length_unit;
use crate::words::explain::{Section, page, sections};
use crate::words::{Case, Caution, caution_of};
use clap::Args;
use serde_json::{Value, json};
use std::path::PathBuf;

/// Says why one pole stands where it stands: records, rules, curve, what each inspection changed, value of a visit
#[derive(Debug, Args)]
#[command(after_help = "Example:
  polewright explain data-demo/programme.toml --pole HV-031.004

Makes the same plan as `polewright plan` with the same flags, and writes nothing.")]
pub struct ExplainArguments {
    /// The programme: decisions, and where the lists are
    programme: PathBuf,
    /// The pole's id, as it stands in the list
    #[arg(long, value_name = "ID")]
    pole: String,
    /// Prints the explanation as JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    trials: Trials,
    #[command(flatten)]
    common: Common,
}

impl ExplainArguments {
    /// Runs the command.
    ///
    /// # Errors
    /// When it cannot run, or the pole is not in the plan.
    pub fn run(&self) -> Result<Outcome, Error> {
        let mut progress = Progress::new(self.common.quiet);
        progress.step("reading", &self.programme.display().to_string());
        let job = read_job(&self.programme, &self.common, &self.trials)?;
        let pole = self.find(&job)?;
        progress.step("planning", "the whole fleet, as `polewright plan` does");
        let plan = self
            .common
            .on_threads(|| plan(&job.inventory, &job.models, &job.programme))??;
        progress.end();
        let explanation = explain(&job.inventory, &job.models, &job.programme, &plan, pole);
        let case = Case {
            inventory: &job.inventory,
            models: &job.models,
            programme: &job.programme,
            plan: &plan,
            pole,
        };
        let unit = length_unit(&job.programme.sources);
        let told = sections(&case, &explanation, &job.problems, unit);
        if self.json {
            show(&format!("{:#}\n", as_json(&case, &explanation, &told)))?;
        } else {
            show(&page(&case, &told))?;
        }
        Ok(Outcome::Done)
    }

    fn find(&self, job: &Job) -> Result<PoleIndex, Error> {
        job.inventory
            .find(self.pole.trim())
            .ok_or_else(|| Error::Argument {
                what: format!("there is no pole '{}' in the plan", self.pole),
                help: format!(
                    "ids are in the column pole_id of schedule.csv{}; rows out of scope or set aside have no place in a plan, `polewright check` lists them",
                    alike(job, self.pole.trim())
                ),
            })
    }
}

/// Up to three ids that contain what was asked for, upper and lower case alike.
fn alike(job: &Job, wanted: &str) -> String {
    let wanted = wanted.to_lowercase();
    let ids = job.inventory.indices().map(|pole| job.inventory.id(pole));
    let alike: Vec<&str> = ids
        .filter(|id| !wanted.is_empty() && id.to_lowercase().contains(&wanted))
        .take(3)
        .collect();
    if alike.is_empty() {
        String::new()
    } else {
        format!(", such as {}", alike.join(", "))
    }
}

fn as_json(case: &Case<'_>, explanation: &Explanation, told: &[Section]) -> Value {
    let step = |step: &crate::explain::Step| {
        let known = match step.known {
            Known::Published => "published".to_owned(),
            Known::Fleet => "fleet".to_owned(),
            Known::Until(day) => day.to_string(),
        };
        json!({ "known": known, "p_below_limit_now": step.below_limit })
    };
    let condition = case.condition();
    json!({
        "pole": case.id(),
        "title": case.programme.title,
        "plan_from": case.programme.plan_from.to_string(),
        "steps": explanation.steps.iter().map(step).collect::<Vec<_>>(),
        "p_below_limit": condition.below_limit,
        "p_failure_1y": condition.failure_within_a_year,
        "visited_in_any_case_in": case.calendar_year(explanation.due_year),
        "value_of_visit": explanation
            .value
            .iter()
            .map(|(part, value)| (part.word().to_owned(), json!(value.by_year)))
            .collect::<serde_json::Map<_, _>>(),
        "sections": told
            .iter()
            .map(|section| json!({ "title": section.title, "lines": section.lines }))
            .collect::<Vec<_>>(),
        "caution": [caution_of(case), Caution::Estimate.text().to_owned()],
    })
}
