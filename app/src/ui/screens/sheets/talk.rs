//! Words: a note, why work rests, why a job stops.

use egui::Ui;
use trayzero_core::job::{Event, Refusal};

use super::foot::{Foot, Offer};
use super::{Sheet, TalkKind};
use crate::data::written;
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::bay::told;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::text_field::TextField;

/// What is typed.
#[derive(Default)]
pub struct TalkForm {
    text: String,
}

impl TalkForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, kind: TalkKind) {
        let w = v.words;
        let label = match kind {
            TalkKind::Note => w.note,
            TalkKind::Rest | TalkKind::Stop => w.why_word,
        };
        if kind != TalkKind::Note {
            for text in told::stands_open(v, job) {
                frame::line(ui, &text, Type::Strong, false);
            }
        }
        let before = match kind {
            TalkKind::Note => written::Kind::Note,
            TalkKind::Rest | TalkKind::Stop => written::Kind::Why,
        };
        TextField::new(label, &mut self.text)
            .choices(v.written.of(before))
            .ui(ui, w);
    }

    /// The big bar, once something is said and nothing stands against it.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>, kind: TalkKind) -> Foot {
        let w = v.words;
        let title = match kind {
            TalkKind::Note => w.save,
            TalkKind::Rest => w.pause,
            TalkKind::Stop => w.stop_job,
        };
        let text = self.text.trim().to_owned();
        let missing = if text.is_empty() {
            Some(w.say_it_in_words.to_owned())
        } else {
            let against = match kind {
                TalkKind::Rest => job.state.objection(&Event::Paused { why: text }),
                TalkKind::Stop => job.state.objection_to_stop(),
                TalkKind::Note => None,
            };
            against.map(|refusal: Refusal| {
                let why = w.refusal_why_in(&refusal, v.units);
                format!("{why} {}", w.refusal_way_out(&refusal))
            })
        };
        Foot::of_bar(Offer::unless(title, "", missing))
    }

    /// What was said is taken; a job that stops is signed first.
    pub fn act(&self, kind: TalkKind, out: &mut Vec<Intent>) -> Option<Sheet> {
        let text = self.text.trim().to_owned();
        match kind {
            TalkKind::Note => out.push(Intent::Tap(vec![Event::Noted { text }])),
            TalkKind::Rest => out.push(Intent::Tap(vec![Event::Paused { why: text }])),
            TalkKind::Stop => return Some(Sheet::Sign(SignedAct::StopJob(text))),
        }
        None
    }
}
