#!/usr/bin/env bash
# Whether a plan has the same digits on every instruction level of the processor: builds the pure model for each and
# compares the texts. Names of levels as rustc knows them; those that this processor lacks are left out by hand.
# Usage: tests/bench/levels.sh [LEVEL...]
set -euo pipefail
cd "$(dirname "$0")/../.."
levels=("$@")
[ ${#levels[@]} -gt 0 ] || levels=(x86-64 x86-64-v3 native)
mkdir -p target/levels
for level in "${levels[@]}"; do
  # The compiler never fuses a product and a sum by itself, whatever the level: this is what is put to the test.
  RUSTFLAGS="-C target-cpu=$level" cargo bench --quiet --locked --profile dev --no-default-features \
    --target-dir "target/levels/$level" --bench levels >"target/levels/$level.txt"
  lines=$(wc -l <"target/levels/$level.txt")
  [ "$lines" -gt 1000 ] || { echo "$level: only $lines lines" >&2; exit 1; }
  cmp "target/levels/${levels[0]}.txt" "target/levels/$level.txt"
  echo "$level: $lines lines, the same as ${levels[0]}"
done
