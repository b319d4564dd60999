//! A small seeded generator, so that a failure can be run again.

/// `SplitMix64` (Steele, Lea and Flood, 2014; from memory).
pub struct Random(u64);

impl Random {
    /// Prints the seed, which the harness shows when the test fails.
    pub fn seeded(seed: u64) -> Self {
        println!("seed {seed}");
        Self(seed)
    }

    /// Evenly between two ends.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        low + (high - low) * ((z >> 11) as f64 / (1_u64 << 53) as f64)
    }
}
