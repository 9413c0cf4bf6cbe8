//! House rules that the compiler does not check: the order of the modules, one door for each crate, files of one idea.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The largest number of lines of a file.
const MOST_LINES: usize = 400;

/// Longer files, each with the reason.
const LONGER: [(&str, &str); 1] = [("src/record/table.rs", "one way to ask for each type of value")];

/// Words that only some modules may use: the words, the modules, and the reason.
const DOORS: [(&[&str], &[&str], &str); 14] = [
    (&["toml::", "toml_edit", "toml_writer"], &["record"], "TOML is read in `record`"),
    (&["csv::"], &["entry", "view"], "CSV is read in `entry` and written in `view`"),
    (&["parquet::"], &["view"], "Parquet is written in `view`"),
    (&["comfy_table", "miette"], &["view"], "tables and excerpts are drawn in `view`"),
    (&["maud"], &["view"], "pages are written in `view`"),
    (&["clap::", "clap_complete", "clap_mangen"], &["command", "main"], "the command line is defined in `command`"),
    (
        &["std::fs", "fs::", "File::open", "OpenOptions"],
        &["git", "folder", "terminal"],
        "the disk is touched in `git` and `folder`",
    ),
    (&["std::env", "env::var", "env::args", "Utc::now", "Local::now"], &["main", "terminal"], "`main` knows the world"),
    (&["SystemTime"], &["main", "terminal"], "`main` reads the clock"),
    (&["Instant::now"], &["main", "terminal", "post"], "`main` reads the clock; a delivery of mail has a deadline"),
    (&["println!(", "print!(", "stdout()", "stderr()"], &["main", "terminal"], "`main` prints"),
    (
        &["process::Command", "process::{"],
        &["git", "folder", "post", "terminal"],
        "programs are run in `git`, `folder`, `post` and `terminal`",
    ),
    (&["lettre", "rustls", "base64", "url::", "percent_encoding"], &["post"], "mail is sent in `post`"),
    (&["console::", "indicatif"], &["terminal"], "somebody is asked in `terminal`"),
];

/// One file of the library or of the binary.
struct File {
    /// The path, as in `src/record/table.rs`.
    path: String,
    /// The module in lib.rs, or `main` or `lib`.
    module: String,
    /// The whole text.
    text: String,
}

impl File {
    /// The lines of code outside tests and comments, each with its number.
    fn code(&self) -> Vec<(usize, &str)> {
        let tests = self.text.find("#[cfg(test)]\nmod ").unwrap_or(self.text.len());
        let lines = self.text[..tests].lines().enumerate();
        lines.filter(|(_, line)| !line.trim_start().starts_with("//")).map(|(at, line)| (at + 1, line)).collect()
    }

    /// The faults that `is_wrong` finds in the lines of code, each with its place.
    fn faults(&self, is_wrong: impl Fn(&str) -> Option<String>) -> Vec<String> {
        let fault = |(at, line): (usize, &str)| Some(format!("{}:{at}: {}", self.path, is_wrong(line)?));
        self.code().into_iter().filter_map(fault).collect()
    }
}

fn files() -> Vec<File> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    gather(&root.join("src"), &mut paths);
    paths.sort();
    let file = |path: &PathBuf| {
        let inside = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
        let module = inside.strip_prefix("src/").unwrap().split(['/', '.']).next().unwrap().to_owned();
        File { path: inside, module, text: fs::read_to_string(path).unwrap() }
    };
    paths.iter().map(file).collect()
}

fn gather(folder: &Path, paths: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(&path, paths);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            paths.push(path);
        }
    }
}

fn none(faults: Vec<String>) {
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

/// The modules in the order of lib.rs.
fn order() -> Vec<String> {
    let lib = files().into_iter().find(|file| file.path == "src/lib.rs").unwrap();
    let name = |(_, line): (usize, &str)| {
        let line = line.trim_start_matches("pub ").trim_start_matches("pub(crate) ");
        Some(line.strip_prefix("mod ")?.strip_suffix(';')?.to_owned())
    };
    lib.code().into_iter().filter_map(name).collect()
}

/// The module names after each `prefix` in a line, as in `crate::day`; both of `crate::{day, text}`.
fn named<'a>(line: &'a str, prefix: &'a str) -> impl Iterator<Item = &'a str> {
    let word = |text: &'a str| text.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or_default();
    line.match_indices(prefix).flat_map(move |(at, _)| {
        let behind = &line[at + prefix.len()..];
        match behind.strip_prefix('{') {
            Some(several) => several.split(',').map(|one| word(one.trim())).collect(),
            None => vec![word(behind)],
        }
    })
}

#[test]
fn lib_rs_lists_the_modules_and_every_one_has_a_file() {
    let order = order();
    assert!(order.len() >= 10, "{order:?}");
    let files = files();
    let has_file = |name: &String| files.iter().any(|file| file.path == format!("src/{name}.rs"));
    none(order.iter().filter(|name| !has_file(name)).map(|name| format!("src/{name}.rs is missing")).collect());
    let is_listed =
        |file: &File| ["lib", "main", "terminal"].contains(&file.module.as_str()) || order.contains(&file.module);
    none(files.iter().filter(|file| !is_listed(file)).map(|file| format!("{} is in no module", file.path)).collect());
}

#[test]
fn a_module_imports_only_what_stands_above_it() {
    let order = order();
    let rank = |name: &str| order.iter().position(|module| module == name);
    let mut faults = Vec::new();
    for file in files() {
        let Some(own) = rank(&file.module) else { continue };
        let is_top = file.path == format!("src/{}.rs", file.module);
        faults.extend(file.faults(|line| {
            let above = if is_top { "super::" } else { "super::super::" };
            let later = |name: &&str| rank(name).is_some_and(|rank| rank > own);
            let name = named(line, "crate::").chain(named(line, above)).find(later)?;
            Some(format!("`{}` imports `{name}`, which stands below it in lib.rs", file.module))
        }));
    }
    none(faults);
}

#[test]
fn a_report_reads_no_records() {
    let mut faults = Vec::new();
    for file in files().iter().filter(|file| file.module == "report") {
        faults.extend(file.faults(|line| {
            let name = named(line, "crate::").find(|name| ["program", "folder"].contains(name))?;
            Some(format!("`report` imports `{name}`: it is given a chart"))
        }));
    }
    none(faults);
}

/// Expands the paths of a `use`: `a::{b, c::d}` gives `a::b` and `a::c::d`.
fn flat(tree: &str, prefix: &str, paths: &mut Vec<String>) {
    let (mut depth, mut begun) = (0, 0);
    let mut parts = Vec::new();
    for (at, c) in tree.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(&tree[begun..at]);
                begun = at + 1;
            }
            _ => {}
        }
    }
    parts.push(&tree[begun..]);
    for part in parts.into_iter().map(str::trim).filter(|part| !part.is_empty()) {
        match part.split_once('{') {
            Some((above, inside)) => flat(inside.strip_suffix('}').unwrap(), &format!("{prefix}{above}"), paths),
            None => paths.push(format!("{prefix}{part}")),
        }
    }
}

impl File {
    /// The module path, as in `["record", "table"]`.
    fn parts(&self) -> Vec<&str> {
        self.path.strip_prefix("src/").unwrap().strip_suffix(".rs").unwrap().split('/').collect()
    }

    /// The imported paths, from the top of the crate.
    fn imports(&self) -> Vec<Vec<String>> {
        let code: Vec<&str> = self.code().into_iter().map(|(_, line)| line.trim()).collect();
        let mut paths = Vec::new();
        for (at, line) in code.iter().enumerate() {
            let line =
                line.trim_start_matches("pub(crate) ").trim_start_matches("pub(super) ").trim_start_matches("pub ");
            if let Some(first) = line.strip_prefix("use ") {
                let whole = format!("{first} {}", code[at + 1..].join(" "));
                flat(whole.split(';').next().unwrap(), "", &mut paths);
            }
        }
        paths.iter().filter_map(|path| self.absolute(path)).collect()
    }

    fn absolute(&self, path: &str) -> Option<Vec<String>> {
        let mut own = self.parts();
        let mut rest: Vec<&str> = path.split("::").collect();
        match rest[0] {
            "crate" => own.clear(),
            "super" => {}
            _ => return None,
        }
        while rest.first() == Some(&"super") {
            rest.remove(0);
            own.pop();
        }
        rest.retain(|part| *part != "crate");
        Some(own.into_iter().chain(rest).map(str::to_owned).collect())
    }
}

/// The files imported by their own path, except those above and below the file in the tree.
fn imported<'a>(file: &File, files: &'a [File]) -> Vec<&'a File> {
    let own = file.parts();
    let is_kin = |other: &[&str]| own.starts_with(other) || other.starts_with(&own);
    let target = |path: Vec<String>| {
        let path: Vec<&str> = path.iter().map(String::as_str).collect();
        let holds = |other: &&File| path.starts_with(&other.parts());
        files.iter().filter(holds).max_by_key(|other| other.parts().len()).filter(|other| !is_kin(&other.parts()))
    };
    file.imports().into_iter().filter_map(target).collect()
}

#[test]
fn files_import_each_other_in_no_circle() {
    let files = files();
    let edges: Vec<(&str, Vec<&str>)> = files
        .iter()
        .map(|file| (file.path.as_str(), imported(file, &files).iter().map(|other| other.path.as_str()).collect()))
        .collect();
    // A file that imports no open file, or that no open file imports, is in no circle with the others.
    let mut open: BTreeSet<&str> = edges.iter().map(|(path, _)| *path).collect();
    loop {
        let out: BTreeSet<&str> = edges
            .iter()
            .filter(|(path, to)| open.contains(path) && to.iter().any(|other| open.contains(other)))
            .map(|(path, _)| *path)
            .collect();
        let into: BTreeSet<&str> =
            edges.iter().filter(|(path, _)| out.contains(path)).flat_map(|(_, to)| to.iter().copied()).collect();
        let rest: BTreeSet<&str> = out.intersection(&into).copied().collect();
        if rest == open {
            break;
        }
        open = rest;
    }
    none(open.iter().map(|path| format!("{path} is in a circle of imports")).collect());
}

#[test]
fn the_paths_of_a_use_are_read() {
    let mut paths = Vec::new();
    flat("crate::{day::{AsOf, Period as Days}, text}", "", &mut paths);
    assert_eq!(paths, ["crate::day::AsOf", "crate::day::Period as Days", "crate::text"]);
}

#[test]
fn each_crate_and_the_world_have_one_door() {
    let mut faults = Vec::new();
    for file in files() {
        for (words, modules, reason) in DOORS {
            if modules.contains(&file.module.as_str()) {
                continue;
            }
            let uses = |line: &str, word: &str| {
                let is_whole =
                    |(at, _): (usize, &str)| !line[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_');
                line.match_indices(word).any(is_whole)
            };
            faults.extend(file.faults(|line| {
                let word = words.iter().find(|word| uses(line, word))?;
                Some(format!("`{word}`: {reason}"))
            }));
        }
    }
    none(faults);
}

#[test]
fn a_file_opens_with_its_one_idea() {
    let opens = |file: &File| file.text.starts_with("//! ");
    none(files().iter().filter(|file| !opens(file)).map(|file| format!("{} opens without //!", file.path)).collect());
}

#[test]
fn a_file_holds_one_idea() {
    let is_listed = |path: &str| LONGER.iter().any(|(longer, _)| *longer == path);
    let lines = |file: &File| file.text.lines().count();
    let is_too_long = |file: &&File| lines(file) > MOST_LINES && !is_listed(&file.path);
    none(files().iter().filter(is_too_long).map(|file| format!("{}: {} lines", file.path, lines(file))).collect());
}

#[test]
fn nothing_in_the_library_panics_on_what_it_is_given() {
    let mut faults = Vec::new();
    for file in files() {
        faults.extend(file.faults(|line| {
            let words = [".unwrap()", ".expect(", "panic!(", "unreachable!(", "todo!("];
            words.iter().find(|word| line.contains(*word)).map(|word| format!("{word} outside of a test"))
        }));
    }
    none(faults);
}

/// The text of a line of documentation.
fn comment(line: &str) -> Option<&str> {
    let line = line.trim();
    line.strip_prefix("///").or_else(|| line.strip_prefix("//!")).map(str::trim)
}

/// The words that no doc comment begins with: a clause follows them in place of a noun.
const CLAUSES: [&str; 14] = [
    "What", "Who", "Whom", "Whose", "Whether", "Which", "When", "Where", "How", "Of", "The same", "Nothing", "Nobody",
    "Somebody",
];

fn begins_with_a_clause(comment: &str) -> bool {
    let is_whole = |rest: &str| !rest.starts_with(|c: char| c.is_alphanumeric() || c == '-');
    CLAUSES.iter().any(|clause| comment.strip_prefix(clause).is_some_and(is_whole))
}

#[test]
fn a_doc_comment_begins_with_a_noun_or_a_verb() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    ["src", "tests", "examples"].iter().for_each(|folder| gather(&root.join(folder), &mut paths));
    paths.sort();
    let mut faults = Vec::new();
    for path in paths {
        let text = fs::read_to_string(&path).unwrap();
        let mut above = None;
        for (at, line) in text.lines().enumerate() {
            let own = comment(line);
            let begins = above.is_none_or(str::is_empty);
            if begins && own.is_some_and(begins_with_a_clause) {
                let file = path.strip_prefix(root).unwrap().display();
                faults.push(format!("{file}:{}: {}", at + 1, line.trim()));
            }
            above = own;
        }
    }
    none(faults);
}

#[test]
fn a_clause_at_the_beginning_of_a_comment_is_found() {
    for (text, is_clause) in [
        ("What is due.", true),
        ("Nothing", true),
        ("The same, read.", true),
        ("Whole screens.", false),
        ("Often.", false),
    ] {
        assert_eq!(begins_with_a_clause(text), is_clause, "{text}");
    }
}

fn document(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(name)).unwrap()
}

#[test]
fn developers_md_lists_the_modules_in_their_order() {
    let text = document("DEVELOPERS.md");
    let section = text.split("## Modules").nth(1).unwrap().split("\n## ").next().unwrap();
    let picture = section.split("```").nth(1).unwrap();
    let names = picture.lines().flat_map(|line| line.split("   ").next().unwrap().split_whitespace());
    assert_eq!(names.collect::<Vec<_>>(), order());
}

#[test]
fn the_files_that_the_documents_name_are_there() {
    let mut missing = Vec::new();
    for name in ["README.md", "DEVELOPERS.md", "src/DECISIONS.md", "tests/bench/FIGURES.md"] {
        let text = document(name);
        let roots = ["src/", "tests/", "examples/", "records-template/", "completions/", ".ci/"];
        let paths = text.split('`').skip(1).step_by(2).filter(|path| roots.iter().any(|root| path.starts_with(root)));
        let is_there = |path: &&str| Path::new(env!("CARGO_MANIFEST_DIR")).join(path).exists();
        let is_a_path = |path: &&str| !path.contains([' ', '\n']) && !path.contains("NAME");
        missing.extend(paths.filter(is_a_path).filter(|path| !is_there(path)).map(|path| format!("{name}: {path}")));
    }
    none(missing);
}

#[test]
fn each_signal_is_tested() {
    let list = document("src/event/signal.rs");
    let names: Vec<&str> = list
        .lines()
        .filter(|line| line.contains("::"))
        .filter_map(|line| line.split(" = \"").nth(1)?.split('"').next())
        .collect();
    assert!(names.contains(&"pus") && names.len() > 20, "{names:?}");
    let tests = document("tests/signals.rs") + &document("tests/signals_acted.rs");
    let is_asserted = |name: &str| tests.contains(&format!("\"{name}"));
    none(
        names
            .into_iter()
            .filter(|name| !is_asserted(name))
            .map(|name| format!("{name} is neither in tests/signals.rs nor in tests/signals_acted.rs"))
            .collect(),
    );
}

/// Type names that are clear from their module.
const PLAIN: [&str; 1] = ["Args"];

#[test]
fn a_type_name_is_used_once() {
    let mut known: BTreeMap<String, String> = BTreeMap::new();
    let mut faults = Vec::new();
    for file in files() {
        for (at, line) in file.code() {
            let mut words = line.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|word| !word.is_empty());
            let is_visibility = |word: &&str| ["pub", "crate", "super", "in", "command"].contains(word);
            let Some(kind) = words.by_ref().find(|word| !is_visibility(word)) else { continue };
            let Some(name) = words.next().filter(|_| ["struct", "enum", "trait", "type"].contains(&kind)) else {
                continue;
            };
            let is_name = name.starts_with(|c: char| c.is_ascii_uppercase()) && !PLAIN.contains(&name);
            let place = format!("{}:{at}", file.path);
            if let Some(other) = known.insert(name.to_owned(), place.clone()).filter(|_| is_name) {
                faults.push(format!("`{name}`: {other} and {place}"));
            }
        }
    }
    none(faults);
}
