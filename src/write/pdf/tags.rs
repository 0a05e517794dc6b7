//! What the ink of a PDF is to one who hears it read: headings, paragraphs,
//! figures with words, tables.

use std::num::NonZeroU16;

use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, Node, SpanTag, TableHeaderScope, Tag, TagGroup,
    TagTree,
};

use crate::page::{Block, Ink, Role};

/// The tree of tags, as it grows with the pages.
#[derive(Default)]
pub(super) struct Tags {
    done: Vec<TagGroup>,
    /// Rows of the table that is being filled.
    table: Vec<TagGroup>,
}

impl Tags {
    /// How the library marks the ink of a role.
    pub(super) fn content(role: &Role) -> ContentTag<'static> {
        match role {
            Role::Furniture => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Page)),
            Role::Figure(_) => ContentTag::Other,
            _ => ContentTag::Span(SpanTag::empty()),
        }
    }

    /// Adds a block that was drawn.
    pub(super) fn add(&mut self, block: &Block, id: Identifier) {
        let ink = Node::Leaf(id);
        if !matches!(block.role, Role::Cell { .. } | Role::Furniture) {
            self.end_table();
        }
        let group = match &block.role {
            Role::Furniture => return,
            Role::Cell { row, head } => {
                if *row == 0 && self.table.len() > 1 {
                    self.end_table();
                }
                while self.table.len() <= *row {
                    self.table.push(TagGroup::new(Tag::TR));
                }
                let cell = if *head {
                    TagGroup::with_children(Tag::TH(TableHeaderScope::Column), vec![ink])
                } else {
                    TagGroup::with_children(Tag::TD, vec![ink])
                };
                if let Some(last) = self.table.last_mut() {
                    last.push(cell);
                }
                return;
            }
            Role::Heading(level) => {
                let level = NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN);
                TagGroup::with_children(Tag::Hn(level, Some(words(block))), vec![ink])
            }
            Role::Words => TagGroup::with_children(Tag::P, vec![ink]),
            Role::Figure(shows) => {
                TagGroup::with_children(Tag::Figure(Some(shows.clone())), vec![ink])
            }
        };
        self.done.push(group);
    }

    fn end_table(&mut self) {
        if !self.table.is_empty() {
            let mut table = TagGroup::new(Tag::Table);
            for row in self.table.drain(..) {
                table.push(row);
            }
            self.done.push(table);
        }
    }

    /// The whole tree.
    pub(super) fn tree(mut self, language: &str) -> TagTree {
        self.end_table();
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        for group in self.done {
            tree.push(group);
        }
        tree
    }
}

/// All words of a block.
fn words(block: &Block) -> String {
    let text = |ink: &Ink| match ink {
        Ink::Words { text, .. } => Some(text.clone()),
        _ => None,
    };
    let all: Vec<String> = block.ink.iter().filter_map(text).collect();
    all.join(" ")
}
