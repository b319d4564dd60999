//! Keys on the glass for every field.
//!
//! They open when a field is touched and lie over the foot of the screen. Above them stands
//! the field with its label and what may be chosen, whatever they cover.

pub mod edit;
mod paint;
pub mod rows;

use egui::text::{CCursor, CCursorRange};
use egui::text_edit::TextEditState;
use egui::{Context, Id, Rect, Response, Ui};

use super::{guard, tap};
use crate::ui::glass;
use crate::ui::words::Words;
use edit::Edit;
pub use rows::{KeyPage, Keys};

/// When the keys come.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum When {
    /// Whenever a field is taken.
    Always,
    /// When a finger touches a field.
    #[default]
    ByTouch,
    /// Never.
    Never,
}

/// The field that is written into.
#[derive(Clone, Debug)]
struct OpenKeyboard {
    field: Id,
    label: String,
    keys: Keys,
    has_lines: bool,
    choices: Vec<String>,
    /// What stands in it, and where the cursor is, in characters.
    text: String,
    at: usize,
    page: KeyPage,
    is_shift: bool,
    /// What the keys have asked for and the field has not yet done.
    edits: Vec<Edit>,
    /// The keys go once that is done.
    is_closing: bool,
    /// The pass in which the field was drawn last.
    drawn_in_pass: u64,
}

/// What a context keeps of the keys.
#[derive(Clone, Debug, Default)]
struct KeyboardLook {
    when: When,
    open: Option<OpenKeyboard>,
    /// How often a held key has repeated.
    repeats: u32,
}

fn board<R>(ctx: &Context, change: impl FnOnce(&mut KeyboardLook) -> R) -> R {
    let key = Id::unique("trayzero keyboard");
    ctx.data_mut(|d| change(d.get_temp_mut_or_default(key)))
}

/// Says when the keys are to come. Call it before the fields of a frame.
pub fn begin(ctx: &Context, when: When) {
    board(ctx, |b| b.when = when);
}

/// Whether the keys lie on the screen.
pub fn is_open(ctx: &Context) -> bool {
    board(ctx, |b| b.open.is_some())
}

/// Puts the keys away. What lay under them is deaf for a moment.
pub fn close(ctx: &Context) {
    if board(ctx, |b| b.open.take()).is_some() {
        glass::keys_lie(ctx, None);
        // What lies under the keys is not to take the next tap on one of them.
        guard::mark(ctx);
        tap::rest(ctx);
        ctx.request_repaint();
    }
}

/// What a field says of itself.
pub struct Field<'a> {
    /// Its label.
    pub label: &'a str,
    /// What it takes.
    pub keys: Keys,
    /// Whether it has several lines.
    pub has_lines: bool,
    /// What may be chosen.
    pub choices: &'a [String],
    /// The most characters.
    pub chars_max: usize,
}

/// Opens the keys for a field that is taken, and does in it what they have asked for. True
/// when that has changed its text.
pub fn follow(response: &Response, field: &Field<'_>, text: &mut String) -> bool {
    let ctx = &response.ctx;
    let id = response.id;
    let is_taken = match board(ctx, |b| b.when) {
        // A press takes the focus already; the keys wait for the tap to be one.
        When::Always => {
            let is_pressed = ctx.input(|i| i.pointer.any_down());
            response.clicked() || (response.gained_focus() && !is_pressed)
        }
        When::ByTouch => response.clicked() && glass::is_finger(ctx),
        When::Never => false,
    };
    let pass = ctx.cumulative_pass_nr();
    let is_open = board(ctx, |b| b.open.as_ref().map(|open| open.field)) == Some(id);
    if is_taken && !is_open {
        let opened = OpenKeyboard {
            field: id,
            label: field.label.to_owned(),
            keys: field.keys,
            has_lines: field.has_lines,
            choices: field.choices.to_vec(),
            text: text.clone(),
            at: text.chars().count(),
            page: KeyPage::default(),
            // A name begins with a capital.
            is_shift: text.is_empty(),
            edits: Vec::new(),
            is_closing: false,
            drawn_in_pass: pass,
        };
        put_cursor(ctx, id, opened.at);
        board(ctx, |b| b.open = Some(opened));
        ctx.request_repaint();
        return false;
    }
    if !is_open {
        return false;
    }
    if glass::is_hard_key(ctx) {
        close(ctx);
        return false;
    }
    let edits = board(ctx, |b| {
        b.open.as_mut().map(|o| std::mem::take(&mut o.edits))
    });
    let edits = edits.unwrap_or_default();
    let mut marked = marked(ctx, id, text.chars().count());
    for edit in &edits {
        let at = edit::make(text, marked, edit, field.keys, field.chars_max);
        marked = (at, at);
    }
    if !edits.is_empty() {
        put_cursor(ctx, id, marked.1);
        ctx.memory_mut(|m| m.request_focus(id));
    }
    let is_done = board(ctx, |b| {
        let Some(open) = b.open.as_mut() else {
            return false;
        };
        open.drawn_in_pass = pass;
        open.at = marked.1;
        open.text.clone_from(text);
        open.is_closing
    });
    if is_done {
        close(ctx);
    }
    !edits.is_empty()
}

/// What is marked in a field, in characters.
fn marked(ctx: &Context, id: Id, all: usize) -> (usize, usize) {
    let state = TextEditState::load(ctx, id);
    let range = state.and_then(|state| state.cursor.char_range());
    range.map_or((all, all), |range| {
        let [from, to] = range.sorted_cursors();
        (usize::from(from.index), usize::from(to.index))
    })
}

fn put_cursor(ctx: &Context, id: Id, at: usize) {
    let mut state = TextEditState::load(ctx, id).unwrap_or_default();
    let range = CCursorRange::one(CCursor::new(at));
    state.cursor.set_char_range(Some(range));
    state.store(ctx, id);
}

/// Draws the keys over the foot of `bounds`, if a field has called them. Call it after all
/// that they may lie over.
pub fn ui(ui: &Ui, words: &Words, bounds: Rect) {
    let ctx = ui.ctx();
    let Some(open) = board(ctx, |b| b.open.clone()) else {
        return;
    };
    if open.drawn_in_pass < ctx.cumulative_pass_nr() {
        // The field has gone, and the keys with it.
        close(ctx);
        return;
    }
    let (pressed, rect) = paint::ui(ui, words, bounds, &open);
    glass::keys_lie(ctx, Some(rect));
    let is_elsewhere = ui.input(|i| {
        let at = i.pointer.interact_pos();
        i.pointer.any_click() && at.is_some_and(|at| !rect.contains(at))
    });
    // A tap beside the keys and beside the field puts them away.
    let on_field = ctx
        .read_response(open.field)
        .is_some_and(|field| field.clicked());
    if is_elsewhere
        && !on_field
        && board(ctx, |b| b.open.as_ref().map(|o| o.field)) == Some(open.field)
    {
        close(ctx);
        return;
    }
    if let Some(pressed) = pressed {
        take(ctx, pressed);
        ctx.request_repaint();
    }
}

/// What was pressed on the keys.
enum Pressed {
    Key(rows::Key),
    Choice(String),
}

fn take(ctx: &Context, pressed: Pressed) {
    use rows::Key;
    let is_done = board(ctx, |b| {
        let Some(open) = b.open.as_mut() else {
            return false;
        };
        match pressed {
            Pressed::Choice(choice) => {
                open.edits.push(Edit::Choose(choice));
                // Most fields are filled by one choice.
                open.is_closing = open.keys != Keys::Codes;
                return false;
            }
            Pressed::Key(Key::Sign(sign)) => {
                let sign = if open.is_shift { capital(sign) } else { sign };
                open.edits.push(Edit::Sign(sign));
                open.is_shift = false;
            }
            Pressed::Key(Key::NewLine) => open.edits.push(Edit::Sign('\n')),
            Pressed::Key(Key::Shift) => open.is_shift = !open.is_shift,
            Pressed::Key(Key::Delete) => open.edits.push(Edit::Delete),
            Pressed::Key(Key::EraseAll) => open.edits.push(Edit::EraseAll),
            Pressed::Key(Key::Page(page)) => open.page = page,
            Pressed::Key(Key::Close) => return true,
        }
        false
    });
    if is_done {
        close(ctx);
    }
}

/// A letter as a capital, where that is one letter.
fn capital(sign: char) -> char {
    let mut all = sign.to_uppercase();
    match (all.next(), all.next()) {
        (Some(one), None) => one,
        _ => sign,
    }
}
