#!/usr/bin/env bash
# The elevator works through a queue of eight trucks at the real window: two over, one of two fields, a retest that
# disagrees, a power cut while a question is open, no strips left and a result after dumping, a wrong bin twice, one
# turned away. The store is what the command line makes of the same day.
program=$1
. "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
. "$(dirname "${BASH_SOURCE[0]}")/story/farm.sh"
store=$work/window.lodicule line=$work/line.lodicule
make_farm "$store"
put_mill "$store"
# The only strips have expired.
put "$store" kit-lots <<TEXT
kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires
K1,wheat,6,0.2,6,$year-01-02
TEXT
cp "$store" "$line"

# T6 by its ticket: no digit of it enters a room where a slow machine makes a hand of the scanner.
scan_truck() {
    local tries
    for tries in 1 2 3; do
        scan "${ticket_of[$1]}"
        for i in $(seq 60); do words_in said | grep -q "Found: load $1, by" && { settle; return; }; sleep 0.1; done
    done
    give_up "the scanner does not find truck $1"
}
moved() { rows_of "$store" moves | grep -q ",$1,$2,"; }
moves_of_window() { rows_of "$store" moves | tail -n +2 | wc -l; }
asked() { words_in question | grep -qF -- "$1"; }
# What the window reads again after a record is there when the truck stands below, with those that are gone.
recorded() {
    wait_for "$1 in the store" moved "$1" "$2"
    wait_for "$1 among those that are gone" has "gone $1"
    settle
}
say_yes() {
    click "question yes"
    recorded "$1" "$2"
}
by_line() { run_line bins "$line" --season "$year" --next "$1" --record "$2" --operator Ada "${@:3}"; }
# As records have them and as tables do: both of a deed are written when it is done, and a minute may end in between.
without_times() { sed -E 's/[0-9]{4}-[0-9-]+T[0-9:+-]+/TIME/g; s/\b[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}\b/TIME/g'; }
same() {
    for kind in moves loads samples tests; do
        rows_of "$store" $kind | without_times >"$work/a"; rows_of "$line" $kind | without_times >"$work/b"
        cmp -s "$work/a" "$work/b" || { complain "after $1 window and command line differ in $kind:"; diff "$work/a" "$work/b"; }
    done
}
open_pit() { open_window "$store" --season "$year" --limit 1.0 --room pit --width 1440 --height 900 "$@"; wait_for "the queue" has queue; settle; }

open_pit --fresh
picture queue
# T1 is cleared and goes where it is advised, by the pointer.
scan_truck T1
click record
wait_for "the question" asked "Load T1, 12 t, goes into bin M1, as advised."
click operator
write Ada
picture question
say_yes T1 M1
by_line T1 M1
same T1

# T2 and T3 are over: to the bin for what may not be food, by keys.
for truck in T2 T3; do
    scan_truck $truck
    wait_for "its state" says Over
    press r
    wait_for "the question" asked "Load $truck, 12 t, goes into bin R1, as advised."
    hold F9 "$truck in the store" moved $truck R1
    recorded $truck R1
    by_line $truck R1
done
same "T2 and T3"

# T5 reads over; another sample reads low, and it stays over.
scan_truck T5
click "take sample"
wait_for "the question for a sample" has "question sample"
for tries in 1 2 3; do scan 8807; asked "with the code 8807" && break; done
asked "with the code 8807" || give_up "the label of the sample is not taken"
click "question yes"
sample_there() { rows_of "$store" samples | grep -q '^8807,'; }
wait_for "the sample in the store" sample_there
now=$(date -u +%Y-%m-%dT%H:%M:%S+00:00)
run_line add "$line" samples sample=8807 stage=truck kind=composite load=T5 taken_time="$now" taken_by=Ada
for file in "$store" "$line"; do
    run_line add "$file" tests test=R8807 sample=8807 time="$now" don=0.3 unit=mg/kg
done
wait_for "the retest in the window" says "8807 read 0.3 mg/kg"
settle
says Over || complain "a retest that reads low clears a load whose first test was over"
picture retest
same "the retest"

# The power goes while a question is open: nothing of it was written. After the restart the day goes on.
click record
wait_for "the question" has question
before=$(moves_of_window)
power_cut
[ "$(moves_of_window)" -eq "$before" ] || complain "a question that was open when the power went was recorded"
same "the power cut"
open_pit
has question && complain "a question came back after the power cut"

# T4 is of two fields; it goes as advised.
run_line bins "$line" --season "$year" --next T4 --json
advised=$(sed -n 's/^ *"advised_bin": "\(.*\)",*$/\1/p' "$work/line-out" | head -n 1)
[ -n "$advised" ] || complain "the command line advises no bin for T4"
scan_truck T4
press r
wait_for "the question" asked "Load T4, 12 t, goes into bin $advised, as advised."
click operator
write Ada
say_yes T4 "$advised"
by_line T4 "$advised"

# No strips: T6 goes on hold without a result; that comes later, and the window says where its grain lies.
scan_truck T6
wait_for "that there are no strips" says "No strips are left that may be used"
press b
click "bin H1"
say_yes T6 H1
by_line T6 H1
same T6
moved_at=$(date +%s)
later() { [ "$(date +%s)" -gt $((moved_at + 1)) ]; }
wait_for "another second" later
now=$(date -u +%Y-%m-%dT%H:%M:%S+00:00)
for file in "$store" "$line"; do
    run_line add "$file" samples sample=LATE6 stage=truck kind=composite load=T6
    run_line add "$file" tests test=RLATE6 sample=LATE6 time="$now" don=2.2 unit=mg/kg
done
wait_for "T6 to be looked at" has "look at"
settle
words_in "look at" | grep -qF "T6 (12 t in H1)" || complain "a result after dumping does not say where the grain lies: $(words_in 'look at')"
picture late-result

# T7 was meant for the food bin and lies with what may not be food.
scan_truck T7
press b
click "bin R1"
click "question reason"
write "slide stuck"
click question
say_yes T7 R1
by_line T7 R1 --reason "slide stuck"
same T7

# T5, over, lies in the food bin already: refused without a reason, recorded with one.
scan_truck T5
press b
click "bin M1"
before=$(moves_of_window)
click "question yes"
wait_for "the refusal" says "it breaks a rule: say why it lies there"
[ "$(moves_of_window)" -eq "$before" ] || complain "a broken rule was recorded without a reason"
picture broken-rule
click "question reason"
write "taken for T7"
click question
say_yes T5 M1
by_line T5 M1 --happened --reason "taken for T7"
same "a broken rule"

# T8 is turned away; no truck waits.
scan_truck T8
press x
wait_for "the question" asked "Load T8, 12 t, is turned away."
say_yes T8 out
by_line T8 out
wait_for "an empty queue" has "no trucks"
same T8
words_in "look at" | grep -qF "T8 was turned away, advised H1" || complain "what is to be looked at does not say that T8 was turned away: $(words_in 'look at')"
picture empty
close_window

# Advice, states and what has to be looked at.
for file in "$store" "$line"; do
    { "$program" bins "$file" --season "$year" --json; "$program" bins "$file" --season "$year" --queue --at "$now"; } 2>&1 | without_times >"$file.bins"
done
[ "$(wc -l <"$store.bins")" -gt 20 ] && cmp -s "$store.bins" "$line.bins" || { complain "what is advised differs:"; diff "$store.bins" "$line.bins" | head; }
"$program" check "$store" >"$work/check" || complain "the store is not whole: $(cat "$work/check")"
finish "eight trucks are worked through in the window as on the command line, through a power cut"
