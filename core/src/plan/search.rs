//! The exact search: dynamic programming over the set of cylinders done.
//!
//! The table holds, for every set of cylinders done and every way in which the last
//! of them was left (its place and the adaptor in hand), the least minutes that the
//! rest still takes. It is filled from the full set down; the route is then read
//! forward, so that ties are settled at the first stop at which they differ.

use super::circle::{Circle, lesser};
use super::question::MINUTES_TIE;
use super::ways::{FittedAdaptor, Ways};

/// One stop of a route by its indices in [`Ways`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Leg {
    /// Index of the cylinder in `Ways::cylinders`.
    pub cylinder: usize,
    /// Index of the position in `Ways::places`.
    pub place: usize,
    /// Index of the adaptor order in the cylinder's `sequences`.
    pub sequence: usize,
}

/// Least minutes to go, cylinder by cylinder: for each a row of `places x adaptors`
/// for every set that holds it.
pub(super) struct Table {
    to_go: Vec<Vec<f64>>,
}

/// One way to go on, and what the whole order then takes.
struct Choice {
    leg: Leg,
    /// Minutes of this stop: turn, bank change, adaptor changes.
    step: f64,
    /// Minutes of this stop and of all that follows.
    total: f64,
}

impl Table {
    /// Fills the table.
    pub fn fill(ways: &Ways) -> Self {
        let count = ways.cylinders.len();
        let sets = (1_usize << count) / 2;
        let mut table = Table {
            to_go: ways
                .cylinders
                .iter()
                .map(|c| vec![0.0; sets * c.places.len() * c.adaptors.len()])
                .collect(),
        };
        let mut circle = Circle::of(ways);
        let mut by_hand = vec![0.0; ways.adaptors.len()];
        let all = (1_usize << count) - 1;
        // The full set has nothing to go, and the empty set is read from the start.
        for done in (1..all).rev() {
            table.look_ahead(ways, done, &mut by_hand, &mut circle);
            circle.turn();
            table.fill_set(ways, done, &circle);
        }
        table
    }

    /// Lays on the circle what may come after the set `done`: least minutes from the
    /// arrival at each place, by the adaptor in hand on arrival. `by_hand` is scratch.
    fn look_ahead(&self, ways: &Ways, done: usize, by_hand: &mut [f64], circle: &mut Circle) {
        circle.clear();
        let allowed = ways.allowed_after(done);
        for (index, cylinder) in ways.cylinders.iter().enumerate() {
            if allowed >> index & 1 == 0 {
                continue;
            }
            let rows = self.rows(ways, index, done | 1 << index);
            let needed = cylinder.adaptors.len();
            let inside = (needed - 1) as f64 * ways.adaptor_change;
            for (place, row) in cylinder.places.clone().zip(rows.chunks_exact(needed)) {
                let ends = RowEnds::of(row);
                let changed = inside + ends.least + ways.adaptor_change;
                by_hand.fill(changed);
                for (first, adaptor) in cylinder.adaptors.iter().enumerate() {
                    by_hand[*adaptor] = lesser(inside + ends.least_after(first), changed);
                }
                circle.offer(place, cylinder.bank, by_hand);
            }
        }
    }

    /// Writes the rows of every cylinder in `done`.
    fn fill_set(&mut self, ways: &Ways, done: usize, circle: &Circle) {
        for (index, cylinder) in ways.cylinders.iter().enumerate() {
            if done >> index & 1 == 0 {
                continue;
            }
            let width = cylinder.places.len() * cylinder.adaptors.len();
            let start = without(done, index) * width;
            let mut cells = self.to_go[index][start..start + width].iter_mut();
            for place in cylinder.places.clone() {
                for (adaptor, cell) in cylinder.adaptors.iter().zip(&mut cells) {
                    *cell = circle.least_from(place, cylinder.bank, *adaptor);
                }
            }
        }
    }

    /// The rows of one cylinder, by place and then by last adaptor, for a set with it.
    fn rows(&self, ways: &Ways, index: usize, done: usize) -> &[f64] {
        let cylinder = &ways.cylinders[index];
        let width = cylinder.places.len() * cylinder.adaptors.len();
        &self.to_go[index][without(done, index) * width..][..width]
    }

    /// Reads the cheapest route; among equals the first by cylinder number, offset
    /// and names of adaptors, stop by stop.
    pub fn route(&self, ways: &Ways) -> Vec<Leg> {
        let mut route: Vec<Leg> = Vec::with_capacity(ways.cylinders.len());
        let (mut done, mut spent, mut hand) = (0, 0.0, ways.start_adaptor);
        let mut limit = f64::NEG_INFINITY;
        while route.len() < ways.cylinders.len() {
            let choices = self.choices(ways, done, route.last().map(|leg| leg.place), hand);
            let least = choices.iter().map(|c| c.total).fold(f64::INFINITY, lesser);
            limit = limit.max(spent + least);
            // The ties of all stops share one allowance, so that it cannot add up.
            let Some(choice) = choices
                .into_iter()
                .find(|c| spent + c.total <= limit + MINUTES_TIE)
            else {
                break;
            };
            let leg = choice.leg;
            done |= 1 << leg.cylinder;
            spent += choice.step;
            hand = ways.cylinders[leg.cylinder].sequences[leg.sequence].hand();
            route.push(leg);
        }
        route
    }

    /// Every way to go on, in the order in which ties are settled.
    fn choices(
        &self,
        ways: &Ways,
        done: usize,
        at: Option<usize>,
        hand: FittedAdaptor,
    ) -> Vec<Choice> {
        let allowed = ways.allowed_after(done);
        let mut choices = Vec::new();
        for (index, cylinder) in ways.cylinders.iter().enumerate() {
            if allowed >> index & 1 == 0 {
                continue;
            }
            let rows = self.rows(ways, index, done | 1 << index);
            for (place, row) in cylinder
                .places
                .clone()
                .zip(rows.chunks_exact(cylinder.adaptors.len()))
            {
                let there = at.map_or(ways.from_start[place], |from| ways.between(from, place));
                for (number, sequence) in cylinder.sequences.iter().enumerate() {
                    let first = usize::from(!hand.allows_free(sequence.first));
                    let changes = first + sequence.names.len() - 1;
                    let step = there + changes as f64 * ways.adaptor_change;
                    choices.push(Choice {
                        leg: Leg {
                            cylinder: index,
                            place,
                            sequence: number,
                        },
                        step,
                        total: step + row[sequence.last],
                    });
                }
            }
        }
        choices
    }
}

/// The set without one cylinder, and without its bit.
fn without(set: usize, cylinder: usize) -> usize {
    let low = (1 << cylinder) - 1;
    set & low | (set >> (cylinder + 1)) << cylinder
}

/// The cheapest ways to end a cylinder: with the first adaptor fixed, the last one is
/// another, unless there is only one.
struct RowEnds {
    least: f64,
    /// The last adaptor of the cheapest, none if it can be the first as well.
    last: Option<usize>,
    /// The least with another last adaptor than that.
    second: f64,
}

impl RowEnds {
    /// Of minutes to go by last adaptor.
    fn of(row: &[f64]) -> Self {
        let mut ends = RowEnds {
            least: f64::INFINITY,
            last: None,
            second: f64::INFINITY,
        };
        for (last, minutes) in row.iter().enumerate() {
            if *minutes < ends.least {
                ends.second = ends.least;
                ends.least = *minutes;
                ends.last = (row.len() > 1).then_some(last);
            } else {
                ends.second = lesser(ends.second, *minutes);
            }
        }
        ends
    }

    fn least_after(&self, first: usize) -> f64 {
        if self.last == Some(first) {
            self.second
        } else {
            self.least
        }
    }
}
