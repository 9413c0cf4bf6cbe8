//! Resolves a typed name to the key of a record: `site.redness_mm`, `redness_mm`, `redness-mm`, `dressing-found`.

use super::draft::Draft;
use super::moment::Clock;
use super::typed::entered;
use crate::event::Kind;
use crate::record::{Shape, Value};
use crate::text::{a, either, in_sentences, nearest, visible};
use crate::word::Word;

/// A key of the records of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Key {
    /// Its full name, dotted if it is in a table.
    pub name: String,
    /// The shape of its value.
    pub shape: Shape,
    is_unique: bool,
}

impl Key {
    /// Resolves a typed name: the full name, the name without its table if that is unambiguous, or the flag's form with
    /// the table name at the end. Hyphens mean underscores.
    ///
    /// ```
    /// # use exitsite::{entry::Key, event::Kind};
    /// let meant = |typed| Key::meant(Kind::Change, typed).map(|key| key.name);
    /// for typed in ["site.redness_mm", "redness_mm", "redness-mm", "site.redness-mm", "redness-mm-site"] {
    ///     assert_eq!(meant(typed).unwrap(), "site.redness_mm");
    /// }
    /// assert_eq!(meant("dressing-found").unwrap(), "found.dressing");
    /// assert!(meant("dressing").unwrap_err().contains("found.dressing or left.dressing"));
    /// assert!(meant("rednes").unwrap_err().contains("Did you mean redness_mm?"));
    /// assert!(meant("entered.by").unwrap_err().contains("Only the commands write"));
    /// ```
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn meant(kind: Kind, typed: &str) -> Result<Key, String> {
        let typed = typed.trim().replace('-', "_");
        let keys = Draft::keys(kind);
        let found: Vec<&str> = keys.iter().map(|(key, ..)| key.as_str()).filter(|key| is_meant(key, &typed)).collect();
        let exact = found.iter().find(|key| **key == typed);
        match (exact, found.as_slice()) {
            (Some(key), _) | (None, [key]) => Ok(Key::of(kind, key)),
            (None, []) if ["entered", "amended", "void"].contains(&typed.split('.').next().unwrap_or_default()) => {
                Err(format!("Only the commands write {}.", visible(&typed)))
            }
            (None, []) => {
                let names = keys.iter().map(|(key, ..)| key.as_str());
                let begins = names.clone().map(own).find(|name| typed.len() > 2 && name.starts_with(&typed));
                let near =
                    begins.or_else(|| nearest(&typed, names.clone().map(own))).or_else(|| nearest(&typed, names));
                let near = near.map(|near| format!(" Did you mean {near}?")).unwrap_or_default();
                Err(in_sentences(&[&format!("{} record has no {}.{near}", a(kind.word()), visible(&typed))]))
            }
            (None, several) => Err(format!("{typed} could be {}. Write the full name.", either(several))),
        }
    }

    /// Parses the value typed for it.
    ///
    /// # Errors
    /// One sentence that says what to type instead.
    pub fn typed(&self, text: &str, clock: Clock) -> Result<Value, String> {
        entered(&self.name, &self.shape, text, clock)
    }

    /// The key with a full name.
    pub(super) fn of(kind: Kind, name: &str) -> Key {
        let keys = Draft::keys(kind);
        let shape = keys.iter().find(|(key, ..)| key == name).map_or(Shape::Text, |(_, shape, _)| shape.clone());
        // `on` in a result is not the record's `on`.
        let is_of_the_top = name != own(name) && ["kind", "at", "on"].contains(&own(name));
        let is_unique = !is_of_the_top && keys.iter().filter(|(key, ..)| own(key) == own(name)).count() < 2;
        Key { name: name.to_owned(), shape, is_unique }
    }

    /// Its name, without its table if that is unambiguous.
    pub fn short(&self) -> String {
        if self.is_unique { own(&self.name).to_owned() } else { self.name.clone() }
    }
}

/// A key's name without its table.
fn own(name: &str) -> &str {
    name.rsplit('.').next().unwrap_or(name)
}

fn is_meant(key: &str, typed: &str) -> bool {
    let flag = key.split_once('.').map(|(table, own)| format!("{own}_{table}"));
    key == typed || own(key) == typed || flag.as_deref() == Some(typed)
}
