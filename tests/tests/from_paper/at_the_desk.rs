//! The whole way: half on the tablet, the tablet dead, half on paper, entered by a person's
//! code, counted and closed by people, the record read and checked from its file alone.

use std::fs;
use std::sync::Arc;

use serde_json::Value;
use trayzero::data::store::{Clock, Store};
use trayzero::desk::{Desk, Outcome};
use trayzero::ui::intent::{Intent, PaperEntry, SignedAct};
use trayzero::ui::view::{Notice, order_on_paper};
use trayzero_core::job::{JobPhase, PaperSheet, Person, Stage};
use trayzero_core::record::open_points;
use trayzero_tests::engines::two_cylinders;
use trayzero_tests::sat::{Sat, run, text_of};

use super::pen::all_ticked;

const HOUR_MS: i64 = 3_600_000;

fn of_paper(sheet: PaperSheet, done_ms: i64) -> SignedAct {
    SignedAct::Paper(Box::new(PaperEntry {
        sheet,
        done_by: Person::new("Ada"),
        done_ms,
        done_offset_min: 60,
    }))
}

#[test]
fn half_on_the_tablet_half_on_paper_is_entered_closed_and_proven() {
    let folder = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(folder.path(), two_cylinders());
    sat.work(2);
    let last_ms = sat.state().last_ms();
    // The tablet is dead for two hours and a half.
    sat.clock.advance(5 * HOUR_MS / 2);
    let now_ms = sat.clock.now().at_ms;
    let sheet = all_ticked(sat.state());
    let before = sat.state().clone();
    for (done_ms, why) in [(now_ms + HOUR_MS, "R133"), (last_ms - HOUR_MS, "R134")] {
        let act = of_paper(sheet.clone(), done_ms);
        assert_eq!(sat.sign(act, "Ben"), Outcome::Stayed);
        let notice = sat.desk.view().notice.cloned();
        assert!(
            matches!(&notice, Some(Notice::Refused { code, .. }) if *code == why),
            "{notice:?}"
        );
    }
    let mut gap = sheet.clone();
    let (valve, _) = *gap.stages.iter().next_back().unwrap();
    gap.stages.remove(&(valve, Stage::SealFitted));
    let act = of_paper(gap, now_ms - HOUR_MS);
    assert_eq!(sat.sign(act, "Ben"), Outcome::Stayed);
    let said = format!("{:?}", sat.desk.view().notice);
    assert!(
        said.contains("seal fitted") && said.contains("locks in"),
        "{said}"
    );
    assert_eq!(sat.state(), &before, "nothing was taken");

    let act = of_paper(sheet, now_ms - HOUR_MS);
    sat.must_sign(act, "Ben");
    let paper = sat.state().papers().next().unwrap().clone();
    assert!(paper.is_whole && paper.batch.by.person == Person::new("Ben"));
    assert_eq!(sat.state().verified_count(), 4);
    sat.close();
    assert_eq!(sat.state().phase(), JobPhase::Closed);

    let record = sat.record("record.pdf");
    let text = text_of(&record);
    assert!(
        text.contains("Entered from paper (P)") && text.contains("Ben, 2026-"),
        "{text}"
    );
    assert!(text.matches("(P)").count() > 10, "{text}");
    let (code, said) = run(&["verify", record.to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
    let json = sat.json();
    assert_eq!(json["paper"][0]["whole"], true);
    assert_eq!(json["paper"][0]["done_by"], "Ada");
    assert_eq!(json["paper"][0]["who"], "Ben");
    let stages = json["valves"].as_array().unwrap().iter();
    let stages = stages.flat_map(|v| v["stages"].as_array().unwrap().iter());
    let entered: Vec<&Value> = stages.filter(|s| s["from_paper"] == true).collect();
    assert_eq!(entered.len(), 12, "two valves of six stages");
    assert!(entered.iter().all(|s| s["who"] == "Ben"));
    // The shop has learned nothing from it.
    let (code, said) = run(&["check", folder.path().to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
}

#[test]
fn a_kill_in_the_middle_of_the_entering_is_seen_everywhere_and_the_rest_is_entered_again() {
    let folder = tempfile::tempdir().unwrap();
    let mut sat = Sat::at(folder.path(), two_cylinders());
    sat.work(1);
    sat.clock.advance(2 * HOUR_MS);
    let now_ms = sat.clock.now().at_ms;
    let sheet = all_ticked(sat.state());
    let act = of_paper(sheet, now_ms - HOUR_MS);
    sat.must_sign(act, "Ben");
    let lines = sat.state().papers().next().unwrap().batch.lines as usize;
    let tablet = sat.desk.view().tablet;
    let Sat {
        desk,
        clock,
        root,
        job,
    } = sat;
    drop(desk);
    let file = root.join(format!("jobs/{job}/{tablet}.jsonl"));
    let text = fs::read_to_string(&file).unwrap();
    let all: Vec<&str> = text.lines().collect();
    let marked: Vec<usize> = (0..all.len())
        .filter(|at| all[*at].contains(r#","paper":""#))
        .collect();
    assert_eq!(marked.len(), lines);
    let opened = marked[0] - 1;
    assert!(
        all[opened].contains("entered_from_paper") && all[opened - 1].contains(r#""format":4"#)
    );
    // Cut within the eighth line of the batch.
    let cut = marked[7];
    let kept = all[..cut].join("\n") + "\n" + &all[cut][..20];
    fs::write(&file, kept).unwrap();
    let store = Store::open(&root, clock.now()).unwrap();
    let mut desk = Desk::open(store, Arc::clone(&clock) as Arc<dyn Clock>).unwrap();
    desk.carry_out(Intent::OpenJob(job));
    let mut sat = Sat {
        desk,
        clock,
        root,
        job,
    };
    let paper = sat.state().papers().next().unwrap();
    assert!(!paper.is_whole && paper.came.len() == 7, "{paper:?}");
    let points = open_points(sat.state());
    assert!(points[0].is_grave(), "{points:?}");
    let text = text_of(&sat.record("cut.pdf"));
    assert!(
        text.contains("An entry from paper is not whole: 7 of"),
        "{text}"
    );
    // From the same sheet, on from where it stands.
    let mut sheet = all_ticked(sat.state());
    let order = order_on_paper(sat.state().layout().unwrap());
    assert_eq!(order.len(), 2);
    sheet.seals = None;
    // It is the same paper, with the time that it has.
    let other = of_paper(sheet.clone(), now_ms - HOUR_MS / 2);
    assert_eq!(sat.sign(other, "Ada"), Outcome::Taken);
    let act = of_paper(sheet, now_ms - HOUR_MS);
    assert_eq!(sat.sign(act, "Ada"), Outcome::Stayed, "all of it stands");
    assert_eq!(sat.state().verified_count(), 4);
    assert!(sat.state().papers().nth(1).unwrap().is_whole);
    sat.close();
    let (code, said) = run(&["verify", sat.record("cut-closed.pdf").to_str().unwrap()]);
    assert_eq!(code, 0, "{said}");
}
