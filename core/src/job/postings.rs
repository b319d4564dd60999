//! What an event changes, worked out from the event alone, so that it can be taken
//! back by the same changes the other way round.

use uuid::Uuid;

use super::change::{Change, Postings};
use super::check::is_laid_aside;
use super::{DropStatus, Event, FindingKind, JobState, Stage};
use crate::engine::{Layout, ValveName};
use crate::parts::{Item, Place};

fn moved(item: Item, from: Place, to: Place, count: u32) -> Change {
    Change::Move {
        item,
        from,
        to,
        count,
    }
}

impl JobState {
    /// The changes of an event that stands, or would stand. Empty for events that
    /// move nothing and for names the engine does not have.
    pub(super) fn postings(&self, id: Uuid, event: &Event) -> Postings {
        let Some(layout) = self.layout() else {
            return Postings::new();
        };
        self.postings_on(layout, id, event).unwrap_or_default()
    }

    #[expect(clippy::too_many_lines, reason = "a table: what each event moves")]
    fn postings_on(&self, layout: &Layout, id: Uuid, event: &Event) -> Option<Postings> {
        let cylinder = |number: u8| layout.cylinder_index(number);
        Some(match event {
            Event::StageSeen {
                valve,
                stage,
                locks_dropped,
                seals_spoiled,
            } => stage_postings(layout, id, *valve, *stage, (*locks_dropped, *seals_spoiled))?,
            Event::AirOn { cylinder: c, bar } => vec![Change::Air {
                cylinder: cylinder(*c)?,
                from: None,
                to: Some(*bar),
            }],
            Event::AirOff { cylinder: c, bar } => vec![Change::Air {
                cylinder: cylinder(*c)?,
                from: Some(*bar),
                to: None,
            }],
            Event::AirReadAnew {
                cylinder: c,
                was_bar,
                bar,
            } => vec![Change::Air {
                cylinder: cylinder(*c)?,
                from: Some(*was_bar),
                to: Some(*bar),
            }],
            Event::AirLost {
                cylinder: c,
                was_bar,
            } => vec![
                Change::Air {
                    cylinder: cylinder(*c)?,
                    from: Some(*was_bar),
                    to: None,
                },
                Change::AirLost {
                    cylinder: cylinder(*c)?,
                },
            ],
            Event::PartsSwapped { .. } => vec![Change::SwapOpened { swapped: id }],
            Event::SwapMended { swapped } => vec![Change::SwapMended {
                swapped: *swapped,
                to: true,
            }],
            Event::HoldDeclared { cylinder: c, hold } => vec![Change::HoldBy {
                cylinder: cylinder(*c)?,
                from: None,
                to: Some(*hold),
            }],
            Event::HoldReleased { cylinder: c, hold } => vec![Change::HoldBy {
                cylinder: cylinder(*c)?,
                from: Some(*hold),
                to: None,
            }],
            Event::CrankTurned { from, to, .. } => vec![Change::Crank {
                from: *from,
                to: Some(*to),
            }],
            Event::WrenchOn {} => vec![
                moved(Item::Wrench, Place::Kit, Place::Aboard, 1),
                Change::Wrench { to: true },
            ],
            Event::WrenchOff {} => vec![
                moved(Item::Wrench, Place::Aboard, Place::Kit, 1),
                Change::Wrench { to: false },
            ],
            Event::PlugOut { cylinder: c } => vec![
                moved(Item::Plug, Place::Home, Place::Aside, 1),
                Change::PlugOut {
                    cylinder: cylinder(*c)?,
                    to: true,
                },
            ],
            Event::PlugIn { cylinder: c } => vec![
                moved(Item::Plug, Place::Aside, Place::Home, 1),
                Change::PlugOut {
                    cylinder: cylinder(*c)?,
                    to: false,
                },
            ],
            Event::VentedCoverIn { cylinder: c } => vec![
                moved(Item::VentedCover, Place::Kit, Place::Aboard, 1),
                Change::VentedCover {
                    cylinder: cylinder(*c)?,
                    to: true,
                },
            ],
            Event::VentedCoverOut { cylinder: c } => vec![
                moved(Item::VentedCover, Place::Aboard, Place::Kit, 1),
                Change::VentedCover {
                    cylinder: cylinder(*c)?,
                    to: false,
                },
            ],
            Event::HoseIn { cylinder: c } => vec![
                moved(Item::Hose, Place::Kit, Place::Aboard, 1),
                Change::Hose {
                    cylinder: cylinder(*c)?,
                    to: true,
                },
            ],
            Event::HoseOut { cylinder: c } => vec![
                moved(Item::Hose, Place::Aboard, Place::Kit, 1),
                Change::Hose {
                    cylinder: cylinder(*c)?,
                    to: false,
                },
            ],
            Event::CoverOff { bank } => vec![
                moved(Item::Cover, Place::Home, Place::Aside, 1),
                Change::CoverOff {
                    bank: usize::from(*bank),
                    to: true,
                },
            ],
            Event::BankClosed { bank, .. } => vec![
                moved(Item::Cover, Place::Aside, Place::Home, 1),
                Change::CoverOff {
                    bank: usize::from(*bank),
                    to: false,
                },
            ],
            Event::KitCounted { item, count } => vec![Change::CountIn {
                item: item.clone(),
                place: Place::Kit,
                count: *count,
            }],
            Event::StockIssued { item, count } => vec![Change::Issue {
                item: item.clone(),
                count: *count,
            }],
            Event::StockReturned { item, count } => vec![Change::GiveBack {
                item: item.clone(),
                count: *count,
            }],
            Event::TakenFromStock { item, count } => {
                let to = if is_laid_aside(item) {
                    Place::Aside
                } else {
                    Place::Tray
                };
                vec![moved(item.clone(), Place::Stock, to, *count)]
            }
            Event::PartUsed { item, count } => {
                vec![moved(item.clone(), Place::Stock, Place::Home, *count)]
            }
            Event::PutAway { item, count, to } => {
                vec![moved(item.clone(), Place::Tray, *to, *count)]
            }
            Event::PutAboard { item, bank, count } => vec![
                moved(item.clone(), Place::Kit, Place::Aboard, *count),
                Change::Aboard {
                    bank: usize::from(*bank),
                    item: item.clone(),
                    add: true,
                    count: *count,
                },
            ],
            Event::TakenOff { item, bank, count } => vec![
                moved(item.clone(), Place::Aboard, Place::Kit, *count),
                Change::Aboard {
                    bank: usize::from(*bank),
                    item: item.clone(),
                    add: false,
                    count: *count,
                },
            ],
            Event::PartReplaced { item, count, .. } => {
                let place = if *item == Item::NewSeal {
                    Place::Home
                } else {
                    Place::Tray
                };
                vec![
                    moved(item.clone(), place, Place::Scrap, *count),
                    moved(item.clone(), Place::Stock, place, *count),
                ]
            }
            Event::PartDropped {
                item,
                count,
                from,
                bank,
                ..
            } => {
                let mut changes: Postings = vec![moved(item.clone(), *from, Place::Adrift, *count)];
                if let (Place::Aboard, Some(bank)) = (from, bank) {
                    changes.push(Change::Aboard {
                        bank: usize::from(*bank),
                        item: item.clone(),
                        add: false,
                        count: *count,
                    });
                }
                changes.push(Change::DropOpened { dropped: id });
                changes
            }
            Event::PartFound { dropped, to, .. } => {
                let drop = self.drop_of(*dropped)?;
                vec![
                    moved(drop.item.clone(), Place::Adrift, *to, drop.count),
                    Change::Dropped {
                        dropped: *dropped,
                        from: DropStatus::Adrift,
                        to: DropStatus::Found(id),
                    },
                ]
            }
            Event::SearchSigned { dropped, .. } => {
                let drop = self.drop_of(*dropped)?;
                vec![
                    moved(drop.item.clone(), Place::Adrift, Place::Unfound, drop.count),
                    Change::Dropped {
                        dropped: *dropped,
                        from: DropStatus::Adrift,
                        to: DropStatus::Unfound(id),
                    },
                ]
            }
            Event::FindingNoted(finding) => match finding.kind {
                FindingKind::SealTorn { missing } if missing > 0 => vec![
                    Change::CountIn {
                        item: Item::SealPiece,
                        place: Place::Adrift,
                        count: missing,
                    },
                    Change::DropOpened { dropped: id },
                ],
                _ => Postings::new(),
            },
            Event::JobOpened(_) => opening_counts(layout),
            Event::TakenOver { .. }
            | Event::Paused { .. }
            | Event::Resumed {}
            | Event::Noted { .. }
            | Event::HandedOver { .. }
            | Event::ConflictResolved { .. }
            | Event::Sealed(_)
            | Event::Withdrawn { .. }
            | Event::JobClosed { .. }
            | Event::JobStopped { .. }
            | Event::TakeInNoted(_)
            | Event::OilToppedUp { .. }
            | Event::LeakRead { .. }
            | Event::ForemanAgreed { .. }
            | Event::BreakawayMeasured { .. }
            | Event::StepSeen { .. }
            | Event::CautionSeen { .. }
            | Event::PictureAdded(_)
            | Event::FollowedUp { .. }
            | Event::EnteredFromPaper(_)
            | Event::CylinderPutOff { .. }
            | Event::CylinderWanted { .. }
            | Event::BlindCount { .. } => Postings::new(),
        })
    }
}

/// The most moves of one stage.
const STAGE_MOVES_MAX: usize = 4;
/// And with them a drop, and the stage itself.
const STAGE_CHANGES_MAX: usize = 6;

/// What most taps come to.
#[inline(never)]
fn stage_postings(
    layout: &Layout,
    id: Uuid,
    valve: ValveName,
    stage: Stage,
    (locks_dropped, seals_spoiled): (u8, u8),
) -> Option<Postings> {
    let index = layout.valve_index(valve)?;
    let mut changes = Postings::with_capacity(STAGE_CHANGES_MAX);
    for (item, from, to, count) in
        stage_moves(layout, stage, locks_dropped.into(), seals_spoiled.into())
    {
        if count > 0 {
            changes.push(moved(item, from, to, count));
        }
    }
    if locks_dropped > 0 {
        changes.push(Change::DropOpened { dropped: id });
    }
    changes.push(Change::Stage {
        valve: index,
        from: stage as u8,
        to: stage as u8 + 1,
    });
    Some(changes)
}

/// The parts that one stage of a valve moves: what, from where, to where, how many. There
/// may be none of one.
fn stage_moves(
    layout: &Layout,
    stage: Stage,
    locks_dropped: u32,
    seals_spoiled: u32,
) -> [(Item, Place, Place, u32); STAGE_MOVES_MAX] {
    use Place::{Adrift, Home, Scrap, Stock, Tray};
    let locks = u32::from(layout.locks_per_valve);
    let springs = u32::from(layout.springs_per_valve);
    let followers = u32::from(layout.followers());
    let shims = u32::from(layout.shims());
    let none = || (Item::Follower, Home, Home, 0);
    match stage {
        Stage::Positioned => [
            (Item::Follower, Home, Tray, followers),
            (Item::Shim, Home, Tray, shims),
            none(),
            none(),
        ],
        Stage::SpringHeld => [none(), none(), none(), none()],
        Stage::LocksOut => [
            (Item::Lock, Home, Tray, locks.saturating_sub(locks_dropped)),
            (Item::Lock, Home, Adrift, locks_dropped),
            (Item::Retainer, Home, Tray, 1),
            (Item::Spring, Home, Tray, springs),
        ],
        Stage::SealFitted => [
            (Item::OldSeal, Home, Scrap, 1),
            (Item::NewSeal, Stock, Home, 1),
            (Item::NewSeal, Stock, Scrap, seals_spoiled),
            none(),
        ],
        Stage::LocksIn => [
            (Item::Retainer, Tray, Home, 1),
            (Item::Spring, Tray, Home, springs),
            (Item::Lock, Tray, Home, locks),
            none(),
        ],
        Stage::Verified => [
            (Item::Follower, Tray, Home, followers),
            (Item::Shim, Tray, Home, shims),
            none(),
            none(),
        ],
    }
}

/// Everything fitted to the engine when the job is opened.
fn opening_counts(layout: &Layout) -> Postings {
    let valves = layout.valve_count() as u32;
    [
        (Item::Lock, valves * u32::from(layout.locks_per_valve)),
        (Item::Retainer, valves),
        (Item::Spring, valves * u32::from(layout.springs_per_valve)),
        (Item::Follower, valves * u32::from(layout.followers())),
        (Item::Shim, valves * u32::from(layout.shims())),
        (Item::OldSeal, valves),
        (Item::Cover, layout.banks.len() as u32),
        (Item::Plug, layout.cylinder_count() as u32),
    ]
    .into_iter()
    .map(|(item, count)| Change::CountIn {
        item,
        place: Place::Home,
        count,
    })
    .collect()
}
