//! A random generator of the tests' own (xorshift64*, Vigna 2016), fixed by its seed.

pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        assert_ne!(seed, 0, "xorshift stays at 0");
        Self(seed)
    }

    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// From 0 (included) to 1 (excluded).
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize
    }

    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    pub fn of<T: Copy>(&mut self, values: &[T]) -> T {
        values[self.below(values.len())]
    }

    /// Mean 0, deviation 1 (Box and Muller, 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    pub fn shuffle<T>(&mut self, values: &mut [T]) {
        for last in (1..values.len()).rev() {
            values.swap(last, self.below(last + 1));
        }
    }
}
