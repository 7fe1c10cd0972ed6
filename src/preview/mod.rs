//! The preview: press into memory, serve on this machine, watch the pack, press again.
//!
//! ```text
//! folder ─watch→ changed ─press→ Edition ─serve→ browser (reloads by itself)
//! ```
//!
//! Nothing is written to disk. A pack with errors keeps the last good pages in place and shows the
//! errors over them. Sheets are set when their link is opened.

mod edition;
mod prints;
mod serve;
mod watch;

use std::net::{IpAddr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::{Arc, mpsc};
use std::time::Duration;

use tokio::sync::watch as channel;

use crate::Zones;
use crate::disk::{self, DiskProblem};
use crate::pack::Scope;
use crate::press::text::url_path;
use crate::progress::Silent;
use crate::store::Store;

use edition::Edition;
use watch::{Watch, Woken};

/// How many ports after the wanted one are tried.
const PORTS_TRIED: u16 = 50;

/// How long errors stand before they are shown: longer than editors take between two steps of a save.
const ERRORS_LAST: Duration = Duration::from_millis(100);

/// The file that makes a folder a pack.
const PACK_FILE: &str = "pack.toml";

/// How often a pack that cannot be read is tried again.
const READ_AGAIN: Duration = Duration::from_secs(1);

/// Why a preview could not begin.
#[derive(Debug)]
pub enum PreviewProblem {
    /// The pack could not be read.
    Disk(DiskProblem),
    /// No port in the range is free.
    NoPort {
        /// The first one tried.
        first: u16,
        /// The last one tried.
        last: u16,
        /// What the system said of the last one.
        cause: std::io::Error,
    },
    /// A file was named that is in no pack.
    NoPack(PathBuf),
    /// The folder could not be watched; the watcher's words.
    Watch(String),
    /// The server stopped.
    Serve(std::io::Error),
}

impl std::fmt::Display for PreviewProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Disk(problem) => write!(f, "{problem}"),
            Self::NoPort { first, last, cause } => {
                write!(f, "no port from {first} to {last} is free: {cause}")
            }
            Self::NoPack(file) => write!(
                f,
                "{}: is one file, and no folder above it is a pack; name a folder that holds {PACK_FILE}",
                file.display()
            ),
            Self::Watch(why) => write!(f, "the pack's folder cannot be watched: {why}"),
            Self::Serve(cause) => write!(f, "the preview stopped: {cause}"),
        }
    }
}

impl std::error::Error for PreviewProblem {}

/// Presses once, then serves and presses again at every change, until the program is ended.
///
/// - `content`: a pack's folder, or a file of a pack: then the address is that of its page.
/// - `address`: where to listen; loopback unless the author asks for more.
/// - `port`: the first to try; a taken one gives way to the next free one.
/// - `say`: told the address, and a line at every press.
///
/// # Errors
/// [`PreviewProblem`]; a pack with errors is none, it is shown.
pub fn preview(
    content: &Path,
    address: IpAddr,
    port: u16,
    say: &(dyn Fn(&str) + Sync),
) -> Result<(), PreviewProblem> {
    let (folder, page) = pack_of(content)?;
    let content = folder.as_path();
    // Watched before it is read, so that no save falls between the two.
    let watch = Watch::of(content).map_err(|e| PreviewProblem::Watch(e.to_string()))?;
    let sources = disk::read_pack(content).map_err(PreviewProblem::Disk)?;
    let store = Store::in_memory();
    let proof = crate::proof_told(sources, Scope::Pack, Zones::Asked, &store, &Silent);
    let first = Edition::first(proof, store);
    let listener = listen(address, port)?;
    let at = listener.local_addr().map_err(PreviewProblem::Serve)?;
    say(&format!(
        "preview at http://{at}/{page} (end it with Ctrl-C)\n{}",
        first.line()
    ));
    let (publish, editions) = channel::channel(Arc::new(first));
    std::thread::scope(|scope| {
        let ending = watch.ending();
        scope.spawn(move || follow(content, watch, &publish, say));
        let (tell, notes) = mpsc::channel();
        scope.spawn(move || notes.iter().for_each(|note: String| say(&note)));
        let served = serve::serve(listener, at, editions, tell);
        drop(ending);
        served.map_err(PreviewProblem::Serve)
    })
}

/// The pack's folder that a path stands for, and where in the preview its page is: `/` for a folder, and
/// for a file that is no lesson.
fn pack_of(path: &Path) -> Result<(PathBuf, String), PreviewProblem> {
    if !path.is_file() {
        return Ok((path.to_path_buf(), String::new()));
    }
    let file = std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf());
    let mut above = file.ancestors().skip(1);
    let pack = above.find(|folder| folder.join(PACK_FILE).is_file());
    let pack = pack.ok_or_else(|| PreviewProblem::NoPack(path.to_path_buf()))?;
    let is_lesson =
        file.starts_with(pack.join("lessons")) && file.extension().is_some_and(|e| e == "md");
    let page = file.file_stem().filter(|_| is_lesson).map(|name| {
        let name = url_path(&name.to_string_lossy());
        format!("site/lessons/{name}.html")
    });
    Ok((pack.to_path_buf(), page.unwrap_or_default()))
}

/// Presses at every change, until the watch ends.
///
/// A state with errors is shown only when it lasts: what an editor has begun to write and git has
/// half checked out is gone before anyone could read what is wrong with it.
fn follow(
    content: &Path,
    mut watch: Watch,
    publish: &channel::Sender<Arc<Edition>>,
    say: &(dyn Fn(&str) + Sync),
) {
    let show = |edition: Edition| {
        say(&edition.line());
        publish.send_replace(Arc::new(edition));
    };
    let mut held: Option<Edition> = None;
    loop {
        let last = publish.borrow().clone();
        let patience = match (&held, last.is_unread()) {
            (Some(_), _) => Some(ERRORS_LAST),
            (None, true) => Some(READ_AGAIN),
            (None, false) => None,
        };
        match watch.wait(patience) {
            Woken::Ended => return,
            Woken::Changed => {}
            Woken::TimeUp => {
                if let Some(edition) = held.take() {
                    show(edition);
                    continue;
                }
                // The folder may be another one by now.
                if watch.renew().is_err() {
                    continue;
                }
            }
        }
        if let Some(trouble) = watch.trouble.take() {
            say(&format!("not all of the pack is watched: {trouble}\n"));
        }
        held = None;
        match disk::read_pack(content) {
            Err(problem) if !last.is_unread() => held = Some(last.unread(&problem)),
            Err(_) => {}
            Ok(sources) if last.is_of(&sources) => {}
            Ok(sources) => {
                let proof =
                    crate::proof_told(sources, Scope::Pack, Zones::Asked, last.store(), &Silent);
                let next = last.next(proof);
                match next.errors.is_empty() {
                    true => show(next),
                    false => held = Some(next),
                }
            }
        }
    }
}

fn listen(address: IpAddr, first: u16) -> Result<TcpListener, PreviewProblem> {
    let last = first.saturating_add(PORTS_TRIED);
    let mut cause = None;
    for port in first..=last {
        match TcpListener::bind(SocketAddr::new(address, port)) {
            Ok(listener) => return Ok(listener),
            Err(e) => cause = Some(e),
        }
    }
    let cause = cause.unwrap_or_else(|| std::io::ErrorKind::AddrInUse.into());
    Err(PreviewProblem::NoPort { first, last, cause })
}
