//! The binary: everything is in [`polewright::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    polewright::cli::own_up_to_panics();
    polewright::cli::run(std::env::args_os())
}
