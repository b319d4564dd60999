//! Another tablet takes the job. A tap on a tablet chooses it; the foot hands over, after
//! saying what becomes of the job here.

use egui::Ui;
use uuid::Uuid;

use super::foot::{Foot, Offer};
use crate::ui::intent::Intent;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::button::Button;

/// The tablet that is chosen.
#[derive(Default)]
pub struct HandOverForm {
    to: Option<Uuid>,
}

impl HandOverForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>) {
        let w = v.words;
        if v.tablets.is_empty() {
            let why = if v.settings.shop_folder.is_some() {
                w.no_second_tablet
            } else {
                w.no_other_tablet
            };
            frame::line(ui, why, Type::Body, false);
            return;
        }
        frame::line(ui, w.hand_over_says, Type::Body, false);
        for (id, name) in v.tablets {
            let button = Button::new(name).chosen(self.to == Some(*id));
            if ui.push_id(id, |ui| button.ui(ui).tapped).inner {
                self.to = Some(*id);
            }
        }
    }

    fn chosen<'a>(&self, v: &View<'a>) -> Option<&'a (Uuid, String)> {
        v.tablets.iter().find(|(id, _)| Some(*id) == self.to)
    }

    /// That it goes there.
    pub fn foot(&self, v: &View<'_>) -> Foot {
        let w = v.words;
        if v.tablets.is_empty() {
            return Foot::default();
        }
        let (title, missing) = match self.chosen(v) {
            Some((_, name)) => (w.hand_over_to(name), None),
            None => (w.hand_over.to_owned(), Some(w.choose_tablet.to_owned())),
        };
        Foot::of_deed(Offer::unless(title, "", missing))
    }

    /// It goes there, and is left here.
    pub fn act(&self, v: &View<'_>, job: &JobView<'_>, out: &mut Vec<Intent>) {
        if let Some((id, _)) = self.chosen(v).filter(|_| job.read_only.is_none()) {
            out.push(Intent::HandOver(*id));
        }
    }
}
