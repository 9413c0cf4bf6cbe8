//! Every rule that `check` knows, in one place: its name, its level, and the reason why it is there.
//!
//! The name is the rule's word everywhere: in findings, in `policy.toml`, in `check --explain`, and as the name of its
//! test fixture.

use super::Level;
use crate::word::Word;

macro_rules! rules {
    ($($rule:ident $name:literal $level:ident $why:literal)+) => {
        /// A rule of `check`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule { $(#[doc = $why] $rule,)+ }

        impl Rule {
            /// Every rule, in the order in which they are listed.
            pub const ALL: &[Rule] = &[$(Rule::$rule),+];

            /// The level that the rule is built in with.
            pub fn level(self) -> Level {
                match self { $(Rule::$rule => Level::$level,)+ }
            }

            /// The reason for the rule, and the remedy.
            pub fn why(self) -> &'static str {
                match self { $(Rule::$rule => $why,)+ }
            }
        }

        impl Word for Rule {
            const WORDS: &'static [&'static str] = &[$($name),+];

            fn word(self) -> &'static str {
                match self { $(Rule::$rule => $name,)+ }
            }

            fn from_word(word: &str) -> Option<Self> {
                match word { $($name => Some(Rule::$rule),)+ _ => None }
            }
        }
    };
}

impl Rule {
    /// True if a file with this problem cannot be used for an answer.
    pub fn makes_unusable(self) -> bool {
        self.level() == Level::Error && self != Rule::NotADateOfCare
    }

    /// True if a program may turn it down: not if a record cannot be used, which must be seen.
    pub fn can_be_turned_down(self) -> bool {
        !self.makes_unusable()
            || matches!(
                self,
                Rule::EditedAfterCommit
                    | Rule::DeletedRecord
                    | Rule::MissingHere
                    | Rule::EarlierHere
                    | Rule::PhotoMissing
                    | Rule::PhotoAltered
            )
    }

    /// True if the rule still applies to a voided record: it must be readable, rightly named and of known keys.
    pub fn applies_to_voided(self) -> bool {
        use Rule::*;
        matches!(
            self,
            Syntax
                | NotUtf8
                | ConflictMarkers
                | TooLarge
                | TooDeep
                | NotARegularFile
                | WrongType
                | UnknownKey
                | NameDisagrees
                | AtOrOn
                | VoidIncomplete
                | AmendmentIncomplete
                | NotADateOfCare
                | FractionOfSecond
                | LeapSecond
                | SkippedTime
                | RepeatedTime
                | OlderThanItsEvent
                | PrivateData
                | ControlCharacters
        )
    }
}

rules! {
    // The file as text.
    Syntax "syntax" Error "The file is not TOML: a quote, bracket or equals sign is missing or extra, a key is given twice, or a date does not exist. Nothing in such a file can be trusted. Correct the marked place."
    NotUtf8 "not-utf8" Error "The file is not plain text in UTF-8. An editor or a spreadsheet saved it in another encoding. Save it again as UTF-8."
    ConflictMarkers "conflict-markers" Error "Two people changed this file and git could not merge their work, so the file has both versions between <<<<<<< and >>>>>>>. Keep the correct lines, delete the three marker lines, and commit. If both wrote a record of the same minute and both happened, put each into a file of its own, the second named with -2 before .toml."
    MissingFile "missing-file" Error "A file is missing that the records need, such as a patient's patient.toml. Restore it from git, or write it anew."
    CannotBeRead "cannot-be-read" Error "The system refuses access to the file, so its content is unknown. Check the permissions."
    TooLarge "too-large" Error "A record is a few lines. A file of more than 256 KiB is something else that came here by mistake. Move it out of the records."
    TooDeep "too-deep" Error "Tables or lists are nested more than 64 levels deep. No record needs that; the file came here by mistake or is damaged."
    NotARegularFile "not-a-regular-file" Error "Where a file should be there is a link, a pipe or a device. Nothing in the records may point outside them, so it is not opened. Replace it by the file itself."

    // Its keys and values.
    WrongType "wrong-type" Error "The value has the wrong type, such as a text in quotes where a date belongs. Write dates, numbers, true and false without quotes, words and codes in quotes."
    UnknownWord "unknown-word" Error "The word is not a choice for this key. Words are exact and in lower case; anything else goes into `note`."
    UnknownKey "unknown-key" Error "No record of this kind has such a key. A misspelled key would be lost in silence, so it is an error."
    MissingKey "missing-key" Error "A required key is missing. Without it the record cannot be used."
    ImpossibleNumber "impossible-number" Error "No measurement or count can be this number: it is negative, not finite, or outside any limit. Write the measurement, or leave the key out."
    UnlikelyNumber "unlikely-number" Warning "The number can be, but is rare: redness or crust over 60 mm, a temperature outside 34 to 42.5 °C. Check for a slipped digit or unit."
    BadCode "bad-code" Error "A patient's code is 2 to 16 of A-Z, 0-9 and hyphen, beginning with a letter; a person's is 2 to 24 of letters, digits and hyphens. A code is never a name. Some codes are reserved by operating systems."
    ControlCharacters "control-characters" Warning "The text holds characters that steer a terminal or reorder what is read, so it does not look like what it is. Type it again."

    // Time.
    AtOrOn "at-or-on" Error "An event has `at` (day and time) or `on` (only the day is known), exactly one of them."
    SkippedTime "skipped-time" Error "The clocks were put forward over this time, so it never was. Write the time with its offset, as 2026-03-08T03:30:00-05:00."
    RepeatedTime "repeated-time" Error "The clocks were put back, so this time was twice that night. Say which by the offset, as 2026-11-01T01:30:00-05:00 for the first."
    NotADateOfCare "not-a-date-of-care" Error "Dates in the records run from 1990-01-01 to 2199-12-31. Another year is a slip of the finger."
    LeapSecond "leap-second" Error "A second of 60 cannot be kept. Write :59."
    FractionOfSecond "fraction-of-second" Error "Times are kept to the second. Leave the fraction out."
    UnusualOffset "unusual-offset" Warning "The zone in force does not use this offset at that moment, so the time may be an hour or more off. Look at the clock change or the patient's zone."

    // Names and places of files.
    NameDisagrees "name-disagrees" Error "The name of a file is its index: commands open only the files whose names they need. A name with another day, time or kind than the file hides a record. Rename the file as the help shows."
    StrayName "stray-name" Error "The name looks like a record but is not one: `DATE[Thhmm]-KIND[-N].toml` in the folder of its year. It might be the last change, so the patient cannot be judged until it is renamed or moved away."
    StrayFolder "stray-folder" Error "A patient's folder holds patient.toml and folders of years; patients/ holds folders named by patient codes. Anything else could hide records. Rename it or move it away."
    StrayElsewhere "stray-elsewhere" Warning "A file that looks like a record is in a folder where no record belongs. Move it to its patient, or away."
    ForeignFile "foreign-file" Note "A file that is no record. It does no harm, but the records are easier to trust without it."
    Photograph "photograph" Warning "Photographs identify a person and do not belong in the records. Keep them where the program keeps its pictures, and remove this one; it stays in git's history until that is cleaned."
    LeftoverOfAWrite "leftover-of-a-write" Note "A write was interrupted here. The file under its temporary name counts for nothing and is removed by the next write into this folder."

    // policy.toml
    UnknownSchema "unknown-schema" Error "`schema` is the version of the records' format. This version of exitsite knows 1."
    UnknownZone "unknown-zone" Error "Time zones are named as in the IANA database, such as America/Chicago."
    CareDayStart "care-day-start" Error "`care_day_starts` is a time before 12:00, such as 03:00:00."
    CareDayInClockChange "care-day-in-clock-change" Warning "A zone on file puts its clocks forward or back over the start of the care day, so one day a year begins at an odd moment. Choose a start that no zone skips or repeats, such as 03:00:00 or 04:00:00."
    Interval "interval" Error "An interval is `every_days` from 1 to 366, or `on_weekdays` with at least one day and, if needed, `min_days`; never both."
    IntervalLong "interval-long" Warning "An order sets an interval longer than `[orders] longest_days` of the policy. A digit too many leaves a dressing on for weeks. Look at the order; if it is meant so, raise the limit."
    PhaseGap "phase-gap" Error "The phases leave some day without an interval, and a day without an interval is a patient who is never due. The last phase has no condition."
    Rubric "rubric" Error "A rubric needs items whose least points are 0, with points for every word of a field or bands to the end, cut-offs in rising order from 0, and `always` rules about its own items."
    Curriculum "curriculum" Error "A curriculum has a version, and steps with unique ids; otherwise a checkoff would be ambiguous."
    TwiceInPolicy "twice-in-policy" Error "Two parts of the policy have the same name, so neither can be chosen."
    CheckSetting "check-setting" Error "A rule can only be turned down, from error to warning or note or from warning to note, and only with a reason in `why`; not one by which a record cannot be used. A signal is turned off with the reason in `off`."
    Address "address" Error "Alerts go to e-mail addresses; this is not one."

    // Codes and people.
    CodeDisagrees "code-disagrees" Error "The code in the file is not the code of its folder. One of them belongs to another person."
    CodeTwice "code-twice" Error "Two people in the program have the same code, so their records cannot be told apart."
    UnknownPerson "unknown-person" Warning "The code is neither in people.toml nor one of the patient's caregivers: a typing slip, or a person to be added."
    AnotherHousehold "another-household" Warning "The code is that of a caregiver of another patient, so perhaps the whole record is about that patient. Look at both; void the record here and write it there if it is theirs. The pre-commit hook lets no such record pass."
    PersonNotActive "person-not-active" Warning "The person was not yet, or no longer, with the program that day (`from`, `until` in people.toml)."

    // patient.toml
    ExitSites "exit-sites" Error "Each exit site has an id of its own and does not begin before the implant."
    CareRows "care-rows" Error "The rows of `[[care]]` are the patient's places: the first begins at or before `records_from`, each later one after the one before. Otherwise some day has no place."
    RecordsFrom "records-from" Error "`records_from` is not before `implanted`, `last_change_before` is before `records_from`, and a patient who joins later has `infections_before`."
    EndsBeforeItBegins "ends-before-it-begins" Error "An end is before its beginning."
    RecordsBeginEarly "records-begin-early" Warning "The records begin at the implant, yet the first event is more than 30 days later. If this program follows the patient only since then, the days before are counted as days without a change: write `records_from`, `infections_before` and, if known, `last_change_before`."
    OrdersDisagree "orders-disagree" Note "Two orders run on the same day with different intervals. The later one holds; end the other if it no longer does."

    // An event in its place.
    ExitUnclear "exit-unclear" Error "Several exit sites are open that day and the record names none, or it names one that the patient does not have. Write `exit`."
    ExitNotAllowed "exit-not-allowed" Error "A record of this kind concerns the patient, or every open exit site, and names none."
    ExitNotNamed "exit-not-named" Warning "One exit site closes and another opens that day; the record names none and is counted for the one that closes."
    NotForStaff "not-for-staff" Error "The staff folders hold teaching checkoffs only; other events belong to a patient."
    BeforeImplant "before-implant" Warning "The event is before the implant. It counts for nothing; check the date and the patient's code."
    BeforeExit "before-exit" Warning "No exit site was open yet that day. The event counts for nothing; look at the date or at `exit`."
    AfterExit "after-exit" Warning "The exit site was closed by then. The event counts for nothing; look at the date or at `exit`."
    AfterEnd "after-end" Warning "Support had ended by then. The event counts for nothing; look at the date or at the patient's code."
    InTheFuture "in-the-future" Warning "The event has not happened yet. Records tell what was; a slip of the finger in the date."
    UntimedToday "untimed-today" Note "A record of today without a time: its order among the other events of today is unknown. Write the time while it is known."
    PerhapsTheSame "perhaps-the-same" Warning "Two events of one kind on one care day, one without a time or both at most 90 minutes apart: a possible duplicate. Void one, or leave both if both happened."
    OlderThanItsEvent "older-than-its-event" Warning "An amendment, a void or a result is dated before the event that it is about."
    LogAhead "log-ahead" Error "A log covers days up to the day on which it was read in. One that ends later would count days that have not come as covered, and a missed change as none."
    LogGap "log-gap" Note "Between two logs of a household some days are in neither. What happened then is unreported, not missed."

    // What the record says.
    Contradiction "contradiction" Warning "Two values of one record cannot both be: such as drainage none with an amount. Correct one."
    VoidIncomplete "void-incomplete" Error "A void has its author (`by`), time (`at`) and reason (`why`)."
    AmendmentIncomplete "amendment-incomplete" Error "An amendment has its author (`by`), time (`at`), reason (`why`) and the former value (`was`)."
    ResolvedBeforeOnset "resolved-before-onset" Warning "The infection was resolved before its onset."
    OnsetOutside "onset-outside" Warning "The onset is before the implant, before `records_from`, or after the end of support, so no audit counts the infection. Check the date; an infection from before the records is counted in `infections_before` of patient.toml."
    InfectionTwice "infection-twice" Warning "Two determinations give the same onset, so they are about one infection. Audits count one of them, the more certain. Void the other, or correct its onset."
    RecurrenceOfNothing "recurrence-of-nothing" Warning "`recurrence_of` names an infection record of this patient by its file name; no such record exists, or it is this one."
    OrganismsWithoutGrowth "organisms-without-growth" Warning "Organisms are named without growth."
    NotAPhysician "not-a-physician" Warning "An infection determination is a clinician's; `by` is not a physician in people.toml."
    StepTwice "step-twice" Warning "A step is in two of `unaided`, `prompted`, `missed`, or twice in one. Keep one."
    UnknownCurriculum "unknown-curriculum" Warning "The policy has no curriculum of this name and version. Old versions stay in the policy, so that old checkoffs can be read."
    UnknownStep "unknown-step" Warning "The curriculum has no such step in this version."

    // Pictures.
    PhotoSum "photo-sum" Error "`sha256` is the SHA-256 sum of the picture's file: 64 digits and letters a to f. With another text nobody can say which picture was meant."
    PhotoPlace "photo-place" Warning "`kept_at` is a word that `[photos] kept_at` of the policy lists, never a path. Correct the word, or add the place to the policy."
    PhotoMissing "photo-missing" Error "No file in the folders of --photos has the sum of the picture that was recorded. Look for it elsewhere; if it is lost, say so in the note of a new record."
    PhotoAltered "photo-altered" Error "The file that seems to be this picture has another sum: it was edited, converted or damaged after it was recorded. Restore the original."

    // With git.
    EditedAfterCommit "edited-after-commit" Error "A record was edited after it was committed, without a new row `[[amended]]` with author, time and reason. The values that others acted on must stay visible. Allowed without a row: `[void]`; filling an empty result, `resolved` or `until`; layout and comments; correcting a file that could not be used. Time and kind are never amended: void the record and write a new one."
    DeletedRecord "deleted-record" Error "A record was deleted after it was committed. A wrong record is voided: it stays on file with the reason, and counts for nothing. A file may be renamed if its content stays, under the same patient or person."

    MissingHere "missing-here" Error "The branch that was named has a record that this folder lacks: a backup is older, or a pull is due. Get it from there; nothing is lost."
    EarlierHere "earlier-here" Error "The branch that was named has a later form of the record: amended, voided or completed there. Get it from there."
    DiffersThere "differs-there" Warning "The file differs from that of the branch that was named, and it does not say which is the later one. Look at both."

    // Practice.
    AnchorNotLeftInPlace "anchor-not-left-in-place" Warning "After the change the line was left without an anchor. A pull then goes straight to the exit site. Common practice, no source."
    DrivelineCleansedWithoutDrainage "driveline-cleansed-without-drainage" Warning "Antiseptic on the line itself although there was no drainage: it may harm the line. Common practice, no source; the device's instructions for use come first."
    GauzeOverDrySite "gauze-over-dry-site" Warning "Gauze over a site without drainage or bleeding. It is for those only. Common practice, no source."
    DiscNotMoistened "disc-not-moistened" Warning "The antimicrobial disc was dry over a dry site. Moisten it over a dry site; use it dry over drainage or bleeding. Common practice, no source."
    IntoleranceIgnored "intolerance-ignored" Warning "The patient does not tolerate what was used. Look at the skin, and ask what is to be used instead."

    // Privacy.
    PrivateData "private-data" Warning "The text looks like a telephone number, an e-mail address, or a name with a record number. Names and numbers of people do not belong in the records; remove it."
}
