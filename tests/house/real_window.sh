#!/usr/bin/env bash
# The real window under a real (virtual) display, used by hand: it opens, answers the keys, closes; without a display it
# says one clear sentence.
set -u
program=$1
for tool in xvfb-run xdotool; do
    command -v $tool >/dev/null || { echo "SKIPPED: $tool is not installed"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
store=demo-for-tests/demo.lodicule
bad=0
export XDG_STATE_HOME=$work/state  # how the window stood is of this run alone
complain() { echo "$1"; bad=1; }

# 1. No display: exit code 1 and one sentence that says what to do instead.
env -u DISPLAY -u WAYLAND_DISPLAY "$program" window "$store" >"$work/out" 2>"$work/err"
[ $? -eq 1 ] || complain "without a display the exit code is not 1"
grep -q "there is no display to open a window on" "$work/err" || complain "without a display it says: $(cat "$work/err")"
[ "$(wc -l <"$work/err")" -eq 1 ] || complain "without a display it says more than one line"

# 2. A display: the window comes, a key changes the room, the pointer moves the map, nothing is drawn while nothing
#    happens, and closing it ends the program with 0.
cat >"$work/session.sh" <<'TEXT'
set -u
program=$1 store=$2 work=$3
LIBGL_ALWAYS_SOFTWARE=1 "$program" window "$store" --season 2026 --limit 1.0 --width 1200 --height 800 2>"$work/window-err" &
pid=$!
id=$(timeout 30 xdotool search --sync --onlyvisible --name "lodicule" | tail -n 1)
[ -n "$id" ] || { echo "no window came"; kill $pid; exit 1; }
picture() { import -window root "$1" 2>/dev/null || true; }
# Until the answer is there: the picture stands still for a second.
for i in $(seq 60); do
    picture "$work/a.png"; sleep 1; picture "$work/b.png"
    [ "$i" -gt 2 ] && cmp -s "$work/a.png" "$work/b.png" && break
done
cp "$work/b.png" "$work/contamination.png"
xdotool mousemove --window "$id" 400 400; sleep 0.3
xdotool mousedown 1; sleep 0.2; xdotool mousemove_relative -- 120 60; sleep 0.3; xdotool mouseup 1; sleep 0.5
picture "$work/moved.png"
cmp -s "$work/contamination.png" "$work/moved.png" && { echo "dragging did not move the map"; kill $pid; exit 1; }
xdotool key 4; sleep 1; picture "$work/bins.png"
cmp -s "$work/moved.png" "$work/bins.png" && { echo "the key 4 did not enter another room"; kill $pid; exit 1; }
xdotool key 1; sleep 1; picture "$work/first.png"
cmp -s "$work/bins.png" "$work/first.png" && { echo "the key 1 did not enter another room"; kill $pid; exit 1; }
# Idle: the processor time of the process does not move while nobody touches anything.
ticks() { awk '{print $14 + $15}' /proc/$pid/stat; }
before=$(ticks); sleep 3; after=$(ticks)
[ $((after - before)) -le 15 ] || { echo "idle for 3 s it used $((after - before)) hundredths of a second"; kill $pid; exit 1; }
xdotool key ctrl+q
for i in $(seq 50); do kill -0 $pid 2>/dev/null || break; sleep 0.1; done
kill -0 $pid 2>/dev/null && { echo "the window did not close"; kill $pid; exit 1; }
wait $pid
code=$?
[ $code -eq 0 ] || { echo "the window closed with exit code $code"; exit 1; }
exit 0
TEXT
xvfb-run -a -s "-screen 0 1280x900x24 -noreset" bash "$work/session.sh" "$program" "$store" "$work" || { complain "the session in the window failed"; cat "$work/window-err" 2>/dev/null; }

# 3. Killed in the middle of a line it opens as it was, with that line, and nothing is recorded of it.
cat >"$work/again.sh" <<'TEXT'
set -u
program=$1 store=$2 work=$3
start() {
    LIBGL_ALWAYS_SOFTWARE=1 "$program" window "$store" "$@" 2>>"$work/window-err" &
    pid=$!
    id=$(timeout 60 xdotool search --sync --onlyvisible --name "lodicule" | tail -n 1)
    [ -n "$id" ] || { echo "no window came"; kill $pid; exit 1; }
}
# Until the file of the state says so.
says() {
    for i in $(seq 100); do grep -q "$1" "$work"/state/lodicule/*.json 2>/dev/null && return 0; sleep 0.2; done
    echo "the state never said $1"; kill -9 $pid; exit 1
}
start --season 2025 --theme dark
says '"season": 2025'
xdotool key 2
says '"room": "bench"'
xdotool type --delay 200 "0.6"
says '"line": "0.6"'
kill -9 $pid; wait $pid 2>/dev/null
start
xdotool type --delay 200 "2"
says '"line": "0.62"'
grep -q '"room": "bench"' "$work"/state/lodicule/*.json || { echo "the room did not come back"; kill $pid; exit 1; }
grep -q '"season": 2025' "$work"/state/lodicule/*.json || { echo "the season did not come back"; kill $pid; exit 1; }
grep -q '"theme": "dark"' "$work"/state/lodicule/*.json || { echo "the colours did not come back"; kill $pid; exit 1; }
import -window root "$work/came-back.png" 2>/dev/null || true
xdotool key ctrl+q; wait $pid
start --fresh
says '"room": "contamination"'
grep -q '"line": ""' "$work"/state/lodicule/*.json || { echo "--fresh brought a line back"; kill $pid; exit 1; }
xdotool key ctrl+q; wait $pid
exit 0
TEXT
cp "$store" "$work/own.lodicule"
before=$("$program" check "$work/own.lodicule")
xvfb-run -a -s "-screen 0 1280x900x24 -noreset" bash "$work/again.sh" "$program" "$work/own.lodicule" "$work" || { complain "the window did not come back as it was"; cat "$work/window-err" 2>/dev/null; }
[ "$("$program" check "$work/own.lodicule")" = "$before" ] || complain "what was only typed changed the store"

[ -n "${LODICULE_KEEP_PICTURES:-}" ] && cp "$work"/*.png "$LODICULE_KEEP_PICTURES"/
[ $bad -eq 0 ] && echo "the real window opens, answers, sleeps, closes and comes back as it was"
exit $bad
