//! The household's sheet: its language, the box "Call us now if", and the program's telephone numbers.

use crate::record::Table;

/// The default language of a sheet.
const LANGUAGE: &str = "en";

/// The program's lines on the household's sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetSetting {
    /// Language, such as `en` for `sheet/en.toml`.
    pub language: String,
    /// Lines of the box; if empty, those of the language file.
    pub call_now: Vec<String>,
    /// The program's telephone numbers.
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
            let language = table.text("language", "language, such as en for sheet/en.toml");
            let call_now =
                table.texts("call_now", "lines of the box \"Call us now if\"; default: those of the language file");
            let numbers = table.texts("numbers", "the program's telephone numbers, not a person's");
            Some(SheetSetting {
                language: language.unwrap_or(LANGUAGE.to_owned()),
                call_now: call_now.unwrap_or_default(),
                numbers: numbers.unwrap_or_default(),
            })
        });
        read.unwrap_or(Some(SheetSetting::default()))
    }
}
