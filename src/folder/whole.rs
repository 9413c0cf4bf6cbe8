//! Atomic writing of one file: written and flushed under a temporary name in its folder (`.NAME.RANDOM.tmp`), then
//! visible under its own name, or not at all.

use std::fs::{self, File, Permissions};
use std::io::{self, ErrorKind, Write};
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
use std::path::Path;

use tempfile::{Builder, TempPath};

use crate::problem::Failure;
use crate::text;

/// The maximum number of characters of the name in a temporary name.
const LONGEST_NAME: usize = 40;

/// The permissions of a new file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Access {
    /// Those of its folder, with the folder's group.
    OfFolder,
    /// Those of the user's umask.
    OfUser,
    /// Read and write for its owner only.
    OwnerOnly,
}

/// Writes a complete file. Returns false if the name is taken and `replaces` is not set.
///
/// # Errors
/// The file cannot be written; an existing file is unchanged.
pub(super) fn write(path: &Path, text: &str, access: Access, replaces: bool) -> Result<bool, Failure> {
    let failed = |error: io::Error| cannot(path, &error);
    let whole = prepare(path, text, access).map_err(failed)?;
    let placed = if replaces { whole.persist(path) } else { whole.persist_noclobber(path) };
    match placed {
        Ok(()) => {}
        Err(error) if !replaces && error.error.kind() == ErrorKind::AlreadyExists => return Ok(false),
        Err(error) => return Err(failed(error.error)),
    }
    flush_folder(parent(path)).map_err(|error| {
        if !replaces {
            _ = fs::remove_file(path);
        }
        failed(error)
    })?;
    Ok(true)
}

/// Writes and flushes a complete file in the folder of `path`, under a temporary name.
pub(super) fn prepare(path: &Path, text: &str, access: Access) -> io::Result<TempPath> {
    let dir = parent(path);
    let (prefix, mut builder) = (temporary(path), Builder::new());
    builder.prefix(&prefix).suffix(".tmp");
    if access == Access::OfUser {
        builder.permissions(Permissions::from_mode(0o666));
    }
    // Without an explicit mode the file is readable by its owner only.
    let mut whole = builder.tempfile_in(dir)?;
    if access == Access::OfFolder {
        let about = fs::metadata(dir)?;
        give_group(whole.path(), about.gid());
        whole.as_file().set_permissions(Permissions::from_mode(about.mode() & 0o666))?;
    }
    whole.write_all(text.as_bytes())?;
    whole.as_file().sync_all()?;
    Ok(whole.into_temp_path())
}

/// The prefix of a temporary name: `.NAME.`
pub(super) fn temporary(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    format!(".{}.", name.chars().take(LONGEST_NAME).collect::<String>())
}

/// The folder of a path; the working directory for a bare name.
pub(super) fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(dir) if dir.as_os_str().is_empty() => Path::new("."),
        Some(dir) => dir,
        None => path,
    }
}

/// Gives a file to the folder's group. Does nothing if the user is not in that group.
pub(super) fn give_group(path: &Path, group: u32) {
    _ = chown(path, None, Some(group));
}

/// Flushes the entries of a folder.
pub(super) fn flush_folder(dir: &Path) -> io::Result<()> {
    File::open(dir)?.sync_all()
}

/// The failure to write a file, with the remedy.
pub(super) fn cannot(path: &Path, error: &io::Error) -> Failure {
    let what_to_do = match error.kind() {
        ErrorKind::PermissionDenied => "ask for permission to write there",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "free up disk space, then run the command again",
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only; check how it is mounted",
        _ => "check the disk or the network folder, then run the command again",
    };
    Failure::new(format!("cannot write {}: {error}; {what_to_do}", text::path(path)))
}
