//! `exitsite patient add`

mod interview;

use chrono::NaiveDate;
use clap::{Arg, ArgAction, Command};

use super::{doubts, is_free, verdict};
use crate::ask::effect;
use crate::command::consent::{self, ConsentAnswer, LastQuestion};
use crate::command::correction::lines;
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::gap::{self, FlagGaps};
use crate::command::question::{Kept, Questions};
use crate::command::{Context, Outcome};
use crate::entry::{self, Clock, is_none_known, new_patient, row, typed_for};
use crate::event::is_patient_code;
use crate::patient::{FILE, Patient};
use crate::place::RecordText;
use crate::policy::CarePlace;
use crate::problem::{Failure, Rule};
use crate::program::Program;
use crate::record::Value;
use crate::text::visible;
use crate::view::change as view;
use crate::view::words::question::course;
use crate::word::Word;

/// The age of an implant, in days, beyond which the start of the records and the patient's place must be given, as in
/// the rule `records-begin-early`.
const EARLY_DAYS: i64 = 30;

/// Adds a patient.
pub(super) const FORM: CommandForm = CommandForm {
    name: "add",
    about: "Add a patient",
    more: "",
    whose: ("CODE", "The patient's code, never a name: 2 to 16 characters of A-Z, 0-9 and hyphen, such as P-014"),
    fields: Patient::fields,
    table: "",
    keys: &[
        KeyFlag::new("implanted", Need::Needed, course::IMPLANTED),
        KeyFlag::of("exit", "where", Need::Needed, course::WHERE),
        KeyFlag::of("care", "place", Need::May, course::PLACE),
        KeyFlag::new("records_from", Need::May, course::RECORDS_FROM),
        KeyFlag::new("infections_before", Need::May, course::INFECTIONS_BEFORE),
        KeyFlag::new("last_change_before", Need::May, course::LAST_CHANGE_BEFORE),
        KeyFlag::new("intolerances", Need::May, course::INTOLERANCES),
        KeyFlag::of("care", "reports", Need::May, course::REPORTS),
        KeyFlag::of("care", "time_zone", Need::May, course::OWN_TIME_ZONE),
        KeyFlag::of("care", "by", Need::Writer, course::WRITER),
    ],
    own,
    run,
};

fn own(command: Command) -> Command {
    let flag = |name: &'static str, value, help| Arg::new(name).long(name).value_name(value).help(help);
    let place =
        "Where the patient lives now: inpatient, home, elsewhere; default if implanted in the last 30 days: inpatient";
    let records =
        "First day of this program's records; default if implanted in the last 30 days: the day of the implant";
    let since = flag("place-since", "DAY", "First day at that place; default: the first day of the records");
    let before =
        "With --place-since: the patient's place from the first day of the records until then; default: inpatient";
    let caregiver = "Caregiver code and relation to the patient: p014-son:son; may be given several times";
    command
        .mut_arg("place", |arg| arg.help(place))
        .mut_arg("records-from", |arg| arg.help(records))
        .arg(since.requires("place"))
        .arg(flag("place-before", "PLACE", before).requires("place-since"))
        .arg(flag("caregiver", "CODE[:RELATION]", caregiver).action(ArgAction::Append))
}

fn run(typed: &TypedForm, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let has_records = is_new(&program, &typed.code)?;
    let writer = context.surroundings.writer.as_deref();
    let settle = |answers: &interview::FlagTexts| settle(typed, context, &program, answers, has_records);
    let settled = match context.surroundings.terminal.filter(|_| !typed.writing.yes) {
        Some(terminal) => {
            let calendar = program.calendar();
            let clock = Clock { now: context.surroundings.now, calendar: &calendar };
            let kept = Kept::default();
            let questions = Questions { terminal, look: context.look, kept: Some(&kept) };
            interview::ask(typed, &program, clock, questions, writer, settle)?
        }
        None => settle(&interview::FlagTexts::of(typed, writer))?,
    };
    Ok(settled.unwrap_or_else(|| Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() }))
}

/// Assembles the file, asks about doubts, and writes it; `None` after a No.
fn settle(
    typed: &TypedForm,
    context: &Context,
    program: &Program,
    answers: &interview::FlagTexts,
    has_records: bool,
) -> Result<Option<Outcome>, Failure> {
    let code = &typed.code;
    let text = text(code, context, program, answers)?;
    let folder = format!("patients/{code}");
    let file = format!("{folder}/{FILE}");
    let verdict = verdict(program, code, None, &text, context);
    // Existing records are compared with the course for the first time.
    consent::to_be_put_right(
        &verdict.refused.iter().filter(|problem| problem.place.file == file).map(consent::sentence).collect::<Vec<_>>(),
    )?;
    let title = format!("{code}: a new patient");
    let none = answers.get("--intolerances").is_some_and(is_none_known);
    let source = std::sync::Arc::new(RecordText { file: file.clone(), text: text.clone() });
    let patient = Patient::read(&source, code, &program.calendar(), &mut Vec::new());
    let today = program.calendar().today(context.surroundings.now);
    let words = patient.map(|patient| view::new_patient(&patient, none, today, context.look)).unwrap_or_default();
    let whom = format!("{title}\n{words}");
    let like = program.patients.codes.iter().filter(|known| is_alike(code, known));
    let like = like.map(|known| format!("{known} is on file and looks like {code}: check the code"));
    let there = has_records.then(|| format!("{folder} already has records, but no {FILE}"));
    let doubts: Vec<String> = like.chain(there).chain(doubts(&verdict.asked, &file)).collect();
    if typed.writing.dry_run {
        let stdout = format!("{whom}{file} would hold:\n\n{text}");
        return Ok(Some(Outcome { stdout, stderr: lines(&doubts), ..Outcome::default() }));
    }
    context.say(&whom);
    if consent::ask(context, typed.writing.yes, &doubts, LastQuestion::Write)? == ConsentAnswer::No {
        return Ok(None);
    }
    program.folder.write_file(&folder, FILE, &text)?;
    let schedule = view::schedule(&[], &effect::standing(program, code, context.surroundings.now), context.look);
    let back = format!("If it is wrong: correct {file}; nothing else was written.\n");
    let back = crate::view::sentences(&back, context.look);
    let outcome = context.answer(&whom, format!("Wrote {file}\n{schedule}{back}"), &doubts);
    Ok(Some(context.committed(program, typed.writing.commit(), &[file], &title, outcome)))
}

/// Returns true if a code that no patient has yet already has records.
fn is_new(program: &Program, code: &str) -> Result<bool, Failure> {
    if !is_patient_code(code) {
        return Err(Failure::new(format!(
            "\"{}\" is not a patient's code: 2 to 16 characters of A-Z, 0-9 and hyphen, beginning with a letter, such as P-014; never a name",
            visible(code)
        )));
    }
    if program.patients.codes.iter().all(|known| known != code) {
        return Ok(false);
    }
    let mut problems = Vec::new();
    let there = program.folder.read(&format!("patients/{code}/{FILE}"), &mut problems);
    if there.is_none() && problems.iter().any(|problem| problem.rule == Rule::MissingFile) {
        return Ok(true);
    }
    Err(Failure::unwritten(format!("{code} is already on file; `exitsite show {code}` shows the record")))
}

/// Reads the flags, including those asked for, and assembles the file.
fn text(code: &str, context: &Context, program: &Program, asked: &interview::FlagTexts) -> Result<String, Failure> {
    let calendar = program.calendar();
    let clock = Clock { now: context.surroundings.now, calendar: &calendar };
    let today = calendar.today(context.surroundings.now);
    let given = |flag: &str| asked.get(flag);
    // Answers at a terminal are already valid; a script gets every fault at once.
    let mut gaps = FlagGaps::of(context, true);
    let read = |table: &'static str, key: &'static str| move |text: &str| typed_for(table, key, text, clock);
    let past = |text: &str| interview::past(text, clock, today);
    let implanted =
        gaps.needed(("--implanted", "the day of the implant", course::IMPLANTED), given("--implanted"), past);
    let at = gaps.needed(
        ("--where", "where the driveline leaves the skin, such as right-upper", course::WHERE),
        given("--where"),
        read("exit", "where"),
    );
    let is_old = implanted.is_some_and(|day| (today - day).num_days() > EARLY_DAYS);
    let about = "the first day of this program's records; the day of the implant, if it has recorded since then";
    let records_from = match (given("--records-from"), is_old) {
        (None, true) => gaps.needed(("--records-from", about, course::RECORDS_FROM), None, past),
        (given, _) => gaps.optional("--records-from", course::RECORDS_FROM, given, past),
    };
    let begins_later = records_from > implanted && implanted.is_some();
    let about = "driveline infections before the records begin: a count, or unknown";
    let infections = match begins_later {
        true => gaps.needed(
            ("--infections-before", about, course::INFECTIONS_BEFORE),
            given("--infections-before"),
            read("", "infections_before"),
        ),
        false => gaps.optional(
            "--infections-before",
            course::INFECTIONS_BEFORE,
            given("--infections-before"),
            read("", "infections_before"),
        ),
    };
    let last =
        gaps.optional("--last-change-before", course::LAST_CHANGE_BEFORE, given("--last-change-before"), |text| {
            clock.day(text)
        });
    let intolerances =
        gaps.optional("--intolerances", course::INTOLERANCES, given("--intolerances"), read("", "intolerances"));
    let place = match (begins_later || is_old, given("--place")) {
        (true, given) => gaps.needed(
            ("--place", "where the patient lives now: inpatient, home or elsewhere", course::PLACE),
            given,
            read("care", "place"),
        ),
        (false, given) => gaps.optional("--place", course::PLACE, given.or(Some("inpatient")), read("care", "place")),
    };
    let since = gaps.optional("--place-since", course::PLACE_SINCE, given("--place-since"), past);
    let before = gaps.optional("--place-before", course::PLACE_BEFORE, given("--place-before"), read("care", "place"));
    let begin = records_from.or(implanted);
    if let (Some(since), Some(begin)) = (since, begin)
        && since < begin
    {
        gaps.add(format!("--place-since: {since} is before the records begin, {begin}; leave it out"));
    }
    let since = since.filter(|since| begin.is_some_and(|begin| *since > begin));
    let reports = gaps.optional("--reports", course::REPORTS, given("--reports"), read("care", "reports"));
    let time_zone =
        gaps.optional("--time-zone", course::OWN_TIME_ZONE, given("--time-zone"), read("care", "time_zone"));
    let mut caregivers = Vec::new();
    for typed in asked.caregivers() {
        caregivers
            .extend(gaps.optional("--caregiver", course::CAREGIVERS, Some(typed), |typed| caregiver(program, typed)));
    }
    let by = gaps.needed(("--by", "your code", course::WRITER), given("--by"), |code| {
        entry::is_writer(program, None, code.trim(), today)?;
        Ok(Value::Text(code.trim().to_owned()))
    });
    gaps.end()?;
    let date = |day: Option<NaiveDate>| day.map(Value::Date);
    let now_there = row([
        ("from", date(since.or(begin))),
        ("place", place),
        ("reports", reports),
        ("time_zone", time_zone),
        ("by", by.clone()),
    ]);
    let before = since.map(|_| {
        let place = before.unwrap_or_else(|| Value::Text(CarePlace::Inpatient.word().to_owned()));
        row([("from", date(begin)), ("place", Some(place)), ("by", by.clone())])
    });
    Ok(new_patient(
        row([
            ("code", Some(Value::Text(code.to_owned()))),
            ("implanted", date(implanted)),
            ("records_from", date(records_from)),
            ("infections_before", infections),
            ("last_change_before", date(last)),
            ("intolerances", intolerances),
        ]),
        row([
            ("id", Some(Value::Text("a".to_owned()))),
            ("where", at),
            ("from", date(implanted)),
            ("why", Some(Value::Text("implant".to_owned()))),
            ("by", by.clone()),
        ]),
        before.into_iter().chain([now_there]).collect(),
        caregivers
            .into_iter()
            .map(|(code, relation)| {
                row([("code", Some(Value::Text(code))), ("relation", relation.map(Value::Text)), ("by", by.clone())])
            })
            .collect(),
    ))
}

/// A caregiver as typed: a code, then a colon and the relation.
fn caregiver(program: &Program, typed: &str) -> Result<(String, Option<String>), String> {
    let (code, relation) = match typed.split_once(':') {
        Some((code, relation)) => (code.trim(), Some(gap::words(relation)?)),
        None => (typed.trim(), None),
    };
    is_free(program, code)?;
    Ok((code.to_owned(), relation))
}

/// Returns true if two codes are easily confused: letters that look like digits, hyphens and zeros left out, or two
/// adjacent characters swapped.
fn is_alike(one: &str, other: &str) -> bool {
    one != other && (bare(one) == bare(other) || is_swapped(one.as_bytes(), other.as_bytes()))
}

/// A code reduced to what the eye notices.
fn bare(code: &str) -> String {
    let seen = code.chars().filter(|c| *c != '-').map(|c| match c {
        'O' => '0',
        'I' => '1',
        c => c,
    });
    let mut bare = String::new();
    for c in seen {
        // Leading zeros.
        if c == '0' && !bare.ends_with(|last: char| last.is_ascii_digit()) {
            continue;
        }
        bare.push(c);
    }
    bare
}

fn is_swapped(one: &[u8], other: &[u8]) -> bool {
    let differing: Vec<usize> =
        one.iter().zip(other).enumerate().filter(|(_, (a, b))| a != b).map(|(n, _)| n).collect();
    match differing.as_slice() {
        [a, b] if one.len() == other.len() && a + 1 == *b => one[*a] == other[*b] && one[*b] == other[*a],
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::is_alike;

    #[test]
    fn codes_that_are_easily_taken_for_each_other() {
        for (one, other, alike) in [
            ("P-014", "P-O14", true),
            ("P-014", "P-041", true),
            ("P-014", "P014", true),
            ("P-014", "P-14", true),
            ("P-014", "P-I4", true),
            ("P-11", "P-1I", true),
            ("P-014", "P-015", false),
            ("P-014", "P-014", false),
            ("P-10", "P-100", false),
            ("P-014", "Q-014", false),
        ] {
            assert_eq!(is_alike(one, other), alike, "{one} {other}");
        }
    }
}
