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
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::watch as channel;

use crate::Zones;
use crate::disk::{self, DiskProblem};
use crate::pack::Scope;
use crate::progress::Silent;
use crate::store::Store;

use edition::Edition;
use watch::{Watch, Woken};

/// How many ports after the wanted one are tried.
const PORTS_TRIED: u16 = 50;

/// How long errors stand before they are shown: longer than editors take between two steps of a save.
const ERRORS_LAST: Duration = Duration::from_millis(100);

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
            Self::Watch(why) => write!(f, "the pack's folder cannot be watched: {why}"),
            Self::Serve(cause) => write!(f, "the preview stopped: {cause}"),
        }
    }
}

impl std::error::Error for PreviewProblem {}

/// Presses once, then serves and presses again at every change, until the program is ended.
///
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
    // Watched before it is read, so that no save falls between the two.
    let watch = Watch::of(content).map_err(|e| PreviewProblem::Watch(e.to_string()))?;
    let sources = disk::read_pack(content).map_err(PreviewProblem::Disk)?;
    let store = Store::in_memory();
    let proof = crate::proof_told(sources, Scope::Pack, Zones::Asked, &store, &Silent);
    let first = Edition::first(proof, store);
    let listener = listen(address, port)?;
    let at = listener.local_addr().map_err(PreviewProblem::Serve)?;
    say(&format!(
        "preview at http://{at}/ (end it with Ctrl-C)\n{}",
        first.line()
    ));
    let (publish, editions) = channel::channel(Arc::new(first));
    std::thread::scope(|scope| {
        let ending = watch.ending();
        scope.spawn(move || follow(content, watch, &publish, say));
        let served = serve::serve(listener, at, editions);
        drop(ending);
        served.map_err(PreviewProblem::Serve)
    })
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
