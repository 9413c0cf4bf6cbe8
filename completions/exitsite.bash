_exitsite() {
    local i cur prev opts cmd
    COMPREPLY=()
    if [[ "${BASH_VERSINFO[0]}" -ge 4 ]]; then
        cur="$2"
    else
        cur="${COMP_WORDS[COMP_CWORD]}"
    fi
    prev="$3"
    cmd=""
    opts=""

    for i in "${COMP_WORDS[@]:0:COMP_CWORD}"
    do
        case "${cmd},${i}" in
            ",$1")
                cmd="exitsite"
                ;;
            exitsite,alert)
                cmd="exitsite__subcmd__alert"
                ;;
            exitsite,amend)
                cmd="exitsite__subcmd__amend"
                ;;
            exitsite,audit)
                cmd="exitsite__subcmd__audit"
                ;;
            exitsite,check)
                cmd="exitsite__subcmd__check"
                ;;
            exitsite,completions)
                cmd="exitsite__subcmd__completions"
                ;;
            exitsite,contacts)
                cmd="exitsite__subcmd__contacts"
                ;;
            exitsite,due)
                cmd="exitsite__subcmd__due"
                ;;
            exitsite,export)
                cmd="exitsite__subcmd__export"
                ;;
            exitsite,grade)
                cmd="exitsite__subcmd__grade"
                ;;
            exitsite,handoff)
                cmd="exitsite__subcmd__handoff"
                ;;
            exitsite,history)
                cmd="exitsite__subcmd__history"
                ;;
            exitsite,import)
                cmd="exitsite__subcmd__import"
                ;;
            exitsite,init)
                cmd="exitsite__subcmd__init"
                ;;
            exitsite,man)
                cmd="exitsite__subcmd__man"
                ;;
            exitsite,missed)
                cmd="exitsite__subcmd__missed"
                ;;
            exitsite,patient)
                cmd="exitsite__subcmd__patient"
                ;;
            exitsite,policy)
                cmd="exitsite__subcmd__policy"
                ;;
            exitsite,pool)
                cmd="exitsite__subcmd__pool"
                ;;
            exitsite,record)
                cmd="exitsite__subcmd__record"
                ;;
            exitsite,resolve)
                cmd="exitsite__subcmd__resolve"
                ;;
            exitsite,result)
                cmd="exitsite__subcmd__result"
                ;;
            exitsite,round)
                cmd="exitsite__subcmd__round"
                ;;
            exitsite,schema)
                cmd="exitsite__subcmd__schema"
                ;;
            exitsite,sheet)
                cmd="exitsite__subcmd__sheet"
                ;;
            exitsite,show)
                cmd="exitsite__subcmd__show"
                ;;
            exitsite,signals)
                cmd="exitsite__subcmd__signals"
                ;;
            exitsite,staff)
                cmd="exitsite__subcmd__staff"
                ;;
            exitsite,supplies)
                cmd="exitsite__subcmd__supplies"
                ;;
            exitsite,teaching)
                cmd="exitsite__subcmd__teaching"
                ;;
            exitsite,void)
                cmd="exitsite__subcmd__void"
                ;;
            exitsite__subcmd__contacts,check)
                cmd="exitsite__subcmd__contacts__subcmd__check"
                ;;
            exitsite__subcmd__patient,add)
                cmd="exitsite__subcmd__patient__subcmd__add"
                ;;
            exitsite__subcmd__patient,caregiver)
                cmd="exitsite__subcmd__patient__subcmd__caregiver"
                ;;
            exitsite__subcmd__patient,end)
                cmd="exitsite__subcmd__patient__subcmd__end"
                ;;
            exitsite__subcmd__patient,exit)
                cmd="exitsite__subcmd__patient__subcmd__exit"
                ;;
            exitsite__subcmd__patient,move)
                cmd="exitsite__subcmd__patient__subcmd__move"
                ;;
            exitsite__subcmd__patient,order)
                cmd="exitsite__subcmd__patient__subcmd__order"
                ;;
            exitsite__subcmd__policy,diff)
                cmd="exitsite__subcmd__policy__subcmd__diff"
                ;;
            exitsite__subcmd__record,assessment)
                cmd="exitsite__subcmd__record__subcmd__assessment"
                ;;
            exitsite__subcmd__record,change)
                cmd="exitsite__subcmd__record__subcmd__change"
                ;;
            exitsite__subcmd__record,contact)
                cmd="exitsite__subcmd__record__subcmd__contact"
                ;;
            exitsite__subcmd__record,culture)
                cmd="exitsite__subcmd__record__subcmd__culture"
                ;;
            exitsite__subcmd__record,infection)
                cmd="exitsite__subcmd__record__subcmd__infection"
                ;;
            exitsite__subcmd__record,inspection)
                cmd="exitsite__subcmd__record__subcmd__inspection"
                ;;
            exitsite__subcmd__record,log)
                cmd="exitsite__subcmd__record__subcmd__log"
                ;;
            exitsite__subcmd__record,photo)
                cmd="exitsite__subcmd__record__subcmd__photo"
                ;;
            exitsite__subcmd__record,shower)
                cmd="exitsite__subcmd__record__subcmd__shower"
                ;;
            exitsite__subcmd__record,supply)
                cmd="exitsite__subcmd__record__subcmd__supply"
                ;;
            exitsite__subcmd__record,teaching)
                cmd="exitsite__subcmd__record__subcmd__teaching"
                ;;
            exitsite__subcmd__record,trauma)
                cmd="exitsite__subcmd__record__subcmd__trauma"
                ;;
            exitsite__subcmd__record,treatment)
                cmd="exitsite__subcmd__record__subcmd__treatment"
                ;;
            exitsite__subcmd__staff,add)
                cmd="exitsite__subcmd__staff__subcmd__add"
                ;;
            exitsite__subcmd__staff,retire)
                cmd="exitsite__subcmd__staff__subcmd__retire"
                ;;
            *)
                ;;
        esac
    done

    case "${cmd}" in
        exitsite)
            opts="-h -V --records --color --help --version due missed grade show signals teaching supplies audit pool alert round handoff record sheet amend void result resolve patient staff policy check history contacts import export init schema completions man"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 1 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__alert)
            opts="-h --state --log --sendmail --smtp --from --password-file --fallback --heartbeat --dry-run --exit-code --timeout --format --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --state)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --log)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --sendmail)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --smtp)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --password-file)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --fallback)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --timeout)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --format)
                    COMPREPLY=($(compgen -W "text json" -- "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__amend)
            opts="-h --set --clear --edit --by --why --yes --dry-run --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --set)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --clear)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --why)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__audit)
            opts="-h --month --quarter --year --from --to --compare --by --issued --external --html --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --month)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --quarter)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --year)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --compare)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -W "where reports caregivers implant-year" -- "${cur}"))
                    return 0
                    ;;
                --issued)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --html)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__check)
            opts="-h --since --against --photos --fail-on --explain --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --since)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --against)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --photos)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --fail-on)
                    COMPREPLY=($(compgen -W "error warning syntax not-utf8 conflict-markers missing-file cannot-be-read too-large too-deep not-a-regular-file wrong-type unknown-word unknown-key missing-key impossible-number unlikely-number bad-code control-characters at-or-on skipped-time repeated-time not-a-date-of-care leap-second fraction-of-second unusual-offset name-disagrees stray-name stray-folder stray-elsewhere foreign-file photograph leftover-of-a-write unknown-schema unknown-zone care-day-start care-day-in-clock-change interval interval-long phase-gap rubric curriculum twice-in-policy check-setting address code-disagrees code-twice unknown-person another-household person-not-active exit-sites care-rows records-from ends-before-it-begins records-begin-early orders-disagree exit-unclear exit-not-allowed exit-not-named not-for-staff before-implant before-exit after-exit after-end in-the-future untimed-today perhaps-the-same older-than-its-event log-ahead log-gap contradiction void-incomplete amendment-incomplete resolved-before-onset onset-outside infection-twice recurrence-of-nothing organisms-without-growth not-a-physician step-twice unknown-curriculum unknown-step photo-sum photo-place photo-missing photo-altered edited-after-commit deleted-record missing-here earlier-here differs-there anchor-not-left-in-place driveline-cleansed-without-drainage gauze-over-dry-site disc-not-moistened intolerance-ignored private-data" -- "${cur}"))
                    return 0
                    ;;
                --explain)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__completions)
            opts="-h --records --color --help bash elvish fish powershell zsh"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__contacts)
            opts="-h --records --color --help check"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__contacts__subcmd__check)
            opts="-h --contacts --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --contacts)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__due)
            opts="-h --within --all --exit-code --html --no-pager --contacts --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --within)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --html)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --contacts)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__export)
            opts="-h --patient --from --to --pseudonymous --key --as-of --at-commit --json --records --color --help csv json parquet"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --patient)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --key)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__grade)
            opts="-h --each --from --to --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__handoff)
            opts="-h --since --html --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --since)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --html)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__history)
            opts="-h --from --to --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__import)
            opts="-h --map --patient --kind --by --by-entered --log --incomplete --dry-run --yes --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --map)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --patient)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --kind)
                    COMPREPLY=($(compgen -W "assessment change contact culture infection inspection log photo shower supply teaching trauma treatment" -- "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --log)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__init)
            opts="-h --program --time-zone --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --program)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --time-zone)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__man)
            opts="-h --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__missed)
            opts="-h --from --to --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient)
            opts="-h --records --color --help add move order exit caregiver end"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient__subcmd__add)
            opts="-h --implanted --where --infections-before --last-change-before --intolerances --reports --time-zone --by --yes --dry-run --source --commit --no-commit --place --records-from --place-since --place-before --caregiver --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --implanted)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --where)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --infections-before)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --last-change-before)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --intolerances)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --reports)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --time-zone)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --place)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records-from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --place-since)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --place-before)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --caregiver)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient__subcmd__caregiver)
            opts="-h --code --relation --by --yes --dry-run --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --code)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --relation)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient__subcmd__end)
            opts="-h --on --why --by --yes --dry-run --source --commit --no-commit --ends-signals --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --why)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient__subcmd__exit)
            opts="-h --id --where --why --from --by --yes --dry-run --source --commit --no-commit --ends-signals --closes --until --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --id)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --where)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --why)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --closes)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --until)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient__subcmd__move)
            opts="-h --place --from --reports --time-zone --by --why --yes --dry-run --source --commit --no-commit --ends-signals --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --place)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --reports)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --time-zone)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --why)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__patient__subcmd__order)
            opts="-h --no-showers --from --until --exit --by --why --yes --dry-run --source --commit --no-commit --ends-signals --every-days --on-weekdays --min-days --end --longer-than-usual --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --until)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --why)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --every-days)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on-weekdays)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --min-days)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --end)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__policy)
            opts="-h --records --color --help diff"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__policy__subcmd__diff)
            opts="-h --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__pool)
            opts="-h --html --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --html)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record)
            opts="-h --records --color --help assessment change contact culture infection inspection log photo shower supply teaching trauma treatment"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__assessment)
            opts="-h --records --color --at --on --by --source --exit --drainage --drainage-site --amount --amount-site --redness-mm --redness-mm-site --swelling --swelling-site --crust-mm --crust-mm-site --pain --pain-site --odor --odor-site --warmth --warmth-site --overgranulation --overgranulation-site --bleeding --bleeding-site --temperature-c --temperature-c-site --note --site --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --drainage-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --drainage)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --amount-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --amount)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --redness-mm-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --redness-mm)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --swelling-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --swelling)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --crust-mm-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --crust-mm)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --pain-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --pain)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --odor-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --odor)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --warmth-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --warmth)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --overgranulation-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --overgranulation)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --bleeding-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --bleeding)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --temperature-c-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --temperature-c)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --site)
                    COMPREPLY=($(compgen -W "none-noted" -- "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__change)
            opts="-h --records --color --at --on --by --source --exit --reason --steps-missed --dressing-found --anchor-found --cleanser --cleanser-materials --driveline-cleansed --driveline-cleansed-materials --disc --disc-materials --skin-protectant --skin-protectant-materials --gauze --gauze-materials --dressing-left --anchor-left --drainage --drainage-site --amount --amount-site --redness-mm --redness-mm-site --swelling --swelling-site --crust-mm --crust-mm-site --pain --pain-site --odor --odor-site --warmth --warmth-site --overgranulation --overgranulation-site --bleeding --bleeding-site --temperature-c --temperature-c-site --note --site --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --reason)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --steps-missed)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --dressing-found)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --anchor-found)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --cleanser-materials)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --cleanser)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --driveline-cleansed-materials)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --driveline-cleansed)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --disc-materials)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --disc)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --skin-protectant-materials)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --skin-protectant)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --gauze-materials)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --gauze)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --dressing-left)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --anchor-left)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --drainage-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --drainage)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --amount-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --amount)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --redness-mm-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --redness-mm)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --swelling-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --swelling)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --crust-mm-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --crust-mm)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --pain-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --pain)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --odor-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --odor)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --warmth-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --warmth)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --overgranulation-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --overgranulation)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --bleeding-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --bleeding)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --temperature-c-site)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --temperature-c)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --site)
                    COMPREPLY=($(compgen -W "none-noted" -- "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__contact)
            opts="-h --records --color --at --on --by --source --with --about --outcome --escalated-to --expect-by --temperature-c --note --changed --changed-by --changed-exit --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --with)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --about)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --outcome)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --escalated-to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --expect-by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --temperature-c)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --changed)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --changed-by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --changed-exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__culture)
            opts="-h --records --color --at --on --by --source --specimen --on-result --growth --growth-result --organisms --organisms-result --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --specimen)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on-result)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --growth-result)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --growth)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --organisms-result)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --organisms)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__infection)
            opts="-h --records --color --at --on --by --source --part --certainty --onset --resolved --readmission --organisms --recurrence-of --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --part)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --certainty)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --onset)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --resolved)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --readmission)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --organisms)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --recurrence-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__inspection)
            opts="-h --records --color --at --on --by --source --exit --dressing --anchor --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --dressing)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --anchor)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__log)
            opts="-h --records --color --at --on --by --source --from --through --complete --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --through)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --complete)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__photo)
            opts="-h --records --color --at --on --by --source --exit --sha256 --bytes --kept-at --note --file --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --sha256)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --bytes)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --kept-at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --file)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__shower)
            opts="-h --records --color --at --on --by --source --water --dressing-before --dressing-after --anchor --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --water)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --dressing-before)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --dressing-after)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --anchor)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__supply)
            opts="-h --records --color --at --on --by --source --item --received --counted --lost --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --item)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --received)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --counted)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --lost)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__teaching)
            opts="-h --records --color --at --on --by --source --learner --observer --curriculum --version --mode --unaided --prompted --missed --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --learner)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --observer)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --curriculum)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --version)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --mode)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --unaided)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --prompted)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --missed)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__trauma)
            opts="-h --records --color --at --on --by --source --exit --mechanism --dressing --anchor --site-bleeding --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --exit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --mechanism)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --dressing)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --anchor)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --site-bleeding)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__record__subcmd__treatment)
            opts="-h --records --color --at --on --by --source --what --until --note --by-entered --edit --dry-run --yes --commit --no-commit --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                --at)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --what)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --until)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --note)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by-entered)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__resolve)
            opts="-h --on --by --yes --dry-run --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__result)
            opts="-h --on --growth --organisms --yes --dry-run --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --on)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --growth)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --organisms)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__round)
            opts="-h --within --again --by --contacts --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --within)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --contacts)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__schema)
            opts="-h --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__sheet)
            opts="-h --month --checkoff --for --version --language --html --csv --ics --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --month)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --checkoff)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --for)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --version)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --language)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --html)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --csv)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --ics)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__show)
            opts="-h --all --from --to --html --contacts --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --html)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --contacts)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__signals)
            opts="-h --all --waiting --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --waiting)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__staff)
            opts="-h --records --color --help add retire"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__staff__subcmd__add)
            opts="-h --role --may-sign --yes --dry-run --source --commit --no-commit --from --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --role)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --from)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__staff__subcmd__retire)
            opts="-h --until --yes --dry-run --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 3 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --until)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__supplies)
            opts="-h --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__teaching)
            opts="-h --within --as-of --at-commit --json --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --within)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --as-of)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --at-commit)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
        exitsite__subcmd__void)
            opts="-h --replaced-by --move-to --set --by --why --yes --dry-run --source --commit --no-commit --records --color --help"
            if [[ ${cur} == -* || ${COMP_CWORD} -eq 2 ]] ; then
                COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
                return 0
            fi
            case "${prev}" in
                --replaced-by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --move-to)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --set)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --by)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --why)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --source)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --records)
                    COMPREPLY=($(compgen -f "${cur}"))
                    return 0
                    ;;
                --color)
                    COMPREPLY=($(compgen -W "auto always never" -- "${cur}"))
                    return 0
                    ;;
                *)
                    COMPREPLY=()
                    ;;
            esac
            COMPREPLY=( $(compgen -W "${opts}" -- "${cur}") )
            return 0
            ;;
    esac
}

if [[ "${BASH_VERSINFO[0]}" -eq 4 && "${BASH_VERSINFO[1]}" -ge 4 || "${BASH_VERSINFO[0]}" -gt 4 ]]; then
    complete -F _exitsite -o nosort -o bashdefault -o default exitsite
else
    complete -F _exitsite -o bashdefault -o default exitsite
fi
