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

            /// Why the rule is there, and what to do about it.
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
    /// Whether a file with this problem cannot be used for an answer.
    pub fn makes_unusable(self) -> bool {
        self.level() == Level::Error && self != Rule::NotADateOfCare
    }

    /// Whether a program may count it for less: not where a record cannot be used, which must be seen.
    pub fn can_be_turned_down(self) -> bool {
        !self.makes_unusable() || matches!(self, Rule::EditedAfterCommit | Rule::DeletedRecord)
    }

    /// Whether the rule still applies to a voided record: it must be readable, rightly named and of known keys.
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
    Syntax "syntax" Error "The file is not TOML: a quote, a bracket or an equals sign is missing or too many, a key stands twice, or a date does not exist. Nothing in such a file can be trusted. Mend the marked place."
    NotUtf8 "not-utf8" Error "The file is not plain text in UTF-8. An editor or a spreadsheet saved it in another encoding. Save it again as UTF-8."
    ConflictMarkers "conflict-markers" Error "Two people changed this file and git could not join their work, so both versions stand in it between <<<<<<< and >>>>>>>. Keep what is true, delete the three marker lines, and commit."
    MissingFile "missing-file" Error "A file is missing that the records need, such as a patient's patient.toml. Restore it from git, or write it anew."
    CannotBeRead "cannot-be-read" Error "The system does not let the file be read. Nothing that it says is known, so somebody must look."
    TooLarge "too-large" Error "A record is a few lines. A file of more than 256 KiB is something else that came here by mistake. Move it out of the records."
    TooDeep "too-deep" Error "Tables or lists lie more than 64 levels inside each other. No record needs that; the file came here by mistake or is damaged."
    NotARegularFile "not-a-regular-file" Error "Where a file should be there is a link, a pipe or a device. Nothing in the records may point outside them, so it is not opened. Replace it by the file itself."

    // Its keys and values.
    WrongType "wrong-type" Error "The value is of another kind than the key takes, such as a text in quotes where a date belongs. Dates, numbers, true and false stand without quotes; words and codes stand in quotes."
    UnknownWord "unknown-word" Error "The word is none of those that this key takes. Words are exact and in lower case; what is not in the list goes into `note`."
    UnknownKey "unknown-key" Error "No record of this kind has such a key. A misspelled key would be lost in silence, so it is an error."
    MissingKey "missing-key" Error "A key is missing that a record of this kind needs. Without it the record says too little to be used."
    ImpossibleNumber "impossible-number" Error "No measurement or count can be this number: it is negative, not finite, or outside any limit. A slip of the finger; write what was measured, or leave the key out."
    UnlikelyNumber "unlikely-number" Warning "The number can be, but is rare: redness or crust over 60 mm, a temperature outside 34 to 42.5 °C. Look whether a digit or a unit slipped."
    BadCode "bad-code" Error "A patient's code is 2 to 16 of A-Z, 0-9 and hyphen, beginning with a letter; a person's is 2 to 24 of letters, digits and hyphens. A code is never a name. Some codes are reserved by operating systems."
    ControlCharacters "control-characters" Warning "The text holds characters that steer a terminal or reorder what is read, so it does not look like what it is. Type it again."

    // Time.
    AtOrOn "at-or-on" Error "An event says `at` (day and time) or `on` (only the day is known), exactly one of them."
    SkippedTime "skipped-time" Error "The clocks were put forward over this time, so it never was. Write the time with its offset, as 2026-03-08T03:30:00-05:00."
    RepeatedTime "repeated-time" Error "The clocks were put back, so this time was twice that night. Say which by the offset, as 2026-11-01T01:30:00-05:00 for the first."
    NotADateOfCare "not-a-date-of-care" Error "Dates in the records run from 1990-01-01 to 2199-12-31. Another year is a slip of the finger."
    LeapSecond "leap-second" Error "A second of 60 cannot be kept. Write :59."
    FractionOfSecond "fraction-of-second" Error "Times are kept to the second. Leave the fraction out."
    UnusualOffset "unusual-offset" Warning "The zone in force does not use this offset at that moment, so the time may be an hour or more off. Look at the clock change or the patient's zone."

    // Names and places of files.
    NameDisagrees "name-disagrees" Error "The name of a file is its index: commands open only what the name promises. A name that says another day, time or kind than the file hides a record. Rename the file as the help says."
    StrayName "stray-name" Error "The name looks like a record but is none: `DATE[Thhmm]-KIND[-N].toml` in the folder of its year. It might be the last change, so the patient cannot be judged until it is renamed or moved away."
    StrayFolder "stray-folder" Error "A patient's folder holds patient.toml and folders of years; patients/ holds folders named by patient codes. Anything else could hide records. Rename it or move it away."
    StrayElsewhere "stray-elsewhere" Warning "A file that looks like a record lies where no record belongs. Move it to its patient, or away."
    ForeignFile "foreign-file" Note "A file that is no record. It does no harm, but the records are easier to trust without it."
    Photograph "photograph" Warning "Photographs identify a person and do not belong in the records. Keep them where the program keeps its pictures, and remove this one; it stays in git's history until that is cleaned."
    LeftoverOfAWrite "leftover-of-a-write" Note "A write was interrupted here. The file under its temporary name counts for nothing and is removed by the next write into this folder."

    // policy.toml
    UnknownSchema "unknown-schema" Error "`schema` says which form of the records this is. This version of exitsite knows 1."
    UnknownZone "unknown-zone" Error "Time zones are named as in the IANA database, such as America/Chicago."
    CareDayStart "care-day-start" Error "`care_day_starts` is a time before 12:00, such as 03:00:00."
    CareDayInClockChange "care-day-in-clock-change" Warning "A zone on file puts its clocks forward or back over the start of the care day, so one day a year begins at an odd moment. Choose a start that no zone skips or repeats, such as 03:00:00 or 04:00:00."
    Interval "interval" Error "An interval is `every_days` from 1 to 366, or `on_weekdays` with at least one day and, if needed, `min_days`; never both."
    IntervalLong "interval-long" Warning "An order sets an interval longer than `[orders] longest_days` of the policy. A digit too many leaves a dressing on for weeks. Look at the order; if it is meant so, raise the limit."
    PhaseGap "phase-gap" Error "The phases leave some day without an interval, and a day without an interval is a patient who is never due. The last phase has no condition."
    Rubric "rubric" Error "A rubric needs items whose least points are 0, with points for every word of a field or bands to the end, cut-offs in rising order from 0, and `always` rules about its own items."
    Curriculum "curriculum" Error "A curriculum has a version, and steps whose ids are each there once, or nobody could say what was shown."
    TwiceInPolicy "twice-in-policy" Error "Two parts of the policy have the same name, so it cannot be said which holds."
    CheckSetting "check-setting" Error "A rule can only be turned down, from error to warning or note or from warning to note, and only with a reason in `why`; not one by which a record cannot be used. A signal is turned off with the reason in `off`."
    Address "address" Error "Alerts go to addresses; this is none."

    // Codes and people.
    CodeDisagrees "code-disagrees" Error "The code in the file is not the code of its folder. One of them belongs to somebody else."
    CodeTwice "code-twice" Error "Two people in the program have the same code, so it cannot be said who did what."
    UnknownPerson "unknown-person" Warning "The code is in people.toml neither, nor one of the patient's caregivers. A slip of the finger, or somebody who should be added."
    AnotherHousehold "another-household" Warning "The code is that of a caregiver of another patient, so perhaps the whole record is about that patient. Look at both; void the record here and write it there if it is theirs. The pre-commit hook lets no such record pass."
    PersonNotActive "person-not-active" Warning "The person was not yet, or no longer, with the program that day (`from`, `until` in people.toml)."

    // patient.toml
    ExitSites "exit-sites" Error "Each exit site has an id of its own and does not begin before the implant."
    CareRows "care-rows" Error "The rows of `[[care]]` say where the patient is: the first begins at or before `records_from`, each later one after the one before. Otherwise some day has no place."
    RecordsFrom "records-from" Error "`records_from` is not before `implanted`, `last_change_before` lies before `records_from`, and whoever joins later says how many infections there were before."
    EndsBeforeItBegins "ends-before-it-begins" Error "An end lies before its beginning."
    RecordsBeginEarly "records-begin-early" Warning "The records begin at the implant, yet the first event is more than 30 days later. If this program follows the patient only since then, the days before are counted as days without a change: write `records_from`, `infections_before` and, if known, `last_change_before`."
    OrdersDisagree "orders-disagree" Note "Two orders run on the same day with different intervals. The later one holds; end the other if it no longer does."

    // An event in its place.
    ExitUnclear "exit-unclear" Error "Several exit sites are open that day and the record does not say which, or it names one that the patient does not have. Write `exit`."
    ExitNotAllowed "exit-not-allowed" Error "A record of this kind concerns the patient, or every open exit site, and names none."
    ExitNotNamed "exit-not-named" Warning "One exit site closes and another opens that day; the record names none and is counted for the one that closes."
    NotForStaff "not-for-staff" Error "The staff folders hold teaching checkoffs only; other events belong to a patient."
    BeforeImplant "before-implant" Warning "The event lies before the implant. It counts for nothing; look at the date or at the patient's code."
    BeforeExit "before-exit" Warning "No exit site was open yet that day. The event counts for nothing; look at the date or at `exit`."
    AfterExit "after-exit" Warning "The exit site was closed by then. The event counts for nothing; look at the date or at `exit`."
    AfterEnd "after-end" Warning "Support had ended by then. The event counts for nothing; look at the date or at the patient's code."
    InTheFuture "in-the-future" Warning "The event has not happened yet. Records tell what was; a slip of the finger in the date."
    UntimedToday "untimed-today" Note "A record of today without a time: whether it came before or after another event of today cannot be told. Write the time while it is known."
    PerhapsTheSame "perhaps-the-same" Warning "Two events of one kind on one care day, of which one has no time or both are at most 90 minutes apart: perhaps one thing told twice. Void one, or leave both if both happened."
    OlderThanItsEvent "older-than-its-event" Warning "An amendment, a void or a result is dated before the event that it is about."
    LogAhead "log-ahead" Error "A log covers days up to the day on which it was read in. One that ends later would count days that have not come as covered, and a missed change as none."
    LogGap "log-gap" Note "Between two logs of a household some days are in neither. What happened then is unreported, not missed."

    // What the record says.
    Contradiction "contradiction" Warning "Two values of one record cannot both be: such as drainage none with an amount. Correct one."
    VoidIncomplete "void-incomplete" Error "A record is voided by saying who did it (`by`), when (`at`) and why (`why`)."
    AmendmentIncomplete "amendment-incomplete" Error "An amendment says who made it (`by`), when (`at`), why (`why`) and what stood there before (`was`)."
    ResolvedBeforeOnset "resolved-before-onset" Warning "The infection was resolved before its onset."
    OnsetOutside "onset-outside" Warning "The onset lies before the implant, before `records_from`, or after support ended, so no audit counts the infection. Look at the date; an infection from before the records is counted in `infections_before` of patient.toml."
    InfectionTwice "infection-twice" Warning "Two determinations give the same onset, so they are about one infection. Audits count one of them, the more certain. Void the other, or correct its onset."
    RecurrenceOfNothing "recurrence-of-nothing" Warning "`recurrence_of` names an infection record of this patient by its file name; there is none of that name, or it is this one."
    OrganismsWithoutGrowth "organisms-without-growth" Warning "Organisms are named although nothing grew, or it is not said that something did."
    NotAPhysician "not-a-physician" Warning "An infection determination is a clinician's; `by` is nobody whom people.toml lists as a physician."
    StepTwice "step-twice" Warning "A step stands in two of `unaided`, `prompted`, `missed`, or twice in one. It was one of them."
    UnknownCurriculum "unknown-curriculum" Warning "The policy has no curriculum of this name and version. Old versions stay in the policy, so that old checkoffs can be read."
    UnknownStep "unknown-step" Warning "The curriculum has no such step in this version."

    // With git.
    EditedAfterCommit "edited-after-commit" Error "A record was edited after it was committed, and no new row `[[amended]]` says who did it, when and why. What others saw and acted on must stay to be seen. Allowed without a row: `[void]`; filling an empty result, `resolved` or `until`; layout and comments; mending a file that could not be used. When it happened and its kind are never amended: void the record and write it anew."
    DeletedRecord "deleted-record" Error "A record was deleted after it was committed. A wrong record is voided: it stays on file, says why, and counts for nothing. A file may be renamed if all that it says stays, under the same patient or person."

    // Practice.
    AnchorNotLeftInPlace "anchor-not-left-in-place" Warning "After the change the line was left without an anchor. A pull then goes straight to the exit site. Common practice, no source."
    DrivelineCleansedWithoutDrainage "driveline-cleansed-without-drainage" Warning "Antiseptic on the line itself although there was no drainage: it may harm the line. Common practice, no source; the device's instructions for use come first."
    GauzeOverDrySite "gauze-over-dry-site" Warning "Gauze over a site without drainage or bleeding. It is for those only. Common practice, no source."
    DiscNotMoistened "disc-not-moistened" Warning "The antimicrobial disc lay dry over a dry site. Over a dry site it is moistened; dry it belongs over drainage or bleeding. Common practice, no source."
    IntoleranceIgnored "intolerance-ignored" Warning "The patient does not tolerate what was used. Look at the skin, and ask what is to be used instead."

    // Privacy.
    PrivateData "private-data" Warning "The text looks like a telephone number, an e-mail address, or a name with a record number. Names and numbers of people do not belong in the records; remove it."
}
