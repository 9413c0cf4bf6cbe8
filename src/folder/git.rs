//! The git program as it is asked: which repository keeps a folder, what a revision names, and its objects by id.
//!
//! One `git cat-file --batch` answers for all files and all trees. The program is asked through its plumbing, whose
//! output no setting of a user changes.
//!
//! Left out on purpose: anything that writes into a repository.

use std::ffi::OsStr;
use std::io::{self, BufRead, BufReader, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::{Mutex, PoisonError};

use crate::problem::Failure;
use crate::text;

/// What a hook or a shell says about *its* repository. Git finds the one of the folder by itself; with these it would
/// take the folder for the top of another one.
pub(super) const OF_ANOTHER: [&str; 6] =
    ["GIT_DIR", "GIT_WORK_TREE", "GIT_IMPLICIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_COMMON_DIR"];

/// The repository that keeps a folder.
#[derive(Debug)]
pub struct Repository {
    root: PathBuf,
    /// The folder inside the repository, as `records/`; "" for its top.
    prefix: String,
    /// Whether only the environment says where the repository is.
    is_told: bool,
    batch: Mutex<Option<Batch>>,
    /// The first file of which it lacks an earlier text.
    lacking: Mutex<Option<String>>,
}

/// What a revision names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Revision {
    /// The commit; none where a bare tree is named, as `git write-tree` makes one.
    pub commit: Option<String>,
    /// The tree of the whole repository.
    pub tree: String,
}

/// An object of a repository.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Object {
    /// The repository lacks it.
    Missing,
    /// It is larger than was asked for.
    TooLarge,
    /// All of it.
    Whole(Vec<u8>),
}

impl Repository {
    /// The repository that keeps the folder `root`.
    ///
    /// # Errors
    /// There is no git program, or no repository.
    pub fn of(root: &Path) -> Result<Repository, Failure> {
        let mut repository = Repository {
            root: root.to_owned(),
            prefix: String::new(),
            is_told: false,
            batch: Mutex::default(),
            lacking: Mutex::default(),
        };
        let found = repository.prefix_of().or_else(|_| {
            repository.is_told = true;
            repository.prefix_of()
        });
        repository.prefix = found?;
        Ok(repository)
    }

    fn prefix_of(&self) -> Result<String, Failure> {
        let asked = self.git(["rev-parse", "--show-prefix"]).output();
        let output = asked.map_err(|error| self.not_there(&error))?;
        if output.status.success() {
            let prefix = String::from_utf8_lossy(&output.stdout);
            return Ok(prefix.strip_suffix('\n').unwrap_or(&prefix).to_owned());
        }
        let said = String::from_utf8_lossy(&output.stderr);
        let root = self.root.display();
        Err(Failure::new(if said.contains("not a git repository") {
            format!("no git repository keeps {root}; make it one with `git init {root}`, or ask about it as it is now")
        } else {
            let said = said.lines().next().unwrap_or_default().trim_start_matches("fatal: ");
            format!(
                "git does not read the repository of {root}: {}; `git -C {root} status` says more",
                text::visible(said)
            )
        }))
    }

    /// What a text names, as typed behind `flag`.
    ///
    /// # Errors
    /// It names nothing.
    pub fn revision(&self, flag: &str, typed: &str) -> Result<Revision, Failure> {
        let unknown = || {
            let shown = if typed.is_empty() { "\"\"".to_owned() } else { text::visible(typed) };
            Failure::new(format!("{flag} {shown} names no commit of this repository; `git log --oneline` lists them"))
        };
        let id = self.id(typed).ok_or_else(unknown)?;
        let tree = self.id(&format!("{id}^{{tree}}")).ok_or_else(unknown)?;
        Ok(Revision { commit: self.id(&format!("{id}^{{commit}}")), tree })
    }

    /// The full id of the one object that a text names.
    pub(super) fn id(&self, named: &str) -> Option<String> {
        let asked = self.git(["rev-parse", "--quiet", "--verify", "--end-of-options", named]).output().ok()?;
        let id = String::from_utf8(asked.stdout).ok()?.trim_end().to_owned();
        let is_one = id.len() >= 40 && id.bytes().all(|byte| byte.is_ascii_hexdigit());
        (asked.status.success() && is_one).then_some(id)
    }

    /// The folder inside the repository, as `records/`; "" for its top.
    pub(super) fn prefix(&self) -> &str {
        &self.prefix
    }

    /// A git command over the repository, which waits for nobody and fetches nothing.
    pub(super) fn git<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Command {
        let mut command = Command::new("git");
        if !self.is_told {
            OF_ANOTHER.iter().for_each(|name| _ = command.env_remove(name));
        }
        // The history is what was committed, not what somebody put in its place.
        command.env("GIT_NO_REPLACE_OBJECTS", "1").env("GIT_NO_LAZY_FETCH", "1").env("GIT_OPTIONAL_LOCKS", "0");
        command.env("GIT_LITERAL_PATHSPECS", "1").env("LC_ALL", "C");
        command.arg("-C").arg(&self.root).args(["-c", "i18n.logOutputEncoding=UTF-8"]).args(arguments);
        command.stdin(Stdio::null());
        command
    }

    /// What a git command prints.
    ///
    /// # Errors
    /// It failed.
    pub(super) fn printed(&self, arguments: &[&str]) -> Result<Vec<u8>, Failure> {
        let output = self.git(arguments).output().map_err(|error| self.not_there(&error))?;
        if output.status.success() { Ok(output.stdout) } else { Err(self.did_not_answer(&output.stderr)) }
    }

    /// An object by its id, if it is not larger than `most` bytes.
    pub(super) fn object(&self, id: &str, most: u64) -> io::Result<Object> {
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

    /// Keeps in mind that an earlier text of a file cannot be had.
    pub(super) fn lacks(&self, file: &str) {
        self.lacking.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert_with(|| file.to_owned());
    }

    /// Says that all texts which were asked for could be had: an answer without one of them would be none.
    ///
    /// # Errors
    /// One could not.
    pub fn is_whole(&self) -> Result<(), Failure> {
        let lacking = self.lacking.lock().unwrap_or_else(PoisonError::into_inner);
        lacking.as_ref().map_or(Ok(()), |file| {
            Err(Failure::new(format!(
                "git lacks an earlier text of {}, as in a partial clone or a damaged one; ask in a full clone, and see what \
                 `git fsck` says",
                text::visible(file)
            )))
        })
    }

    /// That git failed, in its own words.
    pub(super) fn did_not_answer(&self, stderr: &[u8]) -> Failure {
        let said = String::from_utf8_lossy(stderr);
        let said = said.lines().next().unwrap_or_default().trim_start_matches("fatal: ");
        let root = self.root.display();
        Failure::new(format!(
            "git does not answer about {root}: {}; `git -C {root} fsck` says whether the repository is whole",
            text::visible(said)
        ))
    }

    pub(super) fn not_there(&self, error: &io::Error) -> Failure {
        Failure::new(match error.kind() {
            ErrorKind::NotFound if self.root.is_dir() => {
                "the git program is not there; install git, or ask about the records as they are now".to_owned()
            }
            _ => format!("git cannot be run in {}: {error}; look at the path", self.root.display()),
        })
    }
}

/// One `git cat-file --batch` at work.
#[derive(Debug)]
struct Batch {
    child: Child,
    questions: Option<ChildStdin>,
    answers: BufReader<ChildStdout>,
}

impl Batch {
    fn begin(mut command: Command) -> io::Result<Batch> {
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn()?;
        let (questions, answers) = (child.stdin.take(), child.stdout.take());
        let answers = BufReader::new(answers.ok_or(ErrorKind::BrokenPipe)?);
        Ok(Batch { child, questions, answers })
    }

    /// ```text
    /// asked:    0cfbf08886fca9a91cb753ec8734c84fcbe52c9f
    /// answered: 0cfbf08886fca9a91cb753ec8734c84fcbe52c9f blob 118, a line end, 118 bytes, a line end
    /// ```
    fn object(&mut self, id: &str, most: u64) -> io::Result<Object> {
        let questions = self.questions.as_mut().ok_or(ErrorKind::BrokenPipe)?;
        questions.write_all(format!("{id}\n").as_bytes())?;
        let mut head = String::new();
        self.answers.read_line(&mut head)?;
        if head.ends_with(" missing\n") {
            return Ok(Object::Missing);
        }
        let size = head.trim_end().rsplit(' ').next().and_then(|size| size.parse::<u64>().ok());
        let size = size.ok_or(ErrorKind::InvalidData)?;
        let mut answer = self.answers.by_ref().take(size + 1);
        if size > most {
            // What is too large passes by and is not kept.
            io::copy(&mut answer, &mut io::sink())?;
            return Ok(Object::TooLarge);
        }
        let mut bytes = Vec::with_capacity(size as usize + 1);
        answer.read_to_end(&mut bytes)?;
        if bytes.len() as u64 != size + 1 {
            return Err(ErrorKind::UnexpectedEof.into());
        }
        bytes.pop();
        Ok(Object::Whole(bytes))
    }
}

impl Drop for Batch {
    fn drop(&mut self) {
        // Without questions it ends by itself.
        self.questions = None;
        _ = self.child.wait();
    }
}
