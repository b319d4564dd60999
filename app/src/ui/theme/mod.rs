//! The visual language: colours by meaning, one scale of type, one grid.
//!
//! Two themes, *shop light* and *night*. [`Theme::install`] puts one into an egui
//! context; widgets read it back with [`Theme::of`]. Nothing outside this module
//! names a raw colour, a font or a size.

mod colours;
mod fonts;
mod pairs;

use egui::{
    Color32, Context, CornerRadius, FontFamily, FontId, Id, Stroke, Style, TextStyle, Vec2,
    Visuals,
    cache::CacheStorage,
    epaint::util::hash,
    style::{Selection, WidgetVisuals, Widgets},
};
use serde::{Deserialize, Serialize};

pub use colours::{Colours, NIGHT, SHOP_LIGHT, Tint};
pub use fonts::{BOLD, MEDIUM, WIDE, definitions};
pub use pairs::{PAIRS_IN_USE, Pair, PairKind};

/// Least side of anything that a finger goes to, in points.
pub const TARGET: f32 = 56.0;
/// Dead room between two targets, in points: a tap there means neither.
pub const GAP: f32 = 8.0;
/// The unit of the grid, in points; every distance is a multiple of it.
pub const GRID: f32 = 4.0;
/// Thinnest line, in points.
pub const LINE: f32 = 2.0;
/// Radius of the corners of controls, in points.
pub const ROUND: u8 = 10;
/// Radius of the corners of areas, in points.
pub const ROUND_AREA: u8 = 14;

/// Light or dark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tone {
    /// Ink on paper, for a lit shop.
    #[default]
    ShopLight,
    /// Dim grounds, for a dark one.
    Night,
}

/// One theme with its text scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Theme {
    /// Light or dark.
    pub tone: Tone,
    /// Text scale, 1.0 to 2.0.
    scale: f32,
    /// No motion at all, as the system or the settings ask for.
    pub still: bool,
    /// Its colours.
    pub colours: Colours,
}

/// What all that is kept from frame to frame stands on: the theme, the scale of the
/// screen, and where the letters are in the fonts' picture.
#[derive(Clone, Copy, Debug)]
struct Ground {
    handed_over_in_pass: u64,
    /// How full the fonts' picture was.
    fill: f32,
    /// How often it was emptied.
    emptied: u32,
    /// `None` until the fonts serve: they were handed over in this pass.
    number: Option<u64>,
}

impl Ground {
    /// Lets go of all that was kept where it no longer holds.
    fn follow(ctx: &Context, theme: &Theme) {
        let pass = ctx.cumulative_pass_nr();
        let before: Option<Self> = ctx.data(|d| d.get_temp(KEY));
        let mut now = before.unwrap_or(Self {
            handed_over_in_pass: pass,
            fill: 0.0,
            emptied: 0,
            number: None,
        });
        if now.handed_over_in_pass < pass {
            let fill = ctx.fonts_mut(|fonts| fonts.font_atlas_fill_ratio());
            now.emptied += u32::from(fill < now.fill);
            now.fill = fill;
            let pixels = ctx.pixels_per_point().to_bits();
            let parts = (theme.tone, theme.scale.to_bits(), pixels, now.emptied);
            now.number = Some(hash(parts));
        }
        if before.is_none_or(|before| before.number != now.number) {
            ctx.memory_mut(|m| m.caches = CacheStorage::default());
        }
        ctx.data_mut(|d| d.insert_temp(KEY, now));
    }
}

/// Under this a context keeps one thing of each type of this module.
const KEY: Id = Id::NULL;

/// The steps of the type scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Type {
    /// Captions and axis figures: 15.
    Small,
    /// Running text: 17.
    Body,
    /// Running text that weighs: 17, strong.
    Strong,
    /// Figures and names that are looked for: 22, strong.
    Title,
    /// What the screen is about: 26, strong.
    Heading,
    /// The one next step: 30, strong.
    Bar,
    /// Figures of a pad and of a reading: 36, strong.
    Figure,
}

impl Type {
    /// Every step, smallest first.
    pub const ALL: [Type; 7] = [
        Type::Small,
        Type::Body,
        Type::Strong,
        Type::Title,
        Type::Heading,
        Type::Bar,
        Type::Figure,
    ];

    /// Size in points at 100 %.
    pub fn points(self) -> f32 {
        match self {
            Type::Small => 15.0,
            Type::Body | Type::Strong => 17.0,
            Type::Title => 22.0,
            Type::Heading => 26.0,
            Type::Bar => 30.0,
            Type::Figure => 36.0,
        }
    }

    fn family(self) -> FontFamily {
        match self {
            Type::Small | Type::Body => FontFamily::Proportional,
            _ => fonts::strong_family(),
        }
    }
}

impl Default for Theme {
    fn default() -> Self {
        Self::new(Tone::ShopLight, 1.0)
    }
}

impl Theme {
    /// A theme at a text scale; a scale outside 1.0 to 2.0 is brought inside.
    pub fn new(tone: Tone, scale: f32) -> Self {
        let scale = if scale.is_finite() { scale } else { 1.0 };
        Self {
            tone,
            scale: scale.clamp(1.0, 2.0),
            still: false,
            colours: match tone {
                Tone::ShopLight => SHOP_LIGHT,
                Tone::Night => NIGHT,
            },
        }
    }

    /// The same without motion.
    #[must_use]
    pub fn still(mut self, still: bool) -> Self {
        self.still = still;
        self
    }

    /// Text scale, 1.0 to 2.0.
    pub fn scale(&self) -> f32 {
        self.scale
    }

    /// The font of a step of the scale.
    ///
    /// Large steps grow less than small ones: at 200 % running text doubles, while
    /// what is large already grows by the half.
    pub fn font(&self, step: Type) -> FontId {
        FontId::new(self.points(step), step.family())
    }

    /// The font of what is read from afar, which is as large as its place allows; never
    /// smaller than captions.
    pub fn afar(&self, points: f32, is_strong: bool) -> FontId {
        let family = if is_strong {
            fonts::strong_family()
        } else {
            FontFamily::Proportional
        };
        FontId::new(points.max(self.points(Type::Small)).round(), family)
    }

    /// Size of a step in points at this text scale, on whole points.
    pub fn points(&self, step: Type) -> f32 {
        let grow = match step {
            Type::Small | Type::Body | Type::Strong => self.scale,
            Type::Title => 1.0 + (self.scale - 1.0) * 0.75,
            Type::Heading | Type::Bar | Type::Figure => 1.0 + (self.scale - 1.0) * 0.5,
        };
        (step.points() * grow).round()
    }

    /// The theme that was installed in a context; shop light at 100 % without one.
    pub fn of(ctx: &Context) -> Self {
        ctx.data(|d| d.get_temp(KEY)).unwrap_or_default()
    }

    /// Puts the theme into a context: at the start of every pass, before any text of it.
    /// Cheap when nothing has changed. Fonts that are handed over after some text serve
    /// from the next pass on only.
    ///
    /// Empties egui's caches when what was laid out or painted before no longer holds: the
    /// theme or the scale of the screen has changed, the fonts serve now, or letters have
    /// moved in the fonts' picture.
    pub fn install(self, ctx: &Context) {
        let before: Option<Self> = ctx.data(|d| d.get_temp(KEY));
        Ground::follow(ctx, &self);
        if before == Some(self) {
            return;
        }
        if before.is_none() {
            ctx.set_fonts(definitions());
        }
        ctx.data_mut(|d| d.insert_temp(KEY, self));
        let theme = match self.tone {
            Tone::ShopLight => egui::Theme::Light,
            Tone::Night => egui::Theme::Dark,
        };
        ctx.set_theme(theme);
        ctx.all_styles_mut(|style| self.dress(style));
        ctx.options_mut(|o| {
            o.zoom_with_keyboard = false;
            // The window keeps the system's theme, or we would no longer hear of it.
            o.sync_window_theme = false;
            // A gloved finger presses long and rolls a little; it is a tap all the same.
            o.input_options.max_click_duration = 5.0;
            o.input_options.max_click_dist = 24.0;
        });
    }

    /// Brings egui's own style in line, for the few widgets of its own that are used.
    fn dress(&self, style: &mut Style) {
        let font = |step| self.font(step);
        style.text_styles = [
            (TextStyle::Small, font(Type::Small)),
            (TextStyle::Body, font(Type::Body)),
            (TextStyle::Button, font(Type::Strong)),
            (TextStyle::Heading, font(Type::Heading)),
            (TextStyle::Monospace, font(Type::Body)),
        ]
        .into();
        style.spacing.item_spacing = Vec2::splat(GAP);
        style.spacing.button_padding = Vec2::new(GAP * 2.0, GAP);
        style.spacing.interact_size = Vec2::splat(TARGET);
        style.spacing.scroll = egui::style::ScrollStyle::solid();
        style.spacing.scroll.bar_width = GAP * 1.5;
        // The handle in the colour of an edge: it says that there is more, and where.
        style.spacing.scroll.foreground_color = true;
        style.interaction.interact_radius = 0.0; // A tap between two targets means neither.
        style.interaction.selectable_labels = false;
        style.animation_time = if self.still { 0.0 } else { 0.12 };
        style.visuals = self.visuals();
    }

    fn visuals(&self) -> Visuals {
        let c = &self.colours;
        let mut visuals = match self.tone {
            Tone::ShopLight => Visuals::light(),
            Tone::Night => Visuals::dark(),
        };
        let widget = |fill: Color32, edge: Color32, width: f32| WidgetVisuals {
            bg_fill: fill,
            weak_bg_fill: fill,
            bg_stroke: Stroke::new(width, edge),
            corner_radius: CornerRadius::same(ROUND),
            fg_stroke: Stroke::new(LINE, c.ink),
            expansion: 0.0,
        };
        visuals.widgets = Widgets {
            noninteractive: widget(c.paper, c.line, LINE),
            inactive: widget(c.card, c.edge, LINE),
            hovered: widget(c.card, c.edge, LINE),
            active: widget(c.pressed, c.now_mark, LINE),
            open: widget(c.card, c.edge, LINE),
        };
        for bar in [&mut visuals.widgets.inactive, &mut visuals.widgets.hovered] {
            bar.fg_stroke.color = c.edge;
        }
        visuals.selection = Selection {
            bg_fill: c.air.ground,
            stroke: Stroke::new(LINE, c.ink),
        };
        visuals.override_text_color = Some(c.ink);
        visuals.weak_text_color = Some(c.ink_soft);
        visuals.panel_fill = c.paper;
        visuals.window_fill = c.card;
        visuals.extreme_bg_color = c.card;
        visuals.text_edit_bg_color = Some(c.card);
        visuals.faint_bg_color = c.card;
        visuals.text_cursor.stroke = Stroke::new(LINE, c.now_mark);
        visuals.text_cursor.blink = false; // Nothing repaints while nothing changes.
        visuals
    }
}
