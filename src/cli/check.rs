//! `polewright check`: reads everything, lists every problem, computes nothing.

use super::check_lists::{checked, is_programme};
use crate::Error;
use crate::cli::job::{Common, Job, Trials, read_job};
use crate::inventory::{CountedRows, Inventory, RowCount, Target};
use crate::plan::nothing_to_plan;
use crate::pole::{DecisionKind, Pole, Vocabulary};
use crate::problem::{Code, Problems, Severity};
use crate::programme::Programme;
use crate::schedule::decide;
use crate::schedule::due::{dangers, hidden_dangers};
use crate::words::cautions::Caution;
use crate::words::quantities::counted;
use crate::words::records::on_trust;
use crate::words::screen::hidden_danger;
use serde_json::{Value, json};
use std::io::Write;
use std::path::PathBuf;

/// At most this many problems of a kind are listed; the others are counted.
const LISTED_OF_A_KIND: usize = 10;

/// Reads everything that a programme names and lists every problem; computes nothing. On bare lists it guesses columns,
/// units, forms and codes, and writes a commented programme to start from.
///
/// Example: `polewright check programme.toml`, or to begin with: `polewright check poles.csv inspections.csv`
#[derive(Debug, Clone, Default, clap::Args)]
pub struct CheckArgs {
    /// A programme (TOML), or bare lists of poles and inspections.
    #[arg(
        required_unless_present = "explain",
        value_name = "PROGRAMME | LIST..."
    )]
    pub inputs: Vec<PathBuf>,
    /// Where the programme guessed from bare lists goes; by default `LIST-programme.toml`, here.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace that file if it is there.
    #[arg(long)]
    pub overwrite: bool,
    /// Explain a problem code, for example P303.
    #[arg(long, value_name = "CODE")]
    pub explain: Option<String>,
    /// Flags of every command on a programme.
    #[command(flatten)]
    pub common: Common,
    /// Write JSON instead of text, with every problem.
    #[arg(long)]
    pub json: bool,
}

/// Runs the command and returns the exit status: 1 when the data have errors, else 0.
///
/// # Errors
/// When the programme or a file cannot be used, and when `out` cannot be written to.
pub fn run(args: &CheckArgs, out: &mut dyn Write) -> Result<u8, Error> {
    let (text, status) = if let Some(name) = &args.explain {
        (explain(name)?, 0)
    } else if !args.inputs.iter().any(|path| is_programme(path)) {
        checked(
            args,
            jiff::tz::TimeZone::UTC
                .to_datetime(jiff::Timestamp::now())
                .date(),
        )?
    } else if args.inputs.len() > 1 {
        return Err(Error::Programme {
            path: PathBuf::from("check"),
            what: "a programme stands beside other files".to_owned(),
            help: "give one programme, or only lists: a programme names its own".to_owned(),
        });
    } else {
        of_programme(args)?
    };
    match out.write_all(text.as_bytes()) {
        // Whoever reads has seen enough.
        Err(cause) if cause.kind() == std::io::ErrorKind::BrokenPipe => Ok(status),
        Err(cause) => Err(Error::File {
            path: PathBuf::from("standard output"),
            cause,
        }),
        Ok(()) => Ok(status),
    }
}

/// What there is to say of a programme and everything that it names, and whether the data have errors.
fn of_programme(args: &CheckArgs) -> Result<(String, u8), Error> {
    let common = &args.common;
    let job = common.on_threads(|| {
        let mut job = read_job(&args.inputs[0], common, &Trials::default())?;
        let decisions = decide(&job.inventory, &job.programme);
        job.problems.list.extend(decisions.problems(&job.inventory));
        job.problems.sort();
        Ok::<_, Error>(job)
    })??;
    let Job {
        programme,
        inventory,
        problems,
        ..
    } = &job;
    let text = if args.json {
        format!("{:#}\n", as_json(inventory, problems, programme))
    } else if args.common.quiet {
        danger_lines(inventory, problems, programme).join("\n")
    } else {
        as_text(inventory, problems, programme)
    };
    Ok((text, status(inventory, problems)))
}

/// 1 where the data have errors, or no pole that could be planned for.
pub(super) fn status(inventory: &Inventory, problems: &Problems) -> u8 {
    u8::from(problems.has_errors() || inventory.is_empty())
}

fn explain(name: &str) -> Result<String, Error> {
    let code = Code::from_name(name).ok_or_else(|| Error::Programme {
        path: PathBuf::from("check --explain"),
        what: format!("there is no code {name}"),
        help: format!(
            "codes: {}",
            Code::ALL.map(|code| code.to_string()).join(", ")
        ),
    })?;
    let info = code.info();
    Ok(format!(
        "{}[{}]: {}\n\n{}\n\nHelp: {}\n",
        info.severity.word(),
        info.name,
        info.title,
        info.explanation,
        info.help
    ))
}

/// What `check` prints: danger records first, then problems, rows and assumptions.
pub(super) fn as_text(inventory: &Inventory, problems: &Problems, programme: &Programme) -> String {
    let mut lines = danger_lines(inventory, problems, programme);
    let on_trust = on_trust(inventory, programme);
    if !on_trust.is_empty() {
        lines.extend(on_trust);
        lines.push(String::new());
    }
    let mut counts = problems.by_code();
    counts.sort_by_key(|(code, _)| (std::cmp::Reverse(code.severity()), *code));
    for (code, count) in counts {
        let of_kind = problems.list.iter().filter(|problem| problem.code == code);
        lines.extend(
            of_kind
                .take(LISTED_OF_A_KIND)
                .map(|problem| problems.show(problem).to_string()),
        );
        if count > LISTED_OF_A_KIND {
            let more = count - LISTED_OF_A_KIND;
            lines.push(format!("... and {more} more of {code}"));
        }
    }
    if !problems.list.is_empty() {
        lines.push(String::new());
    }
    lines.push(rows_line("poles", inventory.pole_rows));
    if inventory.counted.rows > 0 {
        let CountedRows { rows, poles } = inventory.counted;
        lines.push(format!(
            "  of these {rows} with a count, which stand for {poles} poles"
        ));
    }
    lines.push(rows_line("inspections", inventory.inspection_rows));
    let last = inventory.last_inspections;
    if last.read > 0 {
        lines.push(format!(
            "last inspections on rows of poles: {} found = {} used + {} out of scope + {} set aside",
            last.read, last.used, last.out_of_scope, last.set_aside
        ));
    }
    for (what, rows) in [
        ("work done", inventory.work_rows),
        ("failures", inventory.failure_rows),
        ("decisions", inventory.decision_rows),
    ] {
        if rows.read > 0 {
            lines.push(rows_line(what, rows));
        }
    }
    if inventory.begun_by_work > 0 {
        lines.push(format!(
            "poles that only the work done knows: {}",
            inventory.begun_by_work
        ));
    }
    if !inventory.removed.is_empty() {
        lines.push(format!(
            "poles that are gone, with records kept apart: {}",
            inventory.removed.len()
        ));
        if programme.removals.listed.is_none() {
            lines.push(
                "  their findings teach nothing until removals.listed_since says since which year all that went are listed"
                    .to_owned(),
            );
        }
    }
    lines.extend(cleared(inventory));
    lines.push(not_known(inventory));
    let of = |severity| {
        let fits = |code: Code| code.severity() == severity;
        problems.list.iter().filter(|p| fits(p.code)).count()
    };
    lines.push(format!(
        "problems: {}, {}, {}; `polewright check --explain CODE` explains one",
        counted(of(Severity::Error), "error", "errors"),
        counted(of(Severity::Warning), "warning", "warnings"),
        counted(of(Severity::Note), "note", "notes")
    ));
    if !programme.assumed.is_empty() {
        lines.push("\nassumed until the programme sets them:".to_owned());
        let shown =
            |a: &crate::programme::Assumed| format!("  {} = {} ({})", a.key, a.value, a.mark);
        lines.extend(programme.assumed.iter().map(shown));
    }
    lines.push(format!("\n{}", Caution::Estimate.text()));
    lines.push(String::new());
    lines.join("\n")
}

/// Whose recorded verdicts named engineers cleared: they are on no list of dangers any more.
fn cleared(inventory: &Inventory) -> Option<String> {
    let clearings = inventory.decisions.iter().filter_map(|decision| {
        let Target::Pole(pole) = decision.target else {
            return None;
        };
        let by = decision
            .by
            .as_deref()
            .filter(|_| decision.kind == DecisionKind::Clear)?;
        Some(format!(
            "{} ({by}, {})",
            inventory.id(pole),
            decision
                .date
                .map_or_else(String::new, |date| date.to_string())
        ))
    });
    let all: Vec<String> = clearings.collect();
    let named = all
        .iter()
        .take(LISTED_OF_A_KIND)
        .cloned()
        .collect::<Vec<_>>();
    let more = all.len().saturating_sub(LISTED_OF_A_KIND);
    (!all.is_empty()).then(|| {
        format!(
            "cleared by a named engineer: {}{}",
            named.join(", "),
            if more > 0 {
                format!(" and {more} more")
            } else {
                String::new()
            }
        )
    })
}

/// How many poles lack what the plan goes by: an empty cell is no problem, but it widens every band.
fn not_known(inventory: &Inventory) -> String {
    if let Some(refusal) = nothing_to_plan(inventory) {
        return refusal.to_string();
    }
    let poles = inventory.poles();
    let lacking = |name: &str, lacks: &dyn Fn(&Pole) -> bool| {
        let count = poles.iter().filter(|pole| lacks(pole)).count();
        (count > 0).then(|| format!("{name} {count}"))
    };
    let list: Vec<String> = [
        lacking("set date", &|pole| pole.installed.is_none()),
        lacking("length", &|pole| pole.length.is_none()),
        lacking("class or top diameter", &|pole| {
            pole.class.is_none() && pole.top_diameter.is_none()
        }),
        lacking("species", &|pole| pole.species.is_none()),
        lacking("preservative", &|pole| pole.preservative.is_none()),
        lacking("place", &|pole| pole.place.is_none()),
    ]
    .into_iter()
    .flatten()
    .collect();
    if list.is_empty() {
        return "nothing that the plan goes by is missing".to_owned();
    }
    format!("poles of which it is not known: {}", list.join(", "))
}

/// Poles with an uncleared danger verdict: the first thing anyone must see.
pub fn danger_lines(
    inventory: &Inventory,
    problems: &Problems,
    programme: &Programme,
) -> Vec<String> {
    let dangers = dangers(inventory, programme);
    let hidden = hidden_dangers(inventory);
    let mut lines = Vec::new();
    if !dangers.is_empty() {
        lines.push(format!(
            "DANGER: {} judged dangerous. Act today by your own procedure, do not wait for a plan.",
            counted(dangers.len(), "pole is", "poles are")
        ));
    }
    lines.extend(dangers.iter().map(|(index, inspection)| {
        format!(
            "  {}: {}, {} ({} row {})",
            inventory.id(*index),
            inspection.date,
            inspection.method.word(),
            problems.file(inspection.source),
            inspection.source.row
        )
    }));
    if !hidden.is_empty() {
        lines.push(hidden_danger(hidden.len()));
    }
    lines.extend(
        hidden
            .iter()
            .map(|(pole, date)| format!("  {}: {date}", inventory.id(*pole))),
    );
    if !lines.is_empty() {
        lines.push(String::new());
    }
    lines
}

fn rows_line(name: &str, rows: RowCount) -> String {
    format!(
        "{name}: {} rows read = {} used + {} out of scope + {} set aside",
        rows.read, rows.used, rows.out_of_scope, rows.set_aside
    )
}

fn as_json(inventory: &Inventory, problems: &Problems, programme: &Programme) -> Value {
    let rows = |rows: RowCount| {
        json!({
            "read": rows.read, "used": rows.used,
            "out_of_scope": rows.out_of_scope, "set_aside": rows.set_aside,
        })
    };
    let danger = dangers(inventory, programme);
    let danger = danger.iter().map(|(index, inspection)| {
        json!({
            "pole_id": inventory.id(*index), "date": inspection.date.to_string(),
            "method": inspection.method.word(),
            "file": problems.file(inspection.source), "row": inspection.source.row,
        })
    });
    let list = problems.list.iter().map(|problem| {
        let cell = problem.cell.as_ref();
        json!({
            "code": problem.code.to_string(), "severity": problem.code.severity().word(),
            "file": problems.file(problem.source), "row": problem.source.row,
            "column": cell.map(|cell| &cell.column), "value": cell.map(|cell| &cell.raw),
            "pole_id": problem.pole, "what": problem.what, "done": problem.done,
            "help": problem.code.info().help,
        })
    });
    let assumed = programme
        .assumed
        .iter()
        .map(|a| json!({ "key": a.key, "value": a.value, "mark": a.mark }));
    json!({
        "danger": danger.collect::<Vec<_>>(),
        "problems": list.collect::<Vec<_>>(),
        "rows": {
            "poles": rows(inventory.pole_rows), "inspections": rows(inventory.inspection_rows),
            "last_inspections_on_pole_rows": rows(inventory.last_inspections),
            "work_done": rows(inventory.work_rows), "failures": rows(inventory.failure_rows),
            "decisions": rows(inventory.decision_rows),
            "with_a_count": { "rows": inventory.counted.rows, "poles": inventory.counted.poles },
        },
        "begun_by_work": inventory.begun_by_work,
        "removed_with_records": inventory.removed.len(),
        "assumed": assumed.collect::<Vec<_>>(),
        "on_trust": on_trust(inventory, programme),
        "nothing_to_plan": nothing_to_plan(inventory).map(|refusal| refusal.to_string()),
    })
}

#[cfg(test)]
mod tests {
    use super::{CheckArgs, Common, run};
    use std::path::Path;

    fn checked(case: &str, json: bool) -> (u8, String) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_inputs");
        let args = CheckArgs {
            inputs: vec![folder.join(case).join("programme.toml")],
            common: Common {
                set: vec!["title=Test".to_owned()],
                ..Common::default()
            },
            json,
            ..CheckArgs::default()
        };
        let mut out = Vec::new();
        let status = run(&args, &mut out).expect("a check");
        (status, String::from_utf8(out).expect("a text"))
    }

    #[test]
    fn errors_in_the_data_give_status_1_and_warnings_0() {
        let (status, text) = checked("P501", false);
        assert_eq!(status, 1);
        assert!(text.contains("poles: 2 rows read = 1 used + 0 out of scope + 1 set aside"));
        assert_eq!(checked("P202", false).0, 0);
        let (_, json) = checked("P501", true);
        let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
        assert_eq!(json["problems"][0]["code"], "P501");
        assert_eq!(json["rows"]["poles"]["set_aside"], 1);
    }

    #[test]
    fn a_code_is_explained_without_a_programme() {
        let args = |code: &str| CheckArgs {
            explain: Some(code.to_owned()),
            ..CheckArgs::default()
        };
        let mut out = Vec::new();
        assert_eq!(run(&args("p503"), &mut out).expect("a code"), 0);
        assert!(String::from_utf8_lossy(&out).starts_with("error[P503]: two poles with one id"));
        assert!(run(&args("P999"), &mut out).is_err());
    }
}
