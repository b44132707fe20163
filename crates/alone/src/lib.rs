//! The words of rayon that the workspace uses, one thing after the other: what stands in rayon's place in a module for
//! browsers, where there is one thread. What rayon needs for many would be a tenth of such a module.
//!
//! Parallel iterators are plain ones; the words below are those that plain iterators and slices lack.
//!
//! ```
//! use ionfall_alone::prelude::*;
//!
//! let squares: Vec<i32> = [1, 2, 3].par_iter().map(|x| x * x).collect();
//! assert_eq!(squares, [1, 4, 9]);
//! assert_eq!(ionfall_alone::join(|| 1, || 2), (1, 2));
//! ```

/// Does one, then the other.
pub fn join<A, B>(one: impl FnOnce() -> A, other: impl FnOnce() -> B) -> (A, B) {
    (one(), other())
}

/// Makes a pool of one thread.
#[derive(Debug, Default)]
pub struct ThreadPoolBuilder;

impl ThreadPoolBuilder {
    /// One that is to be made.
    pub fn new() -> Self {
        Self
    }

    /// There is one thread, whatever is asked for.
    #[must_use]
    pub fn num_threads(self, _number: usize) -> Self {
        self
    }

    /// Makes it.
    ///
    /// # Errors
    /// None.
    pub fn build(self) -> Result<ThreadPool, std::convert::Infallible> {
        Ok(ThreadPool)
    }
}

/// A pool of one thread.
#[derive(Debug)]
pub struct ThreadPool;

impl ThreadPool {
    /// Does something.
    pub fn install<R>(&self, work: impl FnOnce() -> R) -> R {
        work()
    }
}

/// All that is brought in by `use rayon::prelude::*`.
pub mod prelude {
    pub use crate::{Adapters, Borrowed, Owned, Slices};
}

/// Iterators of what is given away.
pub trait Owned: IntoIterator + Sized {
    /// One thing after the other.
    fn into_par_iter(self) -> Self::IntoIter {
        self.into_iter()
    }
}

impl<T: IntoIterator> Owned for T {}

/// Iterators of what is lent.
pub trait Borrowed<T> {
    /// One thing after the other.
    fn par_iter(&self) -> std::slice::Iter<'_, T>;

    /// One thing after the other, to be changed.
    fn par_iter_mut(&mut self) -> std::slice::IterMut<'_, T>;
}

impl<T, L: AsRef<[T]> + AsMut<[T]> + ?Sized> Borrowed<T> for L {
    fn par_iter(&self) -> std::slice::Iter<'_, T> {
        self.as_ref().iter()
    }

    fn par_iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.as_mut().iter_mut()
    }
}

/// Pieces and orders of slices.
pub trait Slices<T> {
    /// Pieces of so many.
    fn par_chunks(&self, size: usize) -> std::slice::Chunks<'_, T>;

    /// The same, to be changed.
    fn par_chunks_mut(&mut self, size: usize) -> std::slice::ChunksMut<'_, T>;

    /// Neighbours, so many at a time.
    fn par_windows(&self, size: usize) -> std::slice::Windows<'_, T>;

    /// Sorts.
    fn par_sort_unstable(&mut self)
    where
        T: Ord;

    /// Sorts by a key.
    fn par_sort_unstable_by_key<K: Ord>(&mut self, key: impl FnMut(&T) -> K);

    /// Sorts by a key that is asked for once.
    fn par_sort_by_cached_key<K: Ord>(&mut self, key: impl FnMut(&T) -> K);
}

impl<T> Slices<T> for [T] {
    fn par_chunks(&self, size: usize) -> std::slice::Chunks<'_, T> {
        self.chunks(size)
    }

    fn par_chunks_mut(&mut self, size: usize) -> std::slice::ChunksMut<'_, T> {
        self.chunks_mut(size)
    }

    fn par_windows(&self, size: usize) -> std::slice::Windows<'_, T> {
        self.windows(size)
    }

    fn par_sort_unstable(&mut self)
    where
        T: Ord,
    {
        self.sort_unstable();
    }

    fn par_sort_unstable_by_key<K: Ord>(&mut self, key: impl FnMut(&T) -> K) {
        self.sort_unstable_by_key(key);
    }

    fn par_sort_by_cached_key<K: Ord>(&mut self, key: impl FnMut(&T) -> K) {
        self.sort_by_cached_key(key);
    }
}

/// Words of parallel iterators that plain ones do not have.
pub trait Adapters: Iterator + Sized {
    /// Several things for each.
    fn flat_map_iter<U: IntoIterator, F: FnMut(Self::Item) -> U>(
        self,
        several: F,
    ) -> std::iter::FlatMap<Self, U, F> {
        self.flat_map(several)
    }

    /// Something for each, with a tool that is made once.
    fn map_init<T, U>(
        self,
        tool: impl FnOnce() -> T,
        mut make: impl FnMut(&mut T, Self::Item) -> U,
    ) -> impl Iterator<Item = U> {
        let mut tool = tool();
        self.map(move |item| make(&mut tool, item))
    }

    /// There are no pieces to be kept small.
    fn with_max_len(self, _most: usize) -> Self {
        self
    }
}

impl<I: Iterator> Adapters for I {}

#[cfg(test)]
mod tests {
    use super::prelude::*;

    #[test]
    fn words_mean_what_they_mean_for_many() {
        let mut list = vec![3, 1, 2];
        list.par_sort_unstable();
        list.par_iter_mut().for_each(|x| *x *= 2);
        assert_eq!(list, [2, 4, 6]);
        list.par_sort_by_cached_key(|x| -x);
        let doubled: Vec<i32> = list.par_iter().flat_map_iter(|&x| [x, x]).collect();
        assert_eq!(doubled, [6, 6, 4, 4, 2, 2]);
        let counted = (0..3).into_par_iter().with_max_len(1).map_init(
            || 10,
            |n, x| {
                *n += 1;
                *n + x
            },
        );
        assert_eq!(counted.collect::<Vec<_>>(), [11, 13, 15]);
        let pairs: Vec<i32> = list.par_windows(2).map(|pair| pair[0] - pair[1]).collect();
        assert_eq!(pairs, [2, 2]);
        list.par_chunks_mut(2).for_each(|piece| piece[0] = 0);
        assert_eq!(list.par_chunks(2).map(<[i32]>::len).sum::<usize>(), 3);
        assert_eq!(list, [0, 4, 0]);
    }
}
