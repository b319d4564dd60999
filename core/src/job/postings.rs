//! What an event changes, worked out from the event alone, so that it can be taken
//! back by the same changes the other way round.

use smallvec::smallvec;
use uuid::Uuid;

use super::change::{Change, Postings};
use super::check::is_laid_aside;
use super::{DropStatus, Event, FindingKind, JobState, Stage};
use crate::engine::{Follower, Layout};
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

    // Long because it is a table: one arm an event of the engine.
    fn postings_on(&self, layout: &Layout, id: Uuid, event: &Event) -> Option<Postings> {
        let cylinder = |number: u8| layout.cylinder_index(number);
        Some(match event {
            Event::StageSeen {
                valve,
                stage,
                strays,
                nicked,
            } => {
                let index = layout.valve_index(*valve)?;
                let (strays, nicked) = (u32::from(*strays), u32::from(*nicked));
                let mut changes = stage_moves(layout, *stage, strays, nicked);
                if strays > 0 {
                    changes.push(Change::DropOpened { dropped: id });
                }
                changes.push(Change::Stage {
                    valve: index,
                    from: *stage as u8,
                    to: *stage as u8 + 1,
                });
                changes
            }
            Event::AirOn { cylinder: c, bar } => smallvec![Change::Air {
                cylinder: cylinder(*c)?,
                from: None,
                to: Some(*bar),
            }],
            Event::AirOff { cylinder: c, bar } => smallvec![Change::Air {
                cylinder: cylinder(*c)?,
                from: Some(*bar),
                to: None,
            }],
            Event::HoldDeclared { cylinder: c, hold } => smallvec![Change::HoldBy {
                cylinder: cylinder(*c)?,
                from: None,
                to: Some(*hold),
            }],
            Event::HoldReleased { cylinder: c, hold } => smallvec![Change::HoldBy {
                cylinder: cylinder(*c)?,
                from: Some(*hold),
                to: None,
            }],
            Event::CrankTurned { from, to, .. } => smallvec![Change::Crank {
                from: *from,
                to: Some(*to),
            }],
            Event::WrenchOn {} => smallvec![
                moved(Item::Wrench, Place::Kit, Place::Aboard, 1),
                Change::Wrench { to: true },
            ],
            Event::WrenchOff {} => smallvec![
                moved(Item::Wrench, Place::Aboard, Place::Kit, 1),
                Change::Wrench { to: false },
            ],
            Event::PlugOut { cylinder: c } => smallvec![
                moved(Item::Plug, Place::Home, Place::Aside, 1),
                Change::PlugOut {
                    cylinder: cylinder(*c)?,
                    to: true
                },
            ],
            Event::PlugIn { cylinder: c } => smallvec![
                moved(Item::Plug, Place::Aside, Place::Home, 1),
                Change::PlugOut {
                    cylinder: cylinder(*c)?,
                    to: false
                },
            ],
            Event::VentedCoverIn { cylinder: c } => smallvec![
                moved(Item::VentedCover, Place::Kit, Place::Aboard, 1),
                Change::VentedCover {
                    cylinder: cylinder(*c)?,
                    to: true
                },
            ],
            Event::VentedCoverOut { cylinder: c } => smallvec![
                moved(Item::VentedCover, Place::Aboard, Place::Kit, 1),
                Change::VentedCover {
                    cylinder: cylinder(*c)?,
                    to: false
                },
            ],
            Event::HoseIn { cylinder: c } => smallvec![
                moved(Item::Hose, Place::Kit, Place::Aboard, 1),
                Change::Hose {
                    cylinder: cylinder(*c)?,
                    to: true
                },
            ],
            Event::HoseOut { cylinder: c } => smallvec![
                moved(Item::Hose, Place::Aboard, Place::Kit, 1),
                Change::Hose {
                    cylinder: cylinder(*c)?,
                    to: false
                },
            ],
            Event::CoverOff { bank } => smallvec![
                moved(Item::Cover, Place::Home, Place::Aside, 1),
                Change::CoverOff {
                    bank: usize::from(*bank),
                    to: true
                },
            ],
            Event::BankClosed { bank, .. } => smallvec![
                moved(Item::Cover, Place::Aside, Place::Home, 1),
                Change::CoverOff {
                    bank: usize::from(*bank),
                    to: false
                },
            ],
            Event::CylinderPutOff { cylinder: c } => smallvec![Change::PutOff {
                cylinder: cylinder(*c)?,
                to: true,
            }],
            Event::CylinderWanted { cylinder: c } if self.cylinders[cylinder(*c)?].put_off => {
                smallvec![Change::PutOff {
                    cylinder: cylinder(*c)?,
                    to: false
                }]
            }
            _ => self.part_postings(layout, id, event)?,
        })
    }

    // Long because it is a table: one arm an event of the parts.
    fn part_postings(&self, layout: &Layout, id: Uuid, event: &Event) -> Option<Postings> {
        Some(match event {
            Event::KitCounted { item, count } => smallvec![Change::CountIn {
                item: item.clone(),
                place: Place::Kit,
                count: *count,
            }],
            Event::StockIssued { item, count } => smallvec![Change::Issue {
                item: item.clone(),
                count: *count,
            }],
            Event::StockReturned { item, count } => smallvec![Change::GiveBack {
                item: item.clone(),
                count: *count,
            }],
            Event::TakenFromStock { item, count } => {
                let to = if is_laid_aside(item) {
                    Place::Aside
                } else {
                    Place::Tray
                };
                smallvec![moved(item.clone(), Place::Stock, to, *count)]
            }
            Event::PartUsed { item, count } => {
                smallvec![moved(item.clone(), Place::Stock, Place::Home, *count)]
            }
            Event::PutAway { item, count, to } => {
                smallvec![moved(item.clone(), Place::Tray, *to, *count)]
            }
            Event::PutAboard { item, bank, count } => smallvec![
                moved(item.clone(), Place::Kit, Place::Aboard, *count),
                Change::Aboard {
                    bank: usize::from(*bank),
                    item: item.clone(),
                    add: true,
                    count: *count,
                },
            ],
            Event::TakenOff { item, bank, count } => smallvec![
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
                smallvec![
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
                let mut changes: Postings =
                    smallvec![moved(item.clone(), *from, Place::Adrift, *count)];
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
                smallvec![
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
                smallvec![
                    moved(drop.item.clone(), Place::Adrift, Place::Unfound, drop.count),
                    Change::Dropped {
                        dropped: *dropped,
                        from: DropStatus::Adrift,
                        to: DropStatus::Unfound(id),
                    },
                ]
            }
            Event::FindingNoted(finding) => match finding.kind {
                FindingKind::SealTorn { missing } if missing > 0 => smallvec![
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
            _ => Postings::new(),
        })
    }
}

/// The parts that one stage of a valve moves.
fn stage_moves(layout: &Layout, stage: Stage, strays: u32, nicked: u32) -> Postings {
    let locks = u32::from(layout.locks_per_valve);
    let springs = u32::from(layout.springs_per_valve);
    let has_follower = layout.follower != Follower::None;
    match stage {
        Stage::Positioned if has_follower => {
            smallvec![moved(Item::Follower, Place::Home, Place::Tray, 1)]
        }
        Stage::Verified if has_follower => {
            smallvec![moved(Item::Follower, Place::Tray, Place::Home, 1)]
        }
        Stage::Positioned | Stage::SpringHeld | Stage::Verified => Postings::new(),
        Stage::LocksOut => {
            let mut changes = Postings::new();
            if strays < locks {
                changes.push(moved(Item::Lock, Place::Home, Place::Tray, locks - strays));
            }
            if strays > 0 {
                changes.push(moved(Item::Lock, Place::Home, Place::Adrift, strays));
            }
            changes.push(moved(Item::Retainer, Place::Home, Place::Tray, 1));
            changes.push(moved(Item::Spring, Place::Home, Place::Tray, springs));
            changes
        }
        Stage::SealFitted => {
            let mut changes: Postings = smallvec![
                moved(Item::OldSeal, Place::Home, Place::Scrap, 1),
                moved(Item::NewSeal, Place::Stock, Place::Home, 1),
            ];
            if nicked > 0 {
                changes.push(moved(Item::NewSeal, Place::Stock, Place::Scrap, nicked));
            }
            changes
        }
        Stage::LocksIn => smallvec![
            moved(Item::Retainer, Place::Tray, Place::Home, 1),
            moved(Item::Spring, Place::Tray, Place::Home, springs),
            moved(Item::Lock, Place::Tray, Place::Home, locks),
        ],
    }
}

/// Everything fitted to the engine when the job is opened.
fn opening_counts(layout: &Layout) -> Postings {
    let valves = layout.valve_count() as u32;
    let followers = if layout.follower == Follower::None {
        0
    } else {
        valves
    };
    [
        (Item::Lock, valves * u32::from(layout.locks_per_valve)),
        (Item::Retainer, valves),
        (Item::Spring, valves * u32::from(layout.springs_per_valve)),
        (Item::Follower, followers),
        (Item::OldSeal, valves),
        (Item::Cover, layout.banks.len() as u32),
        (Item::Plug, layout.cylinder_count() as u32),
    ]
    .into_iter()
    .filter(|(_, count)| *count > 0)
    .map(|(item, count)| Change::CountIn {
        item,
        place: Place::Home,
        count,
    })
    .collect()
}
