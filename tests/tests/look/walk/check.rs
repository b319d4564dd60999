//! What must hold of every frame: targets large, apart and within reach; texts whole and
//! within their places.

use std::collections::HashMap;
use std::sync::Arc;

use egui::accesskit::Role;
use egui::epaint::{ClippedShape, Shape, TextShape};
use egui::{Color32, Id, Rect, WidgetRect};
use trayzero::ui::theme::{SHOP_LIGHT, TARGET};

use super::ground::{Area, Ground};
use super::stage::{Frame, name_of};
use crate::contrast::ratio;

/// Room for rounding, in points.
const SLACK: f32 = 0.6;
/// How far a scrolled area's clip may stand off its viewport, in points.
const CLIP_MARGIN: f32 = 4.0;

/// Thickness of the ring that shows where the keyboard is, in points.
const RING: f32 = 4.0;

/// Roles that a finger or the keyboard works with.
pub fn is_control(role: Role) -> bool {
    matches!(
        role,
        Role::Button
            | Role::RadioButton
            | Role::CheckBox
            | Role::TextInput
            | Role::MultilineTextInput
    )
}

/// What a finger goes to.
#[derive(Clone, Debug)]
pub struct Target {
    pub id: egui::accesskit::NodeId,
    pub name: String,
    pub role: Option<Role>,
    pub layer: egui::LayerId,
    pub parent: Id,
    /// The whole of it.
    pub rect: Rect,
    /// What of it is not clipped away.
    pub shown: Rect,
}

impl Target {
    /// Whether nothing of it is clipped away.
    pub fn is_whole(&self) -> bool {
        same(self.rect, self.shown)
    }
}

/// A text as it is painted.
#[derive(Clone, Debug)]
pub struct Text {
    pub says: String,
    /// The room of its lines.
    pub rect: Rect,
    /// What of that is inked.
    ink: Rect,
    pub clip: Rect,
    pub points: f32,
    colour: Color32,
    is_elided: bool,
    is_broken: bool,
    /// Its place in the order of painting.
    order: usize,
}

/// An area that scrolls because its content is larger than it.
struct Scroll {
    parent: Id,
    rect: Rect,
}

/// What one frame shows, sorted out.
pub struct Seen {
    /// Outlines as thick as the ring that shows where the keyboard is.
    pub rings: Vec<Rect>,
    pub targets: Vec<Target>,
    pub texts: Vec<Text>,
    screen: Rect,
    scrolls: Vec<Scroll>,
    /// Opaque areas with their place in the order of painting.
    grounds: Vec<Ground>,
    /// Parents of all parts, to find the area that something scrolls in.
    parents: HashMap<Id, Id>,
}

impl Seen {
    /// Sorts a frame out.
    pub fn of(frame: &Frame) -> Self {
        let parents = frame.widgets.iter().map(|w| (w.id, w.parent_id)).collect();
        let scrolls: Vec<Scroll> = frame.widgets.iter().filter_map(scroll).collect();
        let mut paints = Paints::default();
        for shape in &frame.shapes {
            paints.take(shape);
        }
        let mut targets: Vec<Target> = frame
            .widgets
            .iter()
            .filter_map(|w| target(frame, w))
            .collect();
        // What lies under something that covers the whole screen is out of reach.
        let veil = targets
            .iter()
            .rposition(|t| t.rect.contains_rect(frame.screen));
        if let Some(first) = veil {
            targets.drain(..first);
        }
        Self {
            targets,
            texts: paints.texts,
            rings: paints.rings,
            screen: frame.screen,
            scrolls,
            grounds: paints.grounds,
            parents,
        }
    }

    /// Everything that does not hold, in words.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        self.targets_hold(&mut faults);
        self.targets_are_apart(&mut faults);
        self.texts_hold(&mut faults);
        self.texts_are_apart(&mut faults);
        faults
    }

    /// The least contrast of a text in sight with the ground that is painted under it, by
    /// WCAG 2.2, with the text.
    pub fn least_contrast(&self) -> Option<(f64, &str)> {
        let in_sight = self.texts.iter().filter(|t| shares(visible(t)));
        let seen = in_sight.filter(|t| !self.is_covered(t)).filter_map(|t| {
            let at = visible(t).center();
            let under = self.grounds.iter().filter(|g| g.order < t.order);
            let ground = under.rev().find_map(|g| g.fill_at(at))?;
            Some((ratio(t.colour, ground), t.says.as_str()))
        });
        seen.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    fn is_covered(&self, text: &Text) -> bool {
        let later = self.grounds.iter().filter(|g| g.order > text.order);
        later.into_iter().any(|g| g.covers(visible(text)))
    }

    fn targets_hold(&self, faults: &mut Vec<String>) {
        for t in &self.targets {
            let (name, rect) = (&t.name, t.rect);
            if name.trim().is_empty() {
                faults.push(format!("{rect:?} takes a tap and has no name"));
            }
            if rect.width() < TARGET - SLACK || rect.height() < TARGET - SLACK {
                faults.push(format!("target {name:?} is {:?} points", rect.size()));
            }
            if t.is_whole() {
                if !self.screen.expand(SLACK).contains_rect(rect) {
                    faults.push(format!("target {name:?} lies off the screen: {rect:?}"));
                }
            } else if !self.scrolls_to(t.parent, rect) {
                faults.push(format!(
                    "target {name:?} at {rect:?} is cut off to {:?} and nothing scrolls to it",
                    t.shown
                ));
            }
        }
    }

    /// Whether a part lies in an area that scrolls down or up to it.
    fn scrolls_to(&self, mut parent: Id, rect: Rect) -> bool {
        for _ in 0..64 {
            let Some(above) = self.parents.get(&parent) else {
                return false;
            };
            let within = |s: &&Scroll| {
                s.parent == *above
                    && rect.left() >= s.rect.left() - SLACK
                    && rect.right() <= s.rect.right() + SLACK
            };
            if self.scrolls.iter().any(|s| within(&s)) {
                return true;
            }
            parent = *above;
        }
        false
    }

    fn targets_are_apart(&self, faults: &mut Vec<String>) {
        for (i, a) in self.targets.iter().enumerate() {
            for b in &self.targets[..i] {
                let shared = a.shown.intersect(b.shown);
                let scrolled = a.rect.intersect(b.rect);
                let overlap = shares(shared) || (a.parent == b.parent && shares(scrolled));
                if a.layer == b.layer && overlap {
                    faults.push(format!("{:?} and {:?} overlap: {shared:?}", b.name, a.name));
                }
            }
        }
    }

    fn texts_hold(&self, faults: &mut Vec<String>) {
        for t in &self.texts {
            let text = &t.says;
            let control = self.control_around(t);
            let field = self.is_in_field(t);
            if text.contains("use of widget ID") || text.contains("use of Table ID") {
                faults.push(format!("two parts share an identity: {text}"));
            }
            if t.is_elided {
                faults.push(format!("text {text:?} is cut with an ellipsis"));
            }
            if t.is_broken {
                faults.push(format!("text {text:?} is broken within a word"));
            }
            let clip = t.clip.intersect(self.screen).expand(SLACK);
            let is_wide = t.rect.left() < clip.left() || t.rect.right() > clip.right();
            if is_wide && !field {
                faults.push(format!(
                    "text {text:?} is wider than its place: {:?} in {clip:?}",
                    t.rect
                ));
            }
            let is_high = t.ink.top() < clip.top() || t.ink.bottom() > clip.bottom();
            if is_high && !field && !self.clip_scrolls(t.clip) {
                faults.push(format!(
                    "text {text:?} is higher than its place: {:?} in {clip:?}",
                    t.rect
                ));
            }
            let is_whole = t.clip.expand(1.0).contains_rect(t.ink);
            if let Some(c) = control.filter(|c| is_whole && !is_field(c.role)) {
                let room = c.rect.expand(SLACK);
                if !room.contains_rect(t.ink) {
                    faults.push(format!(
                        "text {text:?} does not fit its control {:?}: {:?} in {:?}",
                        c.name, t.ink, c.rect
                    ));
                }
            }
        }
    }

    /// The smallest control that a text's middle lies in, on the topmost layer there.
    fn control_around(&self, text: &Text) -> Option<&Target> {
        let middle = text.rect.center();
        let top = self
            .targets
            .iter()
            .rfind(|t| t.shown.contains(middle))?
            .layer;
        let inside = |t: &&Target| {
            let is_veil = t.rect.contains_rect(self.screen);
            !is_veil && t.layer == top && t.shown.contains(middle) && t.role.is_some_and(is_control)
        };
        self.targets
            .iter()
            .filter(inside)
            .min_by(|a, b| a.rect.area().total_cmp(&b.rect.area()))
    }

    /// Whether a text is what stands in a field, which moves along with the cursor.
    fn is_in_field(&self, text: &Text) -> bool {
        let holds =
            |t: &Target| is_field(t.role) && t.rect.expand(CLIP_MARGIN).contains_rect(text.clip);
        self.targets.iter().any(holds)
    }

    fn clip_scrolls(&self, clip: Rect) -> bool {
        self.scrolls.iter().any(|s| {
            (s.rect.top() - clip.top()).abs() <= CLIP_MARGIN
                && (s.rect.bottom() - clip.bottom()).abs() <= CLIP_MARGIN
        })
    }

    fn texts_are_apart(&self, faults: &mut Vec<String>) {
        for (i, b) in self.texts.iter().enumerate() {
            for a in &self.texts[..i] {
                let shared = visible(a).intersect(visible(b)).shrink(0.5);
                if !shares(shared) {
                    continue;
                }
                let between = a.order..b.order;
                let covers = |g: &Ground| between.contains(&g.order) && g.covers(shared);
                let is_covered = self.grounds.iter().any(covers);
                if !is_covered {
                    faults.push(format!("texts {:?} and {:?} overlap", a.says, b.says));
                }
            }
        }
    }
}

fn visible(text: &Text) -> Rect {
    text.ink.intersect(text.clip)
}

fn is_field(role: Option<Role>) -> bool {
    matches!(role, Some(Role::TextInput | Role::MultilineTextInput))
}

fn shares(rect: Rect) -> bool {
    rect.width() > 0.01 && rect.height() > 0.01
}

fn same(a: Rect, b: Rect) -> bool {
    (a.min - b.min).length() < SLACK && (a.max - b.max).length() < SLACK
}

/// A widget that is there for dragging alone is the room of an area that scrolls.
fn scroll(widget: &WidgetRect) -> Option<Scroll> {
    let is_room = widget.sense.senses_drag() && !widget.sense.senses_click();
    is_room.then_some(Scroll {
        parent: widget.parent_id,
        rect: widget.rect,
    })
}

fn target(frame: &Frame, widget: &WidgetRect) -> Option<Target> {
    let node = frame.nodes.get(&widget.id.accesskit_id());
    let role = node.map(egui::accesskit::Node::role);
    // The bar beside a list that scrolls shows where one is; the list itself is dragged.
    if role == Some(Role::ScrollBar) {
        return None;
    }
    let takes_taps = widget.sense.senses_click() && widget.enabled;
    if !takes_taps && !role.is_some_and(is_control) {
        return None;
    }
    Some(Target {
        id: widget.id.accesskit_id(),
        name: node.map_or_else(String::new, |n| name_of(&frame.nodes, n)),
        role,
        layer: widget.layer_id,
        parent: widget.parent_id,
        rect: widget.rect,
        shown: widget.interact_rect,
    })
}

#[derive(Default)]
struct Paints {
    texts: Vec<Text>,
    grounds: Vec<Ground>,
    rings: Vec<Rect>,
    order: usize,
}

impl Paints {
    fn take(&mut self, clipped: &ClippedShape) {
        self.shape(&clipped.shape, clipped.clip_rect);
    }

    fn shape(&mut self, shape: &Shape, clip: Rect) {
        self.order += 1;
        if let Shape::Rect(rect) = shape
            && rect.stroke.width == RING
            && rect.stroke.color == SHOP_LIGHT.ink
        {
            self.rings.push(rect.rect.intersect(clip));
        }
        match shape {
            Shape::Mesh(mesh) => {
                let area = Area::Mesh(Arc::clone(mesh), mesh.calc_bounds().intersect(clip));
                self.ground(area, Color32::PLACEHOLDER);
            }
            Shape::Vec(all) => all.iter().for_each(|one| self.shape(one, clip)),
            Shape::Text(text) => self.text(text, clip),
            Shape::Rect(rect) if rect.fill.a() == 255 => {
                let area = Area::Rect(rect.rect.intersect(clip));
                self.ground(area, rect.fill);
            }
            Shape::Circle(circle) if circle.fill.a() == 255 => {
                self.ground(Area::Disc(circle.center, circle.radius), circle.fill);
            }
            Shape::Path(path) if path.closed && path.fill.a() == 255 => {
                self.ground(Area::Polygon(path.points.clone()), path.fill);
            }
            _ => {}
        }
    }

    fn ground(&mut self, area: Area, fill: Color32) {
        self.grounds.push(Ground {
            order: self.order,
            area,
            fill,
        });
    }

    fn text(&mut self, shape: &TextShape, clip: Rect) {
        let galley = &shape.galley;
        if galley.job.text.trim().is_empty() {
            return;
        }
        let sections = galley.job.sections.iter();
        self.texts.push(Text {
            says: galley.job.text.clone(),
            rect: galley.rect.translate(shape.pos.to_vec2()),
            clip,
            points: sections
                .map(|s| s.format.font_id.size)
                .fold(f32::INFINITY, f32::min),
            is_elided: galley.elided,
            is_broken: is_broken(galley),
            ink: galley.mesh_bounds.translate(shape.pos.to_vec2()),
            colour: colour_of(shape),
            order: self.order,
        });
    }
}

/// The colour that a text is painted in.
fn colour_of(shape: &TextShape) -> Color32 {
    let own = shape.galley.job.sections.first().map(|s| s.format.color);
    match (shape.override_text_color, own) {
        (Some(colour), _) => colour,
        (None, Some(colour)) if colour != Color32::PLACEHOLDER => colour,
        _ => shape.fallback_color,
    }
}

/// Whether a row ends within a word. A path has no better place to break.
fn is_broken(galley: &egui::Galley) -> bool {
    let joins = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    galley.rows.windows(2).any(|pair| {
        let [before, after] = [&pair[0], &pair[1]].map(|row| row.row.text());
        let is_within = joins(before.chars().last()) && joins(after.chars().next());
        let word = before.split_whitespace().last().unwrap_or_default();
        let rest = after.split_whitespace().next().unwrap_or_default();
        let is_path = word.contains('/') || rest.contains('/');
        !pair[0].ends_with_newline && is_within && !is_path
    })
}
