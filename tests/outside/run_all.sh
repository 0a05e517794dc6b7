#!/bin/sh
# Builds the demo and the exact jobs and runs every outside check on them.
#   tests/outside/run_all.sh PATH/TO/planksheer
# Needs Python with requirements.txt (PYTHON names another interpreter than
# python3). Ends with a line "N passed, N failed, N skipped"; exit 1 if any
# failed. What the machine gives no right to is skipped, and why is told.
set -u
if [ $# -ne 1 ]; then
    echo "usage: run_all.sh PATH/TO/planksheer" >&2
    exit 2
fi
bin=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
python=${PYTHON:-python3}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
passed=0
failed=0
skipped=0

# check NAME COMMAND...: runs a step quietly, shows its output where it fails.
check() {
    name=$1
    shift
    if ! "$@" >"$work/log" 2>&1; then
        failed=$((failed + 1))
        echo "FAIL  $name"
        tail -n 60 "$work/log"
    elif grep -q "^skipped: " "$work/log"; then
        skipped=$((skipped + 1))
        echo "skip  $name, $(grep "^skipped: " "$work/log")"
    else
        passed=$((passed + 1))
        echo "pass  $name"
        [ "${VERBOSE:-0}" = 0 ] || cat "$work/log"
    fi
}

cd "$here" || exit 1
check "the geometry against closed forms" "$python" -m pytest -q -p no:cacheprovider test_geometry.py
check "smoothing splines, the stored figures" "$python" smoothing_reference.py
check "the checks fail spoilt outputs" "$python" -m pytest -q -p no:cacheprovider test_checks.py

check "inputs without bound are refused at once" "$python" too_much.py "$bin"

# The demo's survey is what its script makes.
mkdir "$work/survey"
check "demo survey, made again" "$python" "$root/demo-hull/make_survey.py" "$work/survey"
for f in port.csv starboard.csv; do
    check "demo survey, same $f" cmp "$work/survey/$f" "$root/demo-hull/$f"
done

# The demo, and its variants by a change of the job's text.
for kind in demo r12 inches; do
    cp -r "$root/demo-hull" "$work/$kind"
    job=$work/$kind/job.toml
    quick=--quick
    case $kind in
        demo) quick= ;;
        r12) sed -i 's/^dxf = "R2000"/dxf = "R12"/' "$job" ;;
        inches) sed -i 's/^dxf_units = "mm"/dxf_units = "in"/' "$job" ;;
    esac
    out=$work/$kind-out
    # shellcheck disable=SC2086 -- an empty $quick must vanish
    check "$kind: build" "$bin" build "$job" --out "$out" $quick
    check "$kind: sheets" "$python" check_sheets.py "$out" "$job"
    check "$kind: refold" "$python" check_refold.py "$out" "$job"
    for extra in check_dxf.py check_svg.py; do
        [ ! -f "$extra" ] || check "$kind: $extra" "$python" "$extra" "$out"
    done
done
check "demo: fairing against the truth" \
    "$python" check_fair.py "$work/demo/job.toml" "$work/demo-out" "$work/demo/truth.csv"

# Paths half a kerf in the waste with leads and tabs, and what is left over.
check "demo: remnants" "$python" check_cuts.py "$work/demo-out" "$work/demo/job.toml"
offsets=
if command -v cargo >/dev/null && command -v c++ >/dev/null; then
    check "geo-offset: build" env CARGO_TARGET_DIR="$work/offsets" \
        cargo build --quiet --manifest-path offsets/Cargo.toml
    offsets=$work/offsets/debug/offsets
fi
# At net size a straight lead of the whole length.
cp -r "$root/demo-hull" "$work/net"
sed -i 's/^\[cutting\]/[cutting]\nleads = "straight"\nlead = "26 mm"/' "$work/net/job.toml"
check "leads, net: build" "$bin" build "$work/net/job.toml" --out "$work/net-out" --quick
check "leads, net: in the waste" "$python" check_cuts.py "$work/net-out" "$work/net/job.toml"
# Joined: each lead-in, path and lead-out as one line.
for form in arc straight joined; do
    leads=$form
    joined=
    [ $form != joined ] || { leads=arc; joined='lead_paths = "joined"\n'; }
    cp -r "$root/demo-hull" "$work/$form"
    job=$work/$form/job.toml
    sed -i "s/^\[cutting\]/[cutting]\npaths = \"compensated\"\nleads = \"$leads\"\n${joined}tabs = { below_kg = 3 }/" "$job"
    check "leads $form: build" "$bin" build "$job" --out "$work/$form-out" --quick
    # shellcheck disable=SC2086 -- an empty $offsets must vanish
    check "leads $form: check_dxf.py" "$python" check_dxf.py "$work/$form-out"
    check "leads $form: check_svg.py" "$python" check_svg.py "$work/$form-out"
    check "leads $form: paths and leads" "$python" check_cuts.py "$work/$form-out" "$job" $offsets
done

# The plate cut along all paths by a round tool: what falls out is the parts.
cp -r "$root/demo-hull" "$work/whole"
sed -i 's/^\[cutting\]/[cutting]\npaths = "compensated"\nleads = "arc"\nlead = "3 mm"/' "$work/whole/job.toml"
check "parts as cut: build" "$bin" build "$work/whole/job.toml" --out "$work/whole-out" --quick
check "parts as cut: fall out of the plate" "$python" check_cuts.py "$work/whole-out" "$work/whole/job.toml"

# Patterns put together again from their pages; the demo's stern is round.
cp -r "$root/demo-hull" "$work/transom"
sed -i -e 's/^stern = "round"/stern = "transom"/' -e 's/^show = "mm"/show = "feet-inches"/' "$work/transom/job.toml"
check "transom: build" "$bin" build "$work/transom/job.toml" --out "$work/transom-out" --quick
check "demo: patterns" "$python" check_pattern.py "$bin" "$work/demo/job.toml" "$work/demo-out" \
    --paper A4 --paper "36 in roll" --count
check "transom: patterns" "$python" check_pattern.py "$bin" "$work/transom/job.toml" "$work/transom-out" --paper Letter
check "demo: patterns by their pixels" "$python" check_pattern.py "$bin" "$work/demo/job.toml" "$work/demo-out" --pixels

# Floor sheets; the transom's fixture tells feet and inches, and has mitres.
check "mitred transom: build" "$bin" build "$root/fixtures/transom/job.toml" --out "$work/mitred-out" --quick
for kind in demo transom mitred; do
    check "$kind: floor sheets" "$python" check_floor.py "$work/$kind-out"
done

check "demo: fair" "$bin" fair "$work/demo/job.toml" --out "$work/demo-fair"
check "demo: fair, moves and pictures" "$python" check_fairness.py "$work/demo" "$work/demo-fair"

# Choices of stock, against a build at the same effort.
check "estimate: build" "$bin" build "$work/demo/job.toml" --out "$work/quick-out" --quick
check "estimate: demo" "$bin" estimate "$work/demo/job.toml" --quick --out "$work/estimate"
check "estimate: figures, page and pictures" "$python" check_estimate.py \
    "$work/estimate" "$work/demo/job.toml" "$work/quick-out/summary.json"
cp -r "$root/demo-hull" "$work/choices"
cat >>"$work/choices/job.toml" <<'END'
[[estimate.choice]]
name = "short pieces <plasma> & co"
sheets = ["5 x 12 ft"]
longest_piece = "1.8 m"
process = "plasma"
cutting_per_hour = 95
per_kg = { "5086-H116" = 9.10 }
[[estimate.choice]]
name = "waterjet"
supplier = "invented"
process = "waterjet"
scrap_per_kg = 1.2
[[estimate.choice]]
name = "none left"
sheets = ["one only"]
[[sheet]]
name = "one only"
length = "10 ft"
width = "5 ft"
thickness = "1/2 in"
alloy = "5086-H116"
quantity = 1
END
sed -i 's/^show = "mm"/show = "feet-inches"/' "$work/choices/job.toml"
check "estimate: choices" "$bin" estimate "$work/choices/job.toml" --out "$work/choices-out" --quick --no-variations
check "estimate: choices, figures, page and pictures" "$python" check_estimate.py \
    "$work/choices-out" "$work/choices/job.toml"

for kind in long butts; do
    check "exact $kind: write the job" "$python" make_exact_job.py "$work/exact-$kind" "$kind"
    job=$work/exact-$kind/job.toml
    out=$work/exact-$kind-out
    check "exact $kind: build" "$bin" build "$job" --out "$out" --quick
    check "exact $kind: geometry" "$python" check_geometry.py "$job" "$out"
    check "exact $kind: stanchions" "$python" check_stanchions.py "$job" "$out"
    check "exact $kind: refold" "$python" check_refold.py "$out" "$job"
    check "exact $kind: sheets" "$python" check_sheets.py "$out" "$job"
done

# Remnants, clamps, limited rotations, odd sizes: a few of the thousand.
check "random jobs: every sheet measured" "$python" random_jobs.py "$bin" 6

# The place of an output: kills, files of a person, other runs, mounts, no room.
for case in kill own two mount full; do
    check "the place: $case" "$python" check_place.py "$bin" "$case"
done

echo "$passed passed, $failed failed, $skipped skipped"
[ "$failed" -eq 0 ]
