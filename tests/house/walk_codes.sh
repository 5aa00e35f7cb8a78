#!/usr/bin/env bash
# The labels of a walk's pages are read by a scanner program that knows nothing of ours (zbar), from the pages as a
# printer would get them at 300 dots an inch.
set -u
program=$(realpath "$1")
for tool in zbarimg pdftoppm; do
    command -v $tool >/dev/null || { echo "SKIPPED: $tool (zbar-tools, poppler-utils) is not installed"; exit 77; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if [ -f demo-for-tests/demo.lodicule ]; then
    cp demo-for-tests/demo.lodicule "$work/s.lodicule"
else
    "$program" demo "$work/demo" >/dev/null && cp "$work/demo/demo.lodicule" "$work/s.lodicule" || { echo "the demo store cannot be made"; exit 1; }
fi
cd "$work" || exit 1
bad=0
complain() { echo "$1"; bad=1; }
"$program" first s.lodicule --season 2026 --limit 1.25 --tests 2 --walk walks --json >first.json 2>err || complain "first --walk: $(head -n 2 err)"
pdftoppm -r 300 -png walks/walks.pdf page 2>err || complain "pdftoppm: $(head -n 1 err)"
# The first page is the order with its reasons, which carries no label.
command -v pdftotext >/dev/null && { pdftotext -f 1 -l 1 walks/walks.pdf - | grep -q "A test here saves" || complain "the first page gives no reasons"; }
rm -f page-1.png page-01.png
pages=0
for page in page*.png; do
    pages=$((pages + 1))
    zbarimg -q "$page" 2>/dev/null | sort -u >read
    code=$(sed -n 's/^QR-Code://p' read)
    [ -n "$code" ] || { complain "$page: no QR code is read"; continue; }
    grep -q "\"sample\": \"$code\"" first.json || complain "$page: the label says $code, which is no sample of the walks"
    grep -qx "CODE-128:$code" read || complain "$page: the bars are not read as $code: $(tr '\n' ' ' <read)"
done
[ "$pages" -eq 2 ] || complain "$pages pages with walks for two of them"
exit $bad
