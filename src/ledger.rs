//! The ledger: what was done to a record between two of its texts, and what the record itself says was done.
//!
//! A record is never changed silently: it is amended or voided, with who and why. Allowed without an amendment: changes
//! of layout and comments; a field that exists only from its own date on, once it is known; and a replacement for an
//! unreadable text, which loses nothing.
//!
//! Left out on purpose: git. Only two texts are compared.

use std::collections::BTreeMap;

use crate::event::Kind;
use crate::record::facts;
use crate::word::Word;

/// The facts of a text, as [`facts`] gives them.
pub(crate) type Facts = BTreeMap<String, String>;

/// One act on a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Deed {
    /// A row `[[amended]]` was added: the row's own facts.
    Amended(Facts),
    /// `[void]` was added: its facts.
    Voided(Facts),
    /// Empty fields that exist only from their own date on were filled: a result, a resolution, an end.
    Filled(Vec<String>),
    /// The old text was unreadable, so nothing was lost.
    Mended,
    /// These keys changed without an amendment; empty if the new text is unreadable.
    Edited(Vec<String>),
}

/// Returns the acts between two texts of a record; empty if only the layout changed.
///
/// `was_usable` is true if the old text was readable as a record.
pub(crate) fn deeds(old: &str, was_usable: bool, new: &str) -> Vec<Deed> {
    if old == new {
        return Vec::new();
    }
    let (Some(old), true) = (facts(old), was_usable) else { return vec![Deed::Mended] };
    let Some(new) = facts(new) else { return vec![Deed::Edited(Vec::new())] };
    let mut deeds = Vec::new();
    let (old_rows, rows) = (rows(&old), rows(&new));
    let mut kept = old_rows.iter().peekable();
    let added: Vec<&Facts> = rows.iter().filter(|row| kept.next_if_eq(row).is_none()).collect();
    let mut edited: Vec<String> = Vec::new();
    if kept.next().is_some() {
        edited.push("amended".to_owned());
    }
    let (old_void, void) = (inside(&old, "void"), inside(&new, "void"));
    match (old_void.is_empty(), old_void == void) {
        (_, true) => {}
        (true, false) => deeds.push(Deed::Voided(void)),
        (false, false) => edited.push("void".to_owned()),
    }
    let mut filled = Vec::new();
    let mut corrected = Vec::new();
    for key in differing(&old, &new) {
        if may_be_filled(&old, &key) {
            filled.push(key);
        } else if says_when_or_what(&key) {
            edited.push(key);
        } else {
            corrected.push(key);
        }
    }
    if added.is_empty() {
        edited.append(&mut corrected);
    }
    deeds.splice(0..0, added.into_iter().cloned().map(Deed::Amended));
    if !filled.is_empty() {
        deeds.push(Deed::Filled(filled));
    }
    if !edited.is_empty() {
        deeds.push(Deed::Edited(edited));
    }
    deeds
}

/// Returns the acts that a new record itself contains: its amendments and its void.
pub(crate) fn own_deeds(facts: &Facts) -> Vec<Deed> {
    let void = Some(inside(facts, "void")).filter(|void| !void.is_empty());
    rows(facts).into_iter().map(Deed::Amended).chain(void.map(Deed::Voided)).collect()
}

/// The canonical content of a text, equal for texts with the same facts; the text itself if it is not a record.
pub(crate) fn content(text: &str) -> String {
    facts(text).map_or_else(|| text.to_owned(), |facts| format!("{facts:?}"))
}

/// Returns true if a record has its former values again under these keys; without keys, in full.
pub(crate) fn says_again(old: &str, new: &str, keys: &[String]) -> bool {
    if keys.is_empty() {
        return !deeds(old, true, new).iter().any(|deed| matches!(deed, Deed::Edited(_)));
    }
    let (Some(old), Some(new)) = (facts(old), facts(new)) else { return false };
    let added = rows(&new);
    let mut added = added.iter();
    keys.iter().all(|key| match key.as_str() {
        "amended" => rows(&old).iter().all(|row| added.any(|other| other == row)),
        "void" => inside(&old, "void") == inside(&new, "void"),
        key => old.get(key) == new.get(key),
    })
}

/// Returns true if a record has all its former values, and in addition at most a void or filled fields.
pub(crate) fn is_back(old: &str, new: &str) -> bool {
    deeds(old, true, new).iter().all(|deed| matches!(deed, Deed::Voided(_) | Deed::Filled(_)))
}

/// Returns true if only a new record can correct a key: an amendment can change neither it nor who wrote the record and
/// when.
pub(crate) fn says_when_or_what(key: &str) -> bool {
    ["at", "on", "kind"].contains(&key) || key.split('.').next() == Some("entered")
}

/// The keys outside amendments and the void that differ.
fn differing(old: &Facts, new: &Facts) -> Vec<String> {
    let mut keys: Vec<&String> = old.keys().chain(new.keys().filter(|key| !old.contains_key(*key))).collect();
    keys.sort();
    let is_correction = |key: &str| ["amended", "void"].contains(&key.split('.').next().unwrap_or_default());
    // An empty table has no content.
    let says = |facts: &Facts, key: &str| facts.get(key).filter(|value| *value != "{}").cloned();
    keys.into_iter().filter(|key| !is_correction(key) && says(old, key) != says(new, key)).cloned().collect()
}

/// Returns true if a key is an empty field of the old record that exists only from its own date on.
fn may_be_filled(old: &Facts, key: &str) -> bool {
    let kind = old.get("kind").map(|kind| kind.trim_matches('"')).and_then(Kind::from_word);
    let is_empty = old.get(key).is_none_or(|value| value == "{}");
    let of_key = key.split('.').next().unwrap_or_default();
    let is_late = kind.is_some_and(|kind| kind.traits().later.contains(&of_key));
    is_late && is_empty
}

/// The keys inside a table, without the table's name.
fn inside(facts: &Facts, table: &str) -> Facts {
    let own = |(key, value): (&String, &String)| {
        let rest = key.strip_prefix(table)?;
        let rest = if rest.is_empty() { "" } else { rest.strip_prefix('.')? };
        Some((rest.to_owned(), value.clone()))
    };
    facts.iter().filter_map(own).collect()
}

/// The rows `[[amended]]`, in order.
fn rows(facts: &Facts) -> Vec<Facts> {
    let of_row = |n: usize| Some(inside(facts, &format!("amended.{n}"))).filter(|row| !row.is_empty());
    (0..).map_while(of_row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHANGE: &str = "kind = 'change'\nat = 2026-11-23T18:55:00-06:00\nby = 'rn-07'\n[site]\nredness_mm = 2\n";
    const ROW: &str = "[[amended]]\nat = 2026-11-24T08:00:00-06:00\nby = 'co-1'\nwhy = 'slip'\nwas = '2'\n";
    const VOID: &str = "[void]\nat = 2026-11-24T08:00:00-06:00\nby = 'co-1'\nwhy = 'twice'\n";

    /// The acts in short form.
    fn check(old: &str, new: &str, expected: &str) {
        let word = |deed: Deed| match deed {
            Deed::Amended(row) => format!("amended by {}", row["by"]),
            Deed::Voided(void) => format!("voided by {}", void["by"]),
            Deed::Filled(keys) => format!("filled {}", keys.join(" ")),
            Deed::Mended => "mended".to_owned(),
            Deed::Edited(keys) => format!("edited {}", keys.join(" ")),
        };
        let said: Vec<String> = deeds(old, true, new).into_iter().map(word).collect();
        assert_eq!(said.join(", "), expected, "{old}\n->\n{new}");
    }

    #[test]
    fn layout_comments_and_order_are_nothing() {
        check(CHANGE, CHANGE, "");
        check(CHANGE, &format!("# told\n{CHANGE}\n\n"), "");
        check(CHANGE, &CHANGE.replace('\n', "\r\n"), "");
        check(CHANGE, "by = \"rn-07\"\nkind = \"change\"\nat = 2026-11-23 18:55:00-06:00\nsite.redness_mm = 2.0", "");
    }

    #[test]
    fn what_changed_without_a_row_is_edited() {
        check(CHANGE, &CHANGE.replace("= 2\n", "= 3\n"), "edited site.redness_mm");
        check(CHANGE, &CHANGE.replace("redness_mm = 2\n", ""), "edited site.redness_mm");
        check(CHANGE, &format!("{CHANGE}crust_mm = 1\n"), "edited site.crust_mm");
        check(CHANGE, &CHANGE.replace("rn-07", "rn-08").replace("= 2\n", "= 3\n"), "edited by site.redness_mm");
        check(CHANGE, "kind = 'change", "edited ");
        check(CHANGE, &format!("{CHANGE}[entered]\nby = 'co-1'\n"), "edited entered.by");
    }

    #[test]
    fn a_row_covers_everything_but_when_and_what() {
        check(CHANGE, &format!("{}{ROW}", CHANGE.replace("= 2\n", "= 3\n")), "amended by \"co-1\"");
        check(CHANGE, &format!("{CHANGE}{ROW}"), "amended by \"co-1\"");
        check(CHANGE, &format!("{}{ROW}", CHANGE.replace("18:55", "18:50")), "amended by \"co-1\", edited at");
        check(CHANGE, &format!("{}{ROW}", CHANGE.replace("change", "shower")), "amended by \"co-1\", edited kind");
        let on = CHANGE.replace("at = 2026-11-23T18:55:00-06:00", "on = 2026-11-23");
        check(CHANGE, &format!("{on}{ROW}"), "amended by \"co-1\", edited at on");
    }

    #[test]
    fn what_was_corrected_stays_as_it_is() {
        let amended = format!("{CHANGE}{ROW}");
        check(&amended, CHANGE, "edited amended");
        check(&amended, &amended.replace("slip", "misread"), "amended by \"co-1\", edited amended");
        check(
            &amended,
            &format!("{}{ROW}{}", CHANGE.replace("= 2\n", "= 4\n"), ROW.replace("slip", "again")),
            "amended by \"co-1\"",
        );
        check(
            &amended,
            &format!("{}{}{ROW}", CHANGE.replace("= 2\n", "= 4\n"), ROW.replace("slip", "before")),
            "amended by \"co-1\"",
        );
        let voided = format!("{CHANGE}{VOID}");
        check(&voided, CHANGE, "edited void");
        check(&voided, &voided.replace("twice", "wrong patient"), "edited void");
        check(&voided, &format!("{voided}replaced_by = 'x'\n"), "edited void");
    }

    #[test]
    fn a_void_is_said_and_covers_nothing_else() {
        check(CHANGE, &format!("{CHANGE}{VOID}"), "voided by \"co-1\"");
        check(CHANGE, &format!("{CHANGE}{ROW}{VOID}"), "amended by \"co-1\", voided by \"co-1\"");
        check(
            CHANGE,
            &format!("{}{VOID}", CHANGE.replace("= 2\n", "= 3\n")),
            "voided by \"co-1\", edited site.redness_mm",
        );
    }

    #[test]
    fn an_empty_field_that_exists_from_its_own_date_is_filled_once() {
        let culture = "kind = 'culture'\nspecimen = 'blood'\n";
        let result = format!("{culture}[result]\non = 2026-11-24\ngrowth = true\n");
        check(culture, &result, "filled result.growth result.on");
        check(&result, &format!("{result}organisms = ['S. aureus']\n"), "filled result.organisms");
        check(&result, &result.replace("true", "false"), "edited result.growth");
        check(&result, culture, "edited result.growth result.on");
        check("kind = 'infection'", "kind = 'infection'\nresolved = 2026-11-24", "filled resolved");
        check("kind = 'treatment'", "kind = 'treatment'\nuntil = 2026-11-24", "filled until");
        check("kind = 'treatment'\nuntil = 2026-11-24", "kind = 'treatment'\nuntil = 2026-11-25", "edited until");
        check("kind = 'change'", "kind = 'change'\nresolved = 2026-11-24", "edited resolved");
    }

    #[test]
    fn of_a_text_that_could_not_be_used_nothing_was_lost() {
        check("kind = 'change", CHANGE, "mended");
        assert_eq!(deeds(CHANGE, false, &CHANGE.replace("= 2", "= 3")), [Deed::Mended]);
    }

    #[test]
    fn what_was_put_back_is_said_again() {
        let again = |new: &str, keys: &[&str]| {
            let keys: Vec<String> = keys.iter().map(|key| (*key).to_owned()).collect();
            says_again(&format!("{CHANGE}{ROW}"), new, &keys)
        };
        assert!(again(&format!("{CHANGE}{ROW}{VOID}"), &["amended", "by"]));
        assert!(again(&format!("{CHANGE}crust_mm = 1\n{ROW}"), &["by"]));
        assert!(!again(&format!("{CHANGE}crust_mm = 1\n{ROW}"), &["site.crust_mm"]));
        assert!(!again(CHANGE, &["amended"]));
        assert!(again(&format!("{CHANGE}{ROW}{VOID}"), &[]));
        assert!(!again(CHANGE, &[]));
        assert!(!again("by = '", &["by"]));
    }

    #[test]
    fn a_new_record_says_of_itself_what_was_done() {
        let deeds = own_deeds(&facts(&format!("{CHANGE}{ROW}{VOID}")).unwrap());
        assert!(matches!(&deeds[..], [Deed::Amended(_), Deed::Voided(void)] if void["why"] == "\"twice\""));
        assert_eq!(own_deeds(&facts(CHANGE).unwrap()), []);
    }
}
