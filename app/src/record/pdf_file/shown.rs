//! What a page shows, as one hash: its contents, fonts and everything else that it refers to.
//! Where in the file that lies, how it is numbered and how tightly it is packed makes no
//! difference, so a copy that another program has saved has the same.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use super::object::{Dict, Object};
use super::{FoundObject, NAMES_MAX, NotRead, PdfFile, TREE_DEPTH_MAX, broken};

/// How far one object may lead to another.
const WAY_MAX: usize = 60;

/// What says where a page belongs, and nothing about what it shows.
const UPWARDS: [&[u8]; 3] = [b"Parent", b"StructParents", b"StructParent"];
/// What says how a stream is packed.
const PACKING: [&[u8]; 3] = [b"Length", b"Filter", b"DecodeParms"];

type Hash = [u8; 32];

impl PdfFile<'_> {
    /// A hash of each page, in their order.
    ///
    /// # Errors
    /// [`NotRead`] where a page does not hold.
    pub fn pages(&self) -> Result<Vec<Hash>, NotRead> {
        let mut known = BTreeMap::new();
        self.page_numbers()?
            .iter()
            .map(|number| self.hash_of(*number, 0, &mut known))
            .collect()
    }

    /// The objects of its pages, in their order.
    pub(super) fn page_numbers(&self) -> Result<Vec<u32>, NotRead> {
        let catalogue = self.catalogue()?;
        let mut pages = Vec::new();
        let tree = catalogue.get(b"Pages".as_slice());
        let tree = tree.ok_or_else(|| broken("it has no pages"))?;
        self.gather_pages(tree, 0, &mut pages)?;
        Ok(pages)
    }

    fn gather_pages(
        &self,
        node: &Object<'_>,
        depth: usize,
        into: &mut Vec<u32>,
    ) -> Result<(), NotRead> {
        let wrong = || broken("its pages do not hold together");
        let Object::Reference(number) = node else {
            return Err(wrong());
        };
        if depth > TREE_DEPTH_MAX || into.len() >= NAMES_MAX {
            return Err(broken("its pages have no end"));
        }
        let found = self.find(*number)?;
        let dict = found.object.dict().ok_or_else(wrong)?;
        let Some(kids) = dict.get(b"Kids".as_slice()) else {
            into.push(*number);
            return Ok(());
        };
        let kids = self.resolve(kids)?;
        for kid in kids.array().ok_or_else(wrong)? {
            self.gather_pages(kid, depth + 1, into)?;
        }
        Ok(())
    }

    /// The hash of an object; `None` in `known` for one that is being worked out, which a ring
    /// leads back to.
    fn hash_of(
        &self,
        number: u32,
        way: usize,
        known: &mut BTreeMap<u32, Option<Hash>>,
    ) -> Result<Hash, NotRead> {
        match known.get(&number) {
            Some(Some(hash)) => return Ok(*hash),
            Some(None) => return Ok([0; 32]),
            None => {}
        }
        if way > WAY_MAX {
            return Err(broken("its objects lead on and on"));
        }
        known.insert(number, None);
        let FoundObject { object, stream } = self.find(number)?;
        let mut hash = Sha256::new();
        match (&object, stream) {
            (Object::Dict(dict), Some(raw)) => {
                let opened = self.opened(dict, raw)?;
                let left_out: &[&[u8]] = if opened.is_some() {
                    &PACKING
                } else {
                    &[b"Length"]
                };
                self.take_dict(dict, left_out, way, known, &mut hash)?;
                hash.update(b"stream");
                hash.update(Sha256::digest(opened.as_deref().unwrap_or(raw)));
            }
            _ => self.take(&object, way, known, &mut hash)?,
        }
        let hash = hash.finalize().into();
        known.insert(number, Some(hash));
        Ok(hash)
    }

    fn take(
        &self,
        object: &Object<'_>,
        way: usize,
        known: &mut BTreeMap<u32, Option<Hash>>,
        hash: &mut Sha256,
    ) -> Result<(), NotRead> {
        match object {
            Object::Plain(text) => piece(hash, b'p', text),
            Object::Text(text) => piece(hash, b't', text),
            Object::Name(name) => piece(hash, b'n', name),
            Object::Reference(number) => {
                let of = self.hash_of(*number, way + 1, known)?;
                piece(hash, b'r', &of);
            }
            Object::Array(all) => {
                piece(hash, b'a', &(all.len() as u64).to_be_bytes());
                for one in all {
                    self.take(one, way, known, hash)?;
                }
            }
            Object::Dict(dict) => self.take_dict(dict, &[], way, known, hash)?,
        }
        Ok(())
    }

    fn take_dict(
        &self,
        dict: &Dict<'_>,
        left_out: &[&[u8]],
        way: usize,
        known: &mut BTreeMap<u32, Option<Hash>>,
        hash: &mut Sha256,
    ) -> Result<(), NotRead> {
        let is_left_out = |name: &[u8]| UPWARDS.contains(&name) || left_out.contains(&name);
        for (name, value) in dict.iter().filter(|(name, _)| !is_left_out(name)) {
            piece(hash, b'k', name);
            self.take(value, way, known, hash)?;
        }
        piece(hash, b'e', b"");
        Ok(())
    }
}

/// A piece with its kind and length, so that no two rows of pieces are alike.
fn piece(hash: &mut Sha256, kind: u8, bytes: &[u8]) {
    hash.update([kind]);
    hash.update((bytes.len() as u64).to_be_bytes());
    hash.update(bytes);
}
