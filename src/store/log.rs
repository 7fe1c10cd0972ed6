//! What outlasts a press: records by digest, of which a press adds only the new ones.
//!
//! ```text
//! SHA-256 of the program │ record │ record │ …
//! record: SHA-256 of what follows │ length of the value │ key │ value
//! ```
//!
//! A record that is damaged or cut counts as none; the later of two with one key is the one. What a
//! press did not use is left out when it takes more room than the rest.

use std::collections::BTreeMap;
use std::io::{self, Read, Seek, Write};
use std::ops::Range;
use std::sync::Mutex;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::{Digest, lock};

/// Bytes of a digest.
const DIGEST: usize = size_of::<Digest>();

/// Bytes of a record before its value.
const HEAD: usize = DIGEST + size_of::<u64>() + DIGEST;

/// Room that unused records may take whatever the used ones take, bytes.
const SPARE_ROOM: usize = 64 * 1024;

/// Bytes of new records that wait in memory for a press to begin to write; more wait [`Aside`].
const MOST_WAITING: usize = 16 << 20;

/// Where the bytes of a log are.
pub trait Bytes: Send + Sync {
    /// How many there are.
    fn size(&self) -> usize;

    /// Copies those from `at` on, as many as there is room for.
    ///
    /// # Errors
    /// Where there are fewer, or they cannot be read.
    fn copy(&self, at: usize, room: &mut [u8]) -> io::Result<()>;
}

impl Bytes for Vec<u8> {
    fn size(&self) -> usize {
        self.len()
    }

    fn copy(&self, at: usize, room: &mut [u8]) -> io::Result<()> {
        let bytes = self.get(at..).and_then(|rest| rest.get(..room.len()));
        let bytes = bytes.ok_or(io::ErrorKind::UnexpectedEof)?;
        room.copy_from_slice(bytes);
        Ok(())
    }
}

/// A place for what waits, of which nothing is left when it is let go.
pub trait Aside: Read + Write + Seek + Send {}

impl<T: Read + Write + Seek + Send> Aside for T {}

/// Gives such a place.
pub type OpenAside = Box<dyn FnOnce() -> io::Result<Box<dyn Aside>> + Send>;

/// Records of earlier presses, and where this one adds its own.
pub struct Log {
    /// Read record by record: together they may take much room.
    old: Box<dyn Bytes>,
    /// How many of its bytes are good: those before a record that is cut.
    good: usize,
    /// The old record of each key.
    places: BTreeMap<Digest, Range<usize>>,
    state: Mutex<State>,
}

struct State {
    out: Out,
    /// What this press used or added: bytes of each record.
    used: BTreeMap<Digest, usize>,
    /// Bytes of all records, new ones included.
    bytes: usize,
}

/// Where new records go.
enum Out {
    /// Nowhere yet: nothing is written before a press begins to write its output.
    Waiting(Waiting),
    To(Box<dyn Write + Send>),
    /// Nowhere any more; a failure may have left half a record.
    Failed,
}

/// New records of a press that has not begun to write.
#[derive(Default)]
struct Waiting {
    /// The first of them, once there were many.
    aside: Option<Box<dyn Aside>>,
    rest: Vec<u8>,
    /// Where there could be a place for many, and it was not asked for yet.
    open: Option<OpenAside>,
}

impl Waiting {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.rest.extend_from_slice(bytes);
        if self.rest.len() < MOST_WAITING {
            return Ok(());
        }
        if let Some(open) = self.open.take() {
            // Without a place all of them wait in memory.
            self.aside = open().ok();
        }
        if let Some(aside) = &mut self.aside {
            aside.write_all(&self.rest)?;
            self.rest.clear();
        }
        Ok(())
    }

    fn move_to(self, out: &mut dyn Write) -> io::Result<()> {
        if let Some(mut aside) = self.aside {
            aside.rewind()?;
            io::copy(&mut aside, out)?;
        }
        out.write_all(&self.rest)
    }
}

impl std::fmt::Debug for Log {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Log of {} records", self.places.len())
    }
}

/// The records of a log, and how far they go.
fn records(log: &dyn Bytes) -> (Vec<(Digest, Range<usize>)>, usize) {
    let mut found = Vec::new();
    let mut made_by = [0; DIGEST];
    if log.copy(0, &mut made_by).is_err() || made_by != program().0 {
        return (found, 0);
    }
    let mut at = DIGEST;
    loop {
        let mut head = [0; HEAD];
        if log.copy(at, &mut head).is_err() {
            return (found, at);
        }
        let (length, key) = head[DIGEST..].split_at(size_of::<u64>());
        let length = length.try_into().map_or(u64::MAX, u64::from_le_bytes);
        let end = usize::try_from(length).ok();
        let end = end.and_then(|length| (at + HEAD).checked_add(length));
        match (end.filter(|end| *end <= log.size()), key.try_into()) {
            (Some(end), Ok(key)) => {
                found.push((Digest(key), at..end));
                at = end;
            }
            _ => return (found, at),
        }
    }
}

/// Whether a record is as it was written.
fn sound(record: &[u8]) -> bool {
    record.starts_with(&Digest::of(&record[DIGEST..]).0)
}

/// What a log begins with: a program made from other sources begins anew.
fn program() -> Digest {
    Digest::of(env!("ROPELEAF_MADE_FROM").as_bytes())
}

impl Log {
    /// Goes on with a log, to which nothing is added until [`Log::write_to`].
    ///
    /// - `old`: its bytes, which nobody else changes meanwhile; what is changed counts as damaged.
    /// - `aside`: for new records that are too many to wait in memory, if there is such a place.
    pub fn of(old: Box<dyn Bytes>, aside: Option<OpenAside>) -> Self {
        let (places, good) = records(&*old);
        let mut state = State {
            out: Out::Waiting(Waiting {
                open: aside,
                ..Waiting::default()
            }),
            used: BTreeMap::new(),
            bytes: good,
        };
        if good == 0 {
            state.write(&program().0);
        }
        Self {
            places: places.into_iter().collect(),
            old,
            good,
            state: Mutex::new(state),
        }
    }

    /// Says where what follows the old records goes.
    ///
    /// - `open`: gives it, of the number of good old bytes, after which it writes.
    pub fn write_to(&self, open: impl FnOnce(usize) -> io::Result<Box<dyn Write + Send>>) {
        let mut state = lock(&self.state);
        let Out::Waiting(waiting) = std::mem::replace(&mut state.out, Out::Failed) else {
            return;
        };
        let opened = open(self.good).and_then(|mut out| {
            waiting.move_to(&mut out)?;
            Ok(out)
        });
        if let Ok(out) = opened {
            state.out = Out::To(out);
        }
    }

    /// The value that is kept for a key.
    pub(super) fn find<T: DeserializeOwned>(&self, key: Digest) -> Option<T> {
        let place = self.places.get(&key)?;
        let mut record = vec![0; place.len()];
        self.old.copy(place.start, &mut record).ok()?;
        if !sound(&record) {
            return None;
        }
        let value = postcard::from_bytes(&record[HEAD..]).ok()?;
        lock(&self.state).used.entry(key).or_insert(record.len());
        Some(value)
    }

    /// Keeps a value. That it cannot be written is no reason to fail: the next press takes longer.
    pub(super) fn keep(&self, key: Digest, value: &impl Serialize) {
        let Ok(value) = postcard::to_allocvec(value) else {
            return;
        };
        let mut record = vec![0; DIGEST];
        record.extend((value.len() as u64).to_le_bytes());
        record.extend(key.0);
        record.extend(value);
        let sum = Digest::of(&record[DIGEST..]);
        record[..DIGEST].copy_from_slice(&sum.0);
        let mut state = lock(&self.state);
        state.write(&record);
        state.used.insert(key, record.len());
    }

    /// Ends the log: everything is written. The keys of what was used, where the rest takes so much
    /// room that it is to be left out ([`Log::only`]).
    pub(super) fn end(self) -> Option<Vec<Digest>> {
        let state = self.state.into_inner();
        let state = state.unwrap_or_else(std::sync::PoisonError::into_inner);
        let Out::To(mut out) = state.out else {
            return None;
        };
        out.flush().ok()?;
        let used: usize = state.used.values().sum();
        (state.bytes > 2 * used + SPARE_ROOM).then(|| state.used.into_keys().collect())
    }

    /// Writes a log with some of its records only, one after another.
    ///
    /// - `keys`: theirs, in order.
    ///
    /// # Errors
    /// Those of the reading and the writing.
    pub fn only(log: &dyn Bytes, keys: &[Digest], out: &mut dyn Write) -> io::Result<()> {
        let last: BTreeMap<Digest, Range<usize>> = records(log).0.into_iter().collect();
        out.write_all(&program().0)?;
        for (key, place) in last {
            if keys.binary_search(&key).is_err() {
                continue;
            }
            let mut record = vec![0; place.len()];
            log.copy(place.start, &mut record)?;
            if sound(&record) {
                out.write_all(&record)?;
            }
        }
        Ok(())
    }
}

impl State {
    fn write(&mut self, bytes: &[u8]) {
        let written = match &mut self.out {
            Out::Waiting(waiting) => waiting.write(bytes),
            Out::To(out) => out.write_all(bytes),
            Out::Failed => Ok(()),
        };
        if written.is_err() {
            self.out = Out::Failed;
        }
        self.bytes += bytes.len();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    /// A file that two can see.
    #[derive(Clone, Default)]
    struct Shared(Arc<Mutex<Vec<u8>>>);

    impl Write for Shared {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            lock(&self.0).extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn key(n: u8) -> Digest {
        Digest::of(&[n])
    }

    /// A log after a press that keeps some values, and what it would leave out.
    fn pressed(old: &[u8], values: &[(u8, &str)]) -> (Vec<u8>, Option<Vec<Digest>>) {
        let log = Log::of(Box::new(old.to_vec()), None);
        let file = Shared(Arc::new(Mutex::new(old[..log.good].to_vec())));
        for (i, (n, value)) in values.iter().enumerate() {
            log.keep(key(*n), value);
            if i == 0 {
                log.write_to(|_| Ok(Box::new(file.clone())));
            }
        }
        let unused = log.end();
        let bytes = lock(&file.0).clone();
        (bytes, unused)
    }

    fn found(log: &[u8], n: u8) -> Option<String> {
        Log::of(Box::new(log.to_vec()), None).find(key(n))
    }

    #[test]
    fn the_last_value_of_a_key_is_found_and_a_damaged_one_is_not() {
        let (first, _) = pressed(&[], &[(1, "one"), (2, "two")]);
        let (second, unused) = pressed(&first, &[(1, "another")]);
        assert_eq!(unused, None);
        assert!(second.starts_with(&first), "it only grows");
        assert_eq!(found(&second, 1).as_deref(), Some("another"));
        assert_eq!(found(&second, 2).as_deref(), Some("two"));
        assert_eq!(found(&second, 3), None);
        for at in 0..first.len() {
            let mut damaged = first.clone();
            damaged[at] ^= 0x20;
            for (n, value) in [(1, "one"), (2, "two")] {
                assert!(
                    found(&damaged, n).is_none_or(|found| found == value),
                    "byte {at}"
                );
            }
            // What is added behind the damage is found.
            let (mended, _) = pressed(&damaged, &[(3, "three")]);
            assert_eq!(found(&mended, 3).as_deref(), Some("three"), "byte {at}");
        }
        for cut in 0..first.len() {
            let (mended, _) = pressed(&first[..cut], &[(3, "three")]);
            assert_eq!(found(&mended, 3).as_deref(), Some("three"), "cut at {cut}");
        }
    }

    #[test]
    fn many_records_that_wait_are_put_aside_and_come_first() {
        let long = "x".repeat(MOST_WAITING / 2 - 100);
        let values = [(1, "one"), (2, &long), (3, &long), (4, &long), (5, "five")];
        for room in [true, false] {
            let open: OpenAside = Box::new(move || match room {
                true => Ok(Box::new(io::Cursor::new(Vec::new()))),
                false => Err(io::ErrorKind::StorageFull.into()),
            });
            let log = Log::of(Box::new(Vec::new()), Some(open));
            for (n, value) in values {
                log.keep(key(n), &value);
            }
            let file = Shared::default();
            log.write_to(|_| Ok(Box::new(file.clone())));
            log.keep(key(6), &"six");
            assert_eq!(log.end(), None);
            let bytes = lock(&file.0).clone();
            for (n, value) in values.into_iter().chain([(6, "six")]) {
                assert_eq!(
                    found(&bytes, n).as_deref(),
                    Some(value),
                    "room aside: {room}"
                );
            }
        }
    }

    #[test]
    fn what_was_not_used_is_left_out_when_it_takes_the_most_room() {
        let long = "x".repeat(2 * SPARE_ROOM);
        let (first, unused) = pressed(&[], &[(1, &long)]);
        assert_eq!(unused, None);
        let (second, unused) = pressed(&first, &[(2, "two")]);
        let mut less = Vec::new();
        let unused = unused.expect("most of it is not used");
        Log::only(&second, &unused, &mut less).unwrap();
        assert!(less.len() < 200);
        assert_eq!(found(&less, 1), None);
        assert_eq!(found(&less, 2).as_deref(), Some("two"));
    }
}
