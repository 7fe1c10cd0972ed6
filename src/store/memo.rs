//! Results in memory, for a program that goes on: those of this round and the one before it.

use std::collections::BTreeMap;
use std::sync::Mutex;

use super::{Digest, lock};

/// Results by the digest of their inputs. One made by default remembers nothing.
#[derive(Debug)]
pub struct Memo<T>(Option<Mutex<Rounds<T>>>);

#[derive(Debug)]
struct Rounds<T> {
    now: BTreeMap<Digest, T>,
    before: BTreeMap<Digest, T>,
    /// The most new ones that a round remembers.
    most: usize,
}

impl<T> Default for Memo<T> {
    fn default() -> Self {
        Self(None)
    }
}

impl<T: Clone> Memo<T> {
    /// One that remembers.
    pub fn new() -> Self {
        Self::of(usize::MAX)
    }

    /// One that remembers no more than so many new results of a round.
    pub fn of(most: usize) -> Self {
        Self(Some(Mutex::new(Rounds {
            now: BTreeMap::new(),
            before: BTreeMap::new(),
            most,
        })))
    }

    /// The remembered result.
    pub fn find(&self, key: Digest) -> Option<T> {
        let mut rounds = lock(self.0.as_ref()?);
        if let Some(result) = rounds.now.get(&key) {
            return Some(result.clone());
        }
        let result = rounds.before.remove(&key)?;
        rounds.now.insert(key, result.clone());
        Some(result)
    }

    /// Remembers a result.
    pub fn keep(&self, key: Digest, result: T) {
        if let Some(rounds) = &self.0 {
            let mut rounds = lock(rounds);
            if rounds.now.len() < rounds.most {
                rounds.now.insert(key, result);
            }
        }
    }

    /// The remembered result, or the one that is made now.
    pub fn get(&self, key: impl FnOnce() -> Digest, make: impl FnOnce() -> T) -> T {
        if self.0.is_none() {
            return make();
        }
        let key = key();
        self.find(key).unwrap_or_else(|| {
            let result = make();
            self.keep(key, result.clone());
            result
        })
    }

    /// Begins another round; what was not asked for in the last one is forgotten.
    pub fn settle(&self) {
        if let Some(rounds) = &self.0 {
            let mut rounds = lock(rounds);
            rounds.before = std::mem::take(&mut rounds.now);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_result_is_made_once_while_it_is_asked_for() {
        let memo = Memo::new();
        let key = || Digest::of(b"k");
        let mut made = 0;
        for _ in 0..3 {
            memo.get(key, || made += 1);
            memo.settle();
        }
        assert_eq!(made, 1);
        memo.settle();
        memo.get(key, || made += 1);
        assert_eq!(made, 2);
    }

    #[test]
    fn a_full_round_is_not_added_to() {
        let memo = Memo::of(1);
        let (first, second) = (Digest::of(b"1"), Digest::of(b"2"));
        memo.keep(first, 1);
        memo.keep(second, 2);
        assert_eq!((memo.find(first), memo.find(second)), (Some(1), None));
        memo.settle();
        memo.keep(second, 2);
        assert_eq!(memo.find(second), Some(2));
    }
}
