//! Whether a record holds, line by line, and what that proves.

use egui::Ui;
use trayzero_core::shop_log::words_of_key;

use crate::record::opened::OpenedRecord;
use crate::record::verify::{LineVerdict, VerifyLine};
use crate::ui::screens::frame;
use crate::ui::theme::{Theme, Type};
use crate::ui::view::View;
use crate::ui::widgets::note;

/// The most lines that are shown of one verdict.
const LINES_MAX: usize = 60;

/// Draws it.
pub fn ui(ui: &mut Ui, v: &View<'_>, opened: &OpenedRecord) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let report = &opened.report;
    lines(ui, v, opened, LineVerdict::DoesNotHold);
    let shop = report.shop.as_deref();
    let own = v.membership.shop_words.as_deref();
    frame::group(ui, w.whose_record);
    match &report.signer {
        Some(key) => {
            let name = report
                .making
                .as_ref()
                .and_then(|m| m.tablet_name.as_deref());
            let who = w.signed_by_tablet(name.unwrap_or("-"), &words_of_key(key));
            frame::line(ui, &who, Type::Strong, false);
        }
        None => frame::line(ui, w.signed_by_nobody, Type::Strong, false),
    }
    if let Some(key) = shop {
        let words = words_of_key(key);
        frame::line(ui, &w.shop_with_words(&words), Type::Strong, false);
        // The words of this tablet's own shop come from what it has checked itself.
        let is_own = own == Some(words.as_str());
        match (is_own, own) {
            (true, _) => frame::line(ui, w.is_own_shop, Type::Body, false),
            (false, Some(_)) => note::ui(ui, w.is_other_shop, "", c.open),
            (false, None) => {}
        }
    } else {
        frame::line(ui, w.no_shop_in_record, Type::Body, false);
    }
    lines(ui, v, opened, LineVerdict::NotKnown);
    frame::group(ui, w.what_it_proves);
    let proves = if report.holds() {
        &w.record_proves[..]
    } else {
        &[w.record_proves_nothing][..]
    };
    for text in proves {
        frame::line(ui, text, Type::Body, false);
    }
    frame::group(ui, w.what_it_proves_not);
    for text in w.record_proves_not {
        frame::line(ui, text, Type::Body, false);
    }
    lines(ui, v, opened, LineVerdict::Holds);
}

/// The lines of one verdict under its name.
fn lines(ui: &mut Ui, v: &View<'_>, opened: &OpenedRecord, verdict: LineVerdict) {
    let w = v.words;
    let c = Theme::of(ui.ctx()).colours;
    let lines = opened.report.lines.iter();
    let of_it: Vec<&VerifyLine> = lines.filter(|line| line.verdict == verdict).collect();
    if of_it.is_empty() {
        return;
    }
    let title = match verdict {
        LineVerdict::Holds => w.verdict_holds,
        LineVerdict::DoesNotHold => w.verdict_fails,
        LineVerdict::NotKnown => w.verdict_unknown,
    };
    frame::group(ui, &format!("{title}: {}", of_it.len()));
    for line in of_it.iter().take(LINES_MAX) {
        let said = in_groups(&w.verify_said(&line.said));
        let name = line.attachment.as_deref().unwrap_or_default();
        match verdict {
            LineVerdict::DoesNotHold => note::ui(ui, &said, name, c.astray),
            LineVerdict::NotKnown => note::ui(ui, &said, name, c.open),
            LineVerdict::Holds => {
                let text = match name {
                    "" => said,
                    name => format!("{name}: {said}"),
                };
                frame::line(ui, &text, Type::Body, true);
            }
        }
    }
    if of_it.len() > LINES_MAX {
        frame::line(
            ui,
            &w.more_of_them(of_it.len() - LINES_MAX),
            Type::Body,
            true,
        );
    }
}

/// Signs of a key that stand together.
const GROUP: usize = 16;

/// A text whose keys, 64 signs each, stand in groups that fit into a narrow line.
fn in_groups(text: &str) -> String {
    let in_groups = |word: &str| {
        let key = word.trim_end_matches(',');
        let is_key = key.len() == 64 && key.bytes().all(|b| b.is_ascii_hexdigit());
        let ends = (GROUP..64).step_by(GROUP).rev();
        let mut word = word.to_owned();
        for end in ends.filter(|_| is_key) {
            word.insert(end, ' ');
        }
        word
    };
    let words: Vec<String> = text.split(' ').map(in_groups).collect();
    words.join(" ")
}
