//! Parse the arguments, call the library, print what it returns, exit.

mod console;

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use clap::Parser;
use console::Console;
use ropeleaf::cli::{Cli, Terminal, run};

/// Large texts come and go by the thousand, on every thread: the system's allocator spends a quarter
/// of a press on joining and searching free room (benches/README.md).
#[global_allocator]
static HEAP: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    // clap prints help and usage errors itself, and exits with 2 for a wrong call.
    let cli = Cli::parse();
    // A reader that closes its end of the pipe has seen enough: that is no failure.
    let say = |text: &str| {
        let _ = io::stdout().write_all(text.as_bytes());
    };
    let colour = io::stderr().is_terminal();
    let console = Console::new(colour && !cli.quiet);
    let terminal = Terminal {
        colour,
        say: &say,
        progress: &console,
    };
    let done = run(&cli, terminal);
    let timings = match cli.timings {
        true => console.timings(),
        false => String::new(),
    };
    let _ = io::stderr().write_all((done.err + &timings).as_bytes());
    let _ = io::stdout().write_all(done.out.as_bytes());
    ExitCode::from(done.status)
}
