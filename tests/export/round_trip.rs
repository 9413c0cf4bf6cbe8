//! CSV read back: the events of a patient, imported into an empty program with the same people, give the same facts.

use super::*;
use crate::desk::Desk;

/// The facts of a record without its entry, its amendments and the usual source.
fn facts(text: &str) -> BTreeMap<String, String> {
    let mut facts = exitsite::record::facts(text).unwrap();
    facts.retain(|key, value| {
        !key.starts_with("entered.") && !key.starts_with("amended.") && (key != "source" || value != "\"seen\"")
    });
    facts
}

/// A patient with an event of every kind, and with texts of every kind.
fn full() -> Desk {
    let desk = Desk::new();
    let curriculum = "[[curriculum]]\nname = 'dressing-change'\nrole = 'caregiver'\nversion = 1\nstep = [ { id = 'hands', text = 'Wash them', critical = true }, { id = 'mask', text = 'Put it on' } ]\n";
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}{curriculum}[photos]\nkept_at = ['imaging']\n"));
    let people = desk
        .get("people.toml")
        .replace("code = 'rn-07'\nrole = 'nurse'\n", "code = 'rn-07'\nrole = 'nurse'\nmay_sign = true\n");
    desk.put("people.toml", &people);
    let records = [
        (
            "2026-10-02T0900-change",
            "reason = 'wet'\nsteps_missed = ['mask']\nnote = '=1+1, \"quoted\"\\' and # more'\n[found]\ndressing = 'wet'\nanchor = 'in-place'\n[materials]\ncleanser = 'saline'\ngauze = true\n[left]\ndressing = 'intact'\nanchor = 'in-place'\n[site]\ndrainage = 'serous'\namount = 'scant'\nredness_mm = 2.5\nodor = false\n",
        ),
        (
            "2026-10-03-shower",
            "source = 'log'\nwater = 'bath'\ndressing_after = 'intact'\nnote = \"two\\nlines, and ‘more’\"\n",
        ),
        (
            "2026-10-04T1000-assessment",
            "source = 'image'\nnote = '-2 to -4'\n[site]\nswelling = 'exit'\npain = 'slight'\ntemperature_c = 37.2\n",
        ),
        ("2026-10-05T1000-inspection", "note = \"'=late\"\ndressing = 'intact'\nanchor = 'loose'\n"),
        ("2026-10-06T1000-trauma", "mechanism = 'snag'\nanchor = 'absent'\nsite_bleeding = true\n"),
        (
            "2026-10-07T1000-culture",
            "specimen = 'exit-site'\n[result]\non = 2026-10-09\ngrowth = true\norganisms = ['Invented coccus', 'Another one, in two swabs', 'the \"third\"; last']\n",
        ),
        (
            "2026-10-10T1000-infection",
            "part = 'driveline-superficial'\ncertainty = 'probable'\nonset = 2026-10-06\nresolved = 2026-10-30\nreadmission = false\norganisms = ['Invented coccus']\n",
        ),
        ("2026-10-10T1100-treatment", "what = 'oral-antibiotic'\nuntil = 2026-10-24\nnote = '@home'\n"),
        (
            "2026-10-11T1000-teaching",
            "learner = 'p001-son'\nobserver = 'rn-07'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'return-demonstration'\nunaided = ['hands', 'mask']\n",
        ),
        (
            "2026-10-12T1000-contact",
            "source = 'told'\nwith = 'p001-son'\nabout = ['overdue', 'pus']\noutcome = 'will-change'\nexpect_by = 2026-10-12T18:00:00-05:00\n",
        ),
        ("2026-10-13T1000-log", "from = 2026-10-01\nthrough = 2026-10-12\ncomplete = true\n"),
        ("2026-10-14T1000-supply", "item = 'dressing-kit'\nreceived = 20\n"),
        (
            "2026-10-14T1100-photo",
            "sha256 = '9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08'\nbytes = 4\nkept_at = 'imaging'\n",
        ),
        (
            "2026-10-15T1000-change",
            "note = 'this one was a slip'\n[void]\nat = 2026-10-15T11:00:00-05:00\nby = 'rn-07'\nwhy = '+wrong patient'\n",
        ),
    ];
    for (name, own) in records {
        let (date, rest) = name.split_at(10);
        let kind = rest.rsplit('-').next().unwrap();
        let when = match rest.strip_prefix('T') {
            Some(time) => format!("at = {date}T{}:{}:00-05:00", &time[..2], &time[2..4]),
            None => format!("on = {date}"),
        };
        let by = if kind == "infection" || kind == "treatment" { "md-3" } else { "rn-07" };
        let own = own.replace("\\' ", " ");
        desk.put(&format!("patients/P-001/2026/{name}.toml"), &format!("kind = '{kind}'\n{when}\nby = '{by}'\n{own}"));
    }
    assert_eq!(desk.findings().iter().filter(|rule| *rule != "unknown-step").count(), desk.findings().len());
    desk
}

#[test]
fn the_events_of_a_patient_are_the_same_facts_in_an_empty_program() {
    let (desk, empty) = (full(), Desk::new());
    for file in ["policy.toml", "people.toml"] {
        empty.put(file, &desk.get(file));
    }
    let (outcome, files) = exported(desk.root(), "csv", &[]);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, ""));
    let mut passed_over = 0;
    for kind in exitsite::event::Kind::ALL {
        let text = &files[&format!("{kind}.csv")];
        assert!(csv_of(text).1.len() == if kind.to_string() == "change" { 2 } else { 1 }, "{kind}");
        empty.put("table.csv", text);
        let table = empty.root().join("table.csv");
        let outcome =
            empty.run_as(Some("co-1"), &["import", table.to_str().unwrap(), "--yes", "--source", "log"], None);
        assert_eq!(outcome.status, 0, "{kind}: {}", outcome.stderr);
        passed_over += outcome.stderr.matches("Skipped 1 voided row.").count();
        fs::remove_file(table).unwrap();
    }
    assert_eq!(passed_over, 1);
    let expected = facts_of(&desk);
    assert_eq!(expected.len(), 13);
    assert_eq!(facts_of(&empty), expected);
}

/// The facts of all events that are not voided, by file.
fn facts_of(desk: &Desk) -> BTreeMap<String, BTreeMap<String, String>> {
    let year = desk.root().join("patients/P-001/2026");
    let read = |entry: fs::DirEntry| {
        let mut facts = facts(&fs::read_to_string(entry.path()).unwrap());
        // The table names the exit site even if there is only one.
        facts.remove("exit");
        (entry.file_name().into_string().unwrap(), facts)
    };
    let files = fs::read_dir(year).unwrap().map(|entry| read(entry.unwrap()));
    files.filter(|(_, facts)| !facts.keys().any(|key| key.starts_with("void."))).collect()
}

#[test]
fn no_cell_is_a_formula_and_no_value_is_shortened() {
    let desk = full();
    let long = "long ".repeat(4000);
    let nasty = format!(
        "kind = 'shower'\nat = 2026-10-20T10:00:00-05:00\nby = 'rn-07'\nnote = \"\\t=cmd\\u001b[2J\\u202e {long}\"\n"
    );
    desk.put("patients/P-001/2026/2026-10-20T1000-shower.toml", &nasty);
    let (_, files) = exported(desk.root(), "csv", &[]);
    let mut guarded = 0;
    for (name, text) in &files {
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{name} holds what a terminal obeys");
        for cell in csv_of(text).1.concat() {
            let first = cell.trim_start().chars().next();
            assert!(!first.is_some_and(|c| "=+-@".contains(c)), "{name}: {cell}");
            guarded += usize::from(cell.starts_with('\''));
        }
    }
    assert_eq!(guarded, 6);
    let (_, rows) = csv_of(&files["shower.csv"]);
    assert!(
        rows.concat().iter().any(|cell| cell.starts_with("'\t=cmd\\u{1b}[2J\\u{202e} long") && cell.len() > 20_000)
    );
    // JSON keeps the value itself.
    let note = tables(desk.root(), &[])["shower"][1]["note"].clone();
    assert_eq!(note.as_str().unwrap(), format!("\t=cmd\u{1b}[2J\u{202e} {long}"));
    assert!(!exported(desk.root(), "json", &[]).1["shower.json"].contains(['\u{1b}', '\u{202e}']));
}
