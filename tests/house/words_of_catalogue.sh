#!/usr/bin/env bash
# Every word that is drawn stands in the catalogue, and every language has each of them and nothing else.
set -u
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
for tool in xgettext msgcmp msgattrib msgfmt python3; do
    command -v "$tool" >/dev/null || { echo "SKIPPED: $tool is missing"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
bad=0
complain() { echo "$1"; bad=1; }

# All headers and sources, so that a word elsewhere is found too.
find app geo models -name '*.h' -o -name '*.cpp' | sort >"$work/files"
xgettext --language=C++ --from-code=UTF-8 --keyword --keyword=word:1,1t --keyword=word:1c,2,2t --keyword=phrase:1 --no-wrap \
    --files-from="$work/files" -o "$work/lodicule.pot" 2>"$work/said" || complain "$(cat "$work/said")"
count=$(grep -c '^msgid' "$work/lodicule.pot")
[ "$count" -gt 600 ] || complain "only $count words were found in the sources"

for po in app/languages/*.po; do
    # Both ways: a word without a translation, and a translation of no word.
    hit=$(msgcmp "$po" "$work/lodicule.pot" 2>&1) || complain "$po lacks words of the catalogue:"$'\n'"$hit"
    hit=$(msgcmp --use-untranslated "$work/lodicule.pot" "$po" 2>&1) || complain "$po holds what is no word of the catalogue:"$'\n'"$hit"
    hit=$(msgattrib --fuzzy --no-obsolete "$po" | grep '^msgid' ; msgattrib --untranslated "$po" | grep '^msgid'; msgattrib --only-obsolete "$po" | grep '^#~ msgid')
    [ -z "$hit" ] || complain "$po is unfinished:"$'\n'"$hit"
done

# What the functions that draw are given: no letters of its own, but words of the catalogue.
python3 - <<'PYTHON' || bad=1
import pathlib, re, sys

# Function -> which of its arguments are drawn (None: all). The others are names of places and places themselves.
drawing = {"text": None, "vertical_text": None, "text_width": [0], "paragraph": None, "shortened": [1], "draw_empty": [2],
           "TextUnformatted": [0], "TextDisabled": None, "TextWrapped": None, "Text": None, "CalcTextSize": [0],
           "SetTooltip": None, "show_tip": [0], "show_tip_beside": [1], "Button": [0], "RadioButton": [0], "Checkbox": [0],
           "Selectable": [0], "InputTextWithHint": [1], "TableSetupColumn": [0], "sentence_block": [0],
           "swatch_block": [1], "content_ramp_block": [0], "plain_ramp_block": None, "heading": [0], "line": [0],
           "label": None, "say": [0], "head": None, "pick": [0], "small_button": [1], "pressed_by_hand": [1],
           "button": [0], "draw_across_row": [1], "counted": None}
assigned = re.compile(r"[.>](title|subtitle|note|caution|verdict|empty|refused|said|problem|words|name|head|\w+_title|\w+_text|risk_axis)\s*\+?=(?!=)([^;]*);")
# What is drawn and is the same in every language.
allowed = {
    "km": "a unit",
    "CSV": "a format",
}
literal = re.compile(r'"((?:[^"\\\n]|\\.)*)"')
files = [f for folder in ("app/window", "app/drawing") for f in pathlib.Path(folder).rglob("*.cpp")]
files += [f for f in pathlib.Path("app").glob("*figure*.cpp")]
# Painters write what they are given into a format of their own; the command's help is the command line's.
files = [f for f in files if f.name not in ("svg_painter.cpp", "cairo_painter.cpp", "window_command.cpp", "offscreen.cpp")]

def arguments(text, start):
    depth, args, begin, i = 0, [], start, start
    while i < len(text):
        c = text[i]
        if c == '"':
            i = literal.match(text, i).end()
            continue
        if c == "'" and re.match(r"'(\\.|[^'\\])'", text[i:]):
            i += re.match(r"'(\\.|[^'\\])'", text[i:]).end()
            continue
        if c in "([{": depth += 1
        if c in ")]}":
            if depth == 0: return args + [text[begin:i]]
            depth -= 1
        if c == "," and depth == 0:
            args.append(text[begin:i])
            begin = i + 1
        i += 1
    return args + [text[begin:]]

bad, seen = 0, 0
for file in sorted(files):
    source = re.sub(r"//[^\n]*", "", file.read_text())
    source = re.sub(r'#include[^\n]*', "", source)
    drawn = [(m.start(), m.group(2)) for m in assigned.finditer(source)]
    for call in re.finditer(r"(?<![\w\"])(\w+)\(", source):
        if call.group(1) not in drawing: continue
        args = arguments(source, call.end())
        which = drawing[call.group(1)]
        drawn += [(call.start(), a) for i, a in enumerate(args) if which is None or i in which]
    seen += len(drawn)
    for at, expression in drawn:
        # A literal that is compared is not drawn, nor is one that an inner function takes (it is looked at by itself).
        expression = re.sub(r'[=!]=\s*"[^"]*"', "", expression)
        expression = re.sub(r"\w*(mark|find|_named|starts_with|getenv|Error)\((?:[^()]|\([^()]*\))*\)", "", expression)
        for text in literal.findall(expression):
            bare = re.sub(r"\{[^}]*\}|%[-.0-9*]*[a-z]|\\.|##.*", " ", text)
            words = [w for w in re.findall(r"[A-Za-zÄÖÜäöüßµ]{2,}", bare) if w not in allowed]
            if words:
                line = source.count("\n", 0, at) + 1
                print(f'{file}: "{text}" is drawn (about line {line}) and stands in no catalogue: put it into app/words.h')
                bad = 1
if seen < 400:
    print(f"only {seen} drawn expressions were found: the functions that draw have other names now")
    bad = 1
sys.exit(bad)
PYTHON

[ $bad -eq 0 ] && echo "every word that is drawn stands in the catalogue and has its translations"
exit $bad
