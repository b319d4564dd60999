//! Numbers that look random and are the same every time: `SplitMix64` (Steele, Lea
//! and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; from
//! memory). The seed is handed in, so that equal questions get equal answers.

/// A generator of numbers, fully fixed by its seed.
#[derive(Clone, Debug)]
pub(super) struct Dice {
    state: u64,
}

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 (included) to 1 (excluded).
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A number from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A number from nearly the normal distribution of mean 0 and deviation 1: the sum
    /// of twelve uniform ones less 6.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }

    /// One of the values; 0 if there are none.
    pub fn pick(&mut self, values: &[f64]) -> f64 {
        values.get(self.index(values.len())).copied().unwrap_or(0.0)
    }

    /// An index below `count`; 0 if `count` is 0.
    pub fn index(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count.saturating_sub(1))
    }
}

#[cfg(test)]
mod tests {
    use super::Dice;

    #[test]
    fn the_first_numbers_are_those_of_the_published_generator() {
        // Outputs of SplitMix64 for seed 1234567, as listed with the reference code
        // of S. Vigna (prng.di.unimi.it); from memory.
        let mut dice = Dice::new(1_234_567);
        assert_eq!(dice.next(), 6_457_827_717_110_365_317);
        assert_eq!(dice.next(), 3_203_168_211_198_807_973);
        assert_eq!(dice.next(), 9_817_491_932_198_370_423);
    }

    #[test]
    fn an_index_stays_below_its_count() {
        let mut dice = Dice::new(1);
        assert!((0..10_000).all(|_| dice.index(3) < 3));
        assert_eq!(dice.index(0), 0);
    }
}
