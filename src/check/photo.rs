//! Checks pictures: their storage places against the policy, and their checksums against the files of a folder.

use super::owner;
use crate::event::{Event, Fact, Photo, is_place};
use crate::folder::KeptPicture;
use crate::problem::{Problem, Rule};
use crate::program::Program;
use crate::text;

/// The number of leading checksum digits by which a file name can identify a picture.
const DIGITS: usize = 12;

/// A picture on file.
#[derive(Debug)]
pub struct Pictured {
    event: Event,
    photo: Photo,
}

/// The problem of a storage place that the policy does not list.
pub(super) fn place_problem(program: &Program, event: &Event) -> Option<Problem> {
    let Fact::Photo(photo) = &event.fact else { return None };
    let places = &program.policy.as_ref()?.photos.as_ref()?.kept_at;
    // A path is a separate fault.
    if places.contains(&photo.kept_at) || !is_place(&photo.kept_at) {
        return None;
    }
    let message = format!("the policy has no place \"{}\" for pictures", text::visible(&photo.kept_at));
    let known: Vec<&str> = places.iter().map(String::as_str).collect();
    let help = match known.as_slice() {
        [] => "write [photos] kept_at in policy.toml, such as kept_at = [\"imaging\"]".to_owned(),
        known => format!("use {}, or add it to [photos] kept_at in policy.toml", text::either(known)),
    };
    Some(event.problem(Rule::PhotoPlace, "kept_at", message, help))
}

/// The pictures on file of these patients, or of all; voided records are excluded.
pub fn pictured(program: &Program, codes: Option<&[String]>) -> Vec<Pictured> {
    let chosen = program.patients.codes.iter().filter(|code| codes.is_none_or(|codes| codes.contains(code)));
    let of_patient = |code: &String| {
        let own = program.folder.patient(code);
        let events = program.all_events(&own, &program.calendar(), &mut Vec::new());
        events.into_iter().filter_map(|event| match &event.fact {
            Fact::Photo(photo) => Some(Pictured { photo: photo.clone(), event }),
            _ => None,
        })
    };
    chosen.flat_map(of_patient).collect()
}

impl Pictured {
    /// Returns true if a file could be this picture, by its size or by the leading checksum digits in its name.
    pub fn may_be(&self, name: &str, bytes: u64) -> bool {
        let is_so_large = self.photo.bytes.is_none_or(|own| i64::try_from(bytes) == Ok(own));
        is_so_large || self.names(name)
    }

    fn names(&self, name: &str) -> bool {
        self.photo.sha256.get(..DIGITS).is_some_and(|digits| name.contains(digits))
    }
}

/// The pictures that match none of the files: altered, if an unmatched file has their name or size, else missing.
pub fn unmatched(pictures: &[Pictured], kept: &[KeptPicture]) -> Vec<Problem> {
    let is_known = |file: &KeptPicture| pictures.iter().any(|one| one.photo.sha256 == file.sha256);
    let problem = |one: &Pictured| {
        if kept.iter().any(|file| file.sha256 == one.photo.sha256) {
            return None;
        }
        let unknown = || kept.iter().filter(|file| !is_known(file));
        let by_name = unknown().find(|file| one.names(&file.name));
        let by_size = || unknown().find(|file| one.photo.bytes.is_some() && one.may_be("", file.bytes));
        let code = owner(one.event.file()).rsplit('/').next().unwrap_or_default();
        Some(match by_name.or_else(by_size) {
            Some(file) => one.event.problem(
                Rule::PhotoAltered,
                "sha256",
                format!("the picture of {code} was altered: {} has a different checksum", text::visible(&file.path)),
                "restore the original file, which has the checksum in the record",
            ),
            None => one.event.problem(
                Rule::PhotoMissing,
                "sha256",
                format!(
                    "the picture of {code}, kept at {}, is in none of the folders",
                    text::visible(&one.photo.kept_at)
                ),
                "give every folder of pictures with --photos, or look for the file elsewhere",
            ),
        })
    };
    pictures.iter().filter_map(problem).collect()
}
