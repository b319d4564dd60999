//! What somebody sees who stands at the engine and at the bench, worked out anew from the
//! events that stand, at every look: who said last what became of each thing.

use std::collections::BTreeMap;

use trayzero_core::engine::{Layout, ValveName};
use trayzero_core::job::{
    CrankAt, DropStatus, Entry, Event, FindingKind, HoldKind, JobState, PlugHole, Step,
};
use trayzero_core::parts::{Item, Place};
use uuid::Uuid;

/// One cylinder.
#[derive(Clone, Debug, Default, PartialEq)]
struct Cylinder {
    plug_out: bool,
    cover_in: bool,
    hose_in: bool,
    air_bar: Option<f64>,
    air_since_ms: i64,
    air_lost: bool,
    hold: Option<HoldKind>,
    put_off: bool,
}

impl Cylinder {
    fn is_held(&self) -> bool {
        self.air_bar.is_some() || self.hold.is_some()
    }

    fn air_since(&self) -> Option<i64> {
        self.air_bar.map(|_| self.air_since_ms)
    }
}

/// One bank.
#[derive(Clone, Debug, Default, PartialEq)]
struct Bank {
    cover_off: bool,
    closed_in: Option<Uuid>,
    aboard: BTreeMap<Item, u32>,
}

/// A report of a loss: what, how many, from where, at which valve, and how it stands.
type Loss = (Uuid, Item, u32, Place, Option<ValveName>, i64, DropStatus);

/// All of it.
#[derive(Clone, Debug, Default)]
pub(super) struct AtTheEngine {
    cylinders: BTreeMap<u8, Cylinder>,
    banks: Vec<Bank>,
    /// The stages of each valve that were seen: in which event, and when.
    valves: BTreeMap<ValveName, Vec<(Uuid, i64)>>,
    turned_to: Option<CrankAt>,
    has_run: bool,
    wrench_on: bool,
    losses: Vec<Loss>,
    /// What lies swapped, with the valve where it lies and its own.
    swaps: Vec<(Uuid, Item, ValveName, ValveName)>,
}

impl AtTheEngine {
    /// What is to be seen after these events, the ones that were taken back left out.
    pub(super) fn after<'a>(layout: &Layout, events: impl Iterator<Item = &'a Entry>) -> Self {
        let cylinders = layout.banks.iter().flat_map(|b| &b.cylinders);
        let mut seen = Self {
            cylinders: cylinders.map(|c| (*c, Cylinder::default())).collect(),
            banks: vec![Bank::default(); layout.banks.len()],
            ..Self::default()
        };
        for entry in events {
            seen.engine(entry);
            seen.bench(entry);
        }
        seen
    }

    fn at(&mut self, cylinder: u8) -> &mut Cylinder {
        self.cylinders.entry(cylinder).or_default()
    }

    fn bank(&mut self, bank: u8) -> &mut Bank {
        &mut self.banks[usize::from(bank)]
    }

    fn engine(&mut self, entry: &Entry) {
        match &entry.event {
            Event::PlugOut { cylinder } => self.at(*cylinder).plug_out = true,
            Event::PlugIn { cylinder } => self.at(*cylinder).plug_out = false,
            Event::VentedCoverIn { cylinder } => self.at(*cylinder).cover_in = true,
            Event::VentedCoverOut { cylinder } => self.at(*cylinder).cover_in = false,
            Event::HoseIn { cylinder } => self.at(*cylinder).hose_in = true,
            Event::HoseOut { cylinder } => self.at(*cylinder).hose_in = false,
            Event::AirOn { cylinder, bar } => {
                let known = self.at(*cylinder);
                known.air_bar = Some(*bar);
                known.air_since_ms = entry.at_ms;
                known.air_lost = false;
            }
            Event::AirReadAnew { cylinder, bar, .. } => self.at(*cylinder).air_bar = Some(*bar),
            Event::AirOff { cylinder, .. } => self.at(*cylinder).air_bar = None,
            Event::AirLost { cylinder, .. } => {
                self.at(*cylinder).air_bar = None;
                self.at(*cylinder).air_lost = true;
            }
            Event::HoldDeclared { cylinder, hold } => {
                self.at(*cylinder).hold = Some(*hold);
                self.at(*cylinder).air_lost = false;
            }
            Event::HoldReleased { cylinder, .. } => self.at(*cylinder).hold = None,
            Event::CylinderPutOff { cylinder } => self.at(*cylinder).put_off = true,
            Event::CylinderWanted { cylinder } => self.at(*cylinder).put_off = false,
            Event::WrenchOn {} => self.wrench_on = true,
            Event::WrenchOff {} => self.wrench_on = false,
            Event::CrankTurned { to, .. } => {
                self.turned_to = Some(*to);
                self.has_run = false;
            }
            Event::StepSeen {
                step: Step::FirstStart,
            } => self.has_run = true,
            Event::CoverOff { bank } => {
                self.bank(*bank).cover_off = true;
                self.bank(*bank).closed_in = None;
            }
            Event::BankClosed { bank, .. } => {
                self.bank(*bank).cover_off = false;
                self.bank(*bank).closed_in = Some(entry.id);
            }
            _ => {}
        }
    }

    fn bench(&mut self, entry: &Entry) {
        match &entry.event {
            Event::PutAboard { item, bank, count } => {
                *self.bank(*bank).aboard.entry(item.clone()).or_default() += count;
            }
            Event::TakenOff { item, bank, count } => self.off(*bank, item, *count),
            Event::PartDropped {
                item,
                count,
                from,
                bank,
                valve,
            } => {
                if let (Place::Aboard, Some(bank)) = (from, bank) {
                    self.off(*bank, item, *count);
                }
                self.lost(entry, item, *count, *from, *valve);
            }
            Event::StageSeen {
                valve,
                locks_dropped,
                ..
            } => {
                let stages = self.valves.entry(*valve).or_default();
                stages.push((entry.id, entry.at_ms));
                if *locks_dropped > 0 {
                    let count = u32::from(*locks_dropped);
                    self.lost(entry, &Item::Lock, count, Place::Home, Some(*valve));
                }
            }
            Event::FindingNoted(finding) => match finding.kind {
                FindingKind::SealTorn { missing } if missing > 0 => {
                    self.lost(entry, &Item::SealPiece, missing, Place::Home, finding.valve);
                }
                _ => {}
            },
            Event::PartFound { dropped, .. } => {
                self.ended(*dropped, DropStatus::Found(entry.id));
            }
            Event::SearchSigned { dropped, .. } => {
                self.ended(*dropped, DropStatus::Unfound(entry.id));
            }
            Event::PartsSwapped { item, valve, own } => {
                self.swaps.push((entry.id, item.clone(), *valve, *own));
            }
            Event::SwapMended { swapped } => self.swaps.retain(|(id, ..)| id != swapped),
            _ => {}
        }
    }

    fn off(&mut self, bank: u8, item: &Item, count: u32) {
        let aboard = &mut self.bank(bank).aboard;
        let left = aboard.get(item).map_or(0, |there| there - count);
        aboard.insert(item.clone(), left);
        aboard.retain(|_, there| *there > 0);
    }

    fn lost(
        &mut self,
        entry: &Entry,
        item: &Item,
        count: u32,
        from: Place,
        valve: Option<ValveName>,
    ) {
        let status = DropStatus::Adrift;
        let loss = (
            entry.id,
            item.clone(),
            count,
            from,
            valve,
            entry.at_ms,
            status,
        );
        self.losses.push(loss);
    }

    fn ended(&mut self, dropped: Uuid, how: DropStatus) {
        let told = self.losses.iter_mut().find(|(id, ..)| *id == dropped);
        if let Some((.., status)) = told {
            *status = how;
        }
    }

    /// The first difference to what a job shows, in words.
    pub(super) fn differs_from(&self, job: &JobState) -> Option<String> {
        self.cylinders_differ(job)
            .or_else(|| self.valves_differ(job))
            .or_else(|| self.rest_differs(job))
    }

    fn cylinders_differ(&self, job: &JobState) -> Option<String> {
        self.cylinders.iter().find_map(|(number, seen)| {
            let shown = job.cylinder(*number)?;
            let hole = match (seen.plug_out, seen.cover_in, seen.hose_in) {
                (false, ..) => PlugHole::Plug,
                (_, true, _) => PlugHole::VentedCover,
                (.., true) => PlugHole::Hose,
                _ => PlugHole::Nothing,
            };
            let verified = job.cylinder_verified(*number);
            let pairs = [
                differ(
                    &(seen.put_off && !verified),
                    &job.put_off().contains(number),
                ),
                differ(&hole, &shown.plug_hole()),
                differ(&seen.air_bar, &shown.air_bar),
                differ(&seen.hold, &shown.hold),
                differ(&seen.is_held(), &shown.is_held()),
                differ(&seen.air_since(), &job.air_since_ms(*number)),
            ];
            let told = pairs.into_iter().flatten().next();
            told.map(|what| format!("cylinder {number}: {what}"))
        })
    }

    fn valves_differ(&self, job: &JobState) -> Option<String> {
        job.valves().find_map(|(name, shown)| {
            let seen = self.valves.get(&name).map_or(&[][..], Vec::as_slice);
            let of_stages = |at: usize| (shown.stage_events[at], shown.stage_at_ms[at]);
            let nothing = (Uuid::nil(), 0);
            let told = (0..6).find_map(|at| {
                let seen = seen.get(at).copied().unwrap_or(nothing);
                differ(&seen, &of_stages(at))
            });
            told.or_else(|| differ(&seen.len(), &usize::from(shown.stages_seen)))
                .map(|what| format!("valve {name}: {what}"))
        })
    }

    fn stages_of(&self, cylinder: u8) -> impl Iterator<Item = usize> {
        let of_it = move |valve: &&ValveName| valve.cylinder == cylinder;
        let valves = self.valves.keys().filter(of_it);
        valves.map(|valve| self.valves[valve].len())
    }

    /// A valve of the cylinder hangs on what holds it: its spring is pressed or its locks
    /// are out.
    fn hangs(&self, cylinder: u8) -> bool {
        self.stages_of(cylinder).any(|seen| (2..=4).contains(&seen))
    }

    fn crank(&self) -> Option<CrankAt> {
        let mut cylinders = self.cylinders.iter();
        let stands = cylinders.any(|(number, c)| c.is_held() || self.hangs(*number));
        self.turned_to.filter(|_| stands || !self.has_run)
    }

    fn rest_differs(&self, job: &JobState) -> Option<String> {
        let mut lost = self
            .cylinders
            .iter()
            .filter(|(number, c)| c.air_lost && !c.is_held() && self.hangs(**number));
        let shown_losses: Vec<Loss> = job
            .drops()
            .iter()
            .map(|d| {
                let item = d.item.clone();
                (d.id, item, d.count, d.from, d.valve, d.at_ms, d.status)
            })
            .collect();
        let shown_swaps: Vec<_> = job
            .open_swaps()
            .map(|s| (s.id, s.item.clone(), s.valve, s.own))
            .collect();
        let shown_banks: Vec<Bank> = (0..job.bank_count())
            .filter_map(|bank| job.bank(bank))
            .map(|b| Bank {
                cover_off: b.cover_off,
                closed_in: b.closed_in,
                aboard: b.aboard.clone(),
            })
            .collect();
        let in_holes = |item| {
            let aboard = (0..job.bank_count()).flat_map(|bank| job.aboard_bank(bank));
            let counts = aboard.filter(|(aboard, _)| *aboard == item).map(|(_, n)| n);
            counts.collect::<Vec<u32>>()
        };
        let all_banks = |is_in: fn(&Cylinder) -> bool| {
            let banks = job.layout().into_iter().flat_map(|engine| &engine.banks);
            let in_bank = |b: &trayzero_core::engine::Bank| {
                let here = b.cylinders.iter().filter(|c| is_in(&self.cylinders[c]));
                here.count() as u32
            };
            banks.map(in_bank).filter(|n| *n > 0).collect::<Vec<u32>>()
        };
        [
            differ(&all_banks(|c| c.cover_in), &in_holes(Item::VentedCover)),
            differ(&all_banks(|c| c.hose_in), &in_holes(Item::Hose)),
            differ(&lost.next().map(|(number, _)| *number), &job.air_lost()),
            differ(&self.crank(), &job.crank()),
            differ(&self.wrench_on, &job.wrench_on()),
            differ(&self.losses, &shown_losses),
            differ(&self.swaps, &shown_swaps),
            differ(&self.banks, &shown_banks),
        ]
        .into_iter()
        .flatten()
        .next()
    }
}

/// Two answers to one question, where they are not the same.
fn differ<T: PartialEq + std::fmt::Debug>(seen: &T, shown: &T) -> Option<String> {
    (seen != shown).then(|| format!("seen {seen:?}, shown {shown:?}"))
}
