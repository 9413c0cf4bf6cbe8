//! A picture that was taken and is kept elsewhere; the checksum of its bytes identifies it.

use crate::problem::Rule;
use crate::record::{Table, fields};

/// The maximum size of a picture, in bytes.
pub(crate) const LARGEST_PICTURE: i64 = 1_000_000_000;

/// The number of digits of a checksum.
const DIGITS: usize = 64;

fields! {
    /// A picture that was taken. Neither the picture nor a path to it is part of the records.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Photo {
        /// SHA-256 checksum of the picture file, 64 digits and letters a to f; `--file` computes it.
        pub sha256: String = needed id(),
        /// Size of the picture file in bytes; `--file` measures it.
        pub bytes: Option<i64> = maybe whole((1, LARGEST_PICTURE)),
        /// Place where the picture is kept, a word from `[photos] kept_at` in the policy.
        pub kept_at: String = needed id(),
    }
    then check
}

impl Photo {
    fn check(&self, table: &mut Table) {
        let is_digit = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
        if self.sha256.len() != DIGITS || !self.sha256.bytes().all(is_digit) {
            let help =
                "write the 64 digits and letters that `sha256sum FILE` prints, or use `exitsite record photo --file`";
            table.add(Rule::PhotoSum, "sha256", "this is not a SHA-256 checksum", help);
        }
        if !is_place(&self.kept_at) {
            let help = "write a word from [photos] kept_at in policy.toml; the picture is found by its checksum";
            table.add(Rule::PhotoPlace, "kept_at", "`kept_at` must be a word, not a path or an address", help);
        }
    }
}

/// Returns true if a text can name a place: letters, digits and hyphens only.
pub(crate) fn is_place(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| c.is_alphanumeric() || c == '-')
}
