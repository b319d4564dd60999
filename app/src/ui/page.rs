//! The board as one page for a browser: no script, nothing from elsewhere, readable for as
//! long as there are browsers. What it shows is what the tiles of the window show.
//!
//! Every text goes through the template, which escapes it; nothing is put together by hand
//! but the style, which is made of the theme's colours alone.

use std::fmt::Write;

use egui::Color32;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use uuid::Uuid;

use crate::ui::theme::{Colours, NIGHT, SHOP_LIGHT, Tint};
use crate::ui::widgets::valve_ring::{RingArc, ValveLook, arcs};
use crate::ui::words::{AskFace, Language, MarkKind, TileFace, Urgency, Words};

/// After so many minutes a page is old: since it was made, by its own words, and since it
/// was opened, by a mark that comes by itself.
pub const OLD_AFTER_MIN: u32 = 5;

/// So many characters of a name are shown; no shop has a longer one.
const NAME_CHARS_MAX: usize = 200;

/// What a page shows.
#[derive(Clone, Copy)]
pub struct Page<'a> {
    /// The words of the language.
    pub words: &'a Words,
    /// Several shops by name, each with why it could not be read, where that is so; none where
    /// it is the board of one shop alone.
    pub shops: &'a [(String, Option<String>)],
    /// The bays, the one that needs somebody most first.
    pub tiles: &'a [TileFace],
    /// What is asked of people, in order.
    pub asks: &'a [AskFace],
    /// When it was made: day and time.
    pub made: &'a str,
    /// From when on it is old.
    pub old_from: &'a str,
}

impl Page<'_> {
    /// The whole page.
    pub fn to_html(&self) -> String {
        let w = self.words;
        let language = match w.language {
            Language::English => "en",
            Language::German => "de",
        };
        let page = html! {
            (DOCTYPE)
            html lang=(language) {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";
                    meta name="color-scheme" content="light dark";
                    title { (w.board) " · " (self.made) }
                    style { (PreEscaped(style())) }
                }
                body {
                    header {
                        div.old role="status" {
                            strong { (sign(Urgency::Urgent)) " " (w.page_is_old) }
                            p { (w.page_open_for(OLD_AFTER_MIN)) }
                        }
                        h1 { (w.board) }
                        p.made { strong { (w.page_made(self.made)) } " " (w.page_old_from(self.old_from)) }
                        p { (w.page_compare) " " a href="" { (w.page_load) } }
                    }
                    main { (self.shops()) (self.asked()) (self.bays()) }
                    footer { p { (w.page_vouch) } }
                }
            }
        };
        page.into_string()
    }

    /// The shops that are not reached before the others, for their bays are missing below.
    fn shops(&self) -> Markup {
        let w = self.words;
        let unread = self
            .shops
            .iter()
            .filter_map(|(shop, why)| Some((shop, why.as_ref()?)));
        let read: Vec<&str> = self
            .shops
            .iter()
            .filter(|(_, why)| why.is_none())
            .map(|(shop, _)| &**shop)
            .collect();
        html! {
            @if !self.shops.is_empty() {
                section aria-labelledby="shops" {
                    h2 id="shops" { (w.shops_heading) }
                    ol {
                        @for (shop, why) in unread {
                            li.urgent {
                                span.why { (sign(Urgency::Urgent)) (name(&w.shop_fails(shop, "", why))) }
                            }
                        }
                    }
                    p { (w.shops_read(read.len(), self.shops.len())) @if !read.is_empty() { ": " (name(&read.join(", "))) } }
                }
            }
        }
    }

    fn asked(&self) -> Markup {
        html! {
            section aria-labelledby="asked" {
                h2 id="asked" { (self.words.page_asked) }
                @if self.asks.is_empty() { p { (self.words.nobody_asked) } }
                @else {
                    ol {
                        @for ask in self.asks {
                            li class=(class_of(ask.urgency)) {
                                (sign(ask.urgency))
                                a href={ "#" (anchor(ask.shop, ask.job)) } { (name(&ask.bay)) }
                                " " (name(&ask.vehicle)) " "
                                span.why { (name(&ask.why)) }
                            }
                        }
                    }
                }
            }
        }
    }

    fn bays(&self) -> Markup {
        html! {
            section aria-labelledby="bays" {
                h2 id="bays" { (self.words.page_bays) }
                @if self.tiles.is_empty() { p { (self.words.no_jobs) } }
                @else { ul.tiles { @for face in self.tiles { (tile(face)) } } }
            }
        }
    }
}

/// A text that somebody has typed: alone among its neighbours, whichever way it runs, and
/// no longer than a name is.
fn name(text: &str) -> Markup {
    let mut shown: String = text.chars().take(NAME_CHARS_MAX).collect();
    if shown.len() < text.len() {
        shown.push('…');
    }
    html! { bdi { (shown) } }
}

/// Where a job's tile stands in the page. Two shops may have a job with the same identity.
fn anchor(shop: Option<usize>, job: Uuid) -> String {
    match shop {
        Some(at) => format!("s{at}-{job}"),
        None => format!("b{job}"),
    }
}

fn class_of(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::Urgent => "urgent",
        Urgency::Asked => "asked",
        Urgency::Calm => "calm",
    }
}

/// The sign of need: a triangle, or a disc.
fn sign(urgency: Urgency) -> Markup {
    html! {
        @match urgency {
            Urgency::Urgent => svg.sign viewBox="0 0 20 20" aria-hidden="true" {
                path.fill d="M10 1 L19.5 18.5 H0.5 Z" {}
                path.bar d="M10 7 V12.5" {}
                circle.dot cx="10" cy="15.6" r="1.2" {}
            },
            Urgency::Asked => svg.sign viewBox="0 0 20 20" aria-hidden="true" {
                circle.fill cx="10" cy="10" r="9.5" {}
                path.bar d="M10 4.5 V11" {}
                circle.dot cx="10" cy="14.8" r="1.3" {}
            },
            Urgency::Calm => {}
        }
    }
}

fn tile(face: &TileFace) -> Markup {
    html! {
        li class={ "tile " (class_of(face.urgency)) } id=(anchor(face.shop, face.job)) {
            (ring(face))
            div.head {
                h3 { (sign(face.urgency)) (name(&face.bay)) }
                @match &face.end {
                    Some(end) => {
                        p.end { @if !end.day.is_empty() { span.day { (end.day) } " " } (end.time) }
                        p.range { (end.range) }
                    }
                    None => p.range { (face.instead) },
                }
            }
            @if !face.why.is_empty() { p.why { (name(&face.why)) } }
            @if !face.marks.is_empty() {
                ul.marks { @for (kind, text) in &face.marks { li class=(mark_class(*kind)) { (text) } } }
            }
            p.vehicle { (name(&face.vehicle)) }
        }
    }
}

fn mark_class(kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::Adrift | MarkKind::NotKnown => "astray",
        MarkKind::Air => "air",
        MarkKind::Unlocked => "open",
        MarkKind::Old => "was",
    }
}

fn ring(face: &TileFace) -> Markup {
    let (verified, valves) = face.verified;
    html! {
        svg.ring viewBox="-50 -50 100 100" role="img" aria-label=(face.far) {
            @for arc in arcs(&face.stages) {
                path class=(look_class(arc.look)) d=(path_of(&arc)) stroke-width={ (format!("{:.1}", (arc.width * 50.0).max(2.0))) } {}
            }
            @if valves > 0 { text y="6" { (verified) "/" (valves) } }
        }
    }
}

fn look_class(look: ValveLook) -> &'static str {
    match look {
        ValveLook::Bare => "bare",
        ValveLook::Begun => "begun",
        ValveLook::Unlocked => "unlocked",
        ValveLook::Verified => "verified",
    }
}

/// An arc as a path, in a ring of radius 50.
fn path_of(arc: &RingArc) -> String {
    let radius = arc.radius * 50.0;
    let at = |deg: f32| {
        let angle = deg.to_radians();
        (radius * angle.sin(), -radius * angle.cos())
    };
    // A whole circle has no ends, and a path needs them.
    let to_deg = arc.to_deg.min(arc.from_deg + 359.0);
    let ((x1, y1), (x2, y2)) = (at(arc.from_deg), at(to_deg));
    let is_large = u8::from(to_deg - arc.from_deg > 180.0);
    format!("M{x1:.2} {y1:.2} A{radius:.2} {radius:.2} 0 {is_large} 1 {x2:.2} {y2:.2}")
}

fn hex(colour: Color32) -> String {
    format!("#{:02x}{:02x}{:02x}", colour.r(), colour.g(), colour.b())
}

/// The colours of a theme as variables.
fn variables(c: &Colours) -> String {
    let mut css = String::new();
    let plain = [
        ("paper", c.paper),
        ("card", c.card),
        ("ink", c.ink),
        ("soft", c.ink_soft),
        ("line", c.line),
        ("edge", c.edge),
        ("now", c.now_mark),
    ];
    for (name, colour) in plain {
        let _ = write!(css, "--{name}:{};", hex(colour));
    }
    let tints: [(&str, Tint); 4] = [
        ("open", c.open),
        ("astray", c.astray),
        ("air", c.air),
        ("done", c.done),
    ];
    for (name, tint) in tints {
        let (ground, mark) = (hex(tint.ground), hex(tint.mark));
        let _ = write!(css, "--{name}:{mark};--{name}-ground:{ground};");
    }
    css
}

fn style() -> String {
    let (light, night) = (variables(&SHOP_LIGHT), variables(&NIGHT));
    let old_s = OLD_AFTER_MIN * 60;
    format!(
        ":root{{{light}}}\
         @media(prefers-color-scheme:dark){{:root{{{night}}}}}\
         @keyframes old{{to{{visibility:visible;max-height:none;padding:1rem;border-width:.5rem}}}}\
         .old{{animation:old 1ms step-end {old_s}s forwards}}\
         {STYLE}"
    )
}

/// All but the colours and the time after which the page is marked as old.
const STYLE: &str = include_str!("page.css");
