//! Random numbers that a seed repeats.

/// Random numbers that a seed repeats (`SplitMix64`).
#[derive(Clone, Debug)]
pub struct Dice(u64);

impl Dice {
    /// Dice with a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next number of 64 bits.
    #[allow(clippy::should_implement_trait)] // endless, so no iterator
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    /// True once in `n` times.
    pub fn once_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// One of a list.
    ///
    /// # Panics
    /// If the list is empty.
    pub fn one_of<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())].clone()
    }
}
