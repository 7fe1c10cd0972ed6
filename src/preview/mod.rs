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

use tokio::sync::watch as channel;

use crate::Zones;
use crate::disk::{self, DiskProblem};
use crate::pack::Scope;
use crate::progress::Silent;
use crate::store::Store;

use edition::Edition;

/// How many ports after the wanted one are tried.
const PORTS_TRIED: u16 = 50;

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
    let (watching, changes) =
        watch::watch(content).map_err(|e| PreviewProblem::Watch(e.to_string()))?;
    std::thread::scope(|scope| {
        scope.spawn(move || {
            for () in changes.iter() {
                // A file that vanishes between listing and reading comes back with the next change.
                let Ok(sources) = disk::read_pack(content) else {
                    continue;
                };
                let last = publish.borrow().clone();
                if last.is_of(&sources) {
                    continue;
                }
                let proof =
                    crate::proof_told(sources, Scope::Pack, Zones::Asked, last.store(), &Silent);
                let next = last.next(proof);
                say(&next.line());
                publish.send_replace(Arc::new(next));
            }
        });
        let served = serve::serve(listener, at, editions);
        drop(watching);
        served.map_err(PreviewProblem::Serve)
    })
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
