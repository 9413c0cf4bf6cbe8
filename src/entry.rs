//! What somebody says becomes a record: typed words become keys and values, a draft is tried out beside what is on file,
//! and only then is it written.
//!
//! Left out on purpose: asking and answering. The commands do that; here nothing waits for anybody.

mod book;
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

pub use book::{Book, Trial, is_refused};
pub use correct::{Changed, Corrected, Stamp, Standing, plain};
pub use course::{Course, new_patient, row, typed_as, typed_for};
pub use draft::Draft;
pub use key::Key;
pub use moment::{Clock, Said};
pub use owner::Owner;
pub(crate) use typed::typed;
pub use typed::{listed, temperature};
pub use verdict::{Verdict, is_writer};
