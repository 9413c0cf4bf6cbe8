//! Turns typed words into a record: keys and values, then a draft that is tried against the records on file, then a
//! file.
//!
//! Left out on purpose: interaction. The commands ask; nothing here waits for a person.

mod book;
mod contacts;
mod correct;
mod course;
mod draft;
mod key;
pub mod import;
mod moment;
mod owner;
pub mod paper;
mod verdict;
mod typed;
mod time_of_day;
mod day_part;
mod us_date;
mod half_day;

pub use book::{Book, Trial, is_refused};
pub use contacts::{Card, Contacts};
pub use correct::{Changed, Corrected, Stamp, Standing, in_words, plain};
pub use course::{Course, new_patient, row, typed_as, typed_for};
pub(crate) use course::{is_new_exit, open_exit};
pub use day_part::is_by_day_part;
pub use draft::Draft;
pub use half_day::HalfDay;
pub use key::Key;
pub use moment::{Clock, Said};
pub use owner::Owner;
pub use typed::{is_none_known, listed, temperature};
pub(crate) use typed::{is_note, typed};
pub use us_date::UsDate;
pub use verdict::{Verdict, is_writer};
