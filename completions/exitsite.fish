# Print an optspec for argparse to handle cmd's options that are independent of any subcommand.
function __fish_exitsite_global_optspecs
    string join \n records= color= h/help V/version
end

function __fish_exitsite_needs_command
    # Figure out if the current invocation already has a command.
    set -l cmd (commandline -opc)
    set -e cmd[1]
    argparse -s (__fish_exitsite_global_optspecs) -- $cmd 2>/dev/null
    or return
    if set -q argv[1]
        # Also print the command, so this can be used to figure out what it is.
        echo $argv[1]
        return 1
    end
    return 0
end

function __fish_exitsite_using_subcommand
    set -l cmd (__fish_exitsite_needs_command)
    test -z "$cmd"
    and return 1
    contains -- $cmd[1] $argv
end

complete -c exitsite -n "__fish_exitsite_needs_command" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_needs_command" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_needs_command" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_needs_command" -s V -l version -d 'Print version'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "due" -d 'Who needs a change or a call, worst first, and why'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "missed" -d 'Expected changes over a period: on time, late, missed or unreported, and the longest gap'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "grade" -d 'The exit-site score, item by item, its band, and which way it moves'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "show" -d 'One patient\'s story: course, orders, the score over time, what happened, what is due and why'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "check" -d 'Everything that is wrong in the records, each with the place and what to do'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "history" -d 'Who recorded, amended or voided what, and how late, from git and the records together'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "init" -d 'Lay out a new records folder, with a policy to fill in'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "schema" -d 'JSON Schemas of the record files and of the reports; without a name, the names'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "completions" -d 'Completions for a shell, to standard output'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "man" -d 'The man page of exitsite, or of one of its commands, to standard output'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l within -d 'Also who becomes due within so many hours' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l at-commit -d 'Ask what was on file at this commit, as HEAD~1 or a1b2c3d; the records folder is left alone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l all -d 'Everybody'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l exit-code -d 'Exit with 1 if somebody is overdue'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l from -d 'The first day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l to -d 'The last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l at-commit -d 'Ask what was on file at this commit, as HEAD~1 or a1b2c3d; the records folder is left alone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l from -d 'The first day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l to -d 'The last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l at-commit -d 'Ask what was on file at this commit, as HEAD~1 or a1b2c3d; the records folder is left alone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l each -d 'Every site record instead of the latest'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l from -d 'The first day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l to -d 'The last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l at-commit -d 'Ask what was on file at this commit, as HEAD~1 or a1b2c3d; the records folder is left alone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l all -d 'Everything that ever happened, instead of the last 28 days'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l since -d 'Also compare with git: records that were edited without an amendment, or deleted, after this commit' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l fail-on -d 'Exit with 1 on these: `error`, `warning` (errors, too), or the name of a rule; may be given several times' -r -f -a "error\t''
warning\t''
syntax\t''
not-utf8\t''
conflict-markers\t''
missing-file\t''
cannot-be-read\t''
too-large\t''
too-deep\t''
not-a-regular-file\t''
wrong-type\t''
unknown-word\t''
unknown-key\t''
missing-key\t''
impossible-number\t''
unlikely-number\t''
bad-code\t''
control-characters\t''
at-or-on\t''
skipped-time\t''
repeated-time\t''
not-a-date-of-care\t''
leap-second\t''
fraction-of-second\t''
unusual-offset\t''
name-disagrees\t''
stray-name\t''
stray-folder\t''
stray-elsewhere\t''
foreign-file\t''
photograph\t''
leftover-of-a-write\t''
unknown-schema\t''
unknown-zone\t''
care-day-start\t''
care-day-in-clock-change\t''
interval\t''
phase-gap\t''
rubric\t''
curriculum\t''
twice-in-policy\t''
check-setting\t''
address\t''
code-disagrees\t''
code-twice\t''
unknown-person\t''
person-not-active\t''
exit-sites\t''
care-rows\t''
records-from\t''
ends-before-it-begins\t''
orders-disagree\t''
exit-unclear\t''
exit-not-allowed\t''
exit-not-named\t''
not-for-staff\t''
before-implant\t''
before-exit\t''
after-exit\t''
after-end\t''
in-the-future\t''
untimed-today\t''
perhaps-the-same\t''
older-than-its-event\t''
log-gap\t''
contradiction\t''
void-incomplete\t''
amendment-incomplete\t''
resolved-before-onset\t''
recurrence-of-nothing\t''
organisms-without-growth\t''
not-a-physician\t''
step-twice\t''
unknown-curriculum\t''
unknown-step\t''
edited-after-commit\t''
deleted-record\t''
anchor-not-left-in-place\t''
driveline-cleansed-without-drainage\t''
gauze-over-dry-site\t''
disc-not-moistened\t''
intolerance-ignored\t''
private-data\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l explain -d 'Say why a rule is there, instead; `all` says it of every rule' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l at-commit -d 'Ask what was on file at this commit, as HEAD~1 or a1b2c3d; the records folder is left alone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l from -d 'The first day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l to -d 'The last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l at-commit -d 'Ask what was on file at this commit, as HEAD~1 or a1b2c3d; the records folder is left alone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand schema" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand schema" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand schema" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand completions" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand completions" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand completions" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand man" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand man" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand man" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "due" -d 'Who needs a change or a call, worst first, and why'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "missed" -d 'Expected changes over a period: on time, late, missed or unreported, and the longest gap'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "grade" -d 'The exit-site score, item by item, its band, and which way it moves'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "show" -d 'One patient\'s story: course, orders, the score over time, what happened, what is due and why'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "check" -d 'Everything that is wrong in the records, each with the place and what to do'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "history" -d 'Who recorded, amended or voided what, and how late, from git and the records together'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "init" -d 'Lay out a new records folder, with a policy to fill in'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "schema" -d 'JSON Schemas of the record files and of the reports; without a name, the names'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "completions" -d 'Completions for a shell, to standard output'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "man" -d 'The man page of exitsite, or of one of its commands, to standard output'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check history init schema completions man help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
