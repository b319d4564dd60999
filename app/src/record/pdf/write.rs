//! Writing the laid-out pages, with the furniture that every page has.

use krilla::configure::{Accessibility, Archival, ConfigurationBuilder, PdfVersion};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::{Point, Size, Transform};
use krilla::metadata::{Metadata, PageLayout};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag};
use krilla::{Document, SerializeSettings};
use trayzero_core::record::Stamp;

use super::attached::{Attachment, attach, date_time};
use super::face::Faces;
use super::ink::{Ink, line};
use super::lines::shorten;
use super::pages::{MARGIN_SIDE, Op, Pages, Style};
use super::{Paper, PdfError};

/// What stands at the head and the foot of every page, and what the file says of itself.
pub struct Furniture<'a> {
    /// Title of the document.
    pub title: &'a str,
    /// Language as a tag of BCP 47.
    pub language: &'a str,
    /// Left at the head.
    pub head: String,
    /// Right at the head: how the job stands.
    pub job_status: String,
    /// Whether that must not be overlooked.
    pub warn: bool,
    /// Left at the foot.
    pub foot: String,
    /// Right at the foot, of the page's number and how many there are.
    pub page_of: &'a dyn Fn(usize, usize) -> String,
    /// The moment that the document is of, where it is kept for good: as PDF/A-3.
    pub kept_at: Option<Stamp>,
}

/// Writes all pages, and files within the PDF, which only a document kept for good has.
///
/// # Errors
/// [`PdfError::Write`] with the reason.
pub fn write(
    pages: &Pages,
    paper: Paper,
    furniture: &Furniture,
    files: &[Attachment],
) -> Result<Vec<u8>, PdfError> {
    let failed = |why: String| PdfError::Write { why };
    let mut document = Document::new_with(settings(furniture.kept_at.is_some())?);
    let mut identifiers = Vec::new();
    let (width, height) = paper.size_pt();
    let size = PageSettings::from_wh(width, height);
    let count = pages.sheets.len();
    for (index, ops) in pages.sheets.iter().enumerate() {
        let settings = size
            .clone()
            .ok_or_else(|| failed(format!("no page is {width} by {height} points")))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        draw_head(&mut surface, pages.faces, paper, furniture);
        draw_page(&mut surface, pages.faces, ops, &mut identifiers);
        let number = (furniture.page_of)(index + 1, count);
        draw_foot(&mut surface, pages.faces, paper, furniture, &number);
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(pages.structure.finish(&identifiers, furniture.language));
    document.set_outline(outline(pages));
    let mut metadata = Metadata::new()
        .title(furniture.title.to_owned())
        .language(furniture.language.to_owned())
        .creator("Tray Zero".to_owned())
        .page_layout(PageLayout::SinglePage);
    if let Some(at) = furniture.kept_at {
        metadata = metadata.creation_date(date_time(at));
        attach(&mut document, files, at)?;
    }
    document.set_metadata(metadata);
    document.finish().map_err(|e| match e {
        KrillaError::Validation(faults) => failed(format!("{faults:?}")),
        e => failed(e.to_string()),
    })
}

/// Everything is tagged (PDF/UA-1); what is kept for good is PDF/A-3a besides.
fn settings(is_kept: bool) -> Result<SerializeSettings, PdfError> {
    let mut wanted = ConfigurationBuilder::new()
        .with_version(PdfVersion::Pdf17)
        .with_accessibility_validator(Accessibility::UA1);
    if is_kept {
        wanted = wanted.with_archival_validator(Archival::A3_A);
    }
    let configuration = wanted.finish().map_err(|e| PdfError::Write {
        why: format!("{e:?}"),
    })?;
    Ok(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    })
}

fn outline(pages: &Pages) -> Outline {
    let mut outline = Outline::new();
    for mark in &pages.landmarks {
        let to = XyzDestination::new(mark.page, Point::from_xy(MARGIN_SIDE, mark.y));
        outline.push_child(OutlineNode::new(mark.text.clone(), to));
    }
    outline
}

fn draw_page(
    surface: &mut Surface,
    faces: &Faces,
    ops: &[Op],
    identifiers: &mut Vec<Option<Identifier>>,
) {
    for op in ops {
        match op {
            Op::Leaf(leaf) => {
                let identifier = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
                if identifiers.len() <= *leaf {
                    identifiers.resize_with(*leaf + 1, || None);
                }
                identifiers[*leaf] = Some(identifier);
            }
            Op::Ornament => {
                let artifact = Artifact::with_kind(ArtifactType::Layout);
                surface.start_tagged(ContentTag::Artifact(artifact));
            }
            Op::End => surface.end_tagged(),
            Op::Text { x, y, style, text } => draw_text(surface, faces, *x, *y, *style, text),
            Op::Image { image, at, size } => {
                if let Some(size) = Size::from_wh(size.0, size.1) {
                    surface.push_transform(&Transform::from_translate(at.0, at.1));
                    surface.draw_image(image.clone(), size);
                    surface.pop();
                }
            }
            Op::Shape { path, fill, stroke } => {
                surface.set_fill(fill.map(filled));
                surface.set_stroke(stroke.map(|(ink, width)| stroked(ink, width)));
                surface.draw_path(path);
            }
        }
    }
}

fn filled(ink: Ink) -> Fill {
    Fill {
        paint: ink.colour().into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}

fn stroked(ink: Ink, width: f32) -> Stroke {
    Stroke {
        paint: ink.colour().into(),
        width,
        ..Stroke::default()
    }
}

fn draw_text(surface: &mut Surface, faces: &Faces, x: f32, y: f32, style: Style, text: &str) {
    surface.set_fill(Some(filled(style.ink)));
    surface.set_stroke(None);
    let mut x = x;
    for run in faces.runs(text, style.weight) {
        let at = Point::from_xy(x, y);
        x += run.width_em * style.size;
        surface.draw_glyphs(at, &run.glyphs, run.font, &run.text, style.size, false);
    }
}

fn draw_head(surface: &mut Surface, faces: &Faces, paper: Paper, furniture: &Furniture) {
    let (width, _) = paper.size_pt();
    let right = width - MARGIN_SIDE;
    let status = if furniture.warn {
        Style::plain(9.0).strong().ink(Ink::Warn)
    } else {
        Style::SMALL
    };
    let standing_width = faces.width(&furniture.job_status, status.weight, status.size);
    let room = right - MARGIN_SIDE - standing_width - 16.0;
    let small = Style::SMALL;
    let head = shorten(faces, &furniture.head, small.weight, small.size, room);
    surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(
        ArtifactType::Header,
    )));
    draw_text(surface, faces, MARGIN_SIDE, 38.0, small, &head);
    let x = right - standing_width;
    draw_text(surface, faces, x, 38.0, status, &furniture.job_status);
    let ink = if furniture.warn { Ink::Warn } else { Ink::Hair };
    draw_rule(surface, 44.5, width, ink);
    surface.end_tagged();
}

fn draw_foot(
    surface: &mut Surface,
    faces: &Faces,
    paper: Paper,
    furniture: &Furniture,
    number: &str,
) {
    let (width, height) = paper.size_pt();
    let y = height - 30.0;
    surface.start_tagged(ContentTag::Artifact(Artifact::with_kind(
        ArtifactType::Footer,
    )));
    draw_rule(surface, y - 11.0, width, Ink::Hair);
    draw_text(
        surface,
        faces,
        MARGIN_SIDE,
        y,
        Style::SMALL,
        &furniture.foot,
    );
    let number_width = faces.width(number, Style::SMALL.weight, Style::SMALL.size);
    let x = width - MARGIN_SIDE - number_width;
    draw_text(surface, faces, x, y, Style::SMALL, number);
    surface.end_tagged();
}

fn draw_rule(surface: &mut Surface, y: f32, width: f32, ink: Ink) {
    if let Some(path) = line(&[(MARGIN_SIDE, y), (width - MARGIN_SIDE, y)]) {
        surface.set_fill(None);
        surface.set_stroke(Some(stroked(ink, 0.6)));
        surface.draw_path(&path);
    }
}
