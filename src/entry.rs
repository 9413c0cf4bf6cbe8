//! What somebody says becomes a record: typed words become keys and values, a draft is tried out beside what is on file,
//! and only then is it written.
//!
//! Left out on purpose: asking and answering. The commands do that; here nothing waits for anybody.

mod book;
mod draft;
pub mod import;
mod moment;
mod typed;

pub use book::{Book, Owner, Trial, is_refused};
pub use draft::Draft;
pub use moment::{Clock, Said};
pub use typed::typed;
