//! What long work tells while it goes on.
//!
//! ```text
//! proof, press, write ─begin, advance, end→ Progress (a bar and times in the program, nothing in tests)
//! ```
//!
//! The library never reads the clock: whoever listens measures between the calls.

/// A part of the work that takes its own time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Reading files and what stands in them.
    Read,
    /// Statics of every rig, and what the rules say.
    Solve,
    /// Drawing figures.
    Figures,
    /// Pages of the site.
    Pages,
    /// PDFs.
    Prints,
    /// Putting the output in its place.
    Write,
}

impl Stage {
    /// The word for people.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Solve => "solve",
            Self::Figures => "figures",
            Self::Pages => "pages",
            Self::Prints => "prints",
            Self::Write => "write",
        }
    }
}

/// Hears of the work. Stages do not overlap; one that begins ends the one before it.
pub trait Progress: Sync {
    /// A stage begins.
    ///
    /// - `all`: pieces of work in it; 0 where that is not known.
    fn begin(&self, stage: Stage, all: usize);

    /// One more piece of the stage is done. Called from many threads.
    fn advance(&self);

    /// The last stage ends.
    fn end(&self);
}

/// Nobody listens.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _: Stage, _: usize) {}
    fn advance(&self) {}
    fn end(&self) {}
}
