//! The foot of a sheet. The big bar lies where the bay's bar does; below it lies what the
//! sheet does besides, and the way out. None of it moves while the sheet scrolls.

use egui::{Rect, Ui, pos2};

use crate::ui::screens::frame;
use crate::ui::theme::{GAP, TARGET, Type};
use crate::ui::widgets::big_bar::BigBar;
use crate::ui::widgets::button::Button;
use crate::ui::widgets::paint;
use crate::ui::words::Words;

/// Something that the foot offers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Offer {
    /// What it is called.
    pub title: String,
    /// What else is seen, or what is missing before it can be tapped.
    pub more: String,
    /// Whether it can be tapped.
    pub is_ready: bool,
}

impl Offer {
    /// An offer that can be tapped, and what it says besides.
    pub fn ready(title: impl Into<String>, more: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            more: more.into(),
            is_ready: true,
        }
    }

    /// An offer that can be tapped unless something is missing.
    pub fn unless(
        title: impl Into<String>,
        more: impl Into<String>,
        missing: Option<String>,
    ) -> Self {
        let is_ready = missing.is_none();
        Self {
            title: title.into(),
            more: missing.unwrap_or_else(|| more.into()),
            is_ready,
        }
    }
}

/// What the foot of a sheet holds besides the way out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Foot {
    /// The next step of this sheet, on the big bar.
    pub bar: Option<Offer>,
    /// What the sheet does, or leads to, besides. It never lies where the bar is.
    pub deed: Option<Offer>,
    /// Whether the pedal may take the bar: never where somebody signs.
    pub takes_pedal: bool,
    /// Whether the bar lies beside the way out, no larger than it must be: in a low room.
    pub is_low: bool,
}

impl Foot {
    /// The pedal may take the bar too.
    #[must_use]
    pub fn by_pedal(mut self) -> Self {
        self.takes_pedal = true;
        self
    }

    /// What of it stays in a low room, and what scrolls there. The bar lies beside the way
    /// out; where the deed is what hurries, that does, and the bar above it.
    pub fn lowered(mut self, keeps_deed: bool) -> (Self, Self) {
        self.is_low = self.bar.is_some();
        let mut scrolls = Self::default();
        if self.is_low && !keeps_deed {
            scrolls.deed = self.deed.take();
        }
        (self, scrolls)
    }

    /// A foot with the big bar alone.
    pub fn of_bar(bar: Offer) -> Self {
        Self {
            bar: Some(bar),
            ..Self::default()
        }
    }

    /// A foot with a deed alone.
    pub fn of_deed(deed: Offer) -> Self {
        Self {
            deed: Some(deed),
            ..Self::default()
        }
    }
}

/// What was tapped at the foot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Touched {
    /// The big bar.
    Bar,
    /// The deed, and where it lies.
    Deed(Rect),
    /// The way out.
    Close,
}

/// Where the parts of a foot lie.
pub struct Places {
    bar: Rect,
    deed: Rect,
    close: Rect,
    /// The upper edge of all of it.
    pub top: f32,
}

/// Works out the places in `inner`. `bar_up` is how far the bay's bar stands above the
/// lower edge.
pub fn places(ui: &Ui, w: &Words, inner: Rect, bar_up: f32, foot: &Foot) -> Places {
    let width = inner.width();
    let ink = egui::Color32::PLACEHOLDER;
    let text = paint::text_line(ui, w.close, Type::Strong, ink, width);
    let narrow = (text.size().x + 4.0 * GAP)
        .max(1.5 * TARGET)
        .min((width - 2.0 * GAP) / 2.0);
    let wide = width - narrow - 2.0 * GAP;
    let low = low_bar(foot);
    let deed_height = match (&foot.deed, &low) {
        (Some(deed), _) => Button::new(&deed.title).more(&deed.more).height(ui, wide),
        (None, Some(bar)) => bar.height(ui, wide),
        (None, None) => TARGET,
    };
    let close_height = Button::new(w.close).height(ui, narrow);
    let row = deed_height.max(close_height);
    let row_top = inner.bottom() - row;
    let close = Rect::from_min_max(
        pos2(inner.right() - narrow, inner.bottom() - close_height),
        inner.max,
    );
    let deed = Rect::from_min_max(
        pos2(inner.left(), row_top),
        pos2(inner.left() + wide, inner.bottom()),
    );
    if let Some(low) = low {
        let mut bar = deed;
        if foot.deed.is_some() {
            let top = row_top - GAP - low.height(ui, width);
            bar = Rect::from_min_max(pos2(inner.left(), top), pos2(inner.right(), row_top - GAP));
        }
        return Places {
            bar,
            deed,
            close,
            top: bar.top(),
        };
    }
    let bottom = (inner.bottom() - bar_up).min(row_top - GAP);
    let height = foot.bar.as_ref().map_or(0.0, |bar| {
        BigBar::new(&bar.title, &bar.more).height(ui, width)
    });
    let bar = Rect::from_min_max(
        pos2(inner.left(), bottom - height),
        pos2(inner.right(), bottom),
    );
    let top = if foot.bar.is_some() {
        bar.top()
    } else {
        row_top
    };
    Places {
        bar,
        deed,
        close,
        top,
    }
}

/// The bar of a low room, where there is one.
fn low_bar(foot: &Foot) -> Option<BigBar<'_>> {
    let bar = foot.bar.as_ref().filter(|_| foot.is_low)?;
    Some(bar_of(bar).low())
}

fn bar_of(offer: &Offer) -> BigBar<'_> {
    let mut bar = BigBar::new(&offer.title, &offer.more);
    bar.is_enabled = offer.is_ready;
    bar
}

/// Draws bar and deed below what scrolls, where there is no room for a foot that stays.
pub fn below(ui: &mut Ui, foot: &Foot) -> Option<Touched> {
    let mut touched = None;
    if let Some(offer) = &foot.bar {
        let mut bar = bar_of(offer);
        bar.takes_pedal = foot.takes_pedal;
        if bar.ui(ui).tapped {
            touched = Some(Touched::Bar);
        }
    }
    if let Some(offer) = &foot.deed {
        let button = Button::new(&offer.title).more(&offer.more).steady("deed");
        let tapped = button.enabled(offer.is_ready).ui(ui);
        if tapped.tapped {
            touched = Some(Touched::Deed(tapped.response.rect));
        }
    }
    touched
}

/// Draws it and gives what was tapped.
pub fn ui(ui: &mut Ui, w: &Words, places: &Places, foot: &Foot) -> Option<Touched> {
    let mut touched = None;
    if let Some(offer) = &foot.bar {
        let mut bar = low_bar(foot).unwrap_or_else(|| bar_of(offer));
        bar.takes_pedal = foot.takes_pedal;
        bar.least_height = places.bar.height();
        if bar
            .ui(&mut frame::child(ui, places.bar, "sheet bar"))
            .tapped
        {
            touched = Some(Touched::Bar);
        }
    }
    if let Some(offer) = &foot.deed {
        let button = Button::new(&offer.title).more(&offer.more).steady("deed");
        if button.enabled(offer.is_ready).at(ui, places.deed).tapped {
            touched = Some(Touched::Deed(places.deed));
        }
    }
    if Button::new(w.close).at(ui, places.close).tapped {
        touched = Some(Touched::Close);
    }
    touched
}
