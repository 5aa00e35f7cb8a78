#!/usr/bin/env bash
# What stands on the real screen is what the window would paint now: a frame that is taken to look as the one before it
# is not painted, and this holds it to that. After each thing done the window is taken away and put back, so that all of
# it is painted anew, and the two pictures must not differ in a pixel.
program=$1
. "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
command -v compare >/dev/null || { echo "SKIPPED: imagemagick is not installed"; exit 77; }
store=$work/demo.lodicule
cp demo-for-tests/demo.lodicule "$store"
is_frame_past() { look; [ "${seen[frame]:-0}" -gt "$1" ]; }
is_current() {  # AFTER WHAT
    local frame differ
    settle
    sleep 0.6  # a map that was moved is drawn anew once the hand rests
    settle
    import -window root "$work/stands.png"
    frame=$(value_of frame)
    xdotool windowunmap --sync "$id" windowmap --sync "$id"
    wait_for "the window to be painted anew" is_frame_past "$frame"
    settle
    import -window root "$work/painted.png"
    differ=$(compare -metric AE "$work/stands.png" "$work/painted.png" null: 2>&1)
    [ "$differ" = 0 ] || { complain "after $1 the screen differs in $differ pixels from what would be painted"; picture "after-$1"; }
    compared=$((compared + 1))
}
compared=0
open_window "$store" --fresh --season 2026 --limit 1.0 --room contamination --field R01 --width 1440 --height 900
is_current "the start"
point canvas 40 40
note_heard
xdotool mousedown 1
# The map follows the hand while it is held: a part of it that no tip covers is another after each pull.
pull() { for i in $(seq 10); do xdotool mousemove_relative -- 6 3; sleep 0.03; done; }
follows() { import -window root -crop 300x300+150+200 "$work/pulled.png"; ! cmp -s "$work/pulled.png" "$work/before-pull.png"; }
for times in 1 2 3; do
    import -window root -crop 300x300+150+200 "$work/before-pull.png"
    pull
    wait_for "the map to follow the hand that holds it" follows
done
xdotool mouseup 1
settle 2
is_current "a drag of the map"
for i in 1 2 3; do xdotool click 4; sleep 0.05; done
is_current "a zoom of the map"
press n
is_current "the next field"
press v
is_current "another layer"
press comma
is_current "the season before"
point "room pit"
is_current "a tip"
press 1
is_current "another room"
press Down Down
is_current "another row"
press w
is_current "the walk"
press 5
is_current "past seasons"
press 4
is_current "the pit"
press n
is_current "the next truck"
close_window
[ $compared -eq 13 ] || complain "only $compared of 13 pictures were compared"
finish "what stands on the screen is what would be painted, after each of $compared things done"
