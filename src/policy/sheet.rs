//! The household's sheet: its language, the box "Call us now if", and the program's own telephone numbers.

use crate::record::Table;

/// The language of a sheet where the policy names none.
const LANGUAGE: &str = "en";

/// The program's lines on the sheet of a household.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetSetting {
    /// The language, as in `sheet/en.toml`.
    pub language: String,
    /// The lines of the box; empty for those of the language.
    pub call_now: Vec<String>,
    /// The program's own telephone numbers.
    pub numbers: Vec<String>,
}

impl Default for SheetSetting {
    fn default() -> Self {
        SheetSetting { language: LANGUAGE.to_owned(), call_now: Vec::new(), numbers: Vec::new() }
    }
}

impl SheetSetting {
    pub(super) fn read(table: &mut Table) -> Option<SheetSetting> {
        let read = table.table("sheet", "the household's sheet", |table| {
            let language = table.text("language", "its language, as in sheet/en.toml");
            let call_now =
                table.texts("call_now", "the lines of the box \"Call us now if\"; default: the language's own");
            let numbers = table.texts("numbers", "the program's own telephone numbers; no person's");
            Some(SheetSetting {
                language: language.unwrap_or(LANGUAGE.to_owned()),
                call_now: call_now.unwrap_or_default(),
                numbers: numbers.unwrap_or_default(),
            })
        });
        read.unwrap_or(Some(SheetSetting::default()))
    }
}
