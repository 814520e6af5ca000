#!/usr/bin/env bash
# Times the reading of an invented national fleet with dirt, three visits a pole, by each of some builds in turn:
#
#     tests/bench/read.sh POLES BINARY...      (for example 1000000 old/polewright target/debug/polewright)
#
# For each run the seconds of the user, of the system and of the wall, and the most memory at any moment in KB. Compare the
# builds of one call with each other. All must say the same of the lists, byte for byte. Needs GNU time.
set -euo pipefail

poles=$1
shift
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
"$1" invent --poles "$poles" --seed 1 --dirt --out "$folder/lists" >"$folder/invented"
# Two visits a pole are invented; every second of them took place a year before as well.
awk 'NR > 1 && NR % 2 == 0 && match($0, /^[^,"]*,[0-9][0-9][0-9][0-9]-/) {
    print substr($0, 1, RLENGTH - 5) (substr($0, RLENGTH - 4, 4) - 1) substr($0, RLENGTH)
}' "$folder/lists/inspections.csv" >"$folder/more"
cat "$folder/more" >>"$folder/lists/inspections.csv"
wc -lc "$folder/lists/poles.csv" "$folder/lists/inspections.csv"

for round in 1 2 3; do
    for binary in "$@"; do
        said="$folder/said"
        env time -f "$binary: %U s user, %S s system, %e s wall, %M KB" \
            "$binary" check "$folder/lists/programme.toml" --json >"$said" || [ $? -eq 1 ]
        digest=$(sha256sum <"$said")
        [ "${first:=$digest}" = "$digest" ] || echo "$binary says something else of the same lists"
    done
done
