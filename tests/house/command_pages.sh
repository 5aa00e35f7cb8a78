#!/usr/bin/env bash
# Every command explains itself: a sentence in the list, a page with each of its options, and JSON whose keys stay.
set -u
program=$(realpath "$1")
command -v python3 >/dev/null || { echo "SKIPPED: python3 (comes with gdal-bin) is not installed"; exit 77; }
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

# Pages -------------------------------------------------------------------------------------------------------------
"$program" --help >list 2>err || complain "--help does not end with 0"
[ ! -s err ] || complain "--help writes to stderr: $(head -n 1 err)"
sed -n '/^Commands:/,$p' list | grep -E '^  [a-z]' >commands
[ "$(wc -l <commands)" -ge 10 ] || complain "--help lists $(wc -l <commands) commands"
"$program" --version | grep -qE '^lodicule [0-9]+\.[0-9]+\.[0-9]+$' || complain "--version says: $("$program" --version)"
# An option or argument with what it is for: two spaces, its name, at least eight letters of words (on this line or the next).
explained() {
    awk '/^  [-A-Z]/ { if (name != "") print name "|" words; name = $1; words = ""; line = $0
            if (match(line, /^  .*[^ ]   *[^ ]/) && length(line) > 34) words = substr(line, 35); next }
        /^    / && name != "" { words = words $0; next }
        { if (name != "") print name "|" words; name = "" }
        END { if (name != "") print name "|" words }' "$1"
}
while read -r command sentence; do
    [ ${#sentence} -ge 20 ] || complain "$command: --help does not say what it does: \"$sentence\""
    "$program" "$command" --help >page 2>err || complain "$command --help does not end with 0"
    [ ! -s err ] || complain "$command --help writes to stderr: $(head -n 1 err)"
    grep -qF "$sentence" page || complain "$command --help begins otherwise than the list"
    grep -q "^Usage: lodicule $command" page || complain "$command --help shows no usage"
    [ "$(sed -n '/^Usage/,$p' page | wc -l)" -ge 8 ] || complain "$command --help has $(wc -l <page) lines"
    wide=$(awk 'length > 108' page | head -n 1)
    [ -z "$wide" ] || complain "$command --help has a line of ${#wide} letters: $wide"
    explained page >told
    [ -s told ] || complain "$command --help explains no argument"
    while IFS='|' read -r name words; do
        [ "$(tr -cd 'a-zA-Z' <<<"$words" | wc -c)" -ge 8 ] || complain "$command: $name is not explained: \"$words\""
    done <told
    # A wrong option is a matter of usage, whatever else is said.
    "$program" "$command" --no-such-option >out 2>err
    [ $? -eq 2 ] && [ "$(wc -l <err)" -eq 1 ] && grep -q "^lodicule: .*lodicule $command --help" err ||
        complain "$command with an unknown option says: $(head -n 2 err)"
done <commands

# What each command must take.
takes() {
    local command=$1 option
    shift
    grep -q "^  $command " commands || { complain "there is no command $command"; return; }
    "$program" "$command" --help >page
    for option in "$@"; do
        grep -qE -- "^  (-[a-z],)?$option( |$)" page || complain "$command --help does not know $option"
    done
}
takes new STORE
takes import STORE KIND FILE --columns --forecast-made --strict --correct --json
takes add STORE KIND VALUES --correct --sample --kit-lot --grain --operator --start --again --content --unit --test-line --control-line \
    --void --ran --time --control-every
takes export STORE KIND --out
takes check STORE --json
takes amounts STORE --kit-lot --portion --sample-mass --commodity --dilution --extra-dilution --expect --ratio --common-practice --take --json
takes demo DIR
takes weather STORE --season --model --include-unconfirmed --all --power --stations --within --json --threads --timing
takes risk STORE --season --weather-by --model --models --all-models --include-unconfirmed --as-of --seasons --json --threads --timing
takes results STORE --season --limit --basis --own-duplicates --json --threads --timing
takes first STORE --season --weather-by --parameters --tests --limit --repeat --seed --walk --walk-shape --stops --headland --heads --keep-out --from --minutes --minutes-a-test --speed --one-way --route --json --threads --timing
takes map STORE --season --weather-by --parameters --limit --out --hindsight --keep --as-of --truck --yield --zones --assumptions --split --header --least-headers --heading --most-zones \
    --line-cost --upper-cap --zone-format --json --threads --timing
takes bins STORE --season --weather-by --parameters --next --json --threads --timing
takes plan-sampling --limit --rounding --at-or-over --samples --mass --portions --portion --analyses --shape --contents --good --bad \
    --cost-strip --cost-minute --cost-kilogram --masses --portions-of --lots-median --lots-cv --lot --undivided --out --json
takes review STORE --seasons --limit --field --model --include-unconfirmed --out --json --weather-by --threads --timing
takes control STORE --season --control --out --rules --limits-from --lot-bound --json
takes report STORE --season --weather-by --parameters --limit --out --json
takes window STORE --picture --backdrop --season --weather-by --limit --room --field --width --height --text-scale
takes variogram FILE --x --y --value --crs --log --cutoff --width --direction --tolerance --robust --gls --indicator --map --fit --json
takes krige FILE --x --y --value --crs --log --variogram --fit --at --cell --extent --like --drift --block --neighbours --within \
    --error-variance --mean --over --along --layer --name --great-circle --normal-score --indicator --cross-validate --folds --simulate --seed --limit --out --json
# The page of import is where the columns of every kind stand.
"$program" import --help >page
for kind in fields crops scouting stations weather limits contracts costs kit-lots calibrators controls loads load-parts bins samples strips tests moves; do
    grep -q "^$kind: " page || complain "import --help does not list the columns of $kind"
done

# JSON --------------------------------------------------------------------------------------------------------------
awk 'BEGIN {
    print "x,y,v"
    for (i = 0; i < 80; ++i) printf "%d,%d,%.3f\n", i * 37 % 101, i * 61 % 97, 1 + sin(i * 37 % 101 / 15) + i * 7 % 5 / 10
}' </dev/null >points.csv
answer() {
    local file=$1
    shift
    "$program" "$@" >"$file" 2>err || complain "lodicule $*: $(head -n 2 err)"
}
answer weather.json weather s.lodicule --season 2026 --json
answer risk.json risk s.lodicule --season 2026 --json
answer models.json risk --models --include-unconfirmed --json
answer side.json risk s.lodicule --season 2026 --all-models --json
answer results.json results s.lodicule --season 2026 --limit 0.75 --json
answer first.json first s.lodicule --season 2026 --limit 0.75 --tests 5 --json
answer map.json map s.lodicule --season 2026 --limit 0.75 --json
answer bins.json bins s.lodicule --season 2026 --json
answer next.json bins s.lodicule --season 2026 --next W26-27 --json
answer plan.json plan-sampling --limit 1.0 --good 0.6 --bad 1.5 --cost-strip 9 --lot 24 --lots-median 0.5 --lots-cv 80 --json
answer review.json review s.lodicule --limit 0.75 --json
answer history.json review s.lodicule --field C01 --limit 0.75 --json
answer control.json control s.lodicule --season 2026 --json
answer check.json check s.lodicule --json
answer amounts.json amounts s.lodicule --kit-lot OM-26-B --commodity wheat --portion 20 --common-practice --extra-dilution 5 --json
answer variogram.json variogram points.csv --x x --y y --value v --json
answer krige.json krige points.csv --x x --y y --value v --fit least-squares --cell 10 --cross-validate --out grid.csv --json
python3 - <<'PYTHON' || bad=1
import json, sys
promised = {
    "weather": "season model weeks.first weeks.last window_days elevation_used stations: stations.station stations.elevation_m stations.hours "
               "stations.coverage stations.nearest_km stations.neighbours stations.not_judged stations.flags: ways: ways.way ways.stations "
               "ways.errors: ways.errors.quantity ways.errors.unit ways.errors.counted ways.errors.mean_error ways.errors.rmse notes:",
    "risk": "season model source fields: fields.field fields.kind fields.value fields.low fields.high fields.coverage fields.weather_source fields.notes: unconfirmed kind unit region skill.auc skill.brier",
    "models": "models: models.model models.model_title models.model_label models.unconfirmed models.kind models.unit models.needs models.region "
              "models.weather: models.coefficients models.skill.auc models.skill.brier models.skill.brier_without_model models.skill.how models.skill.caution",
    "side": "season models: models.model fields: fields.field fields.risks: fields.risks.model fields.risks.kind fields.risks.value "
            "fields.risks.low fields.risks.high fields.risks.unconfirmed",
    "results": "season basis limit_mg_per_kg limit_basis errors_from error_model: notes: results: results.test results.sample results.grain "
               "results.stage results.method results.kit_lot results.time results.reported results.reported_mg_per_kg results.reported_basis "
               "results.reading results.don_mg_per_kg results.content_mg_per_kg results.low90_mg_per_kg results.high90_mg_per_kg "
               "results.log_variance results.share results.shared: results.helps: results.chance_over results.outcome results.flags:",
    "first": "season limit_mg_per_kg fields: fields.rank fields.field fields.exceedance fields.expected_gain fields.tonnes fields.tests_so_far fields.why",
    "map": "season limit_mg_per_kg structure_within_fields.supported structure_within_fields.reason "
           "structure_within_fields.results structure_within_fields.results_outside_range structure_within_fields.evidence_ratio "
           "structure_within_fields.leave_one_out_skill structure_within_fields.chance_structured structure_within_fields.power "
           "structure_within_fields.power_for_range_m structure_within_fields.log_sd.median structure_within_fields.structured_share.median "
           "structure_within_fields.range_m.median structure_within_fields.range_m.low90 structure_within_fields.range_m.high90 "
           "structure_within_fields.fields: fields: fields.field fields.tests "
           "fields.median_mg_per_kg fields.mean_mg_per_kg fields.low90_mg_per_kg fields.high90_mg_per_kg fields.low50_mg_per_kg "
           "fields.high50_mg_per_kg fields.exceedance files:",
    "bins": "season assignments: assignments.load assignments.bin assignments.mass_t unplaced: unplaced.load unplaced.reason bins: bins.bin "
            "bins.content_t bins.mean_mg_per_kg bins.low90_mg_per_kg bins.high90_mg_per_kg bins.exceedance bins.rejection_probability "
            "value compared_with: compared_with.rule compared_with.value",
    "next": "season assignments: unplaced: bins:",
    "variogram": "pairs: pairs.distance pairs.gamma pairs.pairs fit.nugget fit.terms: fit.terms.shape fit.terms.partial_sill fit.terms.range "
                 "fit.method fit.settled fit.message",
    "krige": "points cells variogram cross_validation.mean_error cross_validation.rmse cross_validation.mean_square_standardised_error files:",
    "plan": "limit_mg_per_kg comparison rounding_mg_per_kg shape plan.samples plan.sample_mass_g plan.portions plan.portion_g plan.analyses plan.strips "
            "plan.minutes plan.grain_kg plan.cost operating_characteristic: operating_characteristic.content_mg_per_kg operating_characteristic.cv "
            "operating_characteristic.accepted target.good_rejected target.bad_accepted cheapest.samples cheapest.cost cheapest.good_rejected "
            "cheapest.bad_accepted lots.over_and_accepted lots.good_and_rejected official_sampling.increments official_sampling.aggregate_kg "
            "official_sampling.sublots extrapolations: files:",
    "check": "odd_strips:",
    "amounts": "kit_lot commodity portion_g extractant_ml ratio_ml_per_g ratio_source extra_dilution low_mg_per_kg high_mg_per_kg "
               "steps: steps.what steps.take_ml steps.add_ml steps.factor steps.factor_so_far steps.of_the_lot notes:",
    "review": "seasons: model kind limit_mg_per_kg n diseased auc auc_low auc_high auc_within_seasons auc_over_seasons.low95 "
              "auc_over_seasons.not_told auc_over_seasons.without: brier reliability resolution uncertainty within_groups skill "
              "table: table.predicted table.observed table.n by_season: by_season.season by_season.brier local_calibration.offered "
              "local_calibration.reason local_calibration.without: scouting.visits scouting.fields scouting.notes: don.n don.over "
              "don.auc don.auc_low don.auc_high don.notes: models: models.model models.n models.auc models.brier models.skill "
              "models.don_auc forecasts.kept forecasts.followed forecasts.classes: forecasts.classes.own_results_known "
              "forecasts.classes.brier forecasts.classes.table: forecasts.classes.seasons: forecasts.classes.fields: strips: "
              "strips.season strips.strips strips.void strips.money strips.came_within_cap strips.left_cap load_cap files:",
    "history": "field grower model results_known_up_to limit_mg_per_kg seasons: seasons.season seasons.crop seasons.flowering_day "
               "seasons.risk seasons.median_mg_per_kg seasons.low90_mg_per_kg seasons.high90_mg_per_kg seasons.tests "
               "seasons.load_tests seasons.severity_pct seasons.exceedance",
    "control": "season charts: charts.control charts.method charts.kit_lot charts.assigned_mg_per_kg charts.readings_a_point charts.says charts.limits "
               "charts.points: charts.points.tests: charts.points.time charts.points.sds charts.points.broken_rules: recovery: recovery.control "
               "recovery.mean_pct recovery.low90_pct recovery.holds_all recovery.readings: duplicates: duplicates.what duplicates.limit_pct "
               "duplicates.pairs: refused_duplicates: lot_changes: lot_changes.old_lot lot_changes.new_lot lot_changes.change_pct "
               "lot_changes.outcome marks: refused: files:",
}
wrong = []
def every(thing, path):   # all things that a path leads to, lists gone through
    for name in path:
        step = []
        for t in thing:
            if name not in t: return None
            step += t[name] if isinstance(t[name], list) else [t[name]]
        thing = step
    return thing
def constant(word): raise ValueError(f"{word} is no JSON")
for name, paths in promised.items():
    try:
        whole = json.load(open(name + ".json"), parse_constant=constant)
    except ValueError as error:
        wrong.append(f"{name} --json is no JSON: {error}")
        continue
    for path in paths.split():
        a_list, steps = path.endswith(":"), path.rstrip(":").split(".")
        parent = every([whole], steps[:-1])
        if parent is None or any(steps[-1] not in p for p in parent):
            wrong.append(f"{name} --json lacks {path.rstrip(':')}")
        elif a_list and not all(isinstance(p[steps[-1]], list) for p in parent):
            wrong.append(f"{name} --json: {path.rstrip(':')} is no list")
        elif not parent:
            wrong.append(f"{name} --json: nothing to look at for {path}")
if not wrong:
    risk = json.load(open("risk.json"))
    if {f["kind"] for f in risk["fields"]} - {"probability", "index"}: wrong.append("risk --json: a kind that is neither probability nor index")
    if json.load(open("map.json"))["files"]: wrong.append("map --json names files, and --out was not given")
    if json.load(open("krige.json"))["files"] != ["grid.csv"]: wrong.append("krige --json does not name its file")
for line in wrong[:20]: print(line)
sys.exit(bool(wrong))
PYTHON

[ $bad -eq 0 ] && echo "every command explains itself, and its JSON has the keys that were promised"
exit $bad
