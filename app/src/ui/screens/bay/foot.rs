//! The foot of the panel: the way back from the last step, and the ways aside.

use egui::{Rect, Ui, pos2, vec2};

use super::{Bay, told};
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::sheets::Sheet;
use crate::ui::theme::{GAP, TARGET, Theme, Type};
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;
use crate::ui::widgets::{memo, paint};

/// What takes back keeps this far from what is beside it, in points.
const APART: f32 = 3.0 * GAP;

/// The largest part of the panel's height that its foot takes.
pub const MOST: f32 = 0.36;

/// How much of the panel's foot is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FootSize {
    /// The way back and all ways aside.
    Full,
    /// The way back, that something fell, and the rest behind one button.
    Low,
    /// The same, and the bar without its second line, which is spoken still.
    Lower,
    /// The way back, and the rest behind one button.
    Short,
    /// The same, and the bar without its second line.
    Shortest,
}

impl FootSize {
    /// From the fullest to the shortest. What fell is told in one tap as long as may be.
    pub const ALL: [FootSize; 5] = [
        FootSize::Full,
        FootSize::Low,
        FootSize::Lower,
        FootSize::Short,
        FootSize::Shortest,
    ];

    /// Whether the bar's second line is spoken only.
    pub fn is_bar_short(self) -> bool {
        matches!(self, FootSize::Lower | FootSize::Shortest)
    }
}

/// One button at the foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Aside {
    TakeBack,
    Dropped,
    PartChanged,
    More,
}

/// Rows of buttons from the top down. The last row is always in the same place: the way
/// back, which stays until the next tap, and what else there is.
fn rows(form: FootSize) -> &'static [&'static [Aside]] {
    const LAST: &[Aside] = &[Aside::TakeBack, Aside::More];
    match form {
        FootSize::Full => &[&[Aside::Dropped, Aside::PartChanged], LAST],
        FootSize::Low | FootSize::Lower => &[&[Aside::Dropped], LAST],
        FootSize::Short | FootSize::Shortest => &[LAST],
    }
}

/// A button's words: its name; and what it would take back, or why it takes no tap.
fn words_of(v: &View<'_>, job: &JobView<'_>, aside: Aside) -> (&'static str, String) {
    let w = v.words;
    let why_not = || told::why_not_open(v, job).unwrap_or_default().to_owned();
    match aside {
        Aside::TakeBack => {
            let deed = job.undo.map(|(_, event)| w.deed(event));
            let none = || w.nothing_to_take_back.to_owned();
            (w.take_back, deed.unwrap_or_else(none))
        }
        Aside::Dropped => (w.dropped_one, why_not()),
        Aside::PartChanged => (w.part_changed, why_not()),
        Aside::More => (w.more, String::new()),
    }
}

/// How many lines name what would be taken back. They keep their room, so that nothing
/// moves from one tap to the next.
fn deed_lines(ui: &Ui, v: &View<'_>, width: f32) -> usize {
    let language = std::ptr::from_ref(v.words).addr();
    let key = memo::key(("lines of a deed", width.to_bits(), language));
    memo::memo(ui, key, || {
        let ink = egui::Color32::PLACEHOLDER;
        let room = width - Button::SIDES;
        let is_long = |deed: String| paint::text_line(ui, &deed, Type::Small, ink, room).elided;
        // Text that large leaves no room; what would be taken back is spoken all the same.
        let most = match Theme::of(ui.ctx()).scale() {
            ..=1.25 => 2,
            ..=1.5 => 1,
            _ => 0,
        };
        most.min(1 + usize::from(v.words.usual_deeds().any(is_long)))
    })
}

/// Widths of the buttons of a row.
fn widths(ui: &Ui, v: &View<'_>, row: &[Aside], width: f32) -> Vec<f32> {
    if row.len() == 1 {
        return vec![width];
    }
    let equal = (width - GAP) / 2.0;
    if row[1] != Aside::More {
        return vec![equal, equal];
    }
    let ink = egui::Color32::PLACEHOLDER;
    let more = paint::text_line(ui, v.words.more, Type::Strong, ink, width);
    let narrow = (more.size().x + 4.0 * GAP).max(1.5 * TARGET).min(equal);
    vec![width - narrow - APART, narrow]
}

fn row_height(ui: &Ui, width: f32, v: &View<'_>, job: &JobView<'_>, row: &[Aside]) -> f32 {
    let language = std::ptr::from_ref(v.words).addr();
    let is_open = told::why_not_open(v, job).is_none();
    let key = memo::key(("foot", row, width.to_bits(), language, is_open));
    memo::memo(ui, key, || {
        let of = |(aside, width): (&Aside, f32)| {
            let (text, more) = words_of(v, job, *aside);
            let button = Button::new(text).more(&more);
            match aside {
                Aside::TakeBack => button.more_lines(deed_lines(ui, v, width)),
                _ => button,
            }
            .height(ui, width)
        };
        let all = row.iter().zip(widths(ui, v, row, width));
        all.map(of).fold(TARGET, f32::max)
    })
}

/// Height that the foot takes at a width.
pub fn height(ui: &Ui, width: f32, v: &View<'_>, job: &JobView<'_>, form: FootSize) -> f32 {
    let each = |row: &&[Aside]| row_height(ui, width, v, job, row) + GAP;
    rows(form).iter().map(each).sum::<f32>() - GAP
}

/// Draws it.
pub fn ui(
    ui: &mut Ui,
    rect: Rect,
    v: &View<'_>,
    job: &JobView<'_>,
    form: FootSize,
    bay: &mut Bay,
    out: &mut Vec<Intent>,
) {
    let mut top = rect.top();
    for row in rows(form) {
        let height = row_height(ui, rect.width(), v, job, row);
        let widths = widths(ui, v, row, rect.width());
        let mut left = rect.left();
        for (aside, width) in row.iter().zip(&widths) {
            let (width, last) = (*width, widths[widths.len() - 1]);
            let place = Rect::from_min_size(pos2(left, top), vec2(width, height));
            if button(ui, place, v, job, *aside) {
                tapped(*aside, job, bay, out);
            }
            // The second button ends where the row does.
            left = rect.right() - last;
        }
        top += height + GAP;
    }
}

fn button(ui: &mut Ui, place: Rect, v: &View<'_>, job: &JobView<'_>, aside: Aside) -> bool {
    let writable = job.read_only.is_none();
    let is_open = told::why_not_open(v, job).is_none();
    let enabled = match aside {
        Aside::TakeBack => writable && job.undo.is_some(),
        Aside::More => true,
        Aside::Dropped | Aside::PartChanged => is_open,
    };
    let (text, more) = words_of(v, job, aside);
    let spoken = match aside {
        Aside::TakeBack => format!("{text}: {more}"),
        _ if more.is_empty() => text.to_owned(),
        _ => format!("{text}, {more}"),
    };
    // What it would take back changes with every tap, the button stays the same one: a
    // second tap on it within the guard takes nothing back.
    let mut button = Button::new(text).more(&more).named(&spoken).steady("foot");
    if aside == Aside::TakeBack {
        button = button.more_lines(deed_lines(ui, v, place.width()));
    }
    ui.push_id(aside as u8, |ui| button.enabled(enabled).at(ui, place))
        .inner
        .tapped
}

fn tapped(aside: Aside, job: &JobView<'_>, bay: &mut Bay, out: &mut Vec<Intent>) {
    match (aside, &job.undo) {
        (Aside::TakeBack, Some((id, _))) => match job.state.signatures_to_take_back(*id) {
            0 => out.push(Intent::TakeBack(*id)),
            needed => bay
                .sheets
                .open(Sheet::Sign(SignedAct::TakeBack(*id, needed))),
        },
        (Aside::TakeBack, None) => {}
        (Aside::Dropped, _) => bay.sheets.open(Sheet::Drop),
        (Aside::PartChanged, _) => bay.sheets.open(Sheet::Part),
        (Aside::More, _) => bay.sheets.open(Sheet::More),
    }
}
