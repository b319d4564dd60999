//! The pictures: small ones below what they belong to, each large at the end.

use krilla::Data;
use krilla::image::Image;
use trayzero_core::job::PictureOf;
use trayzero_core::record::{PictureFound, PictureLine};

use crate::record::pdf::Context;
use crate::record::pdf::by;
use crate::record::pdf::ink::Ink;
use crate::record::pdf::lines::capital;
use crate::record::pdf::pages::{MARGIN_SIDE, Pages, Style};
use crate::record::pdf::tags::TaggedPart;

/// Height of a small picture, points.
const SMALL_HEIGHT: f32 = 58.0;
/// Room of one in a row, points.
const SMALL_WIDTH: f32 = 84.0;
/// So many large ones fill a page.
const LARGE_A_PAGE: f32 = 2.0;
/// Room for what is said of a large one, points.
const SAID: f32 = 40.0;

/// Small pictures in rows, with their numbers: those that `belongs` says yes to.
pub(super) fn strip(pages: &mut Pages, context: &Context, belongs: impl Fn(&PictureLine) -> bool) {
    let here: Vec<&PictureLine> = context
        .record
        .pictures
        .iter()
        .filter(|p| belongs(p))
        .collect();
    let columns = (pages.measure() / SMALL_WIDTH).floor().max(1.0) as usize;
    for row in here.chunks(columns) {
        let height = SMALL_HEIGHT + Style::SMALL.leading();
        pages.need(height + 6.0);
        let top = pages.y();
        for (at, line) in row.iter().enumerate() {
            let x = MARGIN_SIDE + at as f32 * SMALL_WIDTH;
            let room = (SMALL_WIDTH - 6.0, SMALL_HEIGHT);
            draw(pages, context, line, (x, top), room);
            let y = top + SMALL_HEIGHT + Style::SMALL.ascent();
            let name = (context.own.picture_n)(line.number);
            pages.part(TaggedPart::Paragraph, |s| {
                s.content(|s| s.text_at(x, y, Style::SMALL, &name));
            });
        }
        pages.move_to(top + height + 6.0);
    }
}

/// Every picture, large.
pub(super) fn tell(pages: &mut Pages, context: &Context) {
    if context.record.pictures.is_empty() {
        return;
    }
    pages.turn();
    pages.heading(2, context.own.pictures, 100.0);
    pages.paragraph(context.own.pictures_note, Style::SMALL);
    pages.skip(4.0);
    let height = (pages.page_room() - 60.0) / LARGE_A_PAGE - SAID;
    for line in &context.record.pictures {
        pages.need(height + SAID);
        let name = (context.own.picture_n)(line.number);
        let said = format!("{}: {}", capital(&name), belongs(context, line));
        pages.paragraph(&said, Style::BODY.strong());
        let said = if line.remark.is_empty() {
            by(&line.by)
        } else {
            format!("{} ({})", line.remark, by(&line.by))
        };
        pages.paragraph(&said, Style::SMALL);
        let (top, room) = (pages.y() + 2.0, (pages.measure(), height));
        let drawn = draw(pages, context, line, (MARGIN_SIDE, top), room);
        pages.move_to(top + drawn + 12.0);
    }
}

/// Draws a picture as large as its room lets it be, or says why it is not there; gives its
/// height.
fn draw(
    pages: &mut Pages,
    context: &Context,
    line: &PictureLine,
    (x, y): (f32, f32),
    (width, height): (f32, f32),
) -> f32 {
    let own = context.own;
    let image = line
        .copy
        .as_ref()
        .filter(|_| line.found == PictureFound::Whole);
    let image = image.and_then(|copy| Image::from_jpeg(Data::from(copy.to_vec()), false).ok());
    let Some(image) = image else {
        let why = match line.found {
            PictureFound::Changed => own.picture_changed,
            _ => own.picture_missing,
        };
        let style = Style::SMALL.ink(Ink::Warn);
        let lines = pages.broken(why, style, width);
        let kept = pages.y();
        pages.move_to(y);
        for text in &lines {
            let at = pages.y() + style.ascent();
            pages.part(TaggedPart::Paragraph, |s| {
                s.content(|s| s.text_at(x, at, style, text));
            });
            pages.skip(style.leading());
        }
        let drawn = pages.y() - y;
        pages.move_to(kept);
        return drawn;
    };
    let (across, down) = image.size();
    let scale = (width / across as f32).min(height / down as f32);
    let size = (across as f32 * scale, down as f32 * scale);
    let alt = format!(
        "{}: {}",
        (own.picture_n)(line.number),
        belongs(context, line)
    );
    pages.part(TaggedPart::Figure(alt), |s| {
        s.content(|s| s.image_at(image, (x, y), size));
    });
    size.1
}

/// Where a picture belongs, in a few words.
fn belongs(context: &Context, line: &PictureLine) -> String {
    let words = context.words;
    let valve = line.valve.map(|valve| words.valve(valve));
    match (line.of, valve) {
        (PictureOf::Job {}, _) => words.job_word.to_owned(),
        (PictureOf::TakeIn {}, _) => words.take_in.to_owned(),
        (PictureOf::Valve { valve }, _) => capital(&words.valve(valve)),
        (PictureOf::Finding { .. }, Some(valve)) => format!("{}: {valve}", words.finding),
        (PictureOf::Finding { .. }, None) => words.finding.to_owned(),
        (PictureOf::Drop { .. }, Some(valve)) => format!("{}: {valve}", words.dropped_one),
        (PictureOf::Drop { .. }, None) => words.dropped_one.to_owned(),
        (PictureOf::Count { bank }, _) => {
            let bank = context.record.layout.banks.get(usize::from(bank));
            let bank = bank.map(|b| words.bank_n(&b.name)).unwrap_or_default();
            format!("{}: {bank}", words.laid_out)
        }
    }
}
