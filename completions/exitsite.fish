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

complete -c exitsite -n "__fish_exitsite_needs_command" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_needs_command" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_needs_command" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_needs_command" -s V -l version -d 'Print version'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "due" -d 'List the patients who need a change or a call, by urgency'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "missed" -d 'List expected changes: on time, late, missed or unreported'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "grade" -d 'Score the exit site, item by item, with band and trend'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "show" -d 'Show one patient\'s course, orders, scores, events, due changes'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "signals" -d 'List findings that need review, with evidence and follow-up'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "teaching" -d 'List sign-offs, their last day, and what is missing'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "supplies" -d 'List each household\'s supplies and the last day to order'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "audit" -d 'Report a period: infections per device-day, changes, signals'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "pool" -d 'Compare yearly reports of several programs'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "alert" -d 'Alert on overdue changes, signals and unreadable records'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "round" -d 'Walk through the list and record the outcome of each call'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "handoff" -d 'Hand off to the next shift: events since its start, and what is due next'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "record" -d 'Record one event: a change, a shower, an assessment, a call'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "sheet" -d 'Print a household\'s log of a month, or a checkoff'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "amend" -d 'Correct a record; the old value, writer and reason stay on file'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "void" -d 'Void a record: it stays on file but no longer counts'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "result" -d 'Enter the result of a culture'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "resolve" -d 'Record that an infection resolved or a treatment ended'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "patient" -d 'Add a patient; record moves, orders, exit sites, caregivers'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "staff" -d 'Add a staff member, or record a last day'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "policy" -d 'Compare the policy with an earlier one, and show the effect'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "check" -d 'List every error in the records, with its correction'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "history" -d 'List each record written, amended or voided, and its delay'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "contacts" -d 'Compare the contacts file with the patients on file'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "import" -d 'Import a paper log or a spreadsheet: all rows or none'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "export" -d 'Export the records as tables, one per kind'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "init" -d 'Create a records folder, with a policy to fill in'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "schema" -d 'Print the JSON Schemas of the record files and reports'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "completions" -d 'Print the completion script for a shell'
complete -c exitsite -n "__fish_exitsite_needs_command" -f -a "man" -d 'Print the manual page of exitsite or of a command'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l within -d 'Also list patients who become due within this many hours' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l html -d 'Write the list as a page to print, on US Letter or A4, to this file; replaces only a page written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l contacts -d 'Names and telephone numbers, a CSV file with mode 0600 outside the records and git; default: EXITSITE_CONTACTS' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l all -d 'All patients'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l exit-code -d 'Exit with 1 if a patient is overdue or has a signal of today'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l no-pager -d 'Print the list directly, even if it is longer than the terminal; otherwise it goes through PAGER'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand due" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l from -d 'First day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l to -d 'Last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand missed" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l from -d 'First day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l to -d 'Last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l each -d 'List every site record instead of the latest'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand grade" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l from -d 'First day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l to -d 'Last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l html -d 'Write a page to print, on US Letter or A4, to this file; replaces only a page written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l contacts -d 'Names and telephone numbers, a CSV file with mode 0600 outside the records and git; default: EXITSITE_CONTACTS' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l all -d 'The full history instead of the last 28 days'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand show" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l waiting -d 'Only signals of today not acted on for this many hours or more, longest wait first; for a screen on the ward' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l all -d 'Also list signals that have ended'
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand signals" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -l within -d 'Only people whose sign-off has lapsed, or lapses within this many days; JSON always lists everyone' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand teaching" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand supplies" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand supplies" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand supplies" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand supplies" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand supplies" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand supplies" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l month -d 'A month' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l quarter -d 'A quarter' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l year -d 'A year' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l from -d 'The first day' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l to -d 'The last day' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l compare -d 'Compare with the period from this first to this last day; default: compare the 12 months to the period\'s end with the 12 months before' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l by -d 'Compare the time to a first infection between groups of patients with the same value of this field' -r -f -a "where\t''
reports\t''
caregivers\t''
implant-year\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l issued -d 'List what has changed since a report was issued; FILE is the JSON of that report' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l html -d 'Write a page with charts, to read or print, to this file; replaces only a page written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l external -d 'Print figures that may leave the program, for one complete calendar year (with --year): counts of 5 or more, no codes, no dates, no breakdown of any count'
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand audit" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand pool" -l html -d 'Write a page with the funnel plot, to read or print, to this file; replaces only a page written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand pool" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand pool" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand pool" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand pool" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l state -d 'Remember sent alerts and their recipients in this file' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l log -d 'Append a line per message to this file: time, recipient, alerts, the server\'s reply; existing lines never change' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l sendmail -d 'Send with the local mail program, run as PROGRAM -t -i' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l smtp -d 'Send through a mail server: smtp://HOST:PORT (STARTTLS, except on this machine) or smtps://HOST, with USER@ before the host' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l from -d 'Sender address of the mail' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l password-file -d 'File with the password of the mail server, mode 0600; default: EXITSITE_SMTP_PASSWORD' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l fallback -d 'Recipient of alerts for an administrator, and of all alerts if policy.toml lists no coordinator' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l timeout -d 'Seconds after which the delivery of all messages times out' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l format -d 'Output format' -r -f -a "text\t'For people'
json\t'For scripts, as --json'"
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l heartbeat -d 'Send a message even without new alerts, so that silence is never taken for good news'
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l dry-run -d 'Show the messages and their recipients without sending or remembering anything'
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l exit-code -d 'Exit with 1 if an alert was sent or printed'
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand alert" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -l within -d 'Also list patients who become due within this many hours' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -l by -d 'Caller, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -l contacts -d 'Names and telephone numbers, a CSV file with mode 0600 outside the records and git; default: EXITSITE_CONTACTS' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -l again -d 'Also list patients already reached today who need nothing now'
complete -c exitsite -n "__fish_exitsite_using_subcommand round" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l since -d 'Start of the handoff: 19:00, "yesterday 19:00", 2026-11-23T19:00; default: 12 hours before' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l html -d 'Write one page to sign, on US Letter or A4, to this file; replaces only a page written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand handoff" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "assessment" -d 'An assessment of the exit site without a dressing change, or of a picture'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "change" -d 'A dressing change: findings, materials, dressing and anchor as left'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "contact" -d 'A call or a message'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "culture" -d 'A swab or blood culture'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "infection" -d 'A clinician\'s determination of an infection'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "inspection" -d 'An inspection of dressing and anchor, without seeing the site'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "log" -d 'A household\'s log, read in for a range of days'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "photo" -d 'A picture that was taken: its checksum and where it is kept, never the picture itself'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "shower" -d 'A shower or other water'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "supply" -d 'Supplies received, counted or lost'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "teaching" -d 'A teaching checkoff of a household or of staff'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "trauma" -d 'A pull on the line, or dropped equipment'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and not __fish_seen_subcommand_from assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -f -a "treatment" -d 'A treatment that a clinician ordered for an infection'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l exit -d 'Exit site, required if several are open' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l drainage-site -l drainage -d 'Drainage: none, serous, serosanguineous, sanguineous or purulent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l amount-site -l amount -d 'Amount of drainage: scant, small, moderate or large' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l redness-mm-site -l redness-mm -d 'Redness or discoloration, from the line, in mm; 0 for none' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l swelling-site -l swelling -d 'Swelling: none, exit or tunnel' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l crust-mm-site -l crust-mm -d 'Crust, from the line, in mm; 0 for none' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l pain-site -l pain -d 'Pain on pressure: none, slight or severe' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l odor-site -l odor -d 'Odor' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l warmth-site -l warmth -d 'Warmth' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l overgranulation-site -l overgranulation -d 'Granulation tissue over the edge' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l bleeding-site -l bleeding -d 'Bleeding from the site' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l temperature-c-site -l temperature-c -d 'Body temperature, in °C' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l site -d 'All nine findings were assessed, and none was present' -r -f -a "none-noted\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from assessment" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l exit -d 'Exit site, required if several are open' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l reason -d 'Reason for the change: scheduled, after-shower, wet, soiled, lifting, site-concern, teaching or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l steps-missed -d 'Steps of the curriculum that were missed, by id' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l dressing-found -d 'Dressing: intact, lifting, wet, soiled or off' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l anchor-found -d 'Anchor: in-place, loose or absent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l cleanser-materials -l cleanser -d 'Skin cleanser: chlorhexidine, povidone-iodine, saline or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l driveline-cleansed-materials -l driveline-cleansed -d 'Antiseptic on the line itself' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l disc-materials -l disc -d 'Antimicrobial disc: moistened, dry or none' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l skin-protectant-materials -l skin-protectant -d 'Skin protectant under the adhesive' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l gauze-materials -l gauze -d 'Gauze over the site' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l dressing-left -d 'Dressing: intact, lifting, wet, soiled or off' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l anchor-left -d 'Anchor: in-place, loose or absent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l drainage-site -l drainage -d 'Drainage: none, serous, serosanguineous, sanguineous or purulent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l amount-site -l amount -d 'Amount of drainage: scant, small, moderate or large' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l redness-mm-site -l redness-mm -d 'Redness or discoloration, from the line, in mm; 0 for none' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l swelling-site -l swelling -d 'Swelling: none, exit or tunnel' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l crust-mm-site -l crust-mm -d 'Crust, from the line, in mm; 0 for none' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l pain-site -l pain -d 'Pain on pressure: none, slight or severe' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l odor-site -l odor -d 'Odor' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l warmth-site -l warmth -d 'Warmth' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l overgranulation-site -l overgranulation -d 'Granulation tissue over the edge' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l bleeding-site -l bleeding -d 'Bleeding from the site' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l temperature-c-site -l temperature-c -d 'Body temperature, in °C' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l site -d 'All nine findings were assessed, and none was present' -r -f -a "none-noted\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from change" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l with -d 'Person reached: a code, patient or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l about -d 'Subjects: overdue, log, supply, other, or signal names: overdue, log, supply, other, signals, pus, score-review, score-with-growth, redness-wide, swelling-tunnel, bleeding-at-site, fever, culture-growth, immersed, home-untaught, order-violated, line-pulled, anchor-off, water-at-site, score-rising, redness-spreading, drainage-more, drainage-lasting, overgranulation, warmth-or-odor, changes-missed, log-late, not-looked-at, culture-unresulted, anchor-often-off, dressing-often-open, shower-too-early, shower-unchecked, untaught or away-long' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l outcome -d 'Outcome: will-change, coming-in, advised, escalated, support-ended, no-answer or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l escalated-to -d 'Clinician to whom it was escalated, by code, if the outcome is escalated' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l expect-by -d 'Time by which the promised change or visit is expected' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l temperature-c -d 'Reported temperature, in °C' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l changed -d 'Time of the reported change, which is also recorded; default: the time of the call' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l changed-by -d 'Person who changed it; default: the person reached' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l changed-exit -d 'Exit site of that change, if several are open' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from contact" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l specimen -d 'Specimen: exit-site, blood, pocket or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l on-result -d 'Date of the result' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l growth-result -l growth -d 'True if organisms grew' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l organisms-result -l organisms -d 'Organisms that grew' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from culture" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l part -d 'Infected part: driveline-superficial, driveline-deep, pocket, pump or bloodstream' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l certainty -d 'Certainty of the determination: proven, probable or possible' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l onset -d 'Date of onset' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l resolved -d 'Date of resolution' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l readmission -d 'True if the patient was readmitted for it' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l organisms -d 'Organisms' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l recurrence-of -d 'File name of the earlier infection, if this is a recurrence' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from infection" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l exit -d 'Exit site, required if several are open' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l dressing -d 'Dressing: intact, lifting, wet, soiled or off' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l anchor -d 'Anchor: in-place, loose or absent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from inspection" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l from -d 'First day of the log' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l through -d 'Last day of the log' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l complete -d 'True if the log is complete: every event of these days is in it' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from log" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l exit -d 'Exit site, required if several are open' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l sha256 -d 'SHA-256 checksum of the picture file, 64 digits and letters a to f; `--file` computes it' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l bytes -d 'Size of the picture file in bytes; `--file` measures it' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l kept-at -d 'Place where the picture is kept, a word from `[photos] kept_at` in the policy' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l file -d 'Picture file: its checksum and size are recorded; the picture itself is not copied' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from photo" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l water -d 'Kind of water: shower, bath, pool or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l dressing-before -d 'Dressing before the water: intact, lifting, wet, soiled or off' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l dressing-after -d 'Dressing after the water: intact, lifting, wet, soiled or off' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l anchor -d 'Anchor: in-place, loose or absent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from shower" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l item -d 'Item' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l received -d 'Number received' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l counted -d 'Number counted' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l lost -d 'Number lost or spoiled' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from supply" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l learner -d 'Learner' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l observer -d 'Observer' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l curriculum -d 'Curriculum' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l version -d 'Version of the curriculum' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l mode -d 'Mode of the checkoff: shown, assisted, return-demonstration or attested' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l unaided -d 'Steps done unaided, by id' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l prompted -d 'Steps done after a prompt, by id' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l missed -d 'Steps missed, by id' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from teaching" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l exit -d 'Exit site, required if several are open' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l mechanism -d 'Mechanism: dropped-equipment, snag, fall, twist or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l dressing -d 'Dressing: intact, lifting, wet, soiled or off' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l anchor -d 'Anchor: in-place, loose or absent' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l site-bleeding -d 'Bleeding from the site' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from trauma" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l at -d 'Time: 18:40, "yesterday 18:40", 2026-11-23T18:40, or a date alone; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l on -d 'Date, if the time is unknown: yesterday, 2026-11-23' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l by -d 'Person who did or saw it: a code, or patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l source -d 'Seen, told, log or image: seen, told, log or image' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l what -d 'Treatment: oral-antibiotic, intravenous-antibiotic, long-term-suppression, debridement, relocation or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l until -d 'Last day' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l note -d 'Free text; never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l by-entered -d 'Writer of this record; default: EXITSITE_BY, else --by if that is staff' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l edit -d 'Open the record in an editor before writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l dry-run -d 'Show the record without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l yes -d 'Answer yes to every question, except those that end or act on a signal of today (type --source) and the right to determine'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l commit -d 'Commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand record; and __fish_seen_subcommand_from treatment" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l month -d 'Month of the log; default: this month' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l checkoff -d 'Print the checkoff of this curriculum of the policy instead of a log' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l for -d 'Learner: a code, or patient; selects the curriculum for nurses or for caregivers' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l version -d 'Version of the curriculum; default: the newest' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l language -d 'Language, such as es: sheet/es.toml of the records, or the built-in one; default: the policy\'s' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l html -d 'Write a page to print, on US Letter or A4, to this file; replaces only a page written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l csv -d 'Write the rows of the log as CSV to this new file, or - to print them' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l ics -d 'Write the due days from today on as a calendar (RFC 5545), without findings or names, to this file; replaces only a calendar written by this command' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand sheet" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l set -d 'A key and its new value, such as redness_mm=2 or site.redness_mm=2; may be given several times' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l clear -d 'A key to remove; may be given several times' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l by -d 'Code of the person who corrects it; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l why -d 'Reason for the correction' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l edit -d 'Change the entire file in the editor'
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand amend" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l replaced-by -d 'The correct record, which is on file for the same patient and kind and is not voided' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l move-to -d 'Record it for this patient first: for a record of the wrong patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l set -d 'With --move-to: a key and its value in the new record, such as by=p014-spouse; may be given several times' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l by -d 'Code of the person who corrects it; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l why -d 'Reason for the correction' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand void" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l on -d 'Day of the result: 2026-11-24, yesterday' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l growth -d 'Growth: yes or no' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l organisms -d 'Organisms, separated by commas' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand result" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l on -d 'Day of the resolution, or last day of the treatment: 2026-11-24, yesterday' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l by -d 'Code of the clinician who determined the resolution; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand resolve" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -f -a "add" -d 'Add a patient'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -f -a "move" -d 'Record a move: inpatient, home, or elsewhere from a day on'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -f -a "order" -d 'Record a clinician\'s order (an interval, or no showers), or the end of an order'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -f -a "exit" -d 'Record a new exit site, or the last day of one'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -f -a "caregiver" -d 'Add a caregiver, by code'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and not __fish_seen_subcommand_from add move order exit caregiver end" -f -a "end" -d 'Record the end of support: nothing is due from that day on'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l implanted -d 'Implant date' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l where -d 'Location of the exit site on the abdomen: right-upper, left-upper, right-lower, left-lower, midline or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l infections-before -d 'Driveline infections before that day: a count, or "unknown"' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l last-change-before -d 'Last dressing change before records_from, if known' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l intolerances -d 'Intolerances' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l reports -d 'Reporting: each change as it happens (each, the default), or in a log (log): each or log' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l time-zone -d 'Time zone, if it differs from the policy\'s' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l by -d 'Writer of this entry, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l place -d 'Where the patient lives now: inpatient, home, elsewhere; default if implanted in the last 30 days: inpatient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l records-from -d 'First day of this program\'s records; default if implanted in the last 30 days: the day of the implant' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l place-since -d 'First day at that place; default: the first day of the records' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l place-before -d 'With --place-since: the patient\'s place from the first day of the records until then; default: inpatient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l caregiver -d 'Caregiver code and relation to the patient: p014-son:son; may be given several times' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from add" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l place -d 'Place of care: inpatient, home or elsewhere' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l from -d 'First day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l reports -d 'Reporting: each change as it happens (each, the default), or in a log (log): each or log' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l time-zone -d 'Time zone, if it differs from the policy\'s' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l by -d 'Writer of this entry, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l why -d 'Reason' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -l ends-signals -d 'Confirm that open signals end and overdue changes leave the list; --yes does not confirm that'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from move" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l from -d 'First day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l until -d 'Last day, included' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l exit -d 'Exit site; all if omitted' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l by -d 'Clinician who gave it, by code' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l why -d 'Reason' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l every-days -d 'Days from one change to the next' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l on-weekdays -d 'Weekdays on which a change is due: mon, tue, wed, thu, fri, sat or sun' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l min-days -d 'With on_weekdays: minimum days after a change' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l end -d 'Last day (inclusive) of the order in force then; nothing new is ordered. If several are in force, --from, --exit, --every-days, --on-weekdays or --no-showers selects one' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l no-showers -d 'True if showers are not allowed while it is in force'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l ends-signals -d 'Confirm that open signals end and overdue changes leave the list; --yes does not confirm that'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -l longer-than-usual -d 'Confirm an interval longer than `[orders] longest_days` of the policy; --yes does not confirm that'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from order" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l id -d 'Id, such as "a"' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l where -d 'Location of the exit site on the abdomen: right-upper, left-upper, right-lower, left-lower, midline or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l why -d 'Reason for the exit site: implant, exchange, relocation or second-pump' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l from -d 'First day, POD 0' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l by -d 'Writer of this entry, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l closes -d 'Exit site that closes that day, for example after a relocation' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l until -d 'Last day (inclusive) of exit site --id; no new one is opened' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -l ends-signals -d 'Confirm that open signals end and overdue changes leave the list; --yes does not confirm that'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from exit" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l code -d 'Code, never a name' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l relation -d 'Relation to the patient' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l by -d 'Writer of this entry, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from caregiver" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l on -d 'Date' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l why -d 'Reason for the end of support: transplant, recovery, death, transferred or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l by -d 'Writer of this entry, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -l ends-signals -d 'Confirm that open signals end and overdue changes leave the list; --yes does not confirm that'
complete -c exitsite -n "__fish_exitsite_using_subcommand patient; and __fish_seen_subcommand_from end" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and not __fish_seen_subcommand_from add retire" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and not __fish_seen_subcommand_from add retire" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and not __fish_seen_subcommand_from add retire" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and not __fish_seen_subcommand_from add retire" -f -a "add" -d 'Add a staff member, by code'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and not __fish_seen_subcommand_from add retire" -f -a "retire" -d 'Record the last day of a staff member; sign-offs by the code stay valid'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l role -d 'Role in the program: coordinator, nurse, physician, educator or other' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l from -d 'First day with the program; default: not recorded, so the code is valid on any day' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l may-sign -d 'True if they may observe and sign a return demonstration'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from add" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l until -d 'Last day with the program' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l source -d 'Source: seen, told, log or image. Required in a script if this ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l yes -d 'Answer yes to every question'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l dry-run -d 'Show what would be written without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand staff; and __fish_seen_subcommand_from retire" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and not __fish_seen_subcommand_from diff" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and not __fish_seen_subcommand_from diff" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and not __fish_seen_subcommand_from diff" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and not __fish_seen_subcommand_from diff" -f -a "diff" -d 'Show old and new values, the next changes that move, and the past days whose state changes'
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and __fish_seen_subcommand_from diff" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and __fish_seen_subcommand_from diff" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and __fish_seen_subcommand_from diff" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and __fish_seen_subcommand_from diff" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and __fish_seen_subcommand_from diff" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand policy; and __fish_seen_subcommand_from diff" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l since -d 'Also compare with git: records edited without an amendment, or deleted, since this commit' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l against -d 'Also list records that this branch has and this folder lacks; for example origin/main after `git fetch`' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l photos -d 'Also look for the recorded pictures in this folder, by checksum; may be given several times' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l fail-on -d 'Exit with 1 on these: `error`, `warning` (includes errors), or the name of a rule; may be given several times' -r -f -a "error\t''
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
interval-long\t''
phase-gap\t''
rubric\t''
curriculum\t''
twice-in-policy\t''
check-setting\t''
address\t''
code-disagrees\t''
code-twice\t''
unknown-person\t''
another-household\t''
person-not-active\t''
exit-sites\t''
care-rows\t''
records-from\t''
ends-before-it-begins\t''
records-begin-early\t''
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
log-ahead\t''
log-gap\t''
contradiction\t''
void-incomplete\t''
amendment-incomplete\t''
resolved-before-onset\t''
onset-outside\t''
infection-twice\t''
recurrence-of-nothing\t''
organisms-without-growth\t''
not-a-physician\t''
step-twice\t''
unknown-curriculum\t''
unknown-step\t''
photo-sum\t''
photo-place\t''
photo-missing\t''
photo-altered\t''
edited-after-commit\t''
deleted-record\t''
missing-here\t''
earlier-here\t''
differs-there\t''
anchor-not-left-in-place\t''
driveline-cleansed-without-drainage\t''
gauze-over-dry-site\t''
disc-not-moistened\t''
intolerance-ignored\t''
private-data\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l explain -d 'Explain a rule instead; `all` explains every rule' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand check" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l from -d 'First day; default: 27 days before the last' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l to -d 'Last day; default: today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand history" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and not __fish_seen_subcommand_from check" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and not __fish_seen_subcommand_from check" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and not __fish_seen_subcommand_from check" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and not __fish_seen_subcommand_from check" -f -a "check" -d 'List patients without a line, and lines without a patient or caregiver'
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -l contacts -d 'Names and telephone numbers, a CSV file with mode 0600 outside the records and git; default: EXITSITE_CONTACTS' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand contacts; and __fish_seen_subcommand_from check" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l map -d 'Map of the spreadsheet\'s own columns, words and dates' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l patient -d 'Patient of the entire file' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l kind -d 'Kind for rows without one' -r -f -a "assessment\t''
change\t''
contact\t''
culture\t''
infection\t''
inspection\t''
log\t''
photo\t''
shower\t''
supply\t''
teaching\t''
trauma\t''
treatment\t''"
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l by -d 'Person who did or saw it, for rows without one' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l by-entered -d 'Writer of the records, by code; default: EXITSITE_BY' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l log -d 'Also record the log of these days; no row may be outside them' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l source -d 'Source for rows without one: log (default), told, seen or image. Required in a script if the file ends or acts on a signal of today' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l incomplete -d 'The log is not complete for these days'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l dry-run -d 'Show the result without writing it'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l yes -d 'Import despite remarks'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l commit -d 'Also commit it to git'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -l no-commit -d 'Do not commit it, even if the policy says so'
complete -c exitsite -n "__fish_exitsite_using_subcommand import" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l patient -d 'Only this patient; may be given several times' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l from -d 'Only events on or after this care day' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l to -d 'Only events on or before this care day' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l key -d 'New file that lists the patient of each number; outside the records and DIR, readable by its owner only' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l as-of -d 'Report as of this time: 2026-11-24 (the end of that care day) or 2026-11-24T07:15; default: now' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l at-commit -d 'Report the records at this commit, such as HEAD~1 or a1b2c3d; the records folder is not changed' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l pseudonymous -d 'Random patient numbers, days since the implant, no codes, no free text; needs --key'
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -l json -d 'Print JSON for scripts instead of text'
complete -c exitsite -n "__fish_exitsite_using_subcommand export" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -l program -d 'Name of the program, as shown in reports' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -l time-zone -d 'Time zone of the program, such as America/New_York' -r
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand init" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand schema" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand schema" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand schema" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand completions" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand completions" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand completions" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c exitsite -n "__fish_exitsite_using_subcommand man" -l records -d 'Records folder; default: EXITSITE_RECORDS, else the nearest parent folder with a policy.toml' -r -F
complete -c exitsite -n "__fish_exitsite_using_subcommand man" -l color -d 'Use of color; no meaning depends on color alone' -r -f -a "auto\t'On a terminal, unless NO_COLOR is set'
always\t'Always'
never\t'Never'"
complete -c exitsite -n "__fish_exitsite_using_subcommand man" -s h -l help -d 'Print help (see more with \'--help\')'
