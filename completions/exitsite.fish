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
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "import" -d 'Import a month of a paper log, or a spreadsheet: all of it or nothing, and twice is the same as once'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "init" -d 'Lay out a new records folder, with a policy to fill in'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "schema" -d 'JSON Schemas of the record files and of the reports; without a name, the names'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "completions" -d 'Completions for a shell, to standard output'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "man" -d 'The man page of exitsite, or of one of its commands, to standard output'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l within -d 'Also who becomes due within so many hours' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
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
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l from -d 'The first day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l to -d 'The last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
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
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l all -d 'Everything that ever happened, instead of the last 28 days'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l fail-on -d 'Exit with 1 from this level on' -r -f -a "error\t'A record that cannot be used'
warning\t'Also what is to be looked at'"
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l explain -d 'Say why a rule is there, instead; `all` says it of every rule' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l as-of -d 'Ask what was true by then: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l map -d 'From the spreadsheet\'s own columns, words and dates to those of the records' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l patient -d 'The patient of the whole file' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l kind -d 'The kind of rows that name none' -r -f -a "assessment\t''
change\t''
contact\t''
culture\t''
infection\t''
inspection\t''
log\t''
shower\t''
supply\t''
teaching\t''
trauma\t''
treatment\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l by -d 'Who did or saw it, where a row does not say' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l by-entered -d 'Who writes the records; else EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l log -d 'Also write that the log of these days was read in; no row may lie outside of them' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l records -d 'The records folder; else EXITSITE_RECORDS, else the nearest folder upward that holds a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l color -d 'When to use color; it never carries a meaning alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l incomplete -d 'The log does not say all that happened on these days'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l dry-run -d 'Say what would be done, and write nothing'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l yes -d 'Import although there is something to look at'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -s h -l help -d 'Print help (see more with \'--help\')'
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
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "due" -d 'Who needs a change or a call, worst first, and why'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "missed" -d 'Expected changes over a period: on time, late, missed or unreported, and the longest gap'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "grade" -d 'The exit-site score, item by item, its band, and which way it moves'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "show" -d 'One patient\'s story: course, orders, the score over time, what happened, what is due and why'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "check" -d 'Everything that is wrong in the records, each with the place and what to do'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "import" -d 'Import a month of a paper log, or a spreadsheet: all of it or nothing, and twice is the same as once'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "init" -d 'Lay out a new records folder, with a policy to fill in'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "schema" -d 'JSON Schemas of the record files and of the reports; without a name, the names'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "completions" -d 'Completions for a shell, to standard output'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "man" -d 'The man page of exitsite, or of one of its commands, to standard output'
complete -c exitsite -n "__fish_exitsite_using_subcommand help; and not __fish_seen_subcommand_from due missed grade show check import init schema completions man help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
