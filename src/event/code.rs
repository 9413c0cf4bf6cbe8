//! Codes of patients and of people, never names.

use crate::problem::Rule;
use crate::record::Table;

/// Codes reserved by an operating system, or used as words in the records.
fn is_reserved(code: &str) -> bool {
    let is = |word: &str| code.eq_ignore_ascii_case(word);
    let is_port = |code: &str| {
        let is = |port: &str| code.get(..3).is_some_and(|begins| begins.eq_ignore_ascii_case(port));
        code.len() == 4 && code.ends_with(|c: char| c.is_ascii_digit()) && (is("COM") || is("LPT"))
    };
    ["CON", "PRN", "AUX", "NUL", "PATIENT", "OTHER"].into_iter().any(is) || is_port(code)
}

/// Returns true for a patient code: 2 to 16 of `A-Z 0-9 -`, starting with a letter, not ending in a hyphen.
///
/// ```
/// # use exitsite::event::is_patient_code;
/// assert!(is_patient_code("P-014"));
/// for code in ["P", "p-014", "014", "P-", "P 014", "COM1", "PATIENT", "P-01234567890123456"] {
///     assert!(!is_patient_code(code), "{code}");
/// }
/// ```
pub fn is_patient_code(code: &str) -> bool {
    (2..=16).contains(&code.len())
        && code.starts_with(|c: char| c.is_ascii_uppercase())
        && code.bytes().all(|b| b.is_ascii_uppercase() || b.is_ascii_digit() || b == b'-')
        && !code.ends_with('-')
        && !is_reserved(code)
}

/// Returns true for a staff or caregiver code: 2 to 24 of `a-z A-Z 0-9 -`, not ending in a hyphen.
pub fn is_person_code(code: &str) -> bool {
    (2..=24).contains(&code.len())
        && code.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
        && !code.ends_with('-')
        && !is_reserved(code)
}

impl Table<'_> {
    /// Reads a person's code, or one of `words` that stand for no particular person.
    pub fn person(&mut self, name: &'static str, words: &[&str], about: &'static str) -> Option<String> {
        let code = self.text(name, about)?;
        if !is_person_code(&code) && !words.contains(&code.as_str()) {
            self.add(
                Rule::BadCode,
                name,
                format!("`{name}` is not a person's code"),
                "write 2 to 24 letters, digits and hyphens, such as rn-07; never a name",
            );
        }
        Some(code)
    }
}
