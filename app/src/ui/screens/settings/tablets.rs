//! The tablets of the shop: who is a member, who waits for a foreman, which is lost; and
//! on a tablet that is not in the shop of its folder, the way in.

use egui::Ui;

use super::FormFace;
use super::agree::{Agree, can_agree};
use crate::ui::intent::{Intent, ShopChange};
use crate::ui::screens::{frame, shop_note};
use crate::ui::theme::{Theme, Type};
use crate::ui::times;
use crate::ui::view::{Asking, ShopTablet, TakeOverOffer, View};
use crate::ui::widgets::button::{Button, button_row};
use crate::ui::widgets::note;
use crate::ui::widgets::text_field::TextField;

/// Files named one by one; of more their number is said.
const NAMED_MAX: usize = 3;

/// The fewest characters by which something is looked for.
const WRITTEN_MIN: usize = 3;

/// What is open: a change that a foreman agrees to.
#[derive(Default)]
pub struct TabletsForm {
    agree: Option<Agree>,
    /// A shop that is to be joined, asked once more: what lies in the folder may have changed
    /// under the finger.
    joining: Option<TakeOverOffer>,
    /// What a tablet shows that is looked for among many.
    look_for: String,
}

impl TabletsForm {
    /// Whether a foreman is asked to agree.
    pub fn is_asking(&self) -> bool {
        self.agree.is_some() || self.joining.is_some()
    }

    /// What it shows now.
    pub fn face(&self) -> FormFace {
        if self.is_asking() {
            FormFace::Agreeing
        } else {
            FormFace::List
        }
    }

    /// Whether a change waits for the rest of a code.
    pub fn is_begun(&self) -> bool {
        self.agree.as_ref().is_some_and(Agree::is_begun)
    }

    /// Draws the group.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, out: &mut Vec<Intent>) {
        if let Some(agree) = &mut self.agree {
            if agree.ui(ui, v, out) {
                self.agree = None;
            }
            return;
        }
        if let Some(offer) = self.joining.take() {
            self.joining = joins(ui, v, offer, out);
            return;
        }
        let (w, m) = (v.words, v.membership);
        let c = Theme::of(ui.ctx()).colours;
        // Rubbish in the folder must not bury who asks.
        let refused = m.refused_lines.iter().map(|(file, refused)| {
            w.refused_line(&file.display().to_string(), refused.n, refused.why)
        });
        let faulty = m.folder_faults.iter().map(|fault| w.error(fault));
        let faults: Vec<String> = refused.chain(faulty).collect();
        for fault in faults.iter().take(NAMED_MAX) {
            note::ui(ui, w.files_faulty, fault, c.astray);
        }
        more_of(ui, v, faults.len());
        if !m.has_shop && m.offers.is_empty() && m.fault.is_none() {
            frame::line(ui, w.no_shop_yet, Type::Body, true);
        }
        if m.asking.len() > NAMED_MAX {
            self.look_for(ui, v, &w.many_ask(m.asking.len()));
        }
        for asking in fitting(ui, v, &m.asking, &self.look_for, asking_shows) {
            self.asking(ui, v, asking);
        }
        if m.offers.len() > NAMED_MAX {
            self.look_for(ui, v, &w.many_shops(m.offers.len()));
        }
        for offer in fitting(ui, v, &m.offers, &self.look_for, offer_shows) {
            self.offer(ui, v, offer);
        }
        self.strangers(ui, v);
        for tablet in &m.tablets {
            self.member(ui, v, tablet);
        }
        // What whoever has a record asks for, to hold it against page one.
        frame::group(ui, w.words_on_records);
        let shop = m.shop_words.iter().map(|words| (w.key_of_shop, words));
        for (whose, words) in shop.chain([(w.key_of_this_tablet, &m.key_words)]) {
            frame::line(ui, whose, Type::Body, true);
            frame::line(ui, words, Type::Heading, false);
        }
    }

    /// Asks what is shown on the other tablet: among many nobody finds it by looking.
    fn look_for(&mut self, ui: &mut Ui, v: &View<'_>, why: &str) {
        frame::line(ui, why, Type::Body, false);
        TextField::new(v.words.shown_there, &mut self.look_for).ui(ui, v.words);
    }

    /// Files in the name of tablets that are none of the shop.
    fn strangers(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        let files = &v.shop.strangers;
        let missing = why_nobody_can(v);
        for (at, file) in files.iter().take(NAMED_MAX).enumerate() {
            let of = shop_note::name_of(v, file.tablet);
            let job = shop_note::vehicle_of(v, file.job).map(str::to_owned);
            let job = job.unwrap_or_else(|| shop_note::short(file.job));
            let title = w.stranger_file(&job, &of, file.bytes);
            let c = Theme::of(ui.ctx()).colours;
            note::ui(ui, &title, w.stranger_file_more, c.astray);
            let why = missing.unwrap_or_default();
            let button = Button::new(w.dismiss_file).wants(why, missing.is_some());
            if ui.push_id(at, |ui| button.ui(ui)).inner.tapped {
                let change = ShopChange::Dismiss(Box::new(file.clone()));
                let more = format!("{title}. {}", w.stranger_file_more);
                self.agree = Some(Agree::to(change, w.dismiss_file.to_owned(), &more));
            }
        }
        more_of(ui, v, files.len());
    }

    /// A tablet that waits for a foreman.
    fn asking(&mut self, ui: &mut Ui, v: &View<'_>, asking: &Asking) {
        let w = v.words;
        let c = Theme::of(ui.ctx()).colours;
        let name = &asking.card.name;
        let (title, more) = if asking.is_known {
            (w.tablet_has_other_key(name), w.tablet_has_other_key_more)
        } else {
            (w.tablet_asks(name), w.tablet_asks_more)
        };
        note::ui(ui, &title, more, c.astray);
        if let Some(was) = asking.card.was {
            let of = shop_note::name_of(v, was);
            frame::line(ui, &w.was_a_copy_of(name, &of), Type::Body, false);
        }
        frame::line(ui, &asking.words, Type::Heading, false);
        let text = w.admit_tablet(name);
        let missing = why_nobody_can(v);
        let admit = Button::new(&text).wants(missing.unwrap_or_default(), missing.is_some());
        if admit.ui(ui).tapped {
            let change = ShopChange::Admit(Box::new(asking.card.clone()));
            let more = w.same_words(&asking.words);
            self.agree = Some(Agree::to(change, text, &more));
        }
    }

    /// A shop that this tablet is not in.
    fn offer(&mut self, ui: &mut Ui, v: &View<'_>, offer: &TakeOverOffer) {
        let w = v.words;
        let (foreman, tablet) = (&offer.foreman, &offer.tablet);
        let c = Theme::of(ui.ctx()).colours;
        let more = if offer.is_admitted {
            w.was_admitted
        } else {
            w.shop_of_more
        };
        note::ui(ui, &w.shop_of(foreman, tablet), more, c.astray);
        frame::line(ui, &offer.words, Type::Heading, false);
        if !offer.is_admitted {
            frame::line(ui, w.not_admitted_yet, Type::Strong, false);
        }
        let text = w.join_this_shop;
        let join = Button::new(text).wants(w.not_admitted_yet, !offer.is_admitted);
        if !join.ui(ui).tapped {
            return;
        }
        if v.crew.iter().any(can_agree) {
            let change = ShopChange::Join(offer.key);
            let more = format!("{} {}", w.shop_shows(&offer.words), w.join_leaves_own);
            self.agree = Some(Agree::to(change, text.to_owned(), &more));
        } else {
            self.joining = Some(offer.clone());
        }
    }

    fn member(&mut self, ui: &mut Ui, v: &View<'_>, tablet: &ShopTablet) {
        let w = v.words;
        frame::line(ui, &tablet.name, Type::Strong, false);
        if let Some(at_ms) = tablet.struck_from_ms {
            let date = times::date(at_ms, v.offset_min);
            frame::line(ui, &w.struck_off_on(&date), Type::Body, true);
            return;
        }
        let what = if tablet.is_own {
            w.this_tablet
        } else {
            w.is_a_member
        };
        frame::line(ui, what, Type::Body, true);
        if tablet.is_own || !v.membership.is_member {
            return;
        }
        let text = w.strike_off(&tablet.name);
        if Button::new(&text).ui(ui).tapped {
            let change = ShopChange::StrikeOff(tablet.id);
            self.agree = Some(Agree::to(change, text, w.strike_off_more));
        }
    }
}

/// Asks once more whether a shop is joined, by its words. Gives the shop as long as nobody
/// has answered.
fn joins(
    ui: &mut Ui,
    v: &View<'_>,
    offer: TakeOverOffer,
    out: &mut Vec<Intent>,
) -> Option<TakeOverOffer> {
    let w = v.words;
    let (foreman, tablet) = (&offer.foreman, &offer.tablet);
    frame::line(ui, &w.shop_of(foreman, tablet), Type::Title, false);
    frame::line(ui, &w.shop_shows(&offer.words), Type::Body, false);
    match button_row(ui, &[w.cancel, w.join_it]) {
        Some(0) => return None,
        Some(_) => out.push(Intent::JoinShop(offer.key)),
        None => {}
    }
    Some(offer)
}

/// What a tablet that asks shows of itself.
fn asking_shows(asking: &Asking) -> [String; 3] {
    let card = &asking.card;
    [&asking.words, &card.name, &card.key].map(|text| plain(text))
}

/// What is shown of a shop on its own tablets.
fn offer_shows(offer: &TakeOverOffer) -> [String; 3] {
    let key = offer.key.to_string();
    let (foreman, tablet) = (&offer.foreman, &offer.tablet);
    [
        format!("{} {key}", offer.words),
        foreman.clone(),
        tablet.clone(),
    ]
    .map(|text| plain(&text))
}

/// As it is compared: whoever writes it may leave out blanks and capitals.
fn plain(text: &str) -> String {
    let signs = text.chars().filter(|c| !c.is_whitespace());
    signs.flat_map(char::to_lowercase).collect()
}

/// Those of a list that are shown: all where they are few, of many those that begin with
/// what is written. Whoever fills the shop folder so hides nobody who stands beside.
fn fitting<'a, T>(
    ui: &mut Ui,
    v: &View<'_>,
    all: &'a [T],
    written: &str,
    shows: fn(&T) -> [String; 3],
) -> Vec<&'a T> {
    let written = plain(written);
    let are_few = all.len() <= NAMED_MAX;
    let is_asked = written.chars().count() >= WRITTEN_MIN;
    let begins = |one: &T| shows(one).iter().any(|text| text.starts_with(&written));
    let fits = |one: &&T| are_few || is_asked && begins(one);
    let mut fitting: Vec<&T> = all.iter().filter(fits).collect();
    if is_asked && fitting.is_empty() && !all.is_empty() {
        frame::line(ui, v.words.nothing_fits, Type::Strong, false);
    }
    more_of(ui, v, fitting.len());
    fitting.truncate(NAMED_MAX);
    fitting
}

/// How many more there are than are named.
fn more_of(ui: &mut Ui, v: &View<'_>, all: usize) {
    if all > NAMED_MAX {
        let more = v.words.more_of_them(all - NAMED_MAX);
        frame::line(ui, &more, Type::Body, true);
    }
}

/// Why nobody here can agree to a tablet or a file, where it is so.
fn why_nobody_can<'a>(v: &View<'a>) -> Option<&'a str> {
    if !v.membership.is_member {
        return Some(v.words.not_a_member);
    }
    let is_none = !v.crew.iter().any(can_agree);
    is_none.then_some(v.words.no_foreman_yet)
}
