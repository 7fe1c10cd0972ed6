//! The program's side of [`Progress`]: a bar on the terminal, and how long each stage took.
//!
//! The bar is one line of standard error that is drawn over; it is there only where standard error
//! is a terminal and nobody asked for quiet.

// The program measures; the library is what never reads the clock.
#![allow(clippy::disallowed_methods)]

use std::fmt::Write as _;
use std::io::Write as _;
use std::sync::Mutex;
use std::time::{Duration, Instant};

use ropeleaf::progress::{Progress, Stage};

/// Least time between two drawings of the bar: smooth to the eye, no load.
const REDRAW: Duration = Duration::from_millis(80);

/// A stage shorter than this gets no bar: it would only flicker.
const PATIENCE: Duration = Duration::from_millis(300);

/// Signs that the bar is wide.
const BAR_WIDTH: usize = 30;

/// Listens to the work.
pub struct Console {
    bar: bool,
    began: Instant,
    state: Mutex<State>,
}

#[derive(Default)]
struct State {
    now: Option<Running>,
    past: Vec<(Stage, usize, Duration)>,
}

struct Running {
    stage: Stage,
    all: usize,
    done: usize,
    began: Instant,
    drawn: Option<Instant>,
}

impl Console {
    /// - `bar`: whether to draw one.
    pub fn new(bar: bool) -> Self {
        Self {
            bar,
            began: Instant::now(),
            state: Mutex::default(),
        }
    }

    /// The stages with their times, the whole, and the most memory that was held (where the system
    /// tells).
    pub fn timings(&self) -> String {
        let state = self.state();
        let mut text = String::new();
        for (stage, done, took) in &state.past {
            let count = match done {
                0 => String::new(),
                n => format!("  {n}"),
            };
            let _ = writeln!(
                text,
                "{:8} {:8.3} s{count}",
                stage.word(),
                took.as_secs_f64()
            );
        }
        let _ = writeln!(
            text,
            "{:8} {:8.3} s",
            "all",
            self.began.elapsed().as_secs_f64()
        );
        if let Some(mb) = peak_memory_mb() {
            let _ = writeln!(text, "{:8} {mb:8.0} MB at most", "memory");
        }
        text
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        // A panic elsewhere leaves nothing half done here.
        self.state
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn finish(&self, state: &mut State) {
        if let Some(running) = state.now.take() {
            if running.drawn.is_some() {
                wipe();
            }
            let took = running.began.elapsed();
            state.past.push((running.stage, running.done, took));
        }
    }
}

impl Progress for Console {
    fn begin(&self, stage: Stage, all: usize) {
        let mut state = self.state();
        self.finish(&mut state);
        state.now = Some(Running {
            stage,
            all,
            done: 0,
            began: Instant::now(),
            drawn: None,
        });
    }

    fn advance(&self) {
        let mut state = self.state();
        let Some(running) = &mut state.now else {
            return;
        };
        running.done += 1;
        let due = match running.drawn {
            Some(last) => last.elapsed() >= REDRAW,
            None => running.began.elapsed() >= PATIENCE,
        };
        if self.bar && due && running.all > 0 {
            running.drawn = Some(Instant::now());
            let full = BAR_WIDTH * running.done.min(running.all) / running.all;
            let (word, done, all) = (running.stage.word(), running.done, running.all);
            let bar = "=".repeat(full) + &" ".repeat(BAR_WIDTH - full);
            let _ = write!(std::io::stderr(), "\r{word:8} [{bar}] {done}/{all} ");
        }
    }

    fn end(&self) {
        let mut state = self.state();
        self.finish(&mut state);
    }
}

/// Takes the bar off the terminal.
fn wipe() {
    let _ = write!(std::io::stderr(), "\r{:60}\r", "");
}

/// The most memory that this process held, MB; Linux tells.
fn peak_memory_mb() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().next()?.parse().ok()?;
    Some(kib * 1024.0 / 1e6)
}
