//! A record that was just written, and files that are none or do not hold.

use std::path::Path;
use std::time::{Duration, Instant};

use trayzero::ui::intent::Intent;
use uuid::Uuid;

use super::scenes::{Kind, Walk};

impl Walk<'_> {
    /// Every part of a record, one that holds and one that does not, and its bay.
    pub fn records(&mut self, job: Uuid) {
        let w = self.stage.words;
        self.stage.job(job, false);
        self.stage.shell.carry_out(Intent::WriteRecord);
        self.stage.settle();
        self.see("record, being read", Kind::Screen);
        self.read();
        let desk = &self.stage.shell.desk;
        let path = desk.view().record.unwrap().path.clone();
        self.parts("record");
        let printers = Intent::AskPrinters;
        self.stage.shell.carry_out(printers);
        self.until(|walk| {
            let view = walk.stage.shell.desk.view();
            view.record.unwrap().printers.is_some()
        });
        self.see("record, printers", Kind::Screen);
        self.bay("record");
        let other = self.stage.root().join("other.pdf");
        std::fs::write(&other, b"a letter").unwrap();
        self.open(&other);
        self.see("record, unread", Kind::Screen);
        let plain = std::fs::read(&path).unwrap();
        let changed = changed_page(plain);
        std::fs::write(&other, changed).unwrap();
        self.open(&other);
        self.parts("record that does not hold");
        self.bay("record that does not hold");
        self.stage.shell.carry_out(Intent::CloseRecord);
        self.stage.settle();
        self.stage.tap(w.open_record);
        self.see("bays, choosing a record", Kind::Screen);
        self.stage.tap(w.cancel);
    }

    fn parts(&mut self, named: &str) {
        let w = self.stage.words;
        let parts = [w.record_part_holds, w.record_part_pages, w.record_part_job];
        for part in parts.into_iter().chain([w.record_part_hand_on]) {
            self.stage.tap(part);
            self.until(|walk| {
                let view = walk.stage.shell.desk.view();
                let record = view.record.unwrap();
                record.asked.map(|asked| asked.0) == record.page.as_ref().map(|page| page.0)
            });
            self.see(&format!("{named}: {part}"), Kind::Screen);
        }
    }

    fn bay(&mut self, named: &str) {
        let w = self.stage.words;
        self.stage.shell.carry_out(Intent::SeeRecordsBay);
        self.stage.settle();
        self.see(&format!("{named}, its bay"), Kind::Bay);
        self.stage.tap(w.more);
        self.see(&format!("{named}, its bay, more"), Kind::Sheet);
        self.stage.shell.carry_out(Intent::LeaveJob);
        self.stage.settle();
    }

    fn open(&mut self, path: &Path) {
        let open = Intent::OpenRecord(path.to_owned());
        self.stage.shell.carry_out(open);
        self.read();
    }

    fn read(&mut self) {
        self.until(|walk| {
            let view = walk.stage.shell.desk.view();
            view.record.unwrap().read.is_some()
        });
    }

    fn until(&mut self, is_so: impl Fn(&Self) -> bool) {
        let until = Instant::now() + Duration::from_mins(1);
        while !is_so(self) {
            assert!(Instant::now() < until, "the record takes too long");
            std::thread::sleep(Duration::from_millis(5));
            self.stage.shell.desk.take_news();
            self.stage.settle();
        }
    }
}

/// The same record with another size of paper on its first page.
fn changed_page(mut pdf: Vec<u8>) -> Vec<u8> {
    let box_of = b"/MediaBox[0 0 595.28";
    let at = pdf.windows(box_of.len()).position(|w| w == box_of);
    let digit = at.expect("a page of A4") + box_of.len() - 1;
    pdf[digit] = b'9';
    pdf
}
