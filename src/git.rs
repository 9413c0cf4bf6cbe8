//! The git program: the repository of a folder, revisions, and objects by id.
//!
//! One `git cat-file --batch` process answers for all files and trees. Only plumbing commands are used, whose output does
//! not depend on a user's settings.
//!
//! A records folder may come from anyone, including its `.git/config`, attributes and hooks; no program named there is
//! started, for two independent reasons. First, only commands that read names, ids and objects are run (`rev-parse`,
//! `rev-list`, `ls-tree`, `diff-tree --raw`, `merge-base`, `cat-file`, `hash-object` of a tree): none of them uses a
//! filter, textconv, external diff, hook, alias, pager, signature or file system monitor, since those belong to the
//! index, the work tree, patches, writing and a terminal. Differences on the disk are found by the folder module, without
//! git. Second, everything that could be named is switched off for the call ([`SWITCHED_OFF`]); objects missing from a
//! partial clone are not fetched, and no transport is allowed, so that `remote.*.uploadpack`, `core.sshCommand` and
//! credential helpers are never used. Every call ends within [`LONGEST`].
//!
//! Left out on purpose: anything that writes to a repository.

mod batch;
mod log;
pub(crate) mod run;
mod tree;

use std::ffi::OsStr;
use std::fs::{self, FileType};
use std::io::{self, ErrorKind};
use std::os::unix::fs::FileTypeExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{Mutex, PoisonError};

pub(crate) use batch::Object;
pub(crate) use log::or_all;
pub(crate) use log::{Commit, CommitDiff, FileChange, ParentDiff, Version};
pub(crate) use tree::{Blob, is_of};

use crate::problem::Failure;
use crate::text;
use batch::Batch;
use run::{LONGEST, output};

/// Variables with which a hook or a shell names its own repository. Git finds the repository of the folder by itself;
/// with these it would treat the folder as the top of another one.
pub(crate) const OF_ANOTHER: [&str; 6] =
    ["GIT_DIR", "GIT_WORK_TREE", "GIT_IMPLICIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_COMMON_DIR"];

/// Settings of a repository that name programs or cost memory, with safe values for every call that reads.
const SWITCHED_OFF: [&str; 9] = [
    "core.fsmonitor=false",
    "core.hooksPath=/dev/null",
    "core.attributesFile=/dev/null",
    "core.pager=cat",
    "core.sshCommand=false",
    "core.alternateRefsCommand=true",
    "credential.helper=",
    "log.showSignature=false",
    // Larger objects are streamed.
    "core.bigFileThreshold=1m",
];

/// Variables that make git run other programs.
const PROGRAMS: [&str; 5] = ["GIT_EXTERNAL_DIFF", "GIT_SSH", "GIT_SSH_COMMAND", "GIT_PROXY_COMMAND", "GIT_ASKPASS"];

/// The repository of a folder.
#[derive(Debug)]
pub struct Repository {
    root: PathBuf,
    /// The folder inside the repository, such as `records/`; "" for its top level.
    prefix: String,
    /// True if only the environment locates the repository.
    is_told: bool,
    batch: Mutex<Option<Batch>>,
    /// The first file whose earlier text is missing.
    lacking: Mutex<Option<String>>,
}

/// The reason why no repository can be used.
#[derive(Debug)]
pub(crate) enum NoRepository {
    /// The folder is in no repository, or git is not installed.
    None(Failure),
    /// There is a repository, but git cannot read it.
    NotRead(Failure),
}

impl From<NoRepository> for Failure {
    fn from(why: NoRepository) -> Failure {
        let (NoRepository::None(failure) | NoRepository::NotRead(failure)) = why;
        failure
    }
}

/// A commit or a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// The commit; `None` for a bare tree, such as one from `git write-tree`.
    pub commit: Option<String>,
    /// The root tree of the repository.
    pub tree: String,
}

impl Repository {
    /// Opens the repository of the folder `root`.
    ///
    /// # Errors
    /// Git is not installed, there is no repository, or git cannot read it.
    pub(crate) fn of(root: &Path) -> Result<Repository, NoRepository> {
        must_not_wait(root).map_err(NoRepository::NotRead)?;
        let mut repository = Repository {
            root: root.to_owned(),
            prefix: String::new(),
            is_told: false,
            batch: Mutex::default(),
            lacking: Mutex::default(),
        };
        let mut asked = repository.asked_prefix()?;
        if !asked.status.success() {
            // A hook may know a repository that git does not find from the folder.
            repository.is_told = true;
            asked = repository.asked_prefix()?;
        }
        if asked.status.success() {
            let prefix = String::from_utf8_lossy(&asked.stdout);
            repository.prefix = prefix.strip_suffix('\n').unwrap_or(&prefix).to_owned();
            return Ok(repository);
        }
        let said = String::from_utf8_lossy(&asked.stderr);
        let root = shown(root);
        if said.contains("not a git repository") {
            return Err(NoRepository::None(Failure::new(format!(
                "{root} is not in a git repository; create one with `git init {root}`, or run the command for the present"
            ))));
        }
        let said = text::visible(said.lines().next().unwrap_or_default().trim_start_matches("fatal: "));
        Err(NoRepository::NotRead(Failure::new(format!(
            "git cannot read the repository of {root}: {said}; see `git -C {root} status`"
        ))))
    }

    fn asked_prefix(&self) -> Result<Output, NoRepository> {
        let asked = output(&mut self.git(["rev-parse", "--show-prefix"]), None);
        asked.map_err(|error| match error.kind() {
            ErrorKind::NotFound => NoRepository::None(self.not_there(&error)),
            _ => NoRepository::NotRead(self.not_there(&error)),
        })
    }

    /// Resolves a text to a revision, as typed after `flag`.
    ///
    /// # Errors
    /// It names no revision, or git resolves it with a warning, such as for a time before the first commit.
    pub fn revision(&self, flag: &str, typed: &str) -> Result<Revision, Failure> {
        let shown = if typed.is_empty() { "\"\"".to_owned() } else { text::visible(typed) };
        let unknown = || {
            Failure::new(format!("{flag} {shown} is not a commit of this repository; `git log --oneline` lists them"))
        };
        let Some((id, warning)) = self.asked_id(&["rev-parse", "--verify", "--end-of-options", typed])? else {
            return Err(unknown());
        };
        let warning = warning.or(self.no_moment(typed)?);
        if let Some(warning) = warning {
            let warning = text::visible(&warning);
            return Err(Failure::new(format!(
                "{flag} {shown} is not a commit: {warning}; `git log --oneline` lists the commits"
            )));
        }
        let tree = self.id(&format!("{id}^{{tree}}"))?.ok_or_else(unknown)?;
        Ok(Revision { commit: self.id(&format!("{id}^{{commit}}"))?, tree })
    }

    /// Returns the warning for a revision such as `main@{3 days ago}` without a valid time: git treats a text that it
    /// cannot parse, or a time too far in the past, as now.
    fn no_moment(&self, typed: &str) -> Result<Option<String>, Failure> {
        let Some((inside, _)) = typed.split_once("@{").and_then(|(_, behind)| behind.split_once('}')) else {
            return Ok(None);
        };
        let is_other = inside.trim_start_matches('-').bytes().all(|byte| byte.is_ascii_digit());
        if is_other || ["u", "upstream", "push"].contains(&inside.to_lowercase().as_str()) {
            return Ok(None);
        }
        let printed = self.printed(&["rev-parse", &format!("--since={inside}"), "--since=now"])?;
        let printed = String::from_utf8_lossy(&printed);
        let seconds = |line: &str| line.strip_prefix("--max-age=")?.parse::<i64>().ok();
        let moments: Vec<i64> = printed.lines().filter_map(seconds).collect();
        let is_past = matches!(moments[..], [asked, now] if asked < now);
        Ok((!is_past).then(|| "git knows no such time in the past".to_owned()))
    }

    /// Returns the full id of the object that a text names.
    ///
    /// # Errors
    /// Git does not answer.
    pub(crate) fn id(&self, named: &str) -> Result<Option<String>, Failure> {
        let asked = self.asked_id(&["rev-parse", "--quiet", "--verify", "--end-of-options", named])?;
        Ok(asked.map(|(id, _)| id))
    }

    /// Returns the one id that git prints, with its warning.
    fn asked_id(&self, arguments: &[&str]) -> Result<Option<(String, Option<String>)>, Failure> {
        // A NUL cannot be passed to a program, so no object has such a name.
        if arguments.iter().any(|argument| argument.contains('\0')) {
            return Ok(None);
        }
        let asked = self.ended(&mut self.git(arguments), None)?;
        let id = String::from_utf8_lossy(&asked.stdout).trim_end().to_owned();
        let is_one = id.len() >= 40 && id.bytes().all(|byte| byte.is_ascii_hexdigit());
        let said = String::from_utf8_lossy(&asked.stderr);
        let warning = said.lines().find_map(|line| line.strip_prefix("warning: ")).map(str::to_owned);
        Ok((asked.status.success() && is_one).then_some((id, warning)))
    }

    /// The folder inside the repository, such as `records/`; "" for its top level.
    pub(crate) fn prefix(&self) -> &str {
        &self.prefix
    }

    /// A git command in the repository that reads no input and fetches nothing.
    pub(crate) fn git<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Command {
        let mut command = Command::new("git");
        if !self.is_told {
            OF_ANOTHER.iter().for_each(|name| _ = command.env_remove(name));
        }
        // Replace refs are ignored: the history is what was committed.
        command.env("GIT_NO_REPLACE_OBJECTS", "1").env("GIT_NO_LAZY_FETCH", "1").env("GIT_OPTIONAL_LOCKS", "0");
        command.env("GIT_LITERAL_PATHSPECS", "1").env("LC_ALL", "C");
        command.env("GIT_ALLOW_PROTOCOL", "none").env("GIT_TERMINAL_PROMPT", "0").env("GIT_PAGER", "cat");
        PROGRAMS.iter().for_each(|name| _ = command.env_remove(name));
        command.arg("-C").arg(&self.root).args(["--no-pager", "-c", "i18n.logOutputEncoding=UTF-8"]);
        SWITCHED_OFF.iter().for_each(|setting| _ = command.args(["-c", setting]));
        command.args(arguments).stdin(Stdio::null());
        command
    }

    /// Runs a git command to completion.
    ///
    /// # Errors
    /// It cannot be run, or does not end in time.
    pub(crate) fn ended(&self, command: &mut Command, input: Option<Vec<u8>>) -> Result<Output, Failure> {
        output(command, input).map_err(|error| self.not_there(&error))
    }

    /// The output of a git command.
    ///
    /// # Errors
    /// It failed.
    pub(crate) fn printed(&self, arguments: &[&str]) -> Result<Vec<u8>, Failure> {
        let output = self.ended(&mut self.git(arguments), None)?;
        if output.status.success() { Ok(output.stdout) } else { Err(self.did_not_answer(&output.stderr)) }
    }

    /// Returns an object by its id, unless it is larger than `most` bytes.
    pub(crate) fn object(&self, id: &str, most: u64) -> io::Result<Object> {
        let mut held = self.batch.lock().unwrap_or_else(PoisonError::into_inner);
        let mut batch = match held.take() {
            Some(batch) => batch,
            None => Batch::begin(self.git(["cat-file", "--batch"]))?,
        };
        let object = batch.object(id, most)?;
        // After a failure the answers would be out of step with the questions, so the next call starts a new process.
        *held = Some(batch);
        Ok(object)
    }

    /// Records that an earlier text of a file is missing.
    pub(crate) fn lacks(&self, file: &str) {
        self.lacking.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert_with(|| file.to_owned());
    }

    /// Checks that no text was missing: an answer without it would be wrong.
    ///
    /// # Errors
    /// A text was missing.
    pub fn is_whole(&self) -> Result<(), Failure> {
        let lacking = self.lacking.lock().unwrap_or_else(PoisonError::into_inner);
        lacking.as_ref().map_or(Ok(()), |file| {
            Err(Failure::new(format!(
                "git is missing an earlier version of {}, as in a partial or damaged clone; run this in a full clone, and see what \
                 `git fsck` says",
                text::visible(file)
            )))
        })
    }

    /// The failure of a git command, with git's message.
    pub(crate) fn did_not_answer(&self, stderr: &[u8]) -> Failure {
        let said = String::from_utf8_lossy(stderr);
        let said = said.lines().next().unwrap_or_default().trim_start_matches("fatal: ");
        let root = shown(&self.root);
        Failure::new(format!(
            "git failed in {root}: {}; check the repository with `git -C {root} fsck`",
            text::visible(said)
        ))
    }

    pub(crate) fn not_there(&self, error: &io::Error) -> Failure {
        Failure::new(match error.kind() {
            ErrorKind::NotFound if self.root.is_dir() => {
                "git is not installed; install git, or leave out the option that needs it".to_owned()
            }
            ErrorKind::TimedOut => did_not_end(&self.root),
            _ => format!("git cannot be run in {}: {error}; check the path", shown(&self.root)),
        })
    }
}

/// A path for display.
fn shown(path: &Path) -> String {
    text::path(path)
}

/// The message for a git process that was killed.
pub(crate) fn did_not_end(root: &Path) -> String {
    format!(
        "git did not finish within {} seconds in {}; check the disk or the network folder, and the files in its .git",
        LONGEST.as_secs(),
        shown(root)
    )
}

/// Checks that no pipe or device in the repository of `root` would block git.
///
/// # Errors
/// There is one.
pub(crate) fn must_not_wait(root: &Path) -> Result<(), Failure> {
    let bare = root.join("HEAD").symlink_metadata().is_ok().then(|| root.to_owned());
    let above = root.ancestors().map(|above| above.join(".git")).find(|git| git.symlink_metadata().is_ok());
    for git in bare.into_iter().chain(above) {
        let own = fs::read_dir(&git).into_iter().flatten().flatten().map(|entry| entry.path());
        // A link to a pipe also blocks.
        let waits = |path: &PathBuf| fs::metadata(path).is_ok_and(|about| is_waited_for(about.file_type()));
        if let Some(path) = [git.clone()].into_iter().chain(own).find(waits) {
            return Err(Failure::new(format!(
                "{} is a pipe or a device, which would block git; remove it, and find out who put it there",
                shown(&path)
            )));
        }
    }
    Ok(())
}

fn is_waited_for(what: FileType) -> bool {
    what.is_fifo() || what.is_char_device()
}
