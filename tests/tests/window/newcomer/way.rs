//! The way of the new user, step by step.

use trayzero::data::crew::Role;
use trayzero::ui::first_use::FirstUse;
use trayzero::ui::intent::SignedAct;
use trayzero::ui::screens::sheets::Sheet;
use trayzero::ui::words::EN;
use trayzero_core::job::{HeardAt, HoldKind, Reading, SearchPlace};
use trayzero_core::parts::{Item, Place};

use super::super::CODES;
use super::Newcomer;
use super::oracle::Truth;

const COMPLAINT: &str = "blue smoke after idling";

impl Newcomer {
    /// People, and an engine without seats and spring.
    pub fn set_up(&mut self) {
        self.look();
        self.d.keep("newcomer-empty");
        self.tap(&format!("1 {}", EN.first_day_people));
        self.tap(&format!(
            "{}: {}",
            EN.hide_card,
            EN.first_use_title(FirstUse::Settings)
        ));
        self.add_person(0, None);
        self.add_person(1, Some(0));
        self.add_person(2, Some(0));
        self.d.keep("newcomer-people");
        self.tap(EN.back);
        self.make_the_engine();
    }

    fn add_person(&mut self, who: usize, foreman: Option<usize>) {
        let (name, code) = CODES[who];
        self.tap(EN.add_person);
        self.write(EN.person_name, name);
        if foreman.is_some() {
            self.tap(EN.role(Role::Technician));
        }
        self.tap(EN.go_on);
        self.d.type_digits(code);
        self.tap(EN.go_on);
        self.d.type_digits(code);
        let Some(foreman) = foreman else {
            self.tap(&format!("{}, {name}", EN.add_person));
            return;
        };
        self.tap(EN.go_on);
        let (foreman, code) = CODES[foreman];
        self.tap(foreman);
        self.d.type_digits(code);
        self.tap(EN.foreman_agrees);
    }

    /// Two cylinders with two valves each; nobody knows the seats or the spring.
    fn make_the_engine(&mut self) {
        self.tap(EN.layouts);
        self.tap(EN.new_layout);
        self.write(EN.name_word, "Yard twin");
        self.write(EN.cylinders_front_back, "1 2");
        self.write(EN.order_as_typed, "1 2");
        self.tap(EN.valves_word);
        self.tap(&format!("{}: {}", EN.intake_valves, EN.minus_one));
        self.tap(&format!("{}: {}", EN.exhaust_valves, EN.minus_one));
        self.tap(EN.figures_word);
        self.write(EN.bore_mm, "72.5");
        self.write(EN.stroke_mm, "66");
        self.write(EN.rod_mm, "118");
        self.write(EN.breakaway_nm, "9");
        self.d.keep("newcomer-engine");
        self.tap(EN.save_layout);
        self.tap(EN.back);
    }

    pub fn open_the_job(&mut self) {
        self.tap(&format!("3 {}", EN.first_day_job));
        self.tap("Yard twin");
        self.write(EN.vehicle, "pump 12");
        self.write(EN.order_number, "W-4711");
        self.write(EN.bay, "Bay 1");
        self.tap("Ilka");
        self.d.keep("newcomer-new-job");
        self.wait_to_hear("about ");
        self.tap(EN.open_job);
        assert_eq!(self.truth().phase, "open");
        self.d.keep("newcomer-bay");
        self.tap(EN.back);
        self.tap("Bay 1 · pump 12");
        self.tap(EN.stands_as_shown);
    }

    /// Takes the steps that the bar shows, with their answers, until something is so.
    pub fn until(&mut self, what: &str, is_so: impl Fn(&Truth) -> bool) {
        for _ in 0..120 {
            if is_so(&self.truth()) {
                return;
            }
            match self.d.mirror.shell().screens.bay.sheets.sheet().cloned() {
                Some(sheet) => self.answer(&sheet),
                None => self.bar(),
            }
        }
        self.d.keep("newcomer-lost");
        panic!("not come to: {what}; the bar says {}", self.d.mirror.bar());
    }

    fn answer(&mut self, sheet: &Sheet) {
        match sheet {
            Sheet::Caution(caution) => self.tap(EN.caution_seen(*caution)),
            Sheet::TakeIn => {
                self.write(EN.complaint, COMPLAINT);
                self.d.keep("newcomer-take-in");
                self.tap(EN.save);
            }
            Sheet::Kit => {
                self.look();
                self.d.count_kit();
                self.look();
            }
            Sheet::Leak(cylinder, when) => self.read_leak(*cylinder, *when),
            Sheet::Air(_) => self.put_air_on(),
            Sheet::Sign(SignedAct::ForemanAgrees(_)) => {
                self.look();
                self.d.keep("newcomer-foreman");
                self.sign(0);
            }
            Sheet::Sign(_) => self.sign(2),
            Sheet::Card => self.tap(EN.stands_as_shown),
            Sheet::Gate(_) if self.d.mirror.says(EN.gate_open) => self.tap(EN.cover_on),
            Sheet::Gate(_) => self.count(),
            other => panic!("no answer to {other:?}"),
        }
    }

    /// Both gauges as somebody reads them, and where the air is heard.
    fn read_leak(&mut self, cylinder: u8, when: Reading) {
        let (in_cylinder, heard) = match (cylinder, when) {
            (1, Reading::Before) => ("5.6", None),
            (_, Reading::Before) => ("3.9", Some(HeardAt::OilFiller)),
            (1, Reading::After) => ("5.7", None),
            (_, Reading::After) => ("5.4", None),
        };
        self.write(&format!("{} (bar)", EN.supply), "6");
        self.typed = Some((6.0, in_cylinder.parse().unwrap()));
        self.write(&format!("{} (bar)", EN.in_cylinder), in_cylinder);
        if let Some(heard) = heard {
            self.tap(EN.heard_at(heard));
            self.d.keep("newcomer-leak");
        }
        self.tap(&EN.bar_leak(cylinder));
    }

    fn put_air_on(&mut self) {
        self.look();
        self.d.keep("newcomer-air");
        self.d.read_regulator();
        self.look();
    }

    fn sign(&mut self, who: usize) {
        let (name, code) = CODES[who];
        self.tap(name);
        self.d.type_digits(code);
        self.tap(EN.sign);
    }

    /// One person counts all that is laid out, and signs.
    fn count(&mut self) {
        let counts = self.truth().counts.len();
        self.counts = true;
        self.tap([EN.first_count, EN.second_count][counts]);
        self.d.keep("newcomer-count");
        let list = self.d.state().count_list();
        for (item, place) in list {
            let truth = self.truth();
            let place = serde_json::to_value(place).unwrap();
            let place = super::oracle::place_of(place.as_str().unwrap());
            let count = truth.count(item.word(), place);
            self.d.type_digits(&count.to_string());
            self.tap(EN.next_item);
        }
        self.tap(EN.count_taken);
        let (name, code) = CODES[1 + counts];
        self.tap(name);
        self.d.type_digits(code);
        self.counts = false;
        self.tap(EN.sign);
    }

    /// To the first cylinder's air.
    pub fn work_to_the_air(&mut self) {
        self.until("air on", |t| t.air.is_some());
        self.d.keep("newcomer-air-on");
        self.tap(&format!(
            "{}: {}",
            EN.hide_card,
            EN.first_use_title(FirstUse::Bay)
        ));
        self.tap("loose: ");
        self.d.keep("newcomer-parts");
        self.tap(EN.close);
    }

    /// Waits for what another thread works out, and looks at all that is said then.
    fn wait_to_hear(&mut self, text: &str) {
        for _ in 0..100 {
            if self.d.mirror.says(text) {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(50));
            self.d.mirror.with_shell(|_| {});
        }
        assert!(self.d.mirror.says(text), "nothing is said of {text:?}");
        self.look();
    }

    /// What the bays and the board say, and what the card says to who comes back.
    fn look_round(&mut self, name: &str) {
        self.tap(EN.back);
        self.d.keep(&format!("newcomer-bays-{name}"));
        self.tap(EN.board);
        self.wait_to_hear("Bay 1 · pump 12");
        self.d.keep(&format!("newcomer-board-{name}"));
        self.tap(EN.back);
        self.tap("Bay 1 · pump 12");
        self.d.keep(&format!("newcomer-card-{name}"));
        self.tap(EN.stands_as_shown);
    }

    /// A lock flies off, its valve cannot be closed, it is found; a retainer is changed.
    pub fn drop_and_change(&mut self) {
        self.until("spring held", |t| !t.pressed().is_empty());
        self.tap(EN.dropped_one);
        self.tap(&EN.locks_dropped(1));
        self.tap(EN.it_fell);
        assert_eq!(self.truth().adrift(), 1);
        self.d.keep("newcomer-adrift");
        self.look_round("adrift");
        self.tap("air on cyl");
        self.d.keep("newcomer-air-now");
        self.tap(EN.close);
        self.bar(); // the new seal is home
        self.bar(); // locks home: refused, one is missing
        assert_eq!(self.d.refused(), Some("R401"));
        self.d.keep("newcomer-refused");
        self.tap("adrift: 1");
        self.tap(EN.search_place(SearchPlace::OnTheHead));
        self.tap(&format!("{}: {}", EN.found_it, EN.place(Place::Tray)));
        assert_eq!(self.truth().adrift(), 0);
        self.tap(EN.part_changed);
        self.tap(&EN.changed(&EN.item(&Item::Retainer)));
        self.d.keep("newcomer-change");
        self.tap(EN.change_it);
        assert_eq!(self.truth().count("retainer", "scrap"), 1);
        self.tap(EN.close);
        self.until("the valve verified", |t| t.verified() == 1);
    }

    /// Something is found on the valve that is in hand.
    pub fn find_something(&mut self) {
        let valve = self.d.state().layout().unwrap().valves().next().unwrap();
        let name = EN.valve(valve);
        self.tap(&name);
        self.tap(EN.more);
        self.tap(EN.finding);
        self.tap(EN.scored_stem);
        self.write(EN.note, "a scratch of 5 mm");
        self.d.keep("newcomer-finding");
        self.bar_of_sheet(EN.scored_stem);
        assert_eq!(self.truth().findings.len(), 1);
    }

    fn bar_of_sheet(&mut self, name: &str) {
        self.tap(&format!("{name}, "));
    }

    /// The other cylinder is held by a cord.
    pub fn hold_the_other(&mut self) {
        self.until("the other cylinder's hole", |t| {
            t.verified() == 2 && t.hose.is_empty() && t.crank.is_some_and(|(c, _)| !done(t, c))
        });
        self.tap(EN.more);
        self.tap(EN.crank);
        self.tap(EN.close);
        self.tap(EN.more);
        self.tap(EN.air);
        self.tap(EN.hold_without_air);
        self.tap(EN.hold(HoldKind::Cord));
        self.tap(EN.hold_seen(HoldKind::Cord));
        self.tap(EN.hold_stays(HoldKind::Cord));
        self.d.keep("newcomer-hold");
        let cylinder = self.truth().crank.unwrap().0 as u8;
        self.tap(&EN.bar_hold(cylinder, EN.hold(HoldKind::Cord)));
        assert_eq!(self.truth().hold.len(), 1);
        self.until("unlocked under the hold", |t| !t.unlocked().is_empty());
        self.d.keep("newcomer-held");
        self.until("its locks in", |t| t.unlocked().is_empty());
    }

    /// The night: work rests, the program is closed, another technician comes.
    pub fn rest_over_night(&mut self) {
        self.tap(EN.more);
        self.tap(EN.pause);
        self.write(EN.why_word, "night");
        self.d.keep("newcomer-rest");
        self.tap(EN.pause);
        assert_eq!(self.truth().phase, "rests");
        self.tap(EN.back);
        self.d.keep("newcomer-rests");
        self.tap(EN.board);
        self.wait_to_hear("Bay 1 · pump 12");
        self.d.keep("newcomer-board-rests");
        self.tap(EN.back);
        self.pass_the_night(11 * 3_600);
        self.look();
        self.tap("Bay 1 · pump 12");
        self.d.keep("newcomer-morning");
        self.tap(EN.stands_as_shown);
        self.tap(EN.more);
        self.tap(EN.take_over);
        self.sign(2);
        assert_eq!(self.truth().technician, CODES[2].0);
        self.d.keep("newcomer-taken-over");
        self.tap(EN.stands_as_shown);
    }

    /// To the closed job, and its record.
    pub fn work_to_the_record(&mut self) {
        self.until("every valve verified", |t| t.verified() == 4);
        self.until("the cover on", |t| {
            t.signed.iter().any(|(what, _)| *what == "cover")
        });
        self.d.keep("newcomer-covered");
        self.until("the job closed", |t| t.phase == "closed");
        self.d.keep("newcomer-closed");
        self.bar();
        self.d.keep("newcomer-record");
    }
}

fn done(truth: &Truth, cylinder: u64) -> bool {
    let mut own = truth.stages.iter().filter(|((c, ..), _)| *c == cylinder);
    own.all(|(_, seen)| *seen == 6)
}
