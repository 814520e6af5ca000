//! `polewright plan`: read, plan, write the folder, say in one screen what it holds.

use super::job::{Common, Job, Trials, read_job};
use super::progress::Progress;
use super::{Outcome, public, show};
use crate::Error;
use crate::io::folder::{Folder, write_csv};
use crate::io::look_back::read_look_back;
use crate::io::record::{Record, Run};
use crate::io::workbook::{self, Page};
use crate::io::{layers, parquet};
use crate::plan::{PARTS, Plan, plan_watched};
use crate::pole::PoleIndex;
use crate::programme::Programme;
use crate::report::{LookedBack, Provenance, Report, field_sheet, page, replacements};
use crate::score::compliance::{Line, compliance};
use crate::score::crosscheck::crosscheck;
use crate::score::funding::funding;
use crate::score::practice::{Row, practice};
use crate::score::previous::{Change, changes as moved};
use crate::score::progress::{self, Key};
use crate::sensitivity::{Sensitivity, sensitivity};
use crate::tables::columns::columns;
use crate::tables::{
    ColumnInfo, Sheet, budget, calibration, changes, compliance as duties, field, notes, orders,
    packages, practice as practices, problems, progress as progress_since, quantities, schedule,
    sensitivity as sensitivities,
};
use crate::words::compliance::cycles;
use crate::words::overview::{Overview, overview};
use crate::words::previous::since;
use crate::words::quantities::counted;
use crate::words::sheets::{ASSUMPTIONS, CAUTIONS, NEAR_ROWS, ORDERS, PACKAGES, QUANTITIES};
use crate::words::{Case, Caution, Checks, screen, sensitivity as moves};
use clap::Args;
use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::PathBuf;
use std::sync::Arc;

/// Plans inspections and replacements: reads, estimates the condition of every pole, schedules and forecasts
#[expect(
    clippy::struct_excessive_bools,
    reason = "flags of a command line are yes or no"
)]
#[derive(Debug, Args)]
#[command(after_help = "Example:
  polewright plan data-demo/programme.toml --out plan --trials 200

Writes schedule.csv, schedule.xlsx, packages.csv, field/*.csv and *.html, quantities.csv, orders.csv,
calibration.csv, practice.csv, compliance.csv, budget.csv, sensitivity.csv on request, changes.csv and progress.csv where the programme names an earlier plan,
data_problems.csv, columns.csv, poles.geojson, poles.sld, packages.geojson, report.html (the page to open) and run.json.")]
pub struct PlanArguments {
    /// The programme: decisions, and where the lists are
    programme: PathBuf,
    /// Folder to write; it must not exist yet, or be empty
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Replaces the folder when an earlier run wrote it
    #[arg(long)]
    overwrite: bool,
    /// Writes Parquet copies of the schedule and the quantities too
    #[arg(long)]
    parquet: bool,
    /// Writes the poles as a layer of another form too
    #[arg(long, value_name = "FORM")]
    layer: Option<LayerForm>,
    /// Writes totals and coarse squares of the map only, for everybody: no pole, line, contractor, person or exact place
    #[arg(long, conflicts_with_all = ["parquet", "layer", "prepared_by", "sensitivity"])]
    public: bool,
    /// Writes sensitivity.csv too: which assumptions move the plan most over their ranges; takes some twenty plans' time
    #[arg(long)]
    sensitivity: bool,
    /// Shows in the report what an earlier `polewright hindcast` of the same lists found: the folder that it wrote
    #[arg(long, value_name = "DIR", conflicts_with = "public")]
    hindcast: Option<PathBuf>,
    /// Ends with exit code 1 when the data have errors
    #[arg(long)]
    strict: bool,
    /// Prints the page as JSON
    #[arg(long)]
    json: bool,
    /// Who makes the plan, for run.json
    #[arg(long, value_name = "NAME")]
    prepared_by: Option<String>,
    #[command(flatten)]
    trials: Trials,
    #[command(flatten)]
    common: Common,
}

/// Forms of layers beside that of RFC 7946.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum LayerForm {
    /// `poles.parquet` with a column `geometry`, after the OGC standard 1.1.0
    Geoparquet,
}

impl PlanArguments {
    /// Runs the command.
    ///
    /// # Errors
    /// When it cannot run; then nothing was written.
    pub fn run(&self) -> Result<Outcome, Error> {
        let mut progress = Progress::new(self.common.quiet);
        let folder = Folder::begin(&self.out, self.overwrite)?;
        progress.step("reading", &self.programme.display().to_string());
        let mut job = read_job(&self.programme, &self.common, &self.trials)?;
        let looked_back = (self.hindcast.as_deref())
            .map(|folder| read_look_back(folder, &job.digests))
            .transpose()?;
        let watch = Arc::default();
        progress.watched(
            "planning",
            &format!(
                "{}, {}",
                counted(job.inventory.len(), "pole", "poles"),
                counted(job.programme.trials as usize, "trial", "trials")
            ),
            &PARTS,
            &watch,
        );
        let plan = self
            .common
            .on_threads(|| plan_watched(&job.inventory, &job.models, &job.programme, &watch))??;
        let refused = plan.schedule.decisions.problems(&job.inventory);
        job.problems.list.extend(refused);
        job.problems.sort();
        progress.step("checking", "the plan's numbers against each other");
        let (checks, found) = self.common.on_threads(|| checks(&job, &plan))?;
        let sensitivity = self.sensitivity(&job, &mut progress)?;
        progress.step("writing", &self.out.display().to_string());
        let mut seen = overview(
            &job.inventory,
            &job.problems,
            &job.models,
            &job.programme,
            &plan,
        );
        seen.checks = Some(checks);
        let duties = self
            .common
            .on_threads(|| compliance(&job.inventory, &job.programme, &plan.schedule))?;
        seen.cycles = cycles(&job.programme, &duties);
        let followed = followed(&job, &plan);
        seen.since_previous = (job.previous.as_ref())
            .zip(followed.as_ref())
            .map(|(previous, own)| since(previous, &own.changes, &own.progress));
        let made = Made {
            plan: &plan,
            seen: &seen,
            practice: &found,
            duties: &duties,
            followed: followed.as_ref(),
            sensitivity: sensitivity.as_ref(),
            looked_back: looked_back.as_ref(),
        };
        let files = self.write(folder, &job, &made, &mut progress)?;
        progress.end();
        self.tell(&job.programme, &made, &files)?;
        Ok(if self.strict && job.problems.has_errors() {
            Outcome::DataErrors
        } else {
            Outcome::Done
        })
    }

    /// What moves the plan, when it was asked for.
    fn sensitivity(
        &self,
        job: &Job,
        progress: &mut Progress,
    ) -> Result<Option<Sensitivity>, Error> {
        if !self.sensitivity {
            return Ok(None);
        }
        progress.step("varying", "one assumption after the other");
        let found = || sensitivity(&job.inventory, &job.models, &job.programme);
        self.common.on_threads(found)?.map(Some)
    }

    fn write(
        &self,
        mut folder: Folder,
        job: &Job,
        made: &Made<'_>,
        progress: &mut Progress,
    ) -> Result<Vec<String>, Error> {
        let fleet = Case {
            inventory: &job.inventory,
            models: &job.models,
            programme: &job.programme,
            plan: made.plan,
            pole: PoleIndex(0),
        };
        if self.public {
            public::write(&mut folder, fleet, made.seen)?;
            let record = self.record(job, made.seen, folder.files(), progress);
            return folder.finish(&record.for_everybody().text());
        }
        let schedule = schedule::schedule(fleet);
        let quantities = quantities::quantities(fleet);
        let orders = orders::orders(fleet);
        let calibration = calibration::calibration(fleet);
        let packages = packages::packages(fleet);
        let practice = practices::practice(&job.inventory, made.practice);
        let duties = duties::compliance(fleet, made.duties);
        let funding = funding(&job.inventory, &job.programme, &made.plan.schedule);
        let budget = budget::budget(fleet, &funding);
        let problems = problems::problems(&job.problems);
        let mut described: Vec<(String, Vec<ColumnInfo>)> = Vec::new();
        for sheet in [
            &schedule,
            &packages,
            &quantities,
            &orders,
            &calibration,
            &practice,
            &duties,
            &budget,
            &problems,
        ] {
            folder.write_csv(sheet)?;
            described.push((format!("{}.csv", sheet.name), sheet.columns.clone()));
        }
        if let Some(followed) = made.followed {
            for sheet in [
                changes::changes(&followed.changes),
                progress_since::progress(&followed.progress),
            ] {
                folder.write_csv(&sheet)?;
                described.push((format!("{}.csv", sheet.name), sheet.columns));
            }
        }
        if let Some(moved) = made.sensitivity {
            let sheet = sensitivities::sensitivity(fleet.programme, moved);
            folder.write_csv(&sheet)?;
            described.push((format!("{}.csv", sheet.name), sheet.columns));
        }
        for (number, package) in packages::of_the_first_year(fleet) {
            let sheet = field::field(fleet, package);
            let name = format!("field/{}", field::file_name(number, package));
            folder.write(&name, |out| write_csv(&sheet, out))?;
        }
        write_pages_for_the_field(&mut folder, fleet)?;
        described.push(("field/PACKAGE.csv".to_owned(), field::described(fleet)));
        described.extend(write_layers(&mut folder, fleet, &schedule)?);
        write_workbook(&mut folder, fleet, &packages, &quantities, &orders)?;
        for sheet in [notes::assumptions(fleet.programme), notes::cautions()] {
            described.push((format!("schedule.xlsx, {}", sheet.name), sheet.columns));
        }
        if self.layer == Some(LayerForm::Geoparquet) {
            let (sheet, places) = layers::poles::points(schedule::schedule(fleet));
            folder.write("poles.parquet", |out| {
                parquet::write_points(&sheet, &places, out)
            })?;
            described.push(("poles.parquet".to_owned(), sheet.columns));
        }
        if self.parquet {
            for sheet in [&schedule, &quantities] {
                described.push(write_parquet(&mut folder, sheet)?);
            }
        }
        folder.write_csv(&columns(&described))?;
        let report = Report {
            fleet,
            problems: &job.problems,
            overview: made.seen,
            duties: made.duties,
            looked_back: made.looked_back,
            provenance: &self.provenance(job),
        };
        let report = self.common.on_threads(|| page(&report))?;
        folder.write("report.html", |out| out.write_all(report.as_bytes()))?;
        let record = self.record(job, made.seen, folder.files(), progress);
        folder.finish(&record.text())
    }

    fn provenance(&self, job: &Job) -> Provenance {
        Provenance {
            program: Record::program(),
            prepared_by: self.prepared_by.clone(),
            digests: job.digests.clone(),
            set: self.common.set.clone(),
        }
    }

    fn record(
        &self,
        job: &Job,
        seen: &Overview,
        files: &[String],
        progress: &mut Progress,
    ) -> Record {
        Record::of(
            seen,
            Run {
                prepared_by: self.prepared_by.clone(),
                digests: job.digests.clone(),
                set: self.common.set.clone(),
                decision_rows: job.inventory.decision_rows.into(),
                seconds: progress.seconds(),
                files: files.to_vec(),
            },
        )
    }

    fn tell(&self, programme: &Programme, made: &Made<'_>, files: &[String]) -> Result<(), Error> {
        let seen = made.seen;
        let folder = self.out.display().to_string();
        if self.json {
            let page = serde_json::json!({ "overview": seen, "folder": folder, "files": files });
            show(&format!("{page:#}\n"))
        } else if self.common.quiet {
            show(&screen::danger_only(seen))
        } else {
            show(&screen::page(seen, &folder, files))?;
            if self.public {
                return show(screen::PAGE_OF_A_PUBLIC_FOLDER);
            }
            show(&match made.sensitivity {
                Some(moved) => moves::page(programme, moved),
                None => moves::HOW_TO_GET_IT.to_owned(),
            })
        }
    }
}

/// What a run made.
struct Made<'a> {
    plan: &'a Plan,
    seen: &'a Overview,
    practice: &'a [Row],
    duties: &'a [Line],
    followed: Option<&'a Followed>,
    sensitivity: Option<&'a Sensitivity>,
    looked_back: Option<&'a LookedBack>,
}

/// The plan's numbers held against each other, and what inspections found against what they should.
fn checks(job: &Job, plan: &Plan) -> (Checks, Vec<Row>) {
    let found = practice(&job.inventory, &job.programme, &plan.beliefs);
    let numbers = crosscheck(&job.inventory, &job.models, &job.programme, plan);
    let horizon = job.programme.horizon_years;
    (Checks::new(numbers, horizon, &job.inventory, &found), found)
}

/// What moved since an earlier plan, and what became of its work.
struct Followed {
    changes: Vec<Change>,
    progress: BTreeMap<Key, progress::Progress>,
}

/// The plan held to the earlier one that the programme names.
fn followed(job: &Job, plan: &Plan) -> Option<Followed> {
    let previous = job.previous.as_ref()?;
    let fleet = Case {
        inventory: &job.inventory,
        models: &job.models,
        programme: &job.programme,
        plan,
        pole: PoleIndex(0),
    };
    let now = changes::rows_of(&schedule::schedule(fleet));
    let (_, version) = Record::program();
    Some(Followed {
        changes: moved(previous, &now, version, job.programme.plan_from),
        progress: progress::progress(&job.inventory, &job.programme, previous),
    })
}

/// The layers and the style that draws them.
fn write_layers(
    folder: &mut Folder,
    fleet: Case<'_>,
    schedule: &Sheet<'_>,
) -> Result<Vec<(String, Vec<ColumnInfo>)>, Error> {
    let (poles, packages) = ("poles.geojson", "packages.geojson");
    folder.write(poles, |out| {
        layers::poles::write_poles(schedule, out).map(drop)
    })?;
    folder.write("poles.sld", |out| {
        out.write_all(layers::style::poles_style(fleet.calendar_year(0)).as_bytes())
    })?;
    folder.write(packages, |out| {
        layers::packages::write_packages(fleet, out).map(drop)
    })?;
    Ok(vec![
        (poles.to_owned(), layers::poles::properties(schedule)),
        (packages.to_owned(), layers::packages::properties(fleet)),
    ])
}

/// What goes out to the poles on paper or a phone: each round of the first year, and the poles to be replaced in it.
fn write_pages_for_the_field(folder: &mut Folder, fleet: Case<'_>) -> Result<(), Error> {
    for (number, package) in packages::of_the_first_year(fleet) {
        let sheet = field_sheet(fleet, number, package);
        let name = format!("field/{}", field::page_name(number, package));
        folder.write(&name, |out| out.write_all(sheet.as_bytes()))?;
    }
    if let Some(sheet) = replacements(fleet) {
        let name = format!("field/replacements-{}.html", fleet.calendar_year(0));
        folder.write(&name, |out| out.write_all(sheet.as_bytes()))?;
    }
    Ok(())
}

/// `schedule.xlsx`: what a planner works with.
fn write_workbook(
    folder: &mut Folder,
    fleet: Case<'_>,
    packages: &Sheet<'_>,
    quantities: &Sheet<'_>,
    orders: &Sheet<'_>,
) -> Result<(), Error> {
    let near = schedule::near(fleet);
    let assumptions = notes::assumptions(fleet.programme);
    let cautions = notes::cautions();
    let page = |sheet, note, fixed| Page { note, fixed, sheet };
    let pages = [
        page(&near, NEAR_ROWS, 2),
        page(packages, PACKAGES, 2),
        page(quantities, QUANTITIES, 1),
        page(orders, ORDERS, 1),
        page(&assumptions, ASSUMPTIONS, 1),
        page(&cautions, CAUTIONS, 0),
    ];
    let programme = fleet.programme;
    let caution = Caution::Estimate.text();
    folder.write("schedule.xlsx", |out| {
        workbook::write(&pages, &programme.title, caution, programme.plan_from, out)
    })
}

fn write_parquet(
    folder: &mut Folder,
    sheet: &Sheet<'_>,
) -> Result<(String, Vec<ColumnInfo>), Error> {
    let name = format!("{}.parquet", sheet.name);
    folder.write(&name, |out| parquet::write(sheet, out))?;
    Ok((name, sheet.columns.clone()))
}
