//! Parse the arguments, call the library, print what it returns, exit.

mod console;

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use clap::Parser;
use console::Console;
use ropeleaf::cli::{Cli, Terminal, run};

/// Room that each thread of the pool asks of the system at once, bytes. An allocator that widens a
/// thread's room page by page asks thousands of times, and other threads wait meanwhile.
const ROOM: usize = 32 << 20;

/// Pieces that [`ROOM`] is asked for in, bytes: small enough to come from the thread's own room.
const PIECE: usize = 100 << 10;

/// Asks for room and gives it back to the allocator; none of it is touched.
fn take_room() {
    let pieces = (0..ROOM / PIECE).map(|_| Vec::<u8>::with_capacity(PIECE));
    std::hint::black_box(pieces.collect::<Vec<_>>());
}

fn main() -> ExitCode {
    // clap prints help and usage errors itself, and exits with 2 for a wrong call.
    let cli = Cli::parse();
    let pool = rayon::ThreadPoolBuilder::new().start_handler(|_| take_room());
    // Where it cannot be built so, it is built without at its first use.
    let _ = pool.build_global();
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
