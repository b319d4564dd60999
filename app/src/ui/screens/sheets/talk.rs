//! Words: a note, why work rests, why a job stops.

use egui::Ui;
use trayzero_core::job::{Event, Refusal};

use super::Sheet;
use super::foot::{Foot, Offer};
use crate::data::written;
use crate::ui::intent::{Intent, SignedAct};
use crate::ui::screens::bay::told;
use crate::ui::screens::frame;
use crate::ui::theme::Type;
use crate::ui::view::{JobView, View};
use crate::ui::widgets::text_field::TextField;

/// What the words are for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A note.
    Note,
    /// Work rests.
    Rest,
    /// The job ends unfinished.
    Stop,
}

/// What is typed.
#[derive(Default)]
pub struct TalkForm {
    text: String,
}

impl TalkForm {
    /// Draws the sheet.
    pub fn ui(&mut self, ui: &mut Ui, v: &View<'_>, job: &JobView<'_>, kind: Kind) {
        let w = v.words;
        let label = match kind {
            Kind::Note => w.note,
            Kind::Rest | Kind::Stop => w.why_word,
        };
        if kind != Kind::Note {
            for text in told::stands_open(v, job) {
                frame::line(ui, &text, Type::Strong, false);
            }
        }
        let before = match kind {
            Kind::Note => written::Kind::Note,
            Kind::Rest | Kind::Stop => written::Kind::Why,
        };
        TextField::new(label, &mut self.text)
            .choices(v.written.of(before))
            .ui(ui, w);
    }

    /// The big bar, once something is said and nothing stands against it.
    pub fn foot(&self, v: &View<'_>, job: &JobView<'_>, kind: Kind) -> Foot {
        let w = v.words;
        let title = match kind {
            Kind::Note => w.save,
            Kind::Rest => w.pause,
            Kind::Stop => w.stop_job,
        };
        let text = self.text.trim().to_owned();
        let missing = if text.is_empty() {
            Some(w.say_it_in_words.to_owned())
        } else {
            let against = match kind {
                Kind::Rest => job.state.objection(&Event::Paused { why: text }),
                Kind::Stop => job.state.objection_to_stop(),
                Kind::Note => None,
            };
            against.map(|refusal: Refusal| {
                let why = w.refusal_why_in(&refusal, v.units);
                format!("{why} {}", w.refusal_way_out(&refusal))
            })
        };
        Foot::of_bar(Offer::unless(title, "", missing))
    }

    /// What was said is taken; a job that stops is signed first.
    pub fn act(&self, kind: Kind, out: &mut Vec<Intent>) -> Option<Sheet> {
        let text = self.text.trim().to_owned();
        match kind {
            Kind::Note => out.push(Intent::Tap(vec![Event::Noted { text }])),
            Kind::Rest => out.push(Intent::Tap(vec![Event::Paused { why: text }])),
            Kind::Stop => return Some(Sheet::Sign(SignedAct::StopJob(text))),
        }
        None
    }
}
