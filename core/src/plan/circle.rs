//! The crank's circle, on which minutes spread from each place to all places before it.
//!
//! Turning costs the same for every degree, so the least over all places ahead need not
//! be taken place by place: carrying the least found so far twice round the circle,
//! growing by the turn in between, gives it for all places at once.

use super::ways::{SAME_DEG, Ways};

/// So many pairs of bank and adaptor are spread at once, as the processor likes it.
const LANES: usize = 4;

/// What is carried round the circle before anything is met.
const NOTHING: [f64; LANES] = [f64::INFINITY; LANES];

/// Least minutes by angle and, at each angle, by bank and adaptor in hand.
pub(super) struct Circle {
    /// Index of each place's angle.
    angle_of: Vec<usize>,
    /// Minutes of turning from each angle on to the next.
    on_to_next: Vec<f64>,
    may_turn_back: bool,
    bank_change: f64,
    banks: usize,
    hands: usize,
    /// By pair of bank and adaptor (bank x hands + adaptor), [`LANES`] of them
    /// together, then by angle.
    least: Vec<[f64; LANES]>,
}

impl Circle {
    /// The angles of all places, nothing laid on yet.
    pub fn of(ways: &Ways) -> Self {
        let mut by_angle: Vec<usize> = (0..ways.places.len()).collect();
        let crank_deg = |place: usize| ways.places[place].crank_deg;
        by_angle.sort_by(|a, b| crank_deg(*a).total_cmp(&crank_deg(*b)));
        let mut angles: Vec<f64> = Vec::new();
        let mut angle_of = vec![0; ways.places.len()];
        for place in by_angle {
            let deg = crank_deg(place);
            let closes = angles.first().is_some_and(|a| a + 720.0 - deg < SAME_DEG);
            if !closes && angles.last().is_none_or(|a| deg - a > SAME_DEG) {
                angles.push(deg);
            }
            angle_of[place] = if closes { 0 } else { angles.len() - 1 };
        }
        let next = |i: usize| match angles.get(i + 1) {
            Some(next) => *next,
            None => angles[0] + 720.0,
        };
        let turn = |i: usize| (next(i) - angles[i]) / 360.0 * ways.turn_360;
        let banks = ways.cylinders.iter().map(|c| c.bank + 1).max().unwrap_or(0);
        let hands = ways.adaptors.len();
        Self {
            on_to_next: (0..angles.len()).map(turn).collect(),
            angle_of,
            may_turn_back: ways.may_turn_back,
            bank_change: ways.bank_change,
            least: vec![NOTHING; angles.len() * (banks * hands).div_ceil(LANES)],
            banks,
            hands,
        }
    }

    /// Takes everything off again.
    pub fn clear(&mut self) {
        self.least.fill(NOTHING);
    }

    /// Lays on a place that may come next, with the least minutes from the arrival
    /// there, one for each adaptor in hand.
    pub fn offer(&mut self, place: usize, bank: usize, by_hand: &[f64]) {
        for from_bank in 0..self.banks {
            let change = if from_bank == bank {
                0.0
            } else {
                self.bank_change
            };
            for (hand, minutes) in by_hand.iter().enumerate() {
                let (row, lane) = self.cell(place, from_bank, hand);
                let cell = &mut self.least[row][lane];
                *cell = lesser(*cell, minutes + change);
            }
        }
    }

    /// Spreads what was laid on against the direction of the turn, and along it too
    /// where the crank may be turned back.
    pub fn turn(&mut self) {
        let turns = &self.on_to_next;
        let last = turns.len() - 1;
        for rows in self.least.chunks_exact_mut(turns.len()) {
            let mut carried = NOTHING;
            for _ in 0..2 {
                for (row, minutes) in rows.iter_mut().zip(turns).rev() {
                    carried = spread(row, carried, *minutes);
                }
            }
            if !self.may_turn_back {
                continue;
            }
            let mut carried = NOTHING;
            for _ in 0..2 {
                carried = spread(&mut rows[0], carried, turns[last]);
                for (row, minutes) in rows[1..].iter_mut().zip(turns) {
                    carried = spread(row, carried, *minutes);
                }
            }
        }
    }

    /// Least minutes to go from a place in a bank with an adaptor in hand.
    pub fn least_from(&self, place: usize, bank: usize, hand: usize) -> f64 {
        let (row, lane) = self.cell(place, bank, hand);
        self.least[row][lane]
    }

    fn cell(&self, place: usize, bank: usize, hand: usize) -> (usize, usize) {
        let pair = bank * self.hands + hand;
        let row = pair / LANES * self.on_to_next.len() + self.angle_of[place];
        (row, pair % LANES)
    }
}

/// Lowers a row to what is carried there over a turn; gives what is carried on.
fn spread(row: &mut [f64; LANES], carried: [f64; LANES], minutes: f64) -> [f64; LANES] {
    for lane in 0..LANES {
        row[lane] = lesser(row[lane], carried[lane] + minutes);
    }
    *row
}

/// The smaller of two numbers, neither of them NaN; compiles to one instruction.
pub(super) fn lesser(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}
