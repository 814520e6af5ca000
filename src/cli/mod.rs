//! The command line: flags in, a library call, files and a short page out. No arithmetic here.
//!
//! Exit codes: 0 done; 1 `check` found errors in the data, or `plan --strict` did; 2 could not run, and nothing was
//! written. A reader that goes away (a closed pipe) is no failure.

pub mod capacity;
pub mod check;
mod check_lists;
pub mod climate;
pub mod compare;
pub mod curves;
pub mod estimate;
pub mod explain;
mod fold;
pub mod hindcast;
pub mod invent;
pub mod job;
pub mod pages;
pub mod plan;
mod pocket;
pub mod progress;
mod public;
pub mod strength;

use crate::Error;
use clap::{Args, CommandFactory, Parser, Subcommand};
use std::io::{self, Write};
use std::path::PathBuf;
use std::process::ExitCode;

/// Plans the inspection, treatment and replacement of installed wooden poles from an owner's own records.
///
/// A plan sets priorities: it never clears a pole for climbing, loading or work.
#[derive(Debug, Parser)]
#[command(name = "polewright", version, arg_required_else_help = true, after_help = EXAMPLES)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXAMPLES: &str = "Example:
  polewright plan data-demo/programme.toml --out plan

Exit codes: 0 done; 1 the data have errors (check, plan --strict); 2 could not run, nothing written.";

#[derive(Debug, Subcommand)]
enum Command {
    Plan(plan::PlanArguments),
    Estimate(estimate::EstimateArguments),
    Check(check::CheckArgs),
    Compare(compare::CompareArguments),
    Hindcast(hindcast::HindcastArguments),
    Explain(explain::ExplainArguments),
    Strength(strength::StrengthArgs),
    Curves(CurvesOfModels),
    Climate(climate::ClimateArgs),
    Invent(invent::InventArgs),
    Completions(pages::CompletionsArguments),
    Man(pages::ManArguments),
}

/// The service-life curves and the detection figures, with their sources
#[derive(Debug, Args)]
struct CurvesOfModels {
    #[command(flatten)]
    curves: curves::CurvesArgs,
    /// Takes the models from the TOML files of a folder instead of the built-in ones
    #[arg(long, value_name = "DIR")]
    models: Option<PathBuf>,
}

/// How a command that ran came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Done.
    Done,
    /// Done, and the data have errors that the caller asked to be told of.
    DataErrors,
}

/// Runs the command that the arguments name.
pub fn run(arguments: impl IntoIterator<Item = std::ffi::OsString>) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(message) => {
            // Help and version come this way too. Where nobody reads them there is nothing to say.
            let _ = message.print();
            return ExitCode::from(u8::try_from(message.exit_code()).unwrap_or(2));
        }
    };
    let Some(outcome) = unless_it_panics(|| obey(&arguments.command)) else {
        return ExitCode::from(2);
    };
    match outcome {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::DataErrors) => ExitCode::from(1),
        Err(error) if is_closed_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            let _ = writeln!(io::stderr(), "error: {error}");
            ExitCode::from(2)
        }
    }
}

/// What `work` gives, or nothing when it panicked; what it had begun to write is cleared away on the way out.
fn unless_it_panics<T>(work: impl FnOnce() -> T) -> Option<T> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)).ok()
}

fn obey(command: &Command) -> Result<Outcome, Error> {
    let mut out = Vec::new();
    let outcome = match command {
        Command::Plan(arguments) => return arguments.run(),
        Command::Estimate(arguments) => return arguments.run(),
        Command::Hindcast(arguments) => return arguments.run(),
        Command::Compare(arguments) => return arguments.run(),
        Command::Explain(arguments) => return arguments.run(),
        // Scripts and manual pages are for other programs: every line as it is.
        Command::Completions(arguments) => {
            let mut out = io::stdout().lock();
            return pages::completions(arguments, Arguments::command(), &mut out)
                .map(|()| Outcome::Done);
        }
        Command::Man(arguments) => {
            let mut out = io::stdout().lock();
            return pages::man(arguments, Arguments::command(), &mut out).map(|()| Outcome::Done);
        }
        Command::Check(arguments) => check::run(arguments, &mut out).map(|status| match status {
            0 => Outcome::Done,
            _ => Outcome::DataErrors,
        }),
        Command::Strength(arguments) => strength::run(arguments, &mut out).map(|()| Outcome::Done),
        Command::Curves(arguments) => {
            let models = job::read_models(arguments.models.as_deref())?;
            curves::run(&arguments.curves, &models, &mut out).map(|()| Outcome::Done)
        }
        Command::Climate(arguments) => climate::run(arguments, &mut out).map(|()| Outcome::Done),
        Command::Invent(arguments) => {
            let models = job::read_models(None)?;
            invent::run(arguments, &models, &mut out).map(|()| Outcome::Done)
        }
    };
    show(&String::from_utf8_lossy(&out))?;
    outcome
}

/// Prints a text on standard output.
///
/// # Errors
/// When standard output does not take it; [`run`] counts a closed pipe as done.
pub fn show(text: &str) -> Result<(), Error> {
    let text = fold::for_standard_output(text);
    let mut out = io::stdout().lock();
    written(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// An error of writing to the terminal, as ours.
fn written(result: io::Result<()>) -> Result<(), Error> {
    result.map_err(|cause| Error::File {
        path: PathBuf::from("standard output"),
        cause,
    })
}

fn is_closed_pipe(error: &Error) -> bool {
    matches!(error, Error::File { cause, .. } if cause.kind() == io::ErrorKind::BrokenPipe)
}

/// Says in one plain sentence that a panic is this program's fault, instead of a backtrace.
pub fn own_up_to_panics() {
    std::panic::set_hook(Box::new(|panic| {
        // A file or a disk is to blame, and the run ends with a sentence about it.
        if crate::io::guard::at_work() {
            return;
        }
        let place = panic.location().map_or_else(String::new, |place| {
            format!(" ({}:{})", place.file(), place.line())
        });
        let _ = writeln!(
            io::stderr(),
            "error: polewright made a mistake of its own{place}: this is a bug in the program, not in your data, and nothing was written; please report it with the command that you ran"
        );
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn a_panic_ends_in_nothing_instead_of_an_abort() {
        assert_eq!(unless_it_panics(|| 1), Some(1));
        let numbers: Vec<u8> = Vec::new();
        assert_eq!(unless_it_panics(|| numbers[0]), None);
    }

    #[test]
    fn every_command_has_an_example() {
        for command in Arguments::command().get_subcommands_mut() {
            let example = format!("polewright {}", command.get_name());
            let help = command.render_long_help().to_string();
            assert!(help.contains(&example), "{help}");
        }
    }
}
