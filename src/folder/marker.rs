//! The time of the last run, in the system's temporary folder, for a run that cannot save its state.
//!
//! Every user may write to that folder, so a link or a file of another owner is ignored.

use std::fs::{File, OpenOptions};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::Read;
use std::os::unix::fs::{MetadataExt, OpenOptionsExt};
use std::path::{Path, PathBuf};

use super::whole::{Access, write};
use crate::day::Instant;

/// More bytes than a time needs.
const LARGEST: u64 = 100;

/// Write permission for the group or for others.
const OTHERS_MAY_WRITE: u32 = 0o022;

/// A file that holds the time of the last run.
#[derive(Debug)]
pub struct Marker {
    path: PathBuf,
}

impl Marker {
    /// The marker of a state file, in the temporary folder.
    pub fn of(state: &Path, temporary: &Path) -> Marker {
        let mut hasher = DefaultHasher::new();
        state.hash(&mut hasher);
        Marker { path: temporary.join(format!("exitsite-alert-{}-{:016x}", user(), hasher.finish())) }
    }

    /// The time of the last run; `None` if unknown.
    pub(crate) fn last_run(&self) -> Option<Instant> {
        let flags = libc::O_NOFOLLOW | libc::O_NONBLOCK;
        let file = OpenOptions::new().read(true).custom_flags(flags).open(&self.path).ok()?;
        if !is_own(&file) {
            return None;
        }
        let mut text = String::new();
        file.take(LARGEST).read_to_string(&mut text).ok()?;
        text.trim().parse().ok()
    }

    /// Saves the time of this run. If that fails, the next run repeats alerts.
    pub fn keep(&self, now: Instant) {
        // A link with that name is replaced, not followed; another owner's file cannot be replaced there.
        _ = write(&self.path, &format!("{}\n", now.to_rfc3339()), Access::OwnerOnly, true);
    }
}

/// Returns true for a regular file of this user that no other user can write.
fn is_own(file: &File) -> bool {
    let is_own = |about: std::fs::Metadata| {
        about.is_file() && about.uid() == user() && about.nlink() == 1 && about.mode() & OTHERS_MAY_WRITE == 0
    };
    file.metadata().is_ok_and(is_own)
}

fn user() -> u32 {
    rustix::process::geteuid().as_raw()
}

#[cfg(test)]
mod tests {
    use std::fs::{self, Permissions};
    use std::os::unix::fs::{PermissionsExt, symlink};
    use std::path::Path;

    use super::Marker;

    #[test]
    fn a_marker_is_read_again_and_nobody_elses_counts() {
        let folder = tempfile::tempdir().unwrap();
        let marker = Marker::of(Path::new("/x/state.json"), folder.path());
        assert_eq!(marker.last_run(), None);
        let now = "2026-11-24T13:20:00.5Z".parse().unwrap();
        marker.keep(now);
        assert_eq!(marker.last_run(), Some(now));
        assert_eq!(fs::metadata(&marker.path).unwrap().permissions().mode() & 0o777, 0o600);
        assert_eq!(Marker::of(Path::new("/x/other.json"), folder.path()).last_run(), None);
        fs::set_permissions(&marker.path, Permissions::from_mode(0o666)).unwrap();
        assert_eq!(marker.last_run(), None);
        // A link is neither read nor written through.
        let victim = folder.path().join("victim");
        fs::write(&victim, "2026-11-24T13:20:00Z\n").unwrap();
        fs::set_permissions(&victim, Permissions::from_mode(0o600)).unwrap();
        fs::remove_file(&marker.path).unwrap();
        symlink(&victim, &marker.path).unwrap();
        assert_eq!(marker.last_run(), None);
        marker.keep("2026-11-24T14:20:00Z".parse().unwrap());
        assert_eq!(fs::read_to_string(&victim).unwrap(), "2026-11-24T13:20:00Z\n");
        // Another hard link is another name for somebody's file.
        fs::hard_link(&marker.path, folder.path().join("second")).unwrap();
        assert_eq!(marker.last_run(), None);
        // A folder of that name, or no temporary folder at all: nothing is known, nothing fails.
        let none = Marker::of(Path::new("/x/state.json"), &folder.path().join("none"));
        none.keep(now);
        assert_eq!(none.last_run(), None);
    }
}
