//! An engine made in the editor alone, in the real window by pointer and keyboard, and a
//! job on it from its opening to its closing.

use egui::vec2;
use trayzero::data::layouts::library;
use trayzero::ui::intent::SignedAct;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::EN;
use trayzero_core::job::JobPhase;
use trayzero_core::parts::{Item, Place};

use super::drive::Drive;
use super::{ONE_WINDOW, alone, make_crew, replay};

/// Makes a layout of one cylinder with two valves, with nothing but pointer and keys.
fn make_the_engine(d: &mut Drive) {
    d.tap(EN.layouts);
    d.tap(EN.new_layout);
    d.write(EN.name_word, "Yard pump");
    d.write(EN.cylinders_front_back, "1");
    assert!(d.mirror.says("is a cylinder of no bank"), "faults at once");
    d.write(EN.order_as_typed, "1");
    d.keep("made-faults");
    d.tap(EN.valves_word);
    d.tap(&format!("{}: {}", EN.intake_valves, EN.minus_one));
    d.tap(&format!("{}: {}", EN.exhaust_valves, EN.minus_one));
    for (seat, text) in [(EN.seat_intake_mm, "28"), (EN.seat_exhaust_mm, "24")] {
        d.write(&format!("{seat}, {}", EN.if_known), text);
    }
    d.tap(EN.figures_word);
    d.write(EN.bore_mm, "72.5");
    d.write(EN.stroke_mm, "66");
    d.write(EN.rod_mm, "118");
    d.write(EN.breakaway_nm, "9");
    assert!(d.mirror.says(EN.no_faults), "{:#?}", d.mirror.spoken());
    d.keep("made-good");
    d.tap(EN.save_layout);
    d.tap(EN.back);
    // The editor has closed or the list is shown: either way back to the bays.
    if d.mirror.place(EN.new_job).is_none() {
        d.tap(EN.back);
    }
}

fn open_the_job(d: &mut Drive) {
    d.tap(EN.new_job);
    d.tap("Yard pump");
    d.write(EN.vehicle, "pump 12");
    d.write(EN.bay, "Bay 1");
    d.tap("Ilka");
    d.tap(EN.open_job);
    assert_eq!(d.state().valves().count(), 2);
}

/// Answers the sheet that lies open, as a technician does.
fn answer(d: &mut Drive, sheet: &Sheet) {
    match sheet {
        Sheet::Caution(caution) => d.tap(EN.caution_seen(*caution)),
        Sheet::TakeIn => {
            d.write(EN.complaint, "blue smoke after idling");
            d.tap(EN.save);
        }
        Sheet::Kit => d.count_kit(),
        Sheet::Leak(cylinder, _) => {
            d.write(&format!("{} (bar)", EN.supply), "6");
            d.write(&format!("{} (bar)", EN.in_cylinder), "5.6");
            d.tap(&EN.bar_leak(*cylinder));
        }
        Sheet::Air(_) => d.read_regulator(),
        Sheet::Gate(_) if d.mirror.says(EN.gate_open) => d.tap(EN.cover_on),
        Sheet::Gate(_) => {
            let counts = d.state().round_counts().len();
            d.tap([EN.first_count, EN.second_count][counts]);
            d.count_and_sign(1 + counts);
        }
        Sheet::Sign(SignedAct::CloseBank(_) | SignedAct::CloseJob) => d.sign(1),
        other => panic!("no answer to {other:?}"),
    }
}

/// The next tap or sheet of a job; false once it is closed.
pub fn work_on(d: &mut Drive) -> bool {
    let sheet = d.mirror.shell().screens.bay.sheets.sheet().cloned();
    match sheet {
        Some(sheet) => answer(d, &sheet),
        None if d.state().phase() == JobPhase::Closed => return false,
        None => d.tap_bar(),
    }
    true
}

fn work_to_the_end(d: &mut Drive) {
    for _ in 0..150 {
        if !work_on(d) {
            return;
        }
    }
    panic!("the job does not end: {}", d.mirror.bar());
}

#[test]
fn an_engine_made_in_the_editor_alone_is_worked_to_the_end_in_the_real_window() {
    let _alone = alone(&ONE_WINDOW);
    let root = tempfile::tempdir().unwrap();
    let data = root.path().join("data");
    make_crew(&data);
    let begun = std::time::Instant::now();
    let mut d = Drive::of(&data, vec2(1280.0, 800.0));
    make_the_engine(&mut d);
    open_the_job(&mut d);
    work_to_the_end(&mut d);
    d.keep("made-closed");
    d.close();
    let kept = library(&data.join("layouts"));
    let layout = &kept.find("own/yard-pump").unwrap().layout;
    assert_eq!(
        (layout.name.as_str(), layout.valve_count()),
        ("Yard pump", 2)
    );
    assert!(
        (layout.bore_mm - 72.5).abs() < 1e-9,
        "typed into the window"
    );
    let job = std::fs::read_dir(data.join("jobs")).unwrap().next();
    let job = job.unwrap().unwrap().file_name().into_string().unwrap();
    let open = replay(&data, job.parse().unwrap());
    let state = open.state();
    assert_eq!(state.phase(), JobPhase::Closed);
    assert_eq!(state.layout().unwrap(), layout);
    assert_eq!(
        (state.verified_count(), state.loose(), state.adrift()),
        (2, 0, 0)
    );
    let counted: Vec<&str> = state.counts().iter().map(|c| &*c.by.0).collect();
    assert_eq!(counted, ["Ilka", "Tomas"], "two people");
    assert_eq!(state.ledger().at(&Item::Cover, Place::Home), 1);
    assert_eq!(state.event_count(), d.state().event_count());
    println!(
        "made in the editor, worked to the end: {} taps, {} events, {:?}",
        d.taps,
        state.event_count(),
        begun.elapsed()
    );
}
