#!/usr/bin/env bash
# An agronomist plans tomorrow at the real window: the season, a limit of his own, so many tests as he can make, the
# first field and the walk in it, saved for the phone. The order and the files are those of `first` and `first --walk`.
program=$1
. "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
store=$work/demo.lodicule
cp demo-for-tests/demo.lodicule "$store"

open_window "$store" --fresh --season 2024 --width 1440 --height 900
click "room where-first"
click season
click "season 2026"
wait_for "season 2026" is season 2026
press l
write 1.1
press Return
wait_for "the limit that was typed" is limit 1.1
settle
picture order

# The slider is dragged about to where 4 tests stand, then a key for each that is missing or too many.
wait_for "the slider" has budget
set -- $(rect_of budget)
point budget 80
note_heard
xdotool mousedown 1
settle 1
xdotool mousemove --window "$id" $(($1 + $3 / 3)) $(($2 + $4 / 2))
settle
xdotool mouseup 1
settle 2
[ "$(value_of tests)" -lt 10 ] && [ "$(value_of tests)" -gt 1 ] || complain "the slider was dragged to $(value_of tests) tests"
while [ "$(value_of tests)" -gt 4 ]; do press minus; done
while [ "$(value_of tests)" -lt 4 ]; do press plus; done
settle
picture four-tests

run_line first "$store" --season 2026 --limit 1.1 --tests 4 --json
cp "$work/line-out" "$work/first.json"
sed -n 's/^      "field": "\(.*\)",$/\1/p' "$work/first.json" >"$work/by-line"
places_like "row " >"$work/by-window"
[ "$(wc -l <"$work/by-line")" -ge 4 ] || complain "first --json names $(wc -l <"$work/by-line") fields"
cmp -s "$work/by-line" "$work/by-window" || { complain "the order in the window is not that of the command:"; diff "$work/by-line" "$work/by-window"; }
# What one loses without a test and with these, in two digits.
two_digits() { sed -n "s/^  \"$1\": \(.*\),\$/\1/p" "$work/first.json" | awk '{ printf "%.0f", sprintf("%.1e", $1) }'; }
worth=$(sed -n 's/^  "worth_making": \(.*\),$/\1/p' "$work/first.json")
loss="Expected loss $(two_digits expected_loss_now) without a test, $(two_digits expected_loss_after) with $worth test"
says "$loss" || complain "the window does not say: $loss"

# Another field by its row, then the first one, and where in it.
second=$(sed -n 2p "$work/by-line") first=$(sed -n 1p "$work/by-line")
click "row $second"
wait_for "the second field" is field "$second"
click "row $first"
wait_for "the first field" is field "$first"
why=$(sed -n 's/^      "why": "\(.*\)"$/\1/p' "$work/first.json" | head -n 1)
says "$why" || complain "the window does not say why $first comes first: $why"
press w
wait_for "the walk" says "At each of the "
picture walk
click "save walk"
wait_for "the files of the walk" sh -c "ls '$work'/walks-2026/walk-*.pdf"
settle
picture saved
close_window

run_line first "$store" --season 2026 --limit 1.1 --tests 1 --walk "$work/by-line-walk"
(cd "$work/by-line-walk" && sha256sum *) >"$work/a"
(cd "$work"/walks-2026 && sha256sum *) >"$work/b"
[ "$(wc -l <"$work/a")" -ge 3 ] || complain "first --walk leaves $(wc -l <"$work/a") files"
cmp -s "$work/a" "$work/b" || { complain "the walks of window and command differ:"; diff "$work/a" "$work/b"; }
cmp -s <(rows_of "$store" tests) <(rows_of demo-for-tests/demo.lodicule tests) || complain "planning changed the store"
finish "a day is planned in the window as on the command line"
