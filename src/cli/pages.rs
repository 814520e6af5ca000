//! `polewright completions` and `polewright man`: what a shell and a reader of manuals know of the commands.
//!
//! Both are made from the flags themselves, so that they cannot fall behind; nothing is installed, the text goes to
//! standard output. The only file that names `clap_complete` and `clap_mangen`.

use super::written;
use crate::Error;
use clap::{Args, Command};
use clap_complete::Shell;
use std::io::Write;

/// What a manual page says that it belongs to.
const SOURCE: &str = concat!("polewright ", env!("CARGO_PKG_VERSION"));

/// Prints what a shell needs to complete commands and flags
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  polewright completions bash > ~/.local/share/bash-completion/completions/polewright
  polewright completions fish > ~/.config/fish/completions/polewright.fish
  polewright completions powershell >> $PROFILE")]
pub struct CompletionsArguments {
    /// The shell
    shell: Shell,
}

/// Prints the manual page of the program or of one command
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  polewright man > ~/.local/share/man/man1/polewright.1
  polewright man plan > ~/.local/share/man/man1/polewright-plan.1")]
pub struct ManArguments {
    /// A command, such as plan; without one, the program's own page
    command: Option<String>,
}

/// Prints the completions of `command`.
///
/// # Errors
/// When `out` does not take them.
pub fn completions(
    arguments: &CompletionsArguments,
    mut command: Command,
    out: &mut impl Write,
) -> Result<(), Error> {
    let name = command.get_name().to_owned();
    // Made in memory first: the maker of completions panics where its reader goes away.
    let mut text = Vec::new();
    clap_complete::generate(arguments.shell, &mut command, name, &mut text);
    written(out.write_all(&text).and_then(|()| out.flush()))
}

/// Prints the manual page of `command` or of the command of it that is asked for, in roff.
///
/// # Errors
/// When there is no such command, or `out` does not take the page.
pub fn man(
    arguments: &ManArguments,
    mut command: Command,
    out: &mut impl Write,
) -> Result<(), Error> {
    // Names the commands' pages polewright-plan and so on, as manuals do.
    command.build();
    let wanted = match &arguments.command {
        None => command,
        Some(name) => command
            .find_subcommand(name)
            .cloned()
            .ok_or_else(|| no_such_command(name, &command))?,
    };
    let mut page = Vec::new();
    let manual = clap_mangen::Man::new(wanted).source(SOURCE);
    written(manual.render(&mut page))?;
    written(out.write_all(&page).and_then(|()| out.flush()))
}

fn no_such_command(name: &str, command: &Command) -> Error {
    let known: Vec<&str> = command
        .get_subcommands()
        .map(Command::get_name)
        .filter(|known| *known != "help")
        .collect();
    Error::Argument {
        what: format!("there is no command {name}"),
        help: format!("the commands are {}", known.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::ValueEnum;

    fn program() -> Command {
        Command::new("polewright").about("Plans").subcommand(
            Command::new("plan")
                .about("The main job")
                .arg(clap::arg!(--out <DIR> "Folder")),
        )
    }

    fn printed(work: impl FnOnce(&mut Vec<u8>) -> Result<(), Error>) -> String {
        let mut out = Vec::new();
        work(&mut out).expect("a text");
        String::from_utf8(out).expect("UTF-8")
    }

    #[test]
    fn every_shell_learns_the_commands() {
        for shell in Shell::value_variants() {
            let arguments = CompletionsArguments { shell: *shell };
            let text = printed(|out| completions(&arguments, program(), out));
            assert!(text.contains("plan") && text.contains("out"), "{shell}");
        }
    }

    #[test]
    fn the_program_and_each_command_have_a_page() {
        let page = |command: Option<&str>| {
            let command = command.map(str::to_owned);
            printed(|out| man(&ManArguments { command }, program(), out))
        };
        assert!(page(None).contains(".TH polewright 1"));
        let of_plan = page(Some("plan"));
        assert!(of_plan.contains(".TH polewright-plan 1"), "{of_plan}");
        assert!(of_plan.contains("DIR"), "{of_plan}");
    }

    #[test]
    fn an_unknown_command_is_answered_with_those_that_are() {
        let arguments = ManArguments {
            command: Some("plane".to_owned()),
        };
        let error = man(&arguments, program(), &mut Vec::new()).expect_err("no page");
        assert!(
            error.to_string().contains("the commands are plan"),
            "{error}"
        );
    }
}
