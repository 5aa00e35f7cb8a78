#!/usr/bin/env bash
# The pit in the real window under a real (virtual) display: a scanner finds a truck and confirms nothing, whatever it
# sends; a hand that holds F9 does; the store then holds what the command line makes of the same truck.
set -u
program=$1
for tool in xvfb-run xdotool; do
    command -v $tool >/dev/null || { echo "SKIPPED: $tool is not installed"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
store=$work/pit.lodicule line=$work/line.lodicule
bad=0
complain() { echo "$1"; bad=1; }

# A mill without fields: two trucks, a bin for food and one to hold.
make() {
    local s=$1
    "$program" new "$s" &&
    "$program" add "$s" bins bin=M1 capacity_t=60 purpose=food limit_id=eu-food-wheat &&
    "$program" add "$s" bins bin=H1 capacity_t=60 purpose=hold &&
    for load in W1-2345 W1-2346; do
        "$program" add "$s" loads load=$load time=2026-08-01T10:00:00+02:00 commodity=wheat net_t=24 &&
        "$program" add "$s" tests test=T$load sample=S$load time=2026-08-01T10:20:00+02:00 don='<0.2' unit=mg/kg \
            stage=truck kind=composite load=$load || return 1
    done
}
make "$store" >"$work/made" 2>&1 && make "$line" >>"$work/made" 2>&1 || { cat "$work/made"; echo "the stores cannot be made"; exit 1; }

cat >"$work/session.sh" <<'TEXT'
set -u
program=$1 store=$2 work=$3
LIBGL_ALWAYS_SOFTWARE=1 "$program" window "$store" --season 2026 --limit 1.0 --room pit --width 1200 --height 800 2>"$work/window-err" &
pid=$!
id=$(timeout 60 xdotool search --sync --onlyvisible --name "lodicule" | tail -n 1)
[ -n "$id" ] || { echo "no window came"; kill $pid; exit 1; }
records() { "$program" export "$store" moves --out - 2>/dev/null | grep -c '2345\|2346'; }
picture() { import -window root "$work/$1.png" 2>/dev/null || true; }
fail() { echo "$1"; picture failed; kill $pid; exit 1; }
sleep 8
# One call, so that the end comes as fast as the code.
scan() { xdotool key --delay 3 $(echo "$1" | sed 's/-/~/g; s/./& /g; s/~/minus/g') "$2"; sleep 0.7; }
# The newer truck by its code; its digits enter no other room.
scan W1-2346 Return
picture scanned
xdotool key r; sleep 1; picture question
for burst in y yes 1 3 W1-2345 rrr; do
    for last in Return KP_Enter Tab F9; do scan $burst $last; done
done
[ "$(records)" -eq 0 ] || fail "a burst of the scanner recorded something"
xdotool key Escape; sleep 1
xdotool key Escape; sleep 1
scan W1-2346 Return
xdotool key r; sleep 1
xdotool keydown F9; sleep 0.4; xdotool keyup F9; sleep 1
[ "$(records)" -eq 0 ] || fail "F9 that was held for less than a second recorded something"
xdotool keydown F9; sleep 2; xdotool keyup F9
for i in $(seq 20); do [ "$(records)" -eq 1 ] && break; sleep 0.5; done
picture recorded
[ "$(records)" -eq 1 ] || fail "F9 held for two seconds recorded nothing"
xdotool key ctrl+q
for i in $(seq 50); do kill -0 $pid 2>/dev/null || break; sleep 0.1; done
kill -0 $pid 2>/dev/null && fail "the window did not close"
wait $pid
TEXT
xvfb-run -a -s "-screen 0 1280x900x24 -noreset" bash "$work/session.sh" "$program" "$store" "$work" || { complain "the pit in the window failed"; cat "$work/window-err" 2>/dev/null; }

"$program" bins "$line" --season 2026 --next W1-2346 --record M1 >"$work/recorded" || complain "the command line records nothing: $(cat "$work/recorded")"
without_time() { "$program" export "$1" "$2" --out - | sed 's/2[0-9-]*T[0-9:+-]*/TIME/'; }
for kind in moves loads; do
    without_time "$store" $kind >"$work/a"; without_time "$line" $kind >"$work/b"
    cmp -s "$work/a" "$work/b" || { complain "window and command line differ in $kind:"; diff "$work/a" "$work/b"; }
done
[ -n "${LODICULE_KEEP_PICTURES:-}" ] && cp "$work"/*.png "$LODICULE_KEEP_PICTURES"/
[ $bad -eq 0 ] && echo "the pit records what a hand confirms and nothing that a scanner sends"
exit $bad
