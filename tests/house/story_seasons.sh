#!/usr/bin/env bash
# A grower reads three seasons at the real window: the map of each, what it rests on, a profile, and his field over the
# years. The numbers are those of `map` and `review`, and nothing of the store has changed when the window is closed.
program=$1
. "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
store=$work/demo.lodicule
cp demo-for-tests/demo.lodicule "$store"
field=R01
# All that can go out, one kind after another, and where the chain of records ends.
everything() {
    local kind
    for kind in fields crops scouting stations weather limits contracts costs kit-lots calibrators controls loads load-parts bins samples strips tests moves; do
        echo "== $kind"; rows_of "$store" $kind
    done
    "$program" check "$store" | grep '^last hash'
}
everything >"$work/before"

open_window "$store" --fresh --season 2026 --limit 1.0 --room contamination --field $field --width 1440 --height 900
# The number of the field in the season that is shown, as `map` has it.
reads_as_map() {
    run_line map "$store" --season "$1" --limit 1.0
    local row
    row=$(grep -E "^$field " "$work/line-out") || { complain "map --season $1 has no row of $field"; return; }
    row=$(sed -E "s/^$field +[0-9]+ +[0-9]+ +([0-9.]+) +([0-9.]+) +([0-9.]+) +((under |over )?[0-9]+ %).*/\1 mg\/kg (90 % interval \2 to \3), \4 chance of lying over the limit/" <<<"$row")
    wait_for "season $1" is season "$1"
    settle
    words_in sheet | grep -qF "$row" || complain "season $1: the window does not say of $field: $row"
}
reads_as_map 2026
press comma
reads_as_map 2025
picture season-2025
press comma
reads_as_map 2024
press period period
wait_for "season 2026 again" is season 2026
click "season at 2024"
wait_for "season 2024 by the pointer" is season 2024
settle
# What may be looked at besides.
press v e
wait_for "what the map rests on" has evidence
settle
picture evidence
press e t
wait_for "the profile" has profile
settle
press t c
click "season at 2026"
wait_for "season 2026 by the pointer" is season 2026
settle

press 5
wait_for "what the seasons teach" has taught
wait_for "the field over the years" has "year 2026"
settle
picture years
run_line review "$store" --field $field --limit 1.0
years=0
while read -r season content; do
    years=$((years + 1))
    words_in "year $season" | grep -qF "$content" || complain "past seasons: the window does not say of $field in $season: $content; it says $(words_in "year $season")"
done < <(sed -nE 's/^ +([0-9]{4}) +wheat .* ([0-9.]+) +([0-9.]+) to ([0-9.]+) .*/\1 \2 mg\/kg (\3 to \4)/p' "$work/line-out")
[ $years -ge 2 ] || complain "review --field names $years seasons of $field"
# What the strips cost and changed, a season each: the table of `review` in sentences.
run_line review "$store" --limit 1.0
table=$(sed -n '/^4\. What the strips cost/,/^ *money:/p' "$work/line-out" | grep -E '^ +[0-9]{4} ')
[ "$(wc -l <<<"$table")" -eq 3 ] || complain "review tells of other seasons than three: $table"
while read -r season strips laboratory _ controls samples money rest; do
    sentence="$season: $strips strips of grain, $controls of controls and $laboratory tests of a laboratory on $samples samples, which cost $money; "
    [[ $rest == "– "* ]] || sentence+="${rest##* } fields foretold twice or more: the chance of being over the limit fell to 5 % or less in $(sed -E 's/ +[0-9]+$//; s/  +/ and rose above that in /' <<<"$rest")."
    # The window names the fields as well: "3 (R04, T04 and U07; 209 t)".
    words_in taught | sed -E 's/\([^();]+; ([0-9.,]+ t)\)/(\1)/g' | grep -qF "$sentence" || complain "past seasons: the window does not say: $sentence"
done <<<"$table"
press n
wait_for "the next field" is_not field $field
settle
press p
wait_for "the field again" is field $field
settle
close_window

everything >"$work/after"
[ "$(wc -l <"$work/before")" -gt 1000 ] || complain "hardly anything goes out of the store"
cmp -s "$work/before" "$work/after" || { complain "reading changed the store:"; diff "$work/before" "$work/after" | head; }
finish "three seasons are read in the window, its numbers are those of the commands, and the store is as it was"
