//! The work sheet on paper: the same job in the same order, to be ticked by pen on the day
//! when the tablet is dead.

use trayzero_core::bench::{AirQuestion, BenchError, UnitSystem};
use trayzero_core::engine::{Item, KitLine, Layout};
use trayzero_core::job::{Caution, HoldKind, Stage, Step};
use trayzero_core::plan::{OrderFault, OrderQuestion, Stop, WorkingOrder, working_order};
use trayzero_core::shop_log::Role;

use super::face::Faces;
use super::ink::Ink;
use super::lines::{capital, clean};
use super::pages::{Pages, Style};
use super::table::{Column, PdfTable, TableCell};
use super::write::{self, Furniture};
use super::{Paper, PdfError};
use crate::ui::units::{self, Figures};
use crate::ui::words::record::RecordWords;
use crate::ui::words::{Language, Words};

/// Rows left open for what falls, and for what is noted.
const DROP_ROWS: usize = 5;

/// Why there is no sheet for an engine.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// The engine has no working order.
    #[error(transparent)]
    Order(#[from] OrderFault),
    /// A figure of the engine is out of its range.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// The file cannot be made.
    #[error(transparent)]
    Pdf(#[from] PdfError),
}

struct WorkSheet<'a> {
    layout: &'a Layout,
    order: WorkingOrder,
    words: &'static Words,
    own: &'static RecordWords,
    figures: Figures,
}

/// Makes the sheet of an engine as a PDF, its figures in a system of units. The same
/// engine gives the same bytes.
///
/// # Errors
/// [`SheetError`] where the engine has no working order, a figure of it is out of range, or
/// the file cannot be made.
pub fn render_sheet(
    layout: &Layout,
    language: Language,
    paper: Paper,
    system: UnitSystem,
) -> Result<Vec<u8>, SheetError> {
    let faces = Faces::new()?;
    let words = language.words();
    let sheet = WorkSheet {
        layout,
        order: working_order(&OrderQuestion::at_start(layout))?,
        words,
        own: language.record_words(),
        figures: Figures::new(system, words.decimal_point),
    };
    let mut pages = Pages::new(&faces, paper);
    sheet.head(&mut pages);
    sheet.steps(&mut pages, sheet.own.before_first, &Step::BEFORE);
    sheet.kit(&mut pages);
    sheet.leak_down(&mut pages);
    sheet.air(&mut pages)?;
    sheet.valves(&mut pages);
    sheet.drops(&mut pages);
    sheet.counts(&mut pages);
    sheet.steps(&mut pages, sheet.own.after_last, &Step::AFTER);
    let title = format!("{}: {}", words.sheet_title, layout.name);
    let furniture = Furniture {
        title: &clean(&title),
        language: sheet.own.tag,
        head: title.clone(),
        job_status: String::new(),
        warn: false,
        foot: "Tray Zero".to_owned(),
        page_of: &sheet.own.page_of,
        kept_at: None,
    };
    Ok(write::write(&pages, paper, &furniture, &[])?)
}

/// Text in a size that is read at arm's length.
fn cell(text: impl Into<String>) -> TableCell {
    TableCell::styled(text, Style::plain(10.0))
}

/// Room to write by hand.
fn blank() -> TableCell {
    TableCell::styled("\u{a0}", Style::plain(15.0))
}

impl WorkSheet<'_> {
    fn head(&self, pages: &mut Pages) {
        let (words, own) = (self.words, self.own);
        pages.heading(1, words.sheet_title, 60.0);
        pages.paragraph(&self.layout.name, Style::plain(12.5).strong());
        pages.skip(6.0);
        let mut lines = PdfTable::new(vec![
            Column::words("", 1.0),
            Column::words("", 2.0),
            Column::words("", 1.0),
            Column::words("", 2.0),
        ]);
        let named = [
            (words.vehicle, own.order_number),
            (own.bay, own.day),
            (words.role(Role::Technician), words.role(Role::Second)),
            (own.odometer, words.role(Role::Foreman)),
        ];
        for (left, right) in named {
            let label = |text: &str| cell(capital(text));
            lines.row(vec![label(left), blank(), label(right), blank()]);
        }
        lines.draw(pages);
        pages.skip(6.0);
        pages.paragraph(words.sheet_use, Style::BODY);
        pages.skip(6.0);
        let cautions = Caution::ALL.map(|caution| words.caution_more(caution));
        pages.warning(words.sheet_first, &cautions.join("\n"));
        pages.skip(4.0);
    }

    /// Steps with a box each.
    fn steps(&self, pages: &mut Pages, title: &str, steps: &[Step]) {
        let mut table = PdfTable::new(vec![Column::words("", 0.3), Column::words("", 6.0)]);
        for step in steps {
            table.row(vec![TableCell::to_tick(), cell(self.words.step(*step))]);
        }
        pages.heading(2, title, table.keep(pages));
        table.draw(pages);
    }

    /// The kit, counted in before the work and out after it.
    fn kit(&self, pages: &mut Pages) {
        let (words, own) = (self.words, self.own);
        let mut table = PdfTable::new(vec![
            Column::words(own.item, 3.0),
            Column::figures(words.sheet_count, 0.8),
            Column::words(words.sheet_in, 0.8),
            Column::words(words.sheet_out, 0.8),
        ]);
        for line in self.layout.kit_list() {
            let name = self.kit_name(&line);
            let count = cell(line.count.to_string());
            table.row(vec![
                cell(name),
                count,
                TableCell::to_tick(),
                TableCell::to_tick(),
            ]);
        }
        // As many as were taken: written, not ticked.
        table.row(vec![
            cell(words.paper_new_seals),
            blank(),
            TableCell::to_tick(),
            cell(""),
        ]);
        pages.heading(2, own.kit, table.keep(pages));
        table.draw(pages);
    }

    fn kit_name(&self, line: &KitLine) -> String {
        let name = self.words.item(&line.item);
        match &line.bank {
            Some(bank) => format!("{name} ({bank})"),
            None => name,
        }
    }

    /// Readings of every cylinder, before the work and after it.
    fn leak_down(&self, pages: &mut Pages) {
        let (words, own) = (self.words, self.own);
        let gauge = |when: &str, which: &str| format!("{when}: {which}");
        let mut table = PdfTable::new(vec![
            Column::words(own.cylinder, 1.0),
            Column::words(&gauge(own.before, words.supply), 1.0),
            Column::words(&gauge(own.before, words.in_cylinder), 1.0),
            Column::words(&gauge(own.after, words.supply), 1.0),
            Column::words(&gauge(own.after, words.in_cylinder), 1.0),
            Column::words(own.heard, 1.6),
        ]);
        for cylinder in self.layout.cylinders() {
            let name = capital(&words.cylinder_n(cylinder));
            table.row(vec![
                cell(name),
                blank(),
                blank(),
                blank(),
                blank(),
                blank(),
            ]);
        }
        pages.heading(2, own.leak_down, table.keep(pages));
        table.draw(pages);
    }

    /// Which pressure holds, and turns nothing, at each place where a cylinder is worked.
    fn air(&self, pages: &mut Pages) -> Result<(), SheetError> {
        let words = self.words;
        let mut offsets: Vec<f64> = self.order.stops.iter().map(|s| s.offset_deg).collect();
        offsets.sort_by(f64::total_cmp);
        offsets.dedup();
        let mut table = PdfTable::new(vec![
            Column::words(words.crank, 1.6),
            Column::figures(words.sheet_lowest, 1.0),
            Column::figures(words.suggested, 1.0),
            Column::figures(words.sheet_highest, 1.0),
        ]);
        let mut missing = None;
        for offset_deg in offsets {
            // The other top is a top as well.
            let off_tdc_deg = if offset_deg > 180.0 {
                offset_deg - 360.0
            } else {
                offset_deg
            };
            let question = AirQuestion {
                off_tdc_deg,
                pressure_bar: None,
                breakaway_nm: None,
            };
            let answer = question.answer(self.layout)?;
            let bar = |value: Option<f64>| {
                cell(value.map_or_else(|| "–".to_owned(), |bar| units::pressure(bar, self.figures)))
            };
            table.row(vec![
                cell(words.offset_text(offset_deg)),
                bar(answer.lowest_bar),
                bar(answer.suggested_bar),
                bar(Some(answer.highest_bar)),
            ]);
            missing = match (answer.lowest_bar, answer.suggested_bar) {
                (None, _) => Some(words.no_seats),
                (Some(_), None) => Some(words.no_window),
                _ => missing,
            };
        }
        pages.heading(2, words.sheet_air, table.keep(pages));
        table.draw(pages);
        if let Some(missing) = missing {
            pages.paragraph(missing, Style::BODY.ink(Ink::Warn));
        }
        Ok(())
    }

    /// Each valve with its six stages, cylinder by cylinder in the working order.
    fn valves(&self, pages: &mut Pages) {
        let words = self.words;
        pages.heading(2, words.sheet_valves, 150.0);
        let back = if self.layout.may_turn_back {
            None
        } else {
            Some(words.sheet_forward)
        };
        if let Some(forward) = back {
            pages.paragraph(forward, Style::BODY.strong());
        }
        for (place, stop) in self.order.stops.iter().enumerate() {
            let mut columns = vec![Column::words("", 1.7)];
            columns.extend(Stage::ALL.map(|stage| Column::words(words.stage(stage), 1.0)));
            let mut table = PdfTable::new(columns);
            for valve in self.layout.valves_of(stop.cylinder) {
                let mut cells = vec![cell(words.valve_within(valve)).strong()];
                cells.extend(Stage::ALL.map(|_| TableCell::to_tick()));
                table.row(cells);
            }
            pages.heading(3, &self.stop(place + 1, stop), table.keep(pages) + 30.0);
            self.held_by(pages);
            table.draw(pages);
        }
    }

    /// What the regulator reads there, or what holds the valves instead: written and ticked,
    /// for nobody knows it afterwards.
    fn held_by(&self, pages: &mut Pages) {
        let words = self.words;
        let mut table = PdfTable::new(vec![
            Column::words("", 2.4),
            Column::words("", 0.3),
            Column::words("", 1.2),
            Column::words("", 0.3),
            Column::words("", 1.2),
            Column::words("", 0.3),
            Column::words("", 1.2),
        ]);
        let mut cells = vec![cell(words.paper_holds_row)];
        for hold in [HoldKind::Piston, HoldKind::Cord, HoldKind::Prop] {
            cells.push(TableCell::to_tick());
            cells.push(cell(words.hold(hold)));
        }
        table.row(cells);
        table.draw(pages);
    }

    fn stop(&self, place: usize, stop: &Stop) -> String {
        let words = self.words;
        let rim = units::along_rim(self.layout, stop.turn_deg, self.figures);
        let turn = words.turn_degrees(stop.turn_deg, rim.as_deref());
        let adaptors = words.adaptor_n(&stop.adaptors.join(", "));
        format!(
            "{place}. {}, {} · {} {turn} · {} · {adaptors}",
            capital(&words.cylinder_n(stop.cylinder)),
            stop.bank,
            words.sheet_turn,
            words.offset_text(stop.offset_deg),
        )
    }

    /// What falls is written down at once, wherever it fell.
    fn drops(&self, pages: &mut Pages) {
        let own = self.own;
        let mut table = PdfTable::new(vec![
            Column::words(own.dropped, 2.0),
            Column::words(own.when, 1.0),
            Column::words(own.who, 1.2),
            Column::words(self.words.sheet_found, 2.4),
        ]);
        for _ in 0..DROP_ROWS {
            table.row(vec![blank(), blank(), blank(), blank()]);
        }
        pages.heading(2, own.drops, table.keep(pages));
        pages.paragraph(self.words.sheet_drop_rule, Style::BODY.strong());
        table.draw(pages);
    }

    /// Two people count what is loose, without seeing each other's figures.
    fn counts(&self, pages: &mut Pages) {
        let (words, own) = (self.words, self.own);
        let mut table = PdfTable::new(vec![
            Column::words(own.item, 2.4),
            Column::words(own.first_count, 1.0),
            Column::words(own.second_count, 1.0),
        ]);
        let loose = [
            Item::Lock,
            Item::Retainer,
            Item::Spring,
            Item::NewSeal,
            Item::OldSeal,
        ];
        let loose = loose.iter().map(|item| words.item(item));
        let kit = self.layout.kit_list();
        for name in loose.chain(kit.iter().map(|line| self.kit_name(line))) {
            table.row(vec![cell(name), blank(), blank()]);
        }
        pages.heading(2, words.sheet_counts, table.keep(pages));
        pages.paragraph(words.sheet_count_rule, Style::BODY.strong());
        table.draw(pages);
    }
}
