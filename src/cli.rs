//! The command line: arguments in, an [`Outcome`] out. `main.rs` prints it and exits.
//!
//! ```text
//! arguments ─parse→ Cli ─run→ Outcome { out, err, status }
//! ```
//!
//! Status 0: all well. 1: the pack has errors. 2: the call was wrong, or the disk failed.
//!
//! Over 500 lines: every command is here, each a short function, with the words of its help.

use std::fmt::Write as _;
use std::net::IpAddr;
use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand, ValueEnum};

use crate::Zones;
use crate::disk::{self, Cache, DiskProblem, Said};
use crate::figure::{self, Detail, Style};
use crate::finding::{Finding, Severity, show};
use crate::pack::{LessonId, RigId, Scope};
use crate::press::{self, Only, Order};
use crate::progress::{Progress, Stage};
use crate::rig::FigureKind;
use crate::rules::Proof;
use crate::store;

/// Lesson packs for rope-and-harness work in trees, with every figure computed.
///
/// Computed numbers are teaching aids: the maker's instructions, local codes and a competent
/// person come first.
#[derive(Debug, Parser)]
#[command(name = "ropeleaf", version, after_help = STATUS_HELP)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Show no progress and no list of what was written; warnings and errors stay.
    #[arg(long, short, global = true)]
    pub quiet: bool,
    /// Print how long each stage took, and the most memory that was held.
    #[arg(long, global = true)]
    pub timings: bool,
}

const STATUS_HELP: &str =
    "Exit status: 0 all well, 1 the pack has errors, 2 the call was wrong or the disk failed.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Lay out a new pack with one worked lesson.
    Start {
        /// The folder to lay it out in; it must be empty or not there yet.
        dir: PathBuf,
    },
    /// Read, solve and check everything; write nothing.
    Proof {
        /// The pack's folder.
        #[arg(default_value = "content")]
        content: PathBuf,
        /// How to print the findings.
        #[arg(long, value_enum, default_value_t = ReportFormat::Text)]
        format: ReportFormat,
    },
    /// Proof, then write the site, the sheets and the figures.
    ///
    /// A pack with errors is not pressed: the output stays as it was.
    Press {
        /// The pack's folder.
        #[arg(default_value = "content")]
        content: PathBuf,
        /// The folder to write. It is replaced whole; one that ropeleaf did not write is refused.
        #[arg(long, default_value = "output")]
        output: PathBuf,
        /// Press one part only; the folder then holds nothing else.
        #[arg(long, value_enum)]
        only: Option<Only>,
        /// Press the prints and figures of this lesson only: the name of its file or its code.
        #[arg(long)]
        lesson: Option<String>,
        /// The folder for what the next press need not make again; `.NAME-store` beside the output
        /// if left out. It can be deleted at any time.
        #[arg(long, value_name = "DIR", conflicts_with = "no_cache")]
        cache: Option<PathBuf>,
        /// Make everything anew, and keep nothing for the next press.
        #[arg(long)]
        no_cache: bool,
    },
    /// Press into memory, keep watching, show it in the browser on this machine.
    Preview {
        /// The pack's folder, or a lesson of it.
        #[arg(default_value = "content")]
        content: PathBuf,
        /// The port to begin at; a taken one gives way to the next free one.
        #[arg(long, default_value_t = 4470)]
        port: u16,
        /// The address to listen at. Any other than loopback shows the pack to the network.
        #[arg(long, default_value = "127.0.0.1")]
        listen: IpAddr,
    },
    /// Draw one rig.
    Figure {
        /// A pack's folder or one lesson file.
        path: PathBuf,
        /// The rig's name.
        #[arg(long)]
        rig: String,
        /// What the figure shows: setup, pulls, polygon, zone, loss, space, effort or strip.
        #[arg(long, default_value = "pulls", value_parser = figure_kind)]
        kind: FigureKind,
        /// File format.
        #[arg(long, value_enum, default_value_t = FigureFormat::Svg)]
        format: FigureFormat,
        /// Width: on paper for svg and pdf, in millimetres; in pixels for png.
        #[arg(long)]
        width: Option<u32>,
        /// What lies under a png.
        #[arg(long, value_enum, default_value_t = Ground::Paper)]
        ground: Ground,
        /// The file to write; RIG-KIND.FORMAT in the current folder if left out.
        #[arg(long)]
        output: Option<PathBuf>,
    },
    /// Print the numbers of every rig, or of one.
    Statics {
        /// A pack's folder or one lesson file.
        path: PathBuf,
        /// Only this rig.
        #[arg(long)]
        rig: Option<String>,
        /// How to print them.
        #[arg(long, value_enum, default_value_t = StaticsFormat::Table)]
        format: StaticsFormat,
        /// Another harness point, metres: X,Z for a planar rig, X,Y,Z for a spatial one.
        #[arg(long, value_name = "X,Z", allow_hyphen_values = true, value_parser = place)]
        at: Option<Coordinates>,
    },
}

/// A place as typed, metres: two numbers or three.
#[derive(Debug, Clone, PartialEq)]
pub struct Coordinates(pub Vec<f64>);

/// How `proof` prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ReportFormat {
    /// Each finding under its source line.
    Text,
    /// For machines.
    Json,
    /// A page for the author, standing alone.
    Html,
}

/// How `statics` prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum StaticsFormat {
    /// A sentence and tables a rig.
    Table,
    /// For machines: kN, metres, degrees, full precision.
    Json,
}

/// File format of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FigureFormat {
    /// Lines for the page and the printer.
    Svg,
    /// Pixels for slides.
    Png,
    /// One page of the figure's size.
    Pdf,
}

/// What lies under a PNG.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Ground {
    /// White.
    Paper,
    /// Nothing.
    Transparent,
}

/// What a run leaves for `main` to do.
#[derive(Debug, Default)]
pub struct Outcome {
    /// For standard output.
    pub out: String,
    /// For standard error.
    pub err: String,
    /// The exit status.
    pub status: u8,
}

impl Outcome {
    fn well(out: impl Into<String>) -> Self {
        Self {
            out: out.into(),
            ..Self::default()
        }
    }

    fn wrong_call(err: impl Into<String>) -> Self {
        Self {
            err: err.into(),
            status: 2,
            ..Self::default()
        }
    }
}

impl From<Said> for Outcome {
    fn from(said: Said) -> Self {
        Self {
            out: said.out,
            err: said.err,
            status: 0,
        }
    }
}

impl From<DiskProblem> for Outcome {
    fn from(problem: DiskProblem) -> Self {
        Self::wrong_call(format!("error: {problem}\n"))
    }
}

/// Where a run can be seen.
#[derive(Clone, Copy)]
pub struct Terminal<'a> {
    /// Whether it shows colours.
    pub colour: bool,
    /// Prints a line at once, for the preview, which goes on until it is ended.
    pub say: &'a (dyn Fn(&str) + Sync),
    /// Hears how far the work is.
    pub progress: &'a dyn Progress,
}

/// Does what was asked.
pub fn run(cli: &Cli, terminal: Terminal<'_>) -> Outcome {
    let Terminal { colour, say, .. } = terminal;
    let done = match &cli.command {
        Command::Start { dir } => start(dir),
        Command::Proof { content, format } => proof(content, *format, colour),
        Command::Press {
            content,
            output,
            only,
            lesson,
            cache,
            no_cache,
        } => {
            let cache = match (cache, no_cache) {
                (_, true) => Cache::none(),
                (Some(folder), _) => Cache::at(folder),
                (None, _) => Cache::beside(output),
            };
            let done = press(content, output, *only, lesson.as_deref(), &cache, terminal);
            done.map(|done| match cli.quiet {
                true => Outcome {
                    out: String::new(),
                    ..done
                },
                false => done,
            })
        }
        Command::Preview {
            content,
            port,
            listen,
        } => Ok(preview(content, *listen, *port, say)),
        Command::Figure {
            path,
            rig,
            kind,
            format,
            width,
            ground,
            output,
        } => {
            let wanted = Wanted {
                kind: *kind,
                format: *format,
                width: *width,
                ground: *ground,
            };
            figure(path, rig, &wanted, output.as_deref(), colour)
        }
        Command::Statics {
            path,
            rig,
            format,
            at,
        } => statics(path, rig.as_deref(), *format, at.as_ref(), colour),
    };
    done.unwrap_or_else(Outcome::from)
}

type Done = Result<Outcome, DiskProblem>;

/// Reads a pack, or one lesson file on its own, solves and judges it.
fn proofed(path: &Path, zones: Zones) -> Result<Proof, DiskProblem> {
    Ok(crate::proof(disk::read_pack(path)?, scope_of(path), zones))
}

/// A folder is a pack, a file one lesson of it.
fn scope_of(path: &Path) -> Scope {
    match path.is_file() {
        true => Scope::OneLesson,
        false => Scope::Pack,
    }
}

fn start(dir: &Path) -> Done {
    disk::write_new_pack(dir, &press::starter_pack())?;
    let dir = dir.display();
    Ok(Outcome::well(format!(
        "{dir}: a pack with one worked lesson; next: ropeleaf press {dir}\n"
    )))
}

fn proof(content: &Path, format: ReportFormat, colour: bool) -> Done {
    let proof = proofed(content, Zones::Shown)?;
    let status = u8::from(proof.has_errors());
    let out = match format {
        ReportFormat::Text => crate::report::findings_text(&proof, colour),
        ReportFormat::Json => json_text(&crate::report::findings_json(&proof)),
        ReportFormat::Html => crate::report::findings_html(&proof),
    };
    Ok(Outcome {
        out,
        status,
        ..Outcome::default()
    })
}

fn press(
    content: &Path,
    output: &Path,
    only: Option<Only>,
    lesson: Option<&str>,
    cache: &Cache,
    terminal: Terminal<'_>,
) -> Done {
    let Terminal {
        colour, progress, ..
    } = terminal;
    if lesson.is_some() && only == Some(Only::Site) {
        let err = "error: pages link to one another, so that --lesson has no site: use --only print or figures, or press all\n";
        return Ok(Outcome::wrong_call(err));
    }
    let (sources, last) = rayon::join(|| disk::read_pack(content), || cache.last());
    let sources = sources?;
    let place = output.as_os_str().as_encoded_bytes();
    let call = (scope_of(content), only, lesson, place, colour);
    let asked = store::asked(&sources, &call);
    if let Some(said) = last.as_ref().and_then(|last| last.again(output, asked)) {
        return Ok(said.into());
    }
    let zones = match only {
        Some(Only::Site) => Zones::Asked,
        _ => Zones::Shown,
    };
    let (store, mut proof, standing) = std::thread::scope(|scope| {
        let standing = scope.spawn(|| Cache::look(output, last.as_ref()));
        let store = cache.store();
        let proof = crate::proof_told(sources, scope_of(content), zones, &store, progress);
        (store, proof, standing.join())
    });
    let lesson = match lesson.map(|name| find_lesson(&proof, name)).transpose() {
        Ok(lesson) => lesson,
        Err(unknown) => return Ok(unknown),
    };
    let findings_shown = shown(&proof, &proof.findings, colour);
    if proof.has_errors() {
        let err = format!(
            "{findings_shown}not pressed: {} is as it was\n",
            output.display()
        );
        return Ok(Outcome {
            err,
            status: 1,
            ..Outcome::default()
        });
    }
    if only == Some(Only::Site) {
        // What is found from here on has its place in the pack's own templates, and the sources of
        // lessons would take a sixth of the memory that a large pack takes.
        let sources = &mut proof.reading.sources;
        sources.let_go(|file| file.path.starts_with("lessons/"));
    }
    let writing = cache.begin(output, last, standing.ok().flatten(), &store)?;
    let order = Order { only, lesson };
    let findings = match press::press_into(&proof, order, &store, &writing, progress) {
        Ok(findings) => findings,
        Err(findings) => {
            let err = shown(&proof, &findings, colour);
            let err = format!(
                "{findings_shown}{err}not pressed: {} is as it was\n",
                output.display()
            );
            return Ok(Outcome {
                err,
                status: 1,
                ..Outcome::default()
            });
        }
    };
    progress.begin(Stage::Write, 0);
    let said = cache.finish(store, writing, asked, |files| {
        let left_out = shown(&proof, &findings, colour);
        Said {
            out: pressed_text(files, output),
            err: format!("{findings_shown}{left_out}"),
        }
    })?;
    progress.end();
    // The program ends now: the system takes the room of a pack back faster than we do.
    std::mem::forget(proof);
    Ok(said.into())
}

fn preview(content: &Path, listen: IpAddr, port: u16, say: &(dyn Fn(&str) + Sync)) -> Outcome {
    match crate::preview::preview(content, listen, port, say) {
        Ok(()) => Outcome::default(),
        Err(problem) => Outcome::wrong_call(format!("error: {problem}\n")),
    }
}

/// What was written, and where to open it.
fn pressed_text(files: &[&str], output: &Path) -> String {
    let count = |folder: &str, end: &str| {
        files
            .iter()
            .filter(|path| path.starts_with(folder) && path.ends_with(end))
            .count()
    };
    let output = output.display();
    let mut text = String::new();
    for (folder, end, place, what) in [
        ("site/", ".html", "site/index.html", "pages"),
        ("print/", ".pdf", "print", "PDFs"),
        ("figures/", ".svg", "figures", "figures"),
    ] {
        let n = count(folder, end);
        if n > 0 {
            let _ = writeln!(text, "{output}/{place}: {n} {what}");
        }
    }
    if !cfg!(feature = "print") {
        text.push_str("no PDFs: this ropeleaf was built without its `print` feature\n");
    }
    text
}

/// The warnings and errors among findings, each under its source line.
fn shown(proof: &Proof, findings: &[Finding], colour: bool) -> String {
    let mut text = String::new();
    for finding in findings.iter().filter(|f| f.severity > Severity::Note) {
        let _ = writeln!(text, "{}\n", show(finding, &proof.reading.sources, colour));
    }
    text
}

fn statics(
    path: &Path,
    rig: Option<&str>,
    format: StaticsFormat,
    at: Option<&Coordinates>,
    colour: bool,
) -> Done {
    let mut proof = proofed(path, Zones::Every)?;
    if let Some(name) = rig
        && let Err(unknown) = find_rig(&proof, name)
    {
        return Ok(unknown);
    }
    if let Some(at) = at
        && let Err(problem) = crate::move_climber(&mut proof, rig, &at.0)
    {
        return Ok(Outcome::wrong_call(format!("error: {problem}\n")));
    }
    let out = match format {
        StaticsFormat::Table => crate::report::statics_text(&proof, rig),
        StaticsFormat::Json => json_text(&crate::report::statics_json(&proof, rig)),
    };
    let errors: Vec<Finding> = proof
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error)
        .cloned()
        .collect();
    Ok(Outcome {
        out,
        err: shown(&proof, &errors, colour),
        status: u8::from(proof.has_errors()),
    })
}

struct Wanted {
    kind: FigureKind,
    format: FigureFormat,
    width: Option<u32>,
    ground: Ground,
}

fn figure(path: &Path, name: &str, wanted: &Wanted, output: Option<&Path>, colour: bool) -> Done {
    let zones = match wanted.kind {
        FigureKind::Zone => Zones::Every,
        _ => Zones::Shown,
    };
    let proof = proofed(path, zones)?;
    let index = match find_rig(&proof, name) {
        Ok(index) => index,
        Err(unknown) => {
            let errors = shown(&proof, &proof.findings, colour);
            return Ok(Outcome {
                err: format!("{errors}{}", unknown.err),
                ..unknown
            });
        }
    };
    let id = RigId(index);
    let rig = proof.reading.pack.rig(id);
    let paper_mm = match (wanted.format, wanted.width) {
        (FigureFormat::Svg | FigureFormat::Pdf, Some(mm)) => f64::from(mm),
        _ => press::FIGURE_WIDTH_MM,
    };
    let style = Style {
        units: proof.reading.pack.units,
        width_mm: paper_mm,
        detail: Detail::Full,
        shelf: figure::Shelf::of(&proof.reading.pack),
        right: false,
    };
    let drawing = proof
        .answer(id)
        .ok()
        .and_then(|solved| figure::draw(rig, &solved, wanted.kind, style));
    let Some(drawing) = drawing else {
        let kind = wanted.kind.word();
        let err = format!(
            "error: rig \"{name}\" has no {kind} figure: {}\n",
            figure::why_silent(rig, proof.answer(id).ok().as_deref(), wanted.kind)
        );
        return Ok(Outcome {
            err,
            status: 1,
            ..Outcome::default()
        });
    };
    let (bytes, end) = match wanted.format {
        FigureFormat::Svg => (drawing.svg.clone().into_bytes(), "svg"),
        FigureFormat::Png => {
            let pixels = wanted.width.unwrap_or(PNG_WIDTH_PX);
            match figure::png(&drawing, pixels, wanted.ground == Ground::Transparent) {
                Ok(bytes) => (bytes, "png"),
                Err(why) => return Ok(Outcome::wrong_call(format!("error: {why}\n"))),
            }
        }
        FigureFormat::Pdf => match figure_pdf(&proof, &drawing) {
            Ok(bytes) => (bytes, "pdf"),
            Err(why) => return Ok(Outcome::wrong_call(format!("error: {why}\n"))),
        },
    };
    let file = output.map_or_else(
        || PathBuf::from(format!("{}.{end}", drawing.id)),
        Path::to_path_buf,
    );
    disk::write_file(&file, &bytes)?;
    Ok(Outcome::well(format!("{}\n", file.display())))
}

#[cfg(feature = "print")]
fn figure_pdf(proof: &Proof, drawing: &figure::Drawing) -> Result<Vec<u8>, String> {
    press::print::figure_pdf(&proof.reading.pack, drawing).map_err(|fault| fault.why)
}

#[cfg(not(feature = "print"))]
fn figure_pdf(_: &Proof, _: &figure::Drawing) -> Result<Vec<u8>, String> {
    Err("no PDF: this ropeleaf was built without its `print` feature".to_owned())
}

/// Width of a PNG where none was asked for: a slide of 1920 pixels.
const PNG_WIDTH_PX: u32 = 1920;

/// Index of a rig by name, or what to say where there is none.
fn find_rig(proof: &Proof, name: &str) -> Result<usize, Outcome> {
    let rigs = &proof.reading.pack.rigs;
    rigs.iter().position(|rig| rig.name == name).ok_or_else(|| {
        let near = crate::finding::nearest(name, rigs.iter().map(|r| r.name.as_str()));
        let hint = near.map_or_else(String::new, |n| format!("; the nearest is \"{n}\""));
        Outcome::wrong_call(format!("error: no rig is named \"{name}\"{hint}\n"))
    })
}

/// A lesson by the name of its file or its code, or what to say where there is none.
fn find_lesson(proof: &Proof, name: &str) -> Result<LessonId, Outcome> {
    let lessons = &proof.reading.pack.lessons;
    let found = lessons
        .iter()
        .position(|l| l.name == name || l.code == name);
    found.map(LessonId).ok_or_else(|| {
        let names = lessons.iter().flat_map(|l| [l.name.as_str(), &l.code]);
        let near = crate::finding::nearest(name, names);
        let hint = near.map_or_else(String::new, |n| format!("; the nearest is \"{n}\""));
        Outcome::wrong_call(format!("error: no lesson is named \"{name}\"{hint}\n"))
    })
}

fn json_text(value: &serde_json::Value) -> String {
    format!("{value:#}\n")
}

fn figure_kind(word: &str) -> Result<FigureKind, String> {
    FigureKind::from_word(word).ok_or_else(|| {
        let words = FigureKind::ALL.map(FigureKind::word);
        let near = crate::finding::nearest(word, words)
            .map_or_else(String::new, |n| format!("; nearest: {n}"));
        format!(
            "no such kind of figure, the kinds are {}{near}",
            words.join(", ")
        )
    })
}

fn place(text: &str) -> Result<Coordinates, String> {
    let numbers: Result<Vec<f64>, _> = text.split(',').map(|n| n.trim().parse::<f64>()).collect();
    match numbers {
        Ok(v) if (2..=3).contains(&v.len()) && v.iter().all(|n| n.is_finite()) => {
            Ok(Coordinates(v))
        }
        _ => Err("expected metres as X,Z or X,Y,Z, for example 2.4,6.1".into()),
    }
}
