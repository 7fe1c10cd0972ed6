//! Parse the arguments, call the library, print what it returns, exit.

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use clap::Parser;
use ropeleaf::cli::{Cli, run};

fn main() -> ExitCode {
    // clap prints help and usage errors itself, and exits with 2 for a wrong call.
    let cli = Cli::parse();
    // A reader that closes its end of the pipe has seen enough: that is no failure.
    let say = |text: &str| {
        let _ = io::stdout().write_all(text.as_bytes());
    };
    let done = run(&cli.command, io::stderr().is_terminal(), &say);
    let _ = io::stderr().write_all(done.err.as_bytes());
    let _ = io::stdout().write_all(done.out.as_bytes());
    ExitCode::from(done.status)
}
