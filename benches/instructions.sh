#!/usr/bin/env bash
# Instructions a simulated minute and a segment take, case by case, counted by valgrind. The case household-year makes the
# draws of six people, without a plant: its "segment" is a draw.
#
#   benches/instructions.sh             prints them, each beside the committed number and as a ratio to it
#   benches/instructions.sh --renew     also writes benches/instructions.txt
#
# Each case is run for a day and for a week, people for a day and for a year and a day; the difference is the time between
# alone, without reading files and building plants.
# Counts do not depend on what else the machine does, but they do on the compiler and the C library: compare them with a
# reference made by the same ones.
set -euo pipefail
cd "$(dirname "$0")/.."

if ! command -v valgrind > /dev/null; then
  echo "valgrind is not installed; it comes in the package 'valgrind' of the system's package manager" >&2
  exit 1
fi

reference=benches/instructions.txt
cargo build --release --locked --quiet -p springhouse-benches --example once
once=$(cargo metadata --format-version 1 --no-deps | sed -E 's/.*"target_directory":"([^"]*)".*/\1/')/release/examples/once
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT

# Prints instructions and segments of a run.
count() {
  local segments
  segments=$(valgrind --tool=callgrind --callgrind-out-file="$scratch/out" "$once" "$1" "$2" 2> "$scratch/log")
  echo "$(sed -nE 's/^(summary|totals): ([0-9]+).*/\2/p' "$scratch/out" | tail -1) $segments"
}

{
  echo "# Instructions after the first day, of a week or of a year of people: $(rustc --version | cut -d' ' -f1-2), $(uname -m), release profile."
  echo "# Made and compared by benches/instructions.sh."
  printf '%-16s%12s%13s\n' case per_minute per_segment
} > "$scratch/table"
printf '%-16s%12s%13s%12s%8s\n' case per_minute per_segment reference ratio
while read -r case days; do
  read -r day day_segments <<< "$(count "$case" 1)"
  read -r long long_segments <<< "$(count "$case" "$days")"
  per_minute=$(((long - day) / ((days - 1) * 24 * 60)))
  per_segment=$(((long - day) / (long_segments - day_segments)))
  printf '%-16s%12s%13s\n' "$case" "$per_minute" "$per_segment" >> "$scratch/table"
  before=$(awk -v case="$case" '$1 == case { print $2 }' "$reference" 2> /dev/null || true)
  ratio=$([ -n "$before" ] && awk -v now="$per_minute" -v before="$before" 'BEGIN { printf "%.3f", now / before }' || echo -)
  printf '%-16s%12s%13s%12s%8s\n' "$case" "$per_minute" "$per_segment" "${before:--}" "$ratio"
done < <("$once")
if [ "${1:-}" = --renew ]; then cp "$scratch/table" "$reference"; fi
