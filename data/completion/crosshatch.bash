# Completion for bash. Verbs and options are asked of the program itself, so that they are never behind it.

_crosshatch() {
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} words
    if [ "$COMP_CWORD" -eq 1 ]; then
        words=$(crosshatch --help 2>/dev/null | awk '/^  [a-z]/ { print $1 }')
        mapfile -t COMPREPLY < <(compgen -W "$words --help --version" -- "$word")
        return
    fi
    if [ "${COMP_WORDS[1]}" = help ]; then
        words=$(crosshatch --help 2>/dev/null | awk '/^  [a-z]/ { print $1 }')
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
        return
    fi
    case $before in
    --knowledge | --write)
        mapfile -t COMPREPLY < <(compgen -d -- "$word")
        return
        ;;
    --horizon)
        mapfile -t COMPREPLY < <(compgen -W 'season year three_years' -- "$word")
        return
        ;;
    --paper)
        mapfile -t COMPREPLY < <(compgen -W 'a4 letter' -- "$word")
        return
        ;;
    esac
    if [ "${word#-}" != "$word" ]; then
        words=$(crosshatch help "${COMP_WORDS[1]}" 2>/dev/null |
            awk '/^  -/ { for (i = 1; i <= 2; i++) { gsub(",", "", $i); if ($i ~ /^-/) print $i } }')
        mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
        return
    fi
    mapfile -t COMPREPLY < <(compgen -f -- "$word")
}

complete -o filenames -F _crosshatch crosshatch
