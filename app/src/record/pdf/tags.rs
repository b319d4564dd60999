//! The structure of the document, for those who have it read to them: a tree of tags
//! whose leaves are stretches of the pages.

use std::num::NonZeroU16;

use krilla::tagging::{Identifier, Node, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};

/// What a part of the document is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TaggedPart {
    /// A heading of a level from 1 on, with its text.
    Heading(u16, String),
    /// A paragraph.
    Paragraph,
    /// A picture, with what it shows in words.
    Figure(String),
    /// A table.
    Table,
    /// The head of a table.
    TableHead,
    /// The rows of a table.
    TableBody,
    /// A row.
    Row,
    /// The head of a column.
    ColumnHead,
    /// The head of a row.
    RowHead,
    /// A cell.
    Cell,
}

enum Child {
    Part(usize),
    Leaf(usize),
}

struct Branch {
    part: TaggedPart,
    children: Vec<Child>,
}

/// The tree as it grows with the pages.
#[derive(Default)]
pub struct Structure {
    branches: Vec<Branch>,
    roots: Vec<usize>,
    open: Vec<usize>,
    leaves: usize,
}

impl Structure {
    /// Opens a part inside the one that is open.
    pub fn open(&mut self, part: TaggedPart) {
        let index = self.branches.len();
        self.branches.push(Branch {
            part,
            children: Vec::new(),
        });
        match self.open.last() {
            Some(parent) => self.branches[*parent].children.push(Child::Part(index)),
            None => self.roots.push(index),
        }
        self.open.push(index);
    }

    /// Closes the part that was opened last.
    pub fn close(&mut self) {
        self.open.pop();
    }

    /// A new leaf of the open part; `None` outside all parts.
    pub fn leaf(&mut self) -> Option<usize> {
        let parent = *self.open.last()?;
        let leaf = self.leaves;
        self.leaves += 1;
        self.branches[parent].children.push(Child::Leaf(leaf));
        Some(leaf)
    }

    /// The tree with the identifiers that the pages gave to the leaves, by leaf.
    pub fn finish(&self, identifiers: &[Option<Identifier>], language: &str) -> TagTree {
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        for root in &self.roots {
            tree.push(self.group(*root, identifiers));
        }
        tree
    }

    fn group(&self, index: usize, identifiers: &[Option<Identifier>]) -> TagGroup {
        let branch = &self.branches[index];
        let mut group = TagGroup::new(tag_of(&branch.part));
        for child in &branch.children {
            match child {
                Child::Part(part) => group.push(self.group(*part, identifiers)),
                Child::Leaf(leaf) => {
                    if let Some(Some(identifier)) = identifiers.get(*leaf) {
                        group.push(Node::Leaf(*identifier));
                    }
                }
            }
        }
        group
    }
}

fn tag_of(part: &TaggedPart) -> TagKind {
    match part {
        TaggedPart::Heading(level, text) => {
            let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
            Tag::Hn(level, Some(text.clone())).into()
        }
        TaggedPart::Paragraph => Tag::P.into(),
        TaggedPart::Figure(words) => Tag::Figure(Some(words.clone())).into(),
        TaggedPart::Table => Tag::Table.into(),
        TaggedPart::TableHead => Tag::THead.into(),
        TaggedPart::TableBody => Tag::TBody.into(),
        TaggedPart::Row => Tag::TR.into(),
        TaggedPart::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        TaggedPart::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        TaggedPart::Cell => Tag::TD.into(),
    }
}
