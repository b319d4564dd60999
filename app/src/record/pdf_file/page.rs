//! What a page is drawn from: its size, what it says to draw, its fonts and its pictures.
//!
//! Only what this program writes into a page is read. A page with anything else on it, such as
//! notes laid over it by another program, is refused as a whole: half a page would be a
//! different one.

use std::collections::BTreeMap;

use super::object::{Dict, Object};
use super::{FoundObject, NotRead, OtherWay, PdfFile, broken};

/// What a page may have. More, such as notes over it or a turn, would be shown elsewhere.
const PAGE_KEYS: [&[u8]; 8] = [
    b"Contents",
    b"Group",
    b"MediaBox",
    b"Parent",
    b"Resources",
    b"StructParents",
    b"Tabs",
    b"Type",
];
/// The largest side of a page, in points.
const SIDE_MAX: f32 = 2_000.0;
/// The most fonts, and the most pictures, of a page.
const PARTS_MAX: usize = 24;
/// The most widths of a font.
const WIDTHS_MAX: usize = 1 << 16;

/// What a page is drawn from.
pub struct PageParts<'a> {
    /// Width and height in points.
    pub size: (f32, f32),
    /// What it says to draw.
    pub content: Vec<u8>,
    /// Its fonts by the names it uses.
    pub fonts: BTreeMap<Vec<u8>, PageFont>,
    /// Its pictures by the names it uses, as JPEG.
    pub pictures: BTreeMap<Vec<u8>, &'a [u8]>,
}

/// A font of a page.
pub struct PageFont {
    /// The font's file.
    pub file: Vec<u8>,
    /// How far the next glyph is, in thousandths of the size.
    pub widths: BTreeMap<u16, f32>,
    /// The same for the others.
    pub usual_width: f32,
}

impl<'a> PdfFile<'a> {
    /// How many pages it has.
    ///
    /// # Errors
    /// [`NotRead`] where its pages do not hold together.
    pub fn page_count(&self) -> Result<usize, NotRead> {
        Ok(self.page_numbers()?.len())
    }

    /// What a page is drawn from, counted from 0.
    ///
    /// # Errors
    /// [`NotRead`] where there is no such page, or it is not as this program writes them.
    pub fn page_parts(&self, index: usize) -> Result<PageParts<'a>, NotRead> {
        let numbers = self.page_numbers()?;
        let number = numbers.get(index).ok_or_else(|| broken("no such page"))?;
        let page = self.find(*number)?.object;
        let page = page.dict().ok_or_else(|| broken("a page is none"))?;
        if page.keys().any(|key| !PAGE_KEYS.contains(&key.as_slice())) {
            return Err(NotRead::OtherWay(OtherWay::Page));
        }
        let resources = self.dict_in(page, "Resources")?.unwrap_or_default();
        let content = match page.get(b"Contents".as_slice()) {
            Some(Object::Reference(number)) => self.stream_of(*number)?,
            _ => return Err(NotRead::OtherWay(OtherWay::Page)),
        };
        Ok(PageParts {
            size: self.size_of(page)?,
            content,
            fonts: self.fonts_of(&resources)?,
            pictures: self.pictures_of(&resources)?,
        })
    }

    fn size_of(&self, page: &Dict<'a>) -> Result<(f32, f32), NotRead> {
        let media = page.get(b"MediaBox".as_slice());
        let media = media.ok_or(NotRead::OtherWay(OtherWay::Page))?;
        let sides: Vec<f32> = match self.resolve(media)? {
            Object::Array(all) => all.iter().filter_map(Object::number).collect(),
            _ => Vec::new(),
        };
        let is_side = |side: f32| (100.0..=SIDE_MAX).contains(&side);
        match sides[..] {
            [0.0, 0.0, width, height]
                if is_side(width) && is_side(height) && height <= 2.0 * width =>
            {
                Ok((width, height))
            }
            _ => Err(NotRead::OtherWay(OtherWay::Page)),
        }
    }

    /// A stream that is packed as this program does it.
    fn stream_of(&self, number: u32) -> Result<Vec<u8>, NotRead> {
        let FoundObject { object, stream } = self.find(number)?;
        let (Some(dict), Some(raw)) = (object.dict(), stream) else {
            return Err(broken("a part of a page is missing"));
        };
        let opened = self.opened(dict, raw)?;
        opened.ok_or(NotRead::OtherWay(OtherWay::PackedStream))
    }

    fn named(&self, resources: &Dict<'a>, kind: &str) -> Result<Dict<'a>, NotRead> {
        let named = self.dict_in(resources, kind)?.unwrap_or_default();
        if named.len() > PARTS_MAX {
            return Err(broken("a page has too many parts"));
        }
        Ok(named)
    }

    fn fonts_of(&self, resources: &Dict<'a>) -> Result<BTreeMap<Vec<u8>, PageFont>, NotRead> {
        let fonts = self.named(resources, "Font")?;
        fonts
            .into_iter()
            .map(|(name, font)| Ok((name, self.font_of(&font)?)))
            .collect()
    }

    /// A font whose glyphs are named by their numbers in its own file.
    fn font_of(&self, font: &Object<'a>) -> Result<PageFont, NotRead> {
        let other = || NotRead::OtherWay(OtherWay::Page);
        let font = self.resolve(font)?;
        let font = font.dict().ok_or_else(other)?;
        let descendants = font.get(b"DescendantFonts".as_slice()).ok_or_else(other)?;
        let descendants = self.resolve(descendants)?;
        let [descendant] = descendants.array().unwrap_or_default() else {
            return Err(other());
        };
        let inner = self.resolve(descendant)?;
        let inner = inner.dict().ok_or_else(other)?;
        let is_known = is(font, "Subtype", "Type0")
            && is(font, "Encoding", "Identity-H")
            && is(inner, "Subtype", "CIDFontType2")
            && is(inner, "CIDToGIDMap", "Identity");
        let described = self.dict_in(inner, "FontDescriptor")?.unwrap_or_default();
        let Some(Object::Reference(file)) = described.get(b"FontFile2".as_slice()) else {
            return Err(other());
        };
        if !is_known {
            return Err(other());
        }
        let widths = match inner.get(b"W".as_slice()) {
            Some(widths) => self.widths_of(&self.resolve(widths)?)?,
            None => BTreeMap::new(),
        };
        let usual_width = inner.get(b"DW".as_slice()).and_then(Object::number);
        Ok(PageFont {
            file: self.stream_of(*file)?,
            widths,
            usual_width: usual_width.unwrap_or(1_000.0),
        })
    }

    /// Widths as they stand in a font: `first [w w w]` or `first last w`, again and again.
    fn widths_of(&self, all: &Object<'a>) -> Result<BTreeMap<u16, f32>, NotRead> {
        let wrong = || broken("the widths of a font do not read");
        let glyph = |object: &Object<'a>| {
            let whole = object.whole().and_then(|whole| u16::try_from(whole).ok());
            whole.ok_or_else(wrong)
        };
        let mut widths = BTreeMap::new();
        let mut rest = all.array().ok_or_else(wrong)?;
        let mut told = 0;
        while let [first, next, after @ ..] = rest {
            let first = glyph(first)?;
            if let Object::Array(each) = self.resolve(next)? {
                told += each.len();
                for (of, width) in (first..=u16::MAX).zip(&each) {
                    widths.insert(of, width.number().ok_or_else(wrong)?);
                }
                rest = after;
            } else {
                let (width, after) = after.split_first().ok_or_else(wrong)?;
                let width = width.number().ok_or_else(wrong)?;
                let last = glyph(next)?;
                told += usize::from(last.saturating_sub(first)) + 1;
                if told <= WIDTHS_MAX {
                    widths.extend((first..=last).map(|of| (of, width)));
                }
                rest = after;
            }
            if told > WIDTHS_MAX {
                return Err(wrong());
            }
        }
        Ok(widths)
    }

    fn pictures_of(&self, resources: &Dict<'a>) -> Result<BTreeMap<Vec<u8>, &'a [u8]>, NotRead> {
        let named = self.named(resources, "XObject")?;
        let mut pictures = BTreeMap::new();
        for (name, object) in named {
            let Object::Reference(number) = object else {
                return Err(NotRead::OtherWay(OtherWay::Page));
            };
            let FoundObject { object, stream } = self.find(number)?;
            let (Some(dict), Some(raw)) = (object.dict(), stream) else {
                return Err(NotRead::OtherWay(OtherWay::Page));
            };
            let changes: [&[u8]; 4] = [b"SMask", b"Mask", b"Decode", b"DecodeParms"];
            let is_changed = changes.iter().any(|key| dict.contains_key(*key));
            let is_jpeg = is(dict, "Subtype", "Image") && is(dict, "Filter", "DCTDecode");
            if !is_jpeg || is_changed {
                return Err(NotRead::OtherWay(OtherWay::Page));
            }
            pictures.insert(name, raw);
        }
        Ok(pictures)
    }
}

/// Whether a dictionary says this name under a key.
fn is(dict: &Dict<'_>, key: &str, name: &str) -> bool {
    matches!(dict.get(key.as_bytes()), Some(Object::Name(is)) if is == name.as_bytes())
}
