//! Sheets and maps from other sources: date formats, two events in one row, oversized sheets, texts with control
//! characters.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use chrono::NaiveDate;
use desk::{Desk, Person};
use exitsite::entry::import::{Cells, Forms, Map, TimeForm};
use exitsite::place::RecordText;
use exitsite::record::Value;
use proptest::prelude::*;

const SHEET: &str = "Day;Time;Who\n11/3/2026;6:40 PM;p001-son\n";

/// A desk with the teaching signal turned off, which these tests are not about.
fn quiet() -> Desk {
    let desk = Desk::new();
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}[signals]\nhome-untaught = {{ off = 'not of these tests' }}\n"));
    desk
}

/// A map with lines before its columns.
fn map(lines: &str) -> String {
    format!(
        "{lines}\n[constants]\npatient = 'P-001'\nkind = 'change'\n[columns]\n'Day' = 'date'\n'Time' = 'time'\n'Who' = 'by'\n"
    )
}

fn desk_with(sheet: &str, map: &str) -> Desk {
    let desk = quiet();
    desk.put("patients/.sheet.csv", sheet);
    desk.put("patients/.map.toml", map);
    desk
}

const IMPORT: [&str; 6] = ["import", "patients/.sheet.csv", "--map", "patients/.map.toml", "--by-entered", "co-1"];

fn read_map(text: &str) -> (Option<Map>, Vec<String>) {
    let mut problems = Vec::new();
    let map = Map::read(&RecordText { file: "map.toml".to_owned(), text: text.to_owned() }, &mut problems);
    (map, problems.into_iter().map(|problem| format!("{}; {}", problem.message, problem.help)).collect())
}

#[test]
fn forms_in_words_are_read() {
    let forms = "date_form = 'month/day/year'\ntime_form = 'hour:minute am/pm'";
    let desk = desk_with(SHEET, &map(forms));
    desk.done(&IMPORT);
    assert!(desk.get("patients/P-001/2026/2026-11-03T1840-change.toml").contains("at = 2026-11-03T18:40:00-06:00"));
}

#[test]
fn patterns_of_other_programs_get_the_form_in_words_with_examples() {
    let check = |key: &str, pattern: &str, meant: &str| {
        let desk = desk_with(SHEET, &map(&format!("{key} = '{pattern}'")));
        let said = desk.refused(&IMPORT);
        for part in [".map.toml:1: ", &format!("Did you mean \"{meant}\"?"), "in words: "] {
            assert!(said.contains(part), "{pattern}: {part} is not in {said}");
        }
        let example = if key == "date_form" { "month/day/year (11/23/2026)" } else { "hour:minute am/pm (6:40 pm)" };
        assert!(said.contains(example), "{said}");
    };
    for pattern in ["mm/dd/yy", "mm/dd/yyyy", "MM/DD/YYYY", "M/D/YYYY", "%m/%d/%Y", "m/d/y"] {
        check("date_form", pattern, "month/day/year");
    }
    check("date_form", "YYYY-MM-DD", "year-month-day");
    check("date_form", "%d.%m.%y", "day.month.year");
    for pattern in ["h:mm AM", "h:mm a", "hh:mm am/pm", "h:mm AM/PM", "%I:%M %p"] {
        check("time_form", pattern, "hour:minute am/pm");
    }
    check("time_form", "HH:mm", "hour:minute");
    for (key, pattern) in [("date_form", "month/day"), ("time_form", "hour"), ("date_form", ""), ("time_form", "%")] {
        let said = desk_with(SHEET, &map(&format!("{key} = '{pattern}'"))).refused(&IMPORT);
        assert!(said.contains("in words: ") && !said.contains("did you mean"), "{said}");
    }
}

#[test]
fn a_minute_of_one_digit_is_refused_with_and_without_a_form() {
    let forms = "date_form = 'month/day/year'\ntime_form = 'hour:minute am/pm'";
    let said = desk_with(&SHEET.replace("6:40 PM", "7:5 pm"), &map(forms)).refused(&IMPORT);
    assert!(
        said.contains("line 2: Time: \"7:5 pm\" is not a time in the form hour:minute am/pm, such as 6:40 pm"),
        "{said}"
    );
    for time in ["7:5 pm", "7:5", "07:05:1", "7:", ":30", "19:005"] {
        let desk = quiet();
        desk.put(
            "patients/.sheet.csv",
            &format!("patient,date,time,kind,by\nP-001,2026-11-03,{time},change,p001-son\n"),
        );
        let said = desk.refused(&["import", "patients/.sheet.csv", "--by-entered", "co-1"]);
        assert!(said.contains("line 2: time: "), "{time}: {said}");
        let said = desk.refused(&[
            "record",
            "change",
            "P-001",
            "--by",
            "rn-07",
            "--at",
            &format!("2026-11-03T{time}"),
            "--yes",
        ]);
        assert!(said.contains("--at"), "{time}: {said}");
    }
}

#[test]
fn a_shower_and_a_change_in_one_row_are_shown_as_two_rows() {
    let refused = |row: &str| {
        let desk = quiet();
        let header = "patient,on,kind,by,dressing_before,found.dressing,note";
        desk.put("patients/.sheet.csv", &format!("{header}\n{row}\n"));
        desk.refused(&["import", "patients/.sheet.csv", "--by-entered", "co-1"])
    };
    let rows = "`P-001,2026-11-03,shower,p001-son,intact,,` and `P-001,2026-11-03,change,p001-son,,wet,`";
    for kind in ["shower + change", "Shower and change", "shower/change", "shower; change"] {
        let said = refused(&format!("P-001,2026-11-03,{kind},p001-son,intact,wet,"));
        let advice = "ne row is one record: write a row for the shower and one for the change, each with its own time";
        assert!(said.contains(&format!("{advice}: {rows}")), "{said}");
    }
    let said = refused("P-001,2026-11-03,shower,p001-son,intact,wet,");
    assert!(
        said.contains("A shower record has no found.dressing, a change record has; one row is one record"),
        "{said}"
    );
    assert!(said.contains(rows), "{said}");
    // Nothing private is repeated.
    let said = refused("P-001,2026-11-03,shower + change,p001-son,intact,wet,ring 312-555-0142");
    assert!(said.contains("ne row is one record") && !said.contains("0142"), "{said}");
}

#[test]
fn a_sheet_too_large_is_refused_with_the_number_before_it_is_read() {
    let rows = |rows: usize, row: &str| {
        let text = ["patient,on,kind,by,note\n", &row.repeat(rows)].concat();
        Cells::read("log.csv", text.as_bytes())
    };
    let row = "P-001,2026-11-03,change,rn-07,\"two\nlines\"\n";
    assert_eq!(rows(50_000, row).unwrap().rows.len(), 50_000);
    let said = rows(50_001, row).unwrap_err().0;
    assert!(said.contains("the sheet has 50001 rows, and at most 50000 are imported at once"), "{said}");
    // Blank rows at the end of a spreadsheet do not count.
    let empty = [row, &",,,,\n".repeat(100_000)].concat();
    assert_eq!(rows(1, &empty).unwrap().rows.len(), 1);
    let wide = |columns: usize| {
        let names: Vec<String> = (0..columns).map(|n| format!("c{n}")).collect();
        let text = format!("{}\n1\n", names.join(","));
        Cells::read("log.csv", text.as_bytes())
    };
    assert_eq!(wide(200).unwrap().header.len(), 200);
    let said = wide(200_000).unwrap_err().0;
    assert!(said.contains("line 1 has 200000 columns, and a sheet has at most 200"), "{said}");
    let long = ["patient,on\nP-001,2026-11-03", &",x".repeat(300), "\n"].concat();
    let said = Cells::read("log.csv", long.as_bytes()).unwrap_err().0;
    assert!(said.contains("line 2 has 302 columns"), "{said}");
    // Blank cells after the last filled one do not count, and take no memory.
    // Blank cells under a short header, and more of them than any sheet has.
    for (header, cells) in [("patient,on".to_owned(), 2_000_000), ("patient,on".to_owned() + &",".repeat(20_000), 2)] {
        let long = format!("{header}\nP-001,2026-11-03{}\n", ",".repeat(cells));
        let said = Cells::read("log.csv", long.as_bytes()).unwrap_err().0;
        assert!(said.contains("columns, and a sheet has at most 200"), "{said}");
    }
    let trailing = ["patient,on", &",".repeat(16_000), "\nP-001,2026-11-03", &",".repeat(16_000), "\n"].concat();
    let cells = Cells::read("log.csv", trailing.as_bytes()).unwrap();
    assert_eq!((cells.header.len(), cells.rows[0].cells.len()), (2, 2));
}

#[test]
fn a_word_for_an_empty_cell_in_a_row_that_ends_before_it() {
    let map = map("").replace("[columns]", "[words.'Note']\n'' = 'nothing seen'\n[columns]\n'Note' = 'note'");
    let desk = desk_with("Day;Time;Who;Note\n2026-11-03;18:40;p001-son\n", &map);
    desk.done(&IMPORT);
    assert!(desk.get("patients/P-001/2026/2026-11-03T1840-change.toml").contains("note = \"nothing seen\""));
}

#[test]
fn a_map_nested_too_deep_is_not_told_to_leave_the_records() {
    let said = desk_with(SHEET, &format!("ignore = {}{}", "[".repeat(80), "]".repeat(80))).refused(&IMPORT);
    assert!(said.contains("levels deep") && said.contains("A map is at most three levels deep"), "{said}");
    assert!(!said.contains("move the file"), "{said}");
}

/// Characters that reorder or break displayed text.
const STEERING: [char; 5] = ['\u{202e}', '\u{2066}', '\u{2028}', '\u{200f}', '\u{85}'];

#[test]
fn no_command_writes_a_mark_that_steers_a_screen_raw() {
    let desk = quiet();
    let text = format!("wet{}end", String::from_iter(STEERING));
    desk.put("patients/.sheet.csv", &format!("patient,on,kind,by,note\nP-001,2026-11-03,change,p001-son,{text}\n"));
    desk.done(&["import", "patients/.sheet.csv", "--by-entered", "co-1", "--yes"]);
    desk.done(&[
        "record",
        "change",
        "P-001",
        "--by",
        "rn-07",
        "--source",
        "seen",
        "--at",
        "2026-11-05T10:00",
        "--note",
        &text,
        "--yes",
    ]);
    let file = "patients/P-001/2026/2026-11-05T1000-change.toml";
    desk.done(&["amend", file, "--set", &format!("note=dry{text}"), "--by", "co-1", "--why", &text, "--yes"]);
    desk.done(&["void", file, "--by", "co-1", "--why", &text, "--yes"]);
    for (file, written) in desk.everything().into_iter().filter(|(file, _)| file.contains("/2026/")) {
        let raw = written.chars().find(|c| STEERING.contains(c));
        assert_eq!(raw, None, "{file}: {written}");
        assert!(written.contains("\\u202E\\u2066\\u2028\\u200F\\u0085"), "{file}: {written}");
    }
    // The value is kept: imported again, it is on file.
    assert!(
        desk.done(&["import", "patients/.sheet.csv", "--by-entered", "co-1", "--yes"]).contains("already on file: 1")
    );
    assert_eq!(Value::Text(text.clone()).to_string(), "\"wet\\u202E\\u2066\\u2028\\u200F\\u0085end\"");
}

/// Date formats made of these words and marks.
fn any_form(words: &'static [&'static str]) -> impl Strategy<Value = String> {
    let marks = prop::sample::select(vec!["/", ".", "-", " ", ", ", ":", "é", "\u{202e}"]);
    let words = Just(words.to_vec()).prop_shuffle();
    (words, prop::collection::vec(marks, 4)).prop_map(|(words, marks)| {
        words.iter().zip(marks).map(|(word, mark)| format!("{word}{mark}")).collect::<String>()
    })
}

proptest! {
    #[test]
    fn any_text_at_all_is_a_form_or_a_sentence(form in "\\PC{0,24}", cell in "\\PC{0,24}") {
        for read in [TimeForm::of_date(&form), TimeForm::of_time(&form)] {
            match read {
                Ok(form) => prop_assert!(!form.example().is_empty()),
                Err(sentence) => prop_assert!(sentence.contains("in words: "), "{}", sentence),
            }
        }
        let forms = Forms { date: TimeForm::of_date(&form).ok(), time: TimeForm::of_time(&form).ok() };
        for forms in [forms, Forms::default(), Forms { date: TimeForm::of_date("month/day/year").ok(), time: None }] {
            _ = (forms.day(&cell), forms.time(&cell), forms.when(&cell));
        }
    }

    #[test]
    fn any_pattern_of_letters_that_dates_have_is_a_form_or_a_sentence(form in "[yYmMdDhHsSaApPbBIkTZ%/:., -]{0,16}") {
        let text = format!("date_form = '{form}'\ntime_form = '{form}'\n");
        let (map, said) = read_map(&text);
        prop_assert!(map.is_some() || said.iter().all(|said| said.contains("in words: ")), "{:?}", said);
    }

    #[test]
    fn any_text_is_a_map_or_sentences(text in "(?s).{0,80}") {
        let (map, said) = read_map(&text);
        prop_assert!(map.is_some() || !said.is_empty());
    }

    #[test]
    fn an_example_is_of_its_form(date in any_form(&["year", "month", "day"]), time in any_form(&["hour", "minute", "am/pm"])) {
        // A format with a stray letter is invalid.
        let date = TimeForm::of_date(&date).ok();
        let time = TimeForm::of_time(&time).ok();
        let forms = Forms { date: date.clone(), time: time.clone() };
        if let Some(date) = &date {
            prop_assert_eq!(forms.day(&date.example()).unwrap(), NaiveDate::from_ymd_opt(2026, 11, 23).unwrap());
        }
        if let Some(time) = &time {
            prop_assert_eq!(forms.time(&time.example()).unwrap(), "18:40:00");
        }
    }

    #[test]
    fn a_date_is_read_as_it_was_written(days in 0_u64..76_000, at in 0_u32..1440) {
        let day = NaiveDate::from_ymd_opt(1990, 1, 1).unwrap() + chrono::Days::new(days);
        let time = chrono::NaiveTime::from_hms_opt(at / 60, at % 60, 0).unwrap();
        for (date_form, date_pattern) in [("month/day/year", "%-m/%-d/%Y"), ("day.month.year", "%d.%m.%Y"), ("yearmonthday", "%Y%m%d"), ("day month year", "%-d %B %Y"), ("month day, year", "%b %d, %Y")] {
            for (time_form, time_pattern) in [("hour:minute", "%H:%M"), ("hour:minute am/pm", "%-I:%M %p"), ("hourminute", "%H%M"), ("hour:minute:second am/pm", "%I:%M:%S%P")] {
                let forms = Forms { date: TimeForm::of_date(date_form).ok(), time: TimeForm::of_time(time_form).ok() };
                prop_assert_eq!(forms.day(&day.format(date_pattern).to_string()).unwrap(), day);
                prop_assert_eq!(forms.time(&time.format(time_pattern).to_string()).unwrap(), time.to_string());
                let both = format!("{} {}", day.format(date_pattern), time.format(time_pattern));
                prop_assert_eq!(forms.when(&both).unwrap(), day.and_time(time).to_string());
            }
        }
    }
}

#[test]
fn a_log_that_holds_pus_says_so_before_anything_else() {
    let desk = quiet().at_80_columns();
    let sheet = "patient,on,kind,by,site.drainage\nP-001,2026-11-20,change,p001-son,purulent\nP-001,2026-11-22,change,p001-son,serous\n";
    desk.put("patients/.sheet.csv", sheet);
    let arguments = ["import", "patients/.sheet.csv", "--by-entered", "co-1", "--yes"];
    for more in [&["--dry-run"][..], &[]] {
        desk.done(&[&arguments, more].concat());
    }
    // It was reported then; a second import adds nothing.
    desk.done(&arguments);
    desk.keep_screens("import_sheets_a_log_that_holds_pus_says_so_before_anything_else");
}

#[test]
fn an_import_asks_once_with_all_that_it_ends_and_no_is_preselected() {
    let two = || {
        let desk = quiet();
        desk.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
        for code in ["P-001", "P-002"] {
            let wet = "kind = 'inspection'\nat = 2026-11-23T20:00:00-06:00\nby = 'rn-07'\ndressing = 'wet'\n";
            desk.put(&format!("patients/{code}/2026/2026-11-23T2000-inspection.toml"), wet);
        }
        let row = |n: u8| format!("P-00{n},2026-11-23T21:30,change,p00{n}-son\n");
        desk.put("patients/.sheet.csv", &format!("patient,at,kind,by\n{}{}", row(1), row(2)));
        desk
    };
    let desk = two();
    let arguments = ["import", "patients/.sheet.csv", "--by-entered", "co-1"];
    for more in [&[][..], &["--yes"]] {
        let said = desk.refused(&[&arguments, more].concat());
        for code in ["P-001", "P-002"] {
            assert!(
                said.contains(&format!("{code}: This ends: dressing wet or off (rn-07, yesterday 20:00)")),
                "{said}"
            );
        }
        assert!(said.contains("--yes does not confirm this, so nothing was written. Type --source"), "{said}");
    }
    let before = desk.everything();
    let person = Person::typing(&["", "", ""]);
    let outcome = desk.run_as(None, &arguments, Some(&person));
    assert_eq!((outcome.status, desk.everything() == before), (2, true));
    assert_eq!(person.saw().matches("[y/N]").count(), 1, "{}", person.saw());
    let outcome = desk.run_as(None, &arguments, Some(&Person::typing(&["y"])));
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    assert!(desk.get("patients/P-002/2026/2026-11-23T2130-change.toml").contains("source = \"log\""));
    let desk = two();
    desk.done(&[&arguments[..], &["--yes", "--source", "told"]].concat());
    assert!(desk.get("patients/P-002/2026/2026-11-23T2130-change.toml").contains("source = \"told\""));
}
