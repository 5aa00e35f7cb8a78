#!/usr/bin/env bash
# The bench at the real window: a control, then ten tests, four of their codes in one burst of the scanner, and one strip
# without a control line. A scanner that sends a yes records nothing. The store is what the terminal's bench makes of the
# same lines.
program=$1
. "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
. "$(dirname "${BASH_SOURCE[0]}")/story/farm.sh"
store=$work/window.lodicule line=$work/line.lodicule
make_farm "$store"
put_strips "$store"
put "$store" samples <<TEXT
sample,stage,kind,field
C1,control,composite,
$(for i in $(seq 10); do echo "S$i,standing,composite,$([ $((i % 2)) = 0 ] && echo Fen || echo "Mill Piece")"; done)
TEXT
cp "$store" "$line"

tests_there() { [ "$(rows_of "$store" tests | tail -n +2 | wc -l)" -eq "$1" ]; }
strips_there() { [ "$(rows_of "$store" strips | tail -n +2 | wc -l)" -eq "$1" ]; }
# A line as it is typed; its Enter comes when all of it is seen to stand there.
line_stands() { words_in "bench line" | grep -qF -- "$1"; }
type_line() {
    write "$1"
    wait_for "the line \"$1\"" line_stands "$1"
    press Return
}
# The strip of a sample is taken in hand and read when its clock says so.
strip_of() { rows_of "$store" strips | awk -F, -v sample="$1" '$2 == sample { print $1 }'; }
may_be_read() { words_in "clock $1" | grep -q "in hand, read now"; }
read_strip() {
    scan "$1"
    wait_for "the clock of $1" may_be_read "$(strip_of "$1")"
    type_line "$2"
    wait_for "the question whether $1 reads $2" has "bench yes"
}

open_window "$store" --fresh --season "$year" --limit 1.0 --room bench --width 1440 --height 900
type_line "operator Ada"
type_line "kit K7"
wait_for "what is in use" says "In use: operator Ada, kit lot K7."
scan C1
wait_for "the strip of the control" strips_there 1
read_strip C1 1.02
click "bench yes"
wait_for "the control in the store" tests_there 1
picture control

# Four codes without a pause between them, then one at a time.
note_heard
xdotool key --delay 3 S 1 Return S 2 Return S 3 Return S 4 Return
settle 16
wait_for "four strips of one burst" strips_there 5
for i in 5 6 7 8 9 10; do scan "S$i"; done
wait_for "ten strips that run" strips_there 11
picture ten-run

contents=(0.31 0.32 0.33 "void no control line" 0.35 0.36 "<0.2" 1.38 0.39 2.4)
for i in $(seq 10); do
    read_strip "S$i" "${contents[$((i - 1))]}"
    if [ "$i" = 3 ]; then  # what a scanner sends confirms nothing, not even a yes
        scan yes
        wait_for "the refusal of a scanned yes" says "came too fast to be typed"
        tests_there 3 || complain "a yes of the scanner recorded something"
        picture scanned-yes
    fi
    if [ $((i % 3)) = 0 ]; then click "bench yes"; else type_line yes; fi
    wait_for "the test of S$i in the store" tests_there $((i + 1))
done
wait_for "no strip that runs" says "No strip is running"
picture all-read
close_window

# At the terminal in three sittings: strips go on running between them.
by_line() { "$program" add "$line" test >"$work/bench-out" 2>&1 || complain "the bench of the terminal fails: $(cat "$work/bench-out")"; }
printf '%s\n' "operator Ada" "kit K7" C1 | by_line
sleep 4
{ printf '%s\n' "operator Ada" "kit K7" C1 1.02 yes; for i in $(seq 10); do echo "S$i"; done; } | by_line
sleep 4
{ echo "operator Ada"; for i in $(seq 10); do printf '%s\n' "S$i" "${contents[$((i - 1))]}" yes; done; } | by_line

# Times and how long a strip ran are of the hand; all else is equal.
column_of() { rows_of "$1" "$2" | head -n 1 | tr , '\n' | grep -nxF "$3" | cut -d: -f1; }
ran=$(column_of "$store" tests incubation_s)
without_times() { sed -E 's/[0-9]{4}-[0-9-]+T[0-9:+-]+/TIME/g' | awk -F, -v OFS=, -v ran="${1:-0}" 'ran > 0 && NR > 1 { $ran = "RAN" } 1'; }
for kind in tests strips samples kit-lots; do
    [ $kind = tests ] && skip=$ran || skip=0
    rows_of "$store" $kind | without_times "$skip" >"$work/a"
    rows_of "$line" $kind | without_times "$skip" >"$work/b"
    cmp -s "$work/a" "$work/b" || { complain "window and terminal differ in $kind:"; diff "$work/a" "$work/b"; }
done
[ "$(rows_of "$store" tests | grep -c 'no control line')" -eq 1 ] || complain "the void strip is not in the store"
# What is made of them: results with their intervals.
for file in "$store" "$line"; do
    "$program" results "$file" --season "$year" --limit 1.0 --json 2>&1 | sed -E 's/[0-9]{4}-[0-9-]+T[0-9:+-]+/TIME/g' >"$file.results"
done
[ -s "$store.results" ] && cmp -s "$store.results" "$line.results" || { complain "the results differ:"; diff "$store.results" "$line.results" | head; }
"$program" check "$store" >"$work/check" || complain "the store is not whole: $(cat "$work/check")"
finish "eleven strips at the bench of the window as at the terminal"
