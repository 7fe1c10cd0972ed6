//! Watching a pack's folder: bursts of events (a save by renaming, a whole checkout) become one.

use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use notify_debouncer_mini::notify::{self, RecommendedWatcher, RecursiveMode};
use notify_debouncer_mini::{DebounceEventResult, Debouncer, new_debouncer};

/// Quiet time that ends a burst: long enough for an editor's rename, short enough to feel at once.
const QUIET: Duration = Duration::from_millis(20);

/// A running watch; dropping it ends its [`Changes`].
pub type Watching = Debouncer<RecommendedWatcher>;

/// What a watch tells.
pub struct Changes(Receiver<()>);

impl Changes {
    /// One item a change, until the watch ends. Several that wait are taken as one.
    pub fn iter(&self) -> impl Iterator<Item = ()> + '_ {
        self.0
            .iter()
            .inspect(|()| while self.0.try_recv().is_ok() {})
    }
}

/// Watches a folder and everything below it.
///
/// # Errors
/// The watcher's, where the system gives no watch.
pub fn watch(folder: &Path) -> Result<(Watching, Changes), notify::Error> {
    let (tell, changed) = channel();
    let folder = folder.canonicalize().map_err(notify::Error::io)?;
    let below = folder.clone();
    let mut debouncer = new_debouncer(QUIET, move |events: DebounceEventResult| {
        let counts = match &events {
            Ok(events) => events.iter().any(|event| counts(&event.path, &below)),
            // An overflow of the system's queue: something changed, it does not say what.
            Err(_) => true,
        };
        if counts {
            // The receiver is gone only when the preview ends.
            let _ = tell.send(());
        }
    })?;
    debouncer
        .watcher()
        .watch(&folder, RecursiveMode::Recursive)?;
    Ok((debouncer, Changes(changed)))
}

/// Whether a path is one that the pack's reader would read.
fn counts(path: &Path, folder: &Path) -> bool {
    let below = path.strip_prefix(folder).unwrap_or(path);
    let hidden = |name: &str| name.starts_with('.') || name.ends_with('~');
    !below
        .components()
        .any(|part| hidden(&part.as_os_str().to_string_lossy()))
}
