//! Watching a pack's folder: bursts of events (a save by renaming, a whole checkout) become one.
//!
//! ```text
//! events of the system ─those of files that the pack's reader reads→ burst ─quiet→ one change
//! ```
//!
//! Reading a file is an event too; it counts for nothing, or each press would bring on the next.
//! Links are followed as the reader follows them: a file that a link stands for is watched where
//! it is.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use notify::event::{AccessKind, AccessMode, EventKind, ModifyKind};
use notify::{Event, RecommendedWatcher, RecursiveMode, Watcher};
use walkdir::WalkDir;

use crate::disk;

/// Quiet time that ends a burst: the steps of one save follow one another at once, and what comes later
/// is pressed again.
const QUIET: Duration = Duration::from_millis(8);

/// Events of a burst after which it is looked at as far as it has come, quiet or not: several times
/// as many as a checkout of a large pack brings at once.
const LARGEST: usize = 10_000;

enum Told {
    Change {
        /// Whether files or folders came, went or changed their names.
        moved: bool,
    },
    End,
}

/// What the pack's reader reads.
struct Reader {
    /// The pack's folder by the name that it was given, which may be a link's, in the folder that
    /// holds it.
    name: PathBuf,
    /// The pack's folder, without links in its own path.
    folder: PathBuf,
    /// Files elsewhere that links below the folder stand for.
    linked: BTreeSet<PathBuf>,
}

/// What ends a wait.
#[derive(Debug, PartialEq, Eq)]
pub enum Woken {
    /// Something that the reader reads is different, or may be.
    Changed,
    /// Nothing came in the time given.
    TimeUp,
    /// Nothing is to come any more.
    Ended,
}

/// A folder under watch, with everything below it.
pub struct Watch {
    watcher: RecommendedWatcher,
    told: Receiver<Told>,
    tell: Sender<Told>,
    reader: Arc<Mutex<Reader>>,
    /// What keeps a part of the pack from being watched, until it is taken.
    pub trouble: Option<String>,
}

/// Ends a [`Watch`] when it is dropped.
pub struct Ending(Sender<Told>);

impl Drop for Ending {
    fn drop(&mut self) {
        // The receiver is gone only when the watch is.
        let _ = self.0.send(Told::End);
    }
}

impl Watch {
    /// Watches a folder and everything below it from now on.
    ///
    /// # Errors
    /// The watcher's, where the system gives no watch.
    pub fn of(folder: &Path) -> notify::Result<Self> {
        let (tell, told) = channel();
        let real = folder.canonicalize().map_err(notify::Error::io)?;
        let reader = Arc::new(Mutex::new(Reader {
            name: named(folder).unwrap_or_else(|| real.clone()),
            folder: real,
            linked: BTreeSet::new(),
        }));
        let (own, to) = (reader.clone(), tell.clone());
        let watcher = notify::recommended_watcher(move |event| {
            if let Some(told) = lock(&own).told(&event) {
                // The receiver is gone only when the watch is.
                let _ = to.send(told);
            }
        })?;
        let mut watch = Self {
            watcher,
            told,
            tell,
            reader,
            trouble: None,
        };
        watch.renew()?;
        Ok(watch)
    }

    /// What ends the watch.
    pub fn ending(&self) -> Ending {
        Ending(self.tell.clone())
    }

    /// Waits for a change, and until the burst that it belongs to is over.
    ///
    /// - `patience`: how long to wait for its beginning; for ever where there is none.
    pub fn wait(&mut self, patience: Option<Duration>) -> Woken {
        let first = match patience {
            None => self.told.recv().map_err(RecvTimeoutError::from),
            Some(patience) => self.told.recv_timeout(patience),
        };
        let mut moved = match first {
            Ok(Told::Change { moved }) => moved,
            Ok(Told::End) | Err(RecvTimeoutError::Disconnected) => return Woken::Ended,
            Err(RecvTimeoutError::Timeout) => return Woken::TimeUp,
        };
        for count in 1.. {
            let quiet = if count < LARGEST {
                QUIET
            } else {
                Duration::ZERO
            };
            match self.told.recv_timeout(quiet) {
                Ok(Told::Change { moved: also }) => moved |= also,
                Ok(Told::End) | Err(RecvTimeoutError::Disconnected) => return Woken::Ended,
                Err(RecvTimeoutError::Timeout) => break,
            }
        }
        if moved && let Err(problem) = self.renew() {
            self.trouble = Some(problem.to_string());
        }
        Woken::Changed
    }

    /// Watches what stands below the folder now: a folder that was deleted and laid out again is
    /// another one to the system, and links may stand for other files than before.
    ///
    /// # Errors
    /// The watcher's; what could be watched is.
    pub fn renew(&mut self) -> notify::Result<()> {
        let (name, before) = {
            let reader = lock(&self.reader);
            (reader.name.clone(), reader.folder.clone())
        };
        // A link may lead elsewhere by now; one to nothing is waited for.
        let folder = name.canonicalize().unwrap_or_else(|_| before.clone());
        if folder != before {
            // What was deleted is not watched any more.
            let _ = self.watcher.unwatch(&before);
            lock(&self.reader).folder.clone_from(&folder);
        }
        // Tells when the folder itself, or the link to it, goes and comes back.
        for parent in [name.parent(), folder.parent()].into_iter().flatten() {
            self.watcher.watch(parent, RecursiveMode::NonRecursive)?;
        }
        if !folder.is_dir() {
            return Ok(());
        }
        self.watcher.watch(&folder, RecursiveMode::Recursive)?;
        let linked = linked(&folder);
        let known = std::mem::replace(&mut lock(&self.reader).linked, linked.clone());
        for new in linked.difference(&known) {
            // Editors put another file in its place, so the folder that holds it is watched.
            if let Some(holder) = new.parent() {
                self.watcher.watch(holder, RecursiveMode::NonRecursive)?;
            }
        }
        Ok(())
    }
}

impl Reader {
    /// Whether an event is about something that the reader reads.
    fn counts(&self, event: &Event) -> bool {
        let written = EventKind::Access(AccessKind::Close(AccessMode::Write));
        if event.kind.is_access() && event.kind != written {
            return false;
        }
        let own = |path: &PathBuf| match path.strip_prefix(&self.folder) {
            Ok(below) => below
                .components()
                .all(|part| disk::is_read(&part.as_os_str().to_string_lossy())),
            Err(_) => *path == self.name || self.linked.contains(path),
        };
        event.need_rescan() || event.paths.iter().any(own)
    }

    /// What an event comes to; nothing where it is not the reader's business.
    fn told(&self, event: &notify::Result<Event>) -> Option<Told> {
        match event {
            Ok(event) => self.counts(event).then(|| Told::Change {
                moved: moves(event),
            }),
            // Such as an overflow of the system's queue: something changed.
            Err(_) => Some(Told::Change { moved: true }),
        }
    }
}

/// The name that a folder has in the one that holds it, which stands without links.
fn named(folder: &Path) -> Option<PathBuf> {
    let folder = std::path::absolute(folder).ok()?;
    Some(
        folder
            .parent()?
            .canonicalize()
            .ok()?
            .join(folder.file_name()?),
    )
}

/// Whether files or folders came, went or changed their names.
fn moves(event: &Event) -> bool {
    let in_place = matches!(
        event.kind,
        EventKind::Access(_) | EventKind::Modify(ModifyKind::Data(_) | ModifyKind::Metadata(_))
    );
    !in_place || event.need_rescan()
}

/// A panic elsewhere leaves nothing half done under this lock.
fn lock(reader: &Mutex<Reader>) -> MutexGuard<'_, Reader> {
    reader.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Files that links below a folder stand for, without links in their paths.
fn linked(folder: &Path) -> BTreeSet<PathBuf> {
    let walk = WalkDir::new(folder).follow_links(true).into_iter();
    let entries = walk.filter_map(Result::ok);
    entries
        .filter(|entry| entry.path_is_symlink() && entry.file_type().is_file())
        .filter_map(|entry| entry.path().canonicalize().ok())
        .collect()
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    /// Long enough for the system to tell of anything.
    const LONG: Option<Duration> = Some(Duration::from_secs(20));
    /// Long enough for what is on its way.
    const SHORT: Option<Duration> = Some(Duration::from_millis(200));

    fn pack() -> (tempfile::TempDir, PathBuf, Watch) {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("pack");
        fs::create_dir_all(folder.join("lessons")).unwrap();
        fs::write(folder.join("lessons/a.md"), "a").unwrap();
        let watch = Watch::of(&folder).unwrap();
        (home, folder, watch)
    }

    /// A change is told, and reading the pack after each telling comes to rest.
    fn told(watch: &mut Watch, folder: &Path, what: &str) {
        assert_eq!(watch.wait(LONG), Woken::Changed, "{what}");
        let mut more = 0;
        while watch.wait(SHORT) == Woken::Changed {
            more += 1;
            assert!(more < 50, "{what}: told without end");
            let _ = disk::read_pack(folder);
        }
    }

    #[test]
    fn saves_of_every_kind_are_told() {
        let (home, folder, mut watch) = pack();
        let lesson = folder.join("lessons/a.md");
        fs::write(&lesson, "b").unwrap();
        told(&mut watch, &folder, "written in place");
        fs::write(folder.join("lessons/.a.part"), "c").unwrap();
        fs::rename(folder.join("lessons/.a.part"), &lesson).unwrap();
        told(&mut watch, &folder, "renamed over");
        fs::rename(&lesson, folder.join("lessons/a.md~")).unwrap();
        fs::write(&lesson, "d").unwrap();
        told(&mut watch, &folder, "backed up, then written");
        for i in 0..200 {
            fs::write(&lesson, i.to_string()).unwrap();
        }
        told(&mut watch, &folder, "200 saves");
        fs::create_dir_all(folder.join("lessons/new/below")).unwrap();
        told(&mut watch, &folder, "new folders");
        fs::write(folder.join("lessons/new/below/b.md"), "b").unwrap();
        told(&mut watch, &folder, "a file in a new folder");
        fs::rename(folder.join("lessons/new"), folder.join("lessons/named")).unwrap();
        told(&mut watch, &folder, "a folder renamed");
        fs::write(folder.join("lessons/named/below/b.md"), "c").unwrap();
        told(&mut watch, &folder, "a file in a renamed folder");
        fs::rename(&folder, home.path().join("away")).unwrap();
        told(&mut watch, &folder, "the pack moved away");
        fs::create_dir_all(folder.join("lessons")).unwrap();
        told(&mut watch, &folder, "another pack in its place");
        fs::write(&lesson, "e").unwrap();
        told(&mut watch, &folder, "a file of the other pack");
    }

    #[test]
    fn reading_and_what_editors_put_aside_are_not_told() {
        let (home, folder, mut watch) = pack();
        disk::read_pack(&folder).unwrap();
        fs::write(folder.join("lessons/.a.md.swp"), "x").unwrap();
        fs::write(folder.join("lessons/a.md~"), "x").unwrap();
        fs::create_dir_all(folder.join(".git/objects")).unwrap();
        fs::write(folder.join(".git/objects/x"), "x").unwrap();
        fs::write(home.path().join("beside"), "x").unwrap();
        assert_eq!(watch.wait(SHORT), Woken::TimeUp);
    }

    #[cfg(unix)]
    #[test]
    fn what_links_stand_for_is_watched() {
        use std::os::unix::fs::symlink;

        let (home, folder, mut watch) = pack();
        let elsewhere = home.path().join(".elsewhere");
        fs::create_dir_all(elsewhere.join("kit")).unwrap();
        fs::write(elsewhere.join("shared.md"), "a").unwrap();
        fs::write(elsewhere.join("kit/line.toml"), "a").unwrap();
        symlink(
            elsewhere.join("shared.md"),
            folder.join("lessons/shared.md"),
        )
        .unwrap();
        symlink(elsewhere.join("kit"), folder.join("kit")).unwrap();
        told(&mut watch, &folder, "links laid out");
        fs::write(elsewhere.join("part"), "b").unwrap();
        assert_eq!(
            watch.wait(SHORT),
            Woken::TimeUp,
            "a file that no link names"
        );
        fs::rename(elsewhere.join("part"), elsewhere.join("shared.md")).unwrap();
        told(&mut watch, &folder, "a linked file renamed over");
        fs::write(elsewhere.join("kit/line.toml"), "b").unwrap();
        told(&mut watch, &folder, "a file in a linked folder");
    }

    #[cfg(unix)]
    #[test]
    fn a_pack_behind_a_link_that_is_led_elsewhere_is_watched() {
        use std::os::unix::fs::symlink;

        let home = tempfile::tempdir().unwrap();
        for (name, lesson) in [("one", "a"), ("two", "b")] {
            fs::create_dir_all(home.path().join(name)).unwrap();
            fs::write(home.path().join(name).join("a.md"), lesson).unwrap();
        }
        let link = home.path().join("pack");
        symlink("one", &link).unwrap();
        let mut watch = Watch::of(&link).unwrap();
        fs::write(home.path().join("one/a.md"), "c").unwrap();
        told(&mut watch, &link, "written through the link");
        symlink("two", home.path().join("new")).unwrap();
        fs::rename(home.path().join("new"), &link).unwrap();
        told(&mut watch, &link, "led elsewhere");
        fs::write(home.path().join("two/a.md"), "d").unwrap();
        told(&mut watch, &link, "written there");
        fs::write(home.path().join("one/a.md"), "e").unwrap();
        assert_eq!(watch.wait(SHORT), Woken::TimeUp, "left behind");
    }

    #[test]
    fn an_ended_watch_says_so() {
        let (_home, _folder, mut watch) = pack();
        drop(watch.ending());
        assert_eq!(watch.wait(None), Woken::Ended);
    }
}
