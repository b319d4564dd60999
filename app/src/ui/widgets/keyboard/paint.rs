//! How the keys look: the field with its label, what may be chosen, and the rows.

use egui::{Area, Id, Order, Rect, Sense, Stroke, StrokeKind, Ui, pos2, vec2};

use super::rows::{self, BETWEEN, Key, KeyPage, Wanted};
use super::{OpenKeyboard, Pressed, board, edit};
use crate::ui::glass;
use crate::ui::theme::{GAP, ROUND, TARGET, Theme, Type};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::{guard, paint};
use crate::ui::words::Words;

/// A held key repeats after so many seconds, and then so often.
const REPEAT_AFTER_S: f64 = 0.5;
const REPEAT_S: f64 = 0.08;

/// What is shown, from the top down.
struct KeyPlan {
    rows: Vec<rows::KeyRow>,
    band: f32,
    choices: f32,
    height: f32,
}

fn plan(ui: &Ui, words: &Words, bounds: Rect, open: &OpenKeyboard) -> KeyPlan {
    let band = paint::line_height(ui, Type::Body) + paint::line_height(ui, Type::Title) + GAP;
    let has_choices = !edit::fitting(&open.text, &open.choices, open.keys).is_empty();
    let choices = if has_choices { TARGET + GAP } else { 0.0 };
    let width = bounds.width() - 2.0 * GAP;
    let around = band + 3.0 * GAP;
    let wanted = Wanted {
        keys: open.keys,
        page: open.page,
        language: words.language,
        has_lines: open.has_lines,
        decimal: words.decimal_point.chars().next().unwrap_or('.'),
        width,
        height: bounds.height() - around - choices,
    };
    let rows = rows::rows(wanted);
    let keys = rows::height(&rows);
    // What may be chosen gives way to the keys, never the field.
    let fits = around + choices + keys <= bounds.height();
    let choices = if fits { choices } else { 0.0 };
    KeyPlan {
        height: around + choices + keys,
        rows,
        band,
        choices,
    }
}

/// Draws all of it; gives what was pressed, and the room that it takes.
pub(super) fn ui(
    ui: &Ui,
    words: &Words,
    bounds: Rect,
    open: &OpenKeyboard,
) -> (Option<Pressed>, Rect) {
    let plan = plan(ui, words, bounds, open);
    let top = bounds.bottom() - plan.height;
    let rect = Rect::from_min_max(pos2(bounds.left(), top), bounds.max);
    let area = Area::new(Id::unique("trayzero keys"))
        .order(Order::Foreground)
        .fixed_pos(rect.min)
        .constrain(false)
        .fade_in(false)
        .sense(Sense::hover());
    let shown = area.show(ui.ctx(), |ui| {
        ui.set_clip_rect(bounds);
        ui.allocate_rect(rect, Sense::hover());
        let c = Theme::of(ui.ctx()).colours;
        ui.painter().rect_filled(rect, 0.0, c.metal);
        ui.painter()
            .hline(rect.x_range(), rect.top(), Stroke::new(2.0, c.edge));
        let inner = rect.shrink(GAP);
        band(ui, inner.with_max_y(inner.top() + plan.band), open);
        let mut top = inner.top() + plan.band + GAP;
        let mut pressed = None;
        if plan.choices > 0.0 {
            let row = Rect::from_min_size(pos2(inner.left(), top), vec2(inner.width(), TARGET));
            pressed = choices(ui, row, open);
            top += plan.choices;
        }
        for row in &plan.rows {
            for ((key, _), (left, wide)) in row.keys.iter().zip(rows::places(row, inner.width())) {
                let at = pos2(inner.left() + left, top);
                let place = Rect::from_min_size(at, vec2(wide, row.height));
                if key_ui(ui, words, place, *key, open) {
                    pressed = Some(Pressed::Key(*key));
                }
            }
            top += row.height + BETWEEN;
        }
        pressed
    });
    (shown.inner, rect)
}

/// The field with its label, as it stands under the keys.
fn band(ui: &mut Ui, rect: Rect, open: &OpenKeyboard) {
    let theme = Theme::of(ui.ctx());
    let c = theme.colours;
    let spoken = format!("{}: {}", open.label, open.text);
    let response = ui.interact(rect, Id::unique("trayzero keys field"), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Label, true, &spoken));
    let label = paint::text_line(ui, &open.label, Type::Body, c.ink_soft, rect.width());
    let below = rect.top() + label.size().y;
    ui.painter().galley(rect.min, label, c.ink_soft);
    let field = rect.with_min_y(below);
    ui.painter().rect(
        field,
        f32::from(ROUND),
        c.card,
        Stroke::new(2.0, c.edge),
        StrokeKind::Inside,
    );
    let room = field.width() - 2.0 * GAP - 4.0;
    // What is being written stays in sight: of a long text the part before the cursor.
    let signs: Vec<char> = open.text.replace('\n', " ").chars().collect();
    let (before, behind) = signs.split_at(open.at.min(signs.len()));
    let font = theme.font(Type::Title);
    let layout = |text: String| ui.painter().layout_no_wrap(text, font.clone(), c.ink);
    let mut from = 0;
    let mut shown = layout(before.iter().collect());
    while shown.size().x > room && from < before.len() {
        from += 1;
        shown = layout(before[from..].iter().collect());
    }
    let mut until = behind.len();
    let left = room - shown.size().x;
    let mut rest = layout(behind.iter().collect());
    while rest.size().x > left && until > 0 {
        until -= 1;
        rest = layout(behind[..until].iter().collect());
    }
    let middle = field.center().y;
    let at = pos2(field.left() + GAP, middle - shown.size().y / 2.0);
    let cursor_x = at.x + shown.size().x + 1.0;
    ui.painter().galley(at, shown, c.ink);
    let half = (field.height() / 2.0 - 4.0).max(4.0);
    ui.painter().vline(
        cursor_x,
        middle - half..=middle + half,
        Stroke::new(2.0, c.now_mark),
    );
    let at = pos2(cursor_x + 2.0, middle - rest.size().y / 2.0);
    ui.painter().galley(at, rest, c.ink);
}

/// As many choices as have room, the latest first.
fn choices(ui: &mut Ui, rect: Rect, open: &OpenKeyboard) -> Option<Pressed> {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let mut left = rect.left();
    let mut pressed = None;
    for choice in edit::fitting(&open.text, &open.choices, open.keys) {
        let words = paint::text_line(ui, choice, Type::Strong, ink, 4_000.0);
        let wide = (words.size().x + 32.0).max(TARGET);
        if left + wide > rect.right() + 0.5 {
            continue;
        }
        let place = Rect::from_min_size(pos2(left, rect.top()), vec2(wide, rect.height()));
        let button = Button::new(choice).steady(choice);
        if ui
            .push_id(("choice", choice), |ui| button.at(ui, place))
            .inner
            .response
            .clicked()
        {
            pressed = Some(Pressed::Choice(choice.clone()));
        }
        left += wide + GAP;
    }
    pressed
}

/// One key; whether it was pressed. A key is never deaf: a letter may come twice.
fn key_ui(ui: &mut Ui, words: &Words, rect: Rect, key: Key, open: &OpenKeyboard) -> bool {
    let c = Theme::of(ui.ctx()).colours;
    let name = name(words, key, open.is_shift);
    let id = Id::unique(("trayzero key", key));
    let response = ui.interact(rect, id, Sense::click());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::accesskit::Role::Button, true, &name));
    guard::note(ui.ctx(), id, rect);
    let is_on = key == Key::Shift && open.is_shift;
    let (ground, edge) = match (paint::is_pressed(&response), is_on, key) {
        (true, ..) => (c.pressed, c.now_mark),
        (_, true, _) => (c.card, c.now_mark),
        (_, _, Key::Sign(_)) => (c.card, c.edge),
        _ => (c.paper, c.edge),
    };
    ui.painter().rect(
        rect,
        f32::from(ROUND),
        ground,
        Stroke::new(2.0, edge),
        StrokeKind::Inside,
    );
    match key {
        Key::Delete => arrow(ui, rect, vec2(-1.0, 0.0)),
        Key::Shift => arrow(ui, rect, vec2(0.0, -1.0)),
        Key::NewLine => arrow(ui, rect, vec2(0.0, 1.0)),
        Key::Sign(' ') => {}
        _ => write(ui, rect, &name),
    }
    response.clicked() || (key == Key::Delete && repeats(ui, &response))
}

fn name(words: &Words, key: Key, is_shift: bool) -> String {
    match key {
        Key::Sign(' ') => words.key_space.to_owned(),
        Key::Sign(sign) if is_shift => super::capital(sign).to_string(),
        Key::Sign(sign) => sign.to_string(),
        Key::Shift => words.key_shift.to_owned(),
        Key::Delete => words.delete.to_owned(),
        Key::EraseAll => words.erase_all.to_owned(),
        Key::Page(KeyPage::Letters) => "abc".to_owned(),
        Key::Page(KeyPage::Signs) => "12?".to_owned(),
        Key::Page(KeyPage::Accents) => "áé".to_owned(),
        Key::NewLine => words.key_new_line.to_owned(),
        Key::Close => words.keys_away.to_owned(),
    }
}

/// Writes what a key is for, as large as it has room.
fn write(ui: &Ui, rect: Rect, text: &str) {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let fits = |step: &Type| paint::text_line(ui, text, *step, ink, rect.width() - 6.0);
    let all = [Type::Title, Type::Strong, Type::Small];
    let galley = all
        .iter()
        .map(fits)
        .find(|galley| !galley.elided)
        .unwrap_or_else(|| paint::text_centred(ui, text, Type::Small, ink, rect.width() - 6.0));
    let is_centred = galley.job.halign == egui::Align::Center;
    let left = if is_centred {
        0.0
    } else {
        galley.size().x / 2.0
    };
    let at = rect.center() - vec2(left, galley.size().y / 2.0);
    ui.painter().galley(at, galley, ink);
}

/// An arrow in the middle of a key.
fn arrow(ui: &Ui, rect: Rect, way: egui::Vec2) {
    let ink = Theme::of(ui.ctx()).colours.ink;
    let middle = rect.center();
    let side = way.rot90();
    let tip = middle + way * 12.0;
    let line = |points: Vec<egui::Pos2>| paint::round_line(ui.painter(), points, 3.0, ink);
    line(vec![middle - way * 12.0, tip]);
    line(vec![
        tip - way * 8.0 + side * 8.0,
        tip,
        tip - way * 8.0 - side * 8.0,
    ]);
}

/// Whether a held key does its work again in this frame.
fn repeats(ui: &Ui, response: &egui::Response) -> bool {
    let ctx = ui.ctx();
    let now_s = ui.input(|i| i.time);
    let by_mouse = response
        .is_pointer_button_down_on()
        .then(|| ui.input(|i| i.pointer.press_start_time()))
        .flatten();
    let Some(since_s) = glass::pressed_since(response).or(by_mouse) else {
        board(ctx, |b| b.repeats = 0);
        return false;
    };
    let due = ((now_s - since_s - REPEAT_AFTER_S) / REPEAT_S).floor();
    let done = board(ctx, |b| b.repeats);
    ctx.request_repaint_after(std::time::Duration::from_secs_f64(REPEAT_S));
    if due < 0.0 || due < f64::from(done) {
        return false;
    }
    board(ctx, |b| b.repeats += 1);
    true
}
