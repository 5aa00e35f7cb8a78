# A person at the real window, for the story_*.sh beside this folder: opens it, presses, drags, types and scans, and
# waits for what comes of it. Where things are and what the window says is told by the program after each frame, to the
# file of $LODICULE_PLACES (app/window/told_frame.h); every wait is for something that is seen, there or in the store.
#
# A story begins with:  program=$1; . "$(dirname "${BASH_SOURCE[0]}")/story/hands.sh"
# It runs in a display of its own (xvfb-run); STORY_DISPLAY=:N takes one that is there. LODICULE_KEEP_PICTURES=DIR keeps
# a picture of each step.
set -u
for tool in xvfb-run xdotool; do
    command -v $tool >/dev/null || { echo "SKIPPED: $tool is not installed"; exit 77; }
done
if [ -n "${STORY_DISPLAY:-}" ]; then
    export DISPLAY=$STORY_DISPLAY
elif [ -z "${STORY_HAS_A_DISPLAY:-}" ]; then
    STORY_HAS_A_DISPLAY=1 exec xvfb-run -a -s "-screen 0 1440x900x24 -noreset" bash "$0" "$program"
fi
story=$(basename "$0" .sh)
work=$(mktemp -d)
pid=
told=$work/told
bad=0
export XDG_STATE_HOME=$work/state LIBGL_ALWAYS_SOFTWARE=1 LODICULE_PLACES=$told
leave() {
    [ -n "$pid" ] && kill -9 "$pid" 2>/dev/null
    rm -rf "$work"
}
trap leave EXIT
complain() { echo "$1"; bad=1; }
step=0
picture() {
    [ -n "${LODICULE_KEEP_PICTURES:-}" ] || return 0
    step=$((step + 1))
    import -window root "$LODICULE_KEEP_PICTURES/$story-$(printf %02d $step)-$1.png" 2>/dev/null || true
}
# What cannot go on: what was waited for, what the window last said, and a picture.
give_up() {
    echo "$1"
    [ -s "$work/window-err" ] && head -n 5 "$work/window-err"
    [ -s "$told" ] && { grep -vE '^(place|text)' "$told" | tr '\n\t' ' ='; echo; told_words | fold -s -w 160 | tail -n 40; }
    picture failed
    exit 1
}
finish() {
    [ $bad -eq 0 ] && echo "$1"
    exit $bad
}

# wait_for WHAT COMMAND...: until the command succeeds, however slow the machine.
longest_wait_s=${STORY_LONGEST_WAIT_S:-120}
wait_for() {
    local what=$1 until=$((SECONDS + longest_wait_s))
    shift
    until "$@"; do
        [ $SECONDS -lt $until ] || give_up "waited in vain for $what"
        kill -0 "$pid" 2>/dev/null || give_up "the window is gone; waited for $what"
        sleep 0.1
    done
}

# What the program told of its last frame. What is waited for is looked up without other programs: the window needs the
# machine.
declare -A seen
look() {
    local kind value rest
    seen=()
    while IFS=$'\t' read -r kind value rest; do
        case $kind in place | text) return ;; esac
        seen[$kind]=$value
    done 2>/dev/null <"$told"
}
value_of() { look; echo "${seen[$1]:-}"; }
is() { look; [ "${seen[$1]:-}" = "$2" ]; }
is_not() { look; [ "${seen[$1]:-}" != "$2" ]; }
has() {
    local kind x y width height name
    while IFS=$'\t' read -r kind x y width height name; do
        [ "$kind" = place ] && [ "$name" = "$1" ] && return
    done 2>/dev/null <"$told"
    return 1
}
has_no() { ! has "$1"; }
rect_of() { awk -F'\t' -v name="$1" '$1 == "place" && $6 == name { print $2, $3, $4, $5; exit }' "$told" 2>/dev/null; }
places_like() { awk -F'\t' -v start="$1" '$1 == "place" && index($6, start) == 1 { print $3 "\t" substr($6, length(start) + 1) }' "$told" | sort -n | cut -f2; }
told_words() { awk -F'\t' '$1 == "text" { printf "%s ", $6 }' "$told" 2>/dev/null; }
says() { told_words | grep -qF -- "$1"; }
says_not() { ! says "$1"; }
# The words that stand in a place, in the order in which they were drawn.
words_in() {
    awk -F'\t' -v name="$1" '
        $1 == "place" && $6 == name { x = $2; y = $3; w = $4; h = $5 }
        $1 == "text" { n++; tx[n] = $2 + $4 / 2; ty[n] = $3 + $5 / 2; t[n] = $6 }
        END { for (i = 1; i <= n; i++) if (tx[i] >= x && tx[i] <= x + w && ty[i] >= y && ty[i] <= y + h) printf "%s ", t[i] }' "$told" 2>/dev/null
}
rests_after() { look; [ "${seen[heard]:-0}" -ge "$1" ] && [ "${seen[settled]:-no}" = yes ]; }
# settle [N]: N presses and releases more than `heard_before` were heard, and all that came of them is on the screen.
settle() { wait_for "the window to come to rest" rests_after $((${heard_before:-0} + ${1:-0})); }
note_heard() { look; heard_before=${seen[heard]:-0}; }

# The hand.
open_window() {
    rm -f "$told"
    heard_before=0
    "$program" window "$@" 2>>"$work/window-err" &
    pid=$!
    wait_for "the first frame of the window" test -s "$told"
    id=$(timeout 30 xdotool search --sync --onlyvisible --name "lodicule" | tail -n 1)
    settle
}
close_window() {
    xdotool key ctrl+q
    for i in $(seq $((longest_wait_s * 10))); do kill -0 "$pid" 2>/dev/null || break; sleep 0.1; done
    kill -0 "$pid" 2>/dev/null && give_up "the window did not close"
    wait "$pid" || give_up "the window closed with exit code $?"
    pid=
}
power_cut() {
    kill -9 "$pid"
    wait "$pid" 2>/dev/null
    pid=
}
# point NAME [X% Y%]: at that share of the place; else its middle.
point() {
    wait_for "the place \"$1\"" has "$1"
    set -- $(rect_of "$1") "${2:-50}" "${3:-50}"
    xdotool mousemove --window "$id" $(($1 + $3 * $5 / 100)) $(($2 + $4 * $6 / 100))
}
click() {
    note_heard
    point "$@"
    xdotool click 1
    settle 2
}
# press KEY...: each by itself, as a hand does. A chord is written ctrl+z.
press() {
    local key
    for key in "$@"; do
        note_heard
        xdotool key "$key"
        settle $(($(grep -o '+' <<<"$key" | wc -l) * 2 + 2))
    done
}
# Letters as a hand types them; not ended by anything.
write() {
    note_heard
    xdotool type --delay 60 -- "$1"
    settle $((${#1} * 2))
}
# scan CODE [END]: all of it faster than a hand, END (Return) too.
scan() {
    local code=$1 keys
    keys=$(sed 's/./& /g; s/-/minus/g; s/</less/g; s/\./period/g' <<<"$code")
    note_heard
    xdotool key --delay 3 $keys "${2:-Return}"
    settle $((${#code} * 2 + 2))
}
# hold KEY WHAT COMMAND...: keeps it down until the command succeeds.
hold() {
    local key=$1
    shift
    xdotool keydown "$key"
    wait_for "$@"
    xdotool keyup "$key"
}

# The command line beside it.
run_line() { "$program" "$@" >"$work/line-out" 2>"$work/line-err" || complain "lodicule $1 $3 ... fails: $(cat "$work/line-err")"; }
rows_of() { "$program" export "$1" "$2" --out - 2>/dev/null; }
