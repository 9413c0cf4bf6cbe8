//! The possible fields of a column of a file or a constant of a map.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::entry::Draft;
use crate::event::Kind;
use crate::record::Shape;
use crate::text::{a, cut, nearest, visible};
use crate::word::Word;

/// The field of a column, or of a constant of a map.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Target {
    /// The patient's code.
    Patient,
    /// The kind of the record.
    Kind,
    /// A moment.
    At,
    /// A day.
    On,
    /// A day, whose time is in another column.
    Date,
    /// The time of that day.
    Time,
    /// The decision about a possible duplicate.
    Same,
    /// A key of the record.
    Field(String),
}

/// The columns that are not keys of a record.
const NO_FIELDS: [(&str, Target); 7] = [
    ("patient", Target::Patient),
    ("kind", Target::Kind),
    ("at", Target::At),
    ("on", Target::On),
    ("date", Target::Date),
    ("time", Target::Time),
    ("same", Target::Same),
];

/// The keys of all kinds.
pub(super) static KEYS: LazyLock<Keys> = LazyLock::new(Keys::of_all_kinds);

/// The keys of the records of each kind.
#[derive(Debug)]
pub(super) struct Keys(BTreeMap<Kind, BTreeMap<String, Shape>>);

impl Keys {
    /// Collects the keys of all kinds.
    fn of_all_kinds() -> Keys {
        let of = |kind: &Kind| {
            let keys = Draft::keys(*kind).into_iter().map(|(key, shape, _)| (key, shape));
            (*kind, keys.collect())
        };
        Keys(Kind::ALL.iter().map(of).collect())
    }

    /// The shape of a key of a kind; `None` if the kind has no such key.
    pub(super) fn shape(&self, kind: Kind, key: &str) -> Option<&Shape> {
        self.0.get(&kind)?.get(key)
    }

    fn has(&self, kind: Option<Kind>, key: &str) -> bool {
        self.0.iter().any(|(of, keys)| kind.is_none_or(|kind| kind == *of) && keys.contains_key(key))
    }

    fn names(&self, kind: Option<Kind>) -> Vec<&str> {
        let kinds = self.0.iter().filter(|(of, _)| kind.is_none_or(|kind| kind == **of));
        let mut names: Vec<&str> = kinds.flat_map(|(_, keys)| keys.keys().map(String::as_str)).collect();
        names.extend(NO_FIELDS.iter().map(|(name, _)| *name));
        names.sort_unstable();
        names.dedup();
        names
    }
}

impl Target {
    /// The target of a name, for one kind or any.
    ///
    /// # Errors
    /// No such field: the fault, and what to write instead.
    pub(super) fn read(name: &str, kind: Option<Kind>) -> Result<Target, (String, String)> {
        let own = NO_FIELDS.iter().find(|(own, _)| *own == name).map(|(_, target)| target.clone());
        match own {
            Some(target) => Ok(target),
            None if KEYS.has(kind, name) => Ok(Target::Field(name.to_owned())),
            None => {
                let whose = kind.map_or("the records have".to_owned(), |kind| format!("{} record has", a(kind.word())));
                let near = nearest(name, KEYS.names(kind));
                let help = near.map_or_else(
                    || "use the field names of the records: found.dressing, site.drainage, note".to_owned(),
                    |near| format!("did you mean {near}?"),
                );
                Err((format!("{whose} no field \"{}\"", cut(&visible(name), 40)), help))
            }
        }
    }

    /// Its name on the household's sheet.
    pub(super) fn key(&self) -> &str {
        match self {
            Target::Field(key) => key,
            target => NO_FIELDS.iter().find(|(_, own)| own == target).map_or("", |(name, _)| *name),
        }
    }

    /// Returns true if it is preprinted on the sheet.
    pub(super) fn is_printed_on_the_sheet(&self) -> bool {
        match self {
            Target::Patient | Target::On | Target::Date | Target::At | Target::Same => true,
            Target::Field(key) => ["exit", "source"].contains(&key.as_str()),
            Target::Kind | Target::Time => false,
        }
    }
}
