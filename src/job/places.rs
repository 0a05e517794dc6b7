//! Where the keys of a job stand in its text.

use std::collections::BTreeMap;

use crate::fault::Place;

/// Line and column of every key's value, by the key's full name, such as
/// `doubler[1].at`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Places(pub(super) BTreeMap<String, (usize, usize)>);

impl Places {
    /// The place in a file of a key by its full name: its value, or what holds it.
    pub(super) fn of(&self, file: &str, field: &str) -> Place {
        let mut name = field;
        loop {
            if let Some(&(line, column)) = self.0.get(name) {
                return Place::file(file).line(line).column(column).field(field);
            }
            match name.rfind(['.', '[']) {
                Some(cut) => name = &name[..cut],
                None => return Place::file(file).field(field),
            }
        }
    }
}
