#!/usr/bin/env bash
# Somebody makes mistakes at the real window and takes them back: a result at the bench, a strip of the wrong sample, a
# truck that did not go there, a season and a limit. One is done again and taken back again. The store is then as if none
# of it had been done, but for the chain of records, which keeps all of it.
program=$1
. "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
. "$(dirname "${BASH_SOURCE[0]}")/story/farm.sh"
store=$work/window.lodicule never=$work/never.lodicule
make_farm "$store"
put_strips "$store"
put_mill "$store"
put "$store" samples <<TEXT
sample,stage,kind,field
S21,standing,composite,Fen
S22,standing,composite,Mill Piece
TEXT
cp "$store" "$never"
everything() {
    local kind
    for kind in fields crops scouting stations weather limits contracts costs kit-lots calibrators controls loads load-parts bins samples strips tests moves; do
        echo "== $kind"; rows_of "$1" $kind
    done
}
advice() {
    { "$program" bins "$1" --season "$year" --json; "$program" bins "$1" --season "$year" --queue --at "${day}T20:00:00+00:00"; "$program" map "$1" --season "$year" --limit 1.0 --json; "$program" results "$1" --season "$year" --limit 1.0 --json; } 2>&1
}
records() { "$program" check "$1" | sed -nE 's/^chain of records .* ([0-9,]+) records.*/\1/p' | tr -d ,; }
rows_in() { [ "$(rows_of "$store" "$1" | tail -n +2 | wc -l)" -eq "$2" ]; }
tests_before=$(rows_of "$store" tests | tail -n +2 | wc -l)

# Ctrl+Z asks first where a record was made; the second one does it, once the question has stood for a moment.
twice() {
    press "$1"
    wait_for "the question of what was done in this sitting" has sitting
    sleep 0.3  # for a question that is answered sooner is not taken to have been read
    press "$1"
    wait_for "$2" "${@:3}"
}
line_stands() { words_in "bench line" | grep -qF -- "$1"; }
type_line() {
    write "$1"
    wait_for "the line \"$1\"" line_stands "$1"
    press Return
}

open_window "$store" --fresh --season "$year" --limit 1.0 --room contamination --width 1440 --height 900
# Choices.
press l
write 1.75
press Return
wait_for "the limit" is limit 1.75
press ctrl+z
wait_for "the limit that was before" is limit 1.0
press ctrl+y
wait_for "the limit again" is limit 1.75
press ctrl+z
wait_for "the limit that was before" is limit 1.0
settle

# A result that belongs to another sample: taken back, done again, taken back.
press 2
wait_for "the bench" has "bench line"
type_line "kit K7"
type_line "result S21 4.2"
click "bench yes"
wait_for "the result in the store" rows_in tests $((tests_before + 1))
everything "$store" >"$work/done"
picture result
twice ctrl+z "the result taken back" rows_in tests "$tests_before"
picture taken-back
twice ctrl+y "the result done again" rows_in tests $((tests_before + 1))
everything "$store" >"$work/again"
cmp -s "$work/done" "$work/again" || { complain "what was done again is not what was done first:"; diff "$work/done" "$work/again" | head; }
twice ctrl+z "the result taken back again" rows_in tests "$tests_before"

# The strip of the wrong bag.
scan S22
wait_for "the strip in the store" rows_in strips 1
twice ctrl+z "the strip taken back" rows_in strips 0
press F3
wait_for "the list closed" has_no sitting

# A truck that did not go there.
press alt+4
wait_for "the queue" has queue
settle
scan "${ticket_of[T1]}"
wait_for "truck T1" says "Found: load T1"
settle
click record
wait_for "the question" has "question yes"
click "question yes"
wait_for "the move in the store" rows_in moves 1
wait_for "the truck with those that are gone" has "gone T1"
settle
picture recorded
twice ctrl+z "the move taken back" rows_in moves 0
wait_for "the truck in the queue again" has "load T1"
settle
picture truck-back
close_window

everything "$never" >"$work/a"
everything "$store" >"$work/b"
[ "$(wc -l <"$work/a")" -gt 60 ] || complain "hardly anything goes out of the store"
cmp -s "$work/a" "$work/b" || { complain "what was taken back is not as if it had never been done:"; diff "$work/a" "$work/b" | head; }
advice "$never" >"$work/a"
advice "$store" >"$work/b"
[ "$(wc -l <"$work/a")" -gt 60 ] || complain "hardly anything is advised"
cmp -s "$work/a" "$work/b" || { complain "advice is not as if it had never been done:"; diff "$work/a" "$work/b" | head; }
[ "$(records "$store")" -gt "$(records "$never")" ] || complain "the chain of records does not keep what was done and taken back"
"$program" check "$store" >"$work/check" || complain "the store is not whole: $(cat "$work/check")"
finish "what was done by mistake is taken back, and only the chain of records knows it"
