//! The git program: the repository of a folder, revisions, and objects by id.
//!
//! One `git cat-file --batch` answers for all files and all trees. The program is asked through its plumbing, whose
//! output no setting of a user changes.
//!
//! A records folder may come from anybody, and its `.git/config`, attributes and hooks with it; none of what they name is
//! started, for two reasons, of which each is enough. Only commands are run that read names, ids and objects (`rev-parse`,
//! `rev-list`, `ls-tree`, `diff-tree --raw`, `merge-base`, `cat-file`, `hash-object` of a tree): none of them has a use for
//! a filter, a textconv, an external diff, a hook, an alias, a pager, a signature or a file system monitor, since those belong
//! to the index, the work tree, patches, writing and a terminal. What differs on the disk is found without git
//! by the folder. And what could be named is switched off for the call ([`SWITCHED_OFF`]); what a partial clone lacks
//! is not fetched, and no transport is allowed, so that neither a `remote.*.uploadpack` nor `core.sshCommand` nor a
//! credential helper has anything to do. Every call ends within [`LONGEST`].
//!
//! Left out on purpose: anything that writes into a repository.

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

/// Variables by which a hook or a shell names its own repository. Git finds that of the folder by itself; with these it
/// would take the folder for the top of another one.
pub(crate) const OF_ANOTHER: [&str; 6] =
    ["GIT_DIR", "GIT_WORK_TREE", "GIT_IMPLICIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_COMMON_DIR"];

/// Settings of a repository that name programs or cost memory, as they are for every call that reads.
const SWITCHED_OFF: [&str; 9] = [
    "core.fsmonitor=false",
    "core.hooksPath=/dev/null",
    "core.attributesFile=/dev/null",
    "core.pager=cat",
    "core.sshCommand=false",
    "core.alternateRefsCommand=true",
    "credential.helper=",
    "log.showSignature=false",
    // Larger objects are passed on piece by piece.
    "core.bigFileThreshold=1m",
];

/// Variables by which git is told to run something else.
const PROGRAMS: [&str; 5] = ["GIT_EXTERNAL_DIFF", "GIT_SSH", "GIT_SSH_COMMAND", "GIT_PROXY_COMMAND", "GIT_ASKPASS"];

/// The repository of a folder.
#[derive(Debug)]
pub struct Repository {
    root: PathBuf,
    /// The folder inside the repository, as `records/`; "" for its top.
    prefix: String,
    /// True if only the environment says where the repository is.
    is_told: bool,
    batch: Mutex<Option<Batch>>,
    /// The first file of which it lacks an earlier text.
    lacking: Mutex<Option<String>>,
}

/// The reason why there is no repository.
#[derive(Debug)]
pub(crate) enum NoRepository {
    /// The folder is in no repository, or there is no git program.
    None(Failure),
    /// There is a repository, and git cannot read it.
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
    /// The commit; none where a bare tree is named, as `git write-tree` makes one.
    pub commit: Option<String>,
    /// The tree of the whole repository.
    pub tree: String,
}

impl Repository {
    /// Opens the repository of the folder `root`.
    ///
    /// # Errors
    /// There is no git program or no repository, or git cannot read it.
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
            // A hook may know the repository of a folder that git does not find by itself.
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
                "no git repository keeps {root}; make it one with `git init {root}`, or ask about it as it is now"
            ))));
        }
        let said = text::visible(said.lines().next().unwrap_or_default().trim_start_matches("fatal: "));
        Err(NoRepository::NotRead(Failure::new(format!(
            "git does not read the repository of {root}: {said}; `git -C {root} status` says more"
        ))))
    }

    fn asked_prefix(&self) -> Result<Output, NoRepository> {
        let asked = output(&mut self.git(["rev-parse", "--show-prefix"]), None);
        asked.map_err(|error| match error.kind() {
            ErrorKind::NotFound => NoRepository::None(self.not_there(&error)),
            _ => NoRepository::NotRead(self.not_there(&error)),
        })
    }

    /// The revision that a text names, as typed after `flag`.
    ///
    /// # Errors
    /// It names nothing, or git does so with a warning, as of a moment before the first commit.
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

    /// The warning for a revision such as `main@{3 days ago}` that names no moment: git takes a text that it does not
    /// parse, or a moment that is too long ago for it, for now.
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
        Ok((!is_past).then(|| "git has no such moment in the past".to_owned()))
    }

    /// The full id of the one object that a text names.
    ///
    /// # Errors
    /// Git does not answer.
    pub(crate) fn id(&self, named: &str) -> Result<Option<String>, Failure> {
        let asked = self.asked_id(&["rev-parse", "--quiet", "--verify", "--end-of-options", named])?;
        Ok(asked.map(|(id, _)| id))
    }

    /// The one id that git prints, with a warning beside it.
    fn asked_id(&self, arguments: &[&str]) -> Result<Option<(String, Option<String>)>, Failure> {
        // No object has a name that no program can be given.
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

    /// The folder inside the repository, as `records/`; "" for its top.
    pub(crate) fn prefix(&self) -> &str {
        &self.prefix
    }

    /// A git command in the repository, which waits for no input and fetches nothing.
    pub(crate) fn git<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Command {
        let mut command = Command::new("git");
        if !self.is_told {
            OF_ANOTHER.iter().for_each(|name| _ = command.env_remove(name));
        }
        // The history is what was committed, not what somebody put in its place.
        command.env("GIT_NO_REPLACE_OBJECTS", "1").env("GIT_NO_LAZY_FETCH", "1").env("GIT_OPTIONAL_LOCKS", "0");
        command.env("GIT_LITERAL_PATHSPECS", "1").env("LC_ALL", "C");
        command.env("GIT_ALLOW_PROTOCOL", "none").env("GIT_TERMINAL_PROMPT", "0").env("GIT_PAGER", "cat");
        PROGRAMS.iter().for_each(|name| _ = command.env_remove(name));
        command.arg("-C").arg(&self.root).args(["--no-pager", "-c", "i18n.logOutputEncoding=UTF-8"]);
        SWITCHED_OFF.iter().for_each(|setting| _ = command.args(["-c", setting]));
        command.args(arguments).stdin(Stdio::null());
        command
    }

    /// Runs a git command to its end.
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

    /// An object by its id, if it is not larger than `most` bytes.
    pub(crate) fn object(&self, id: &str, most: u64) -> io::Result<Object> {
        let mut held = self.batch.lock().unwrap_or_else(PoisonError::into_inner);
        let mut batch = match held.take() {
            Some(batch) => batch,
            None => Batch::begin(self.git(["cat-file", "--batch"]))?,
        };
        let object = batch.object(id, most)?;
        // After a failure the answers would belong to other questions, so the next one begins anew.
        *held = Some(batch);
        Ok(object)
    }

    /// Notes that an earlier text of a file is missing.
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
                "git has no earlier version of {}, as in a partial clone or a damaged one; ask in a full clone, and see what \
                 `git fsck` says",
                text::visible(file)
            )))
        })
    }

    /// The failure of a git command, in the words of git.
    pub(crate) fn did_not_answer(&self, stderr: &[u8]) -> Failure {
        let said = String::from_utf8_lossy(stderr);
        let said = said.lines().next().unwrap_or_default().trim_start_matches("fatal: ");
        let root = shown(&self.root);
        Failure::new(format!(
            "git failed in {root}: {}; `git -C {root} fsck` checks the repository",
            text::visible(said)
        ))
    }

    pub(crate) fn not_there(&self, error: &io::Error) -> Failure {
        Failure::new(match error.kind() {
            ErrorKind::NotFound if self.root.is_dir() => {
                "git is not installed; install git, or ask without it".to_owned()
            }
            ErrorKind::TimedOut => did_not_end(&self.root),
            _ => format!("git cannot be run in {}: {error}; look at the path", shown(&self.root)),
        })
    }
}

/// A path as it is shown.
fn shown(path: &Path) -> String {
    text::path(path)
}

/// The message for a git process that was killed.
pub(crate) fn did_not_end(root: &Path) -> String {
    format!(
        "git did not end within {} seconds in {}; look at the disk or the network folder, and at the files in its .git",
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
        // A link that leads to a pipe is one.
        let waits = |path: &PathBuf| fs::metadata(path).is_ok_and(|about| is_waited_for(about.file_type()));
        if let Some(path) = [git.clone()].into_iter().chain(own).find(waits) {
            return Err(Failure::new(format!(
                "{} is a pipe or a device, and git would wait for it; remove it, and ask who put it there",
                shown(&path)
            )));
        }
    }
    Ok(())
}

fn is_waited_for(what: FileType) -> bool {
    what.is_fifo() || what.is_char_device()
}
