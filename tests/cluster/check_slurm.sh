#!/usr/bin/env bash
# Trials as a job array of a real Slurm, with the lines of the README: 40 cases of the plaque, one of them killed on
# purpose while it runs. The gathered files must be those of one machine without Slurm, byte for byte.
# Usage: check_slurm.sh PROGRAM
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
program=$(realpath "$1")
place=$(mktemp -d)
. "$here/start-slurm.sh" "$place/slurm"
trap 'stop_slurm; wait; rm -rf "$place" || true' EXIT
sinfo -h -o %T | grep -q idle || {
  echo "Slurm does not start on this machine: trials over a job array are NOT tested here"
  exit 0
}
cp "$here/../../examples/plaque/plaque.toml" "$here/../../examples/plaque/harbour.png" "$place"
cd "$place"
# Large cells: what is tested is the way of the cases, not their answers.
sed -i 's/finest = "1.5 mm"/finest = "3 mm"/' plaque.toml

ask="$program trials plaque.toml --vary distance=100..200/8\ mm --vary rim=4..16/5\ mm"
first=$(sbatch --parsable --wrap "$ask --out cluster --case 1")
rest=$(sbatch --parsable --dependency=afterok:"$first" --array=2-40 --requeue \
  --wrap "$ask --out cluster --case \$SLURM_ARRAY_TASK_ID; [ \$? -lt 128 ] || scontrol requeue \$SLURM_JOB_ID")
last=$(sbatch --parsable --dependency=afterok:"$rest" --wrap "$ask --out cluster --merge")

# Kill one of them while it computes.
for _ in $(seq 600); do
  victim=$(pgrep -f -- "--out cluster --case 17\$" | tail -1 || true)
  [ -n "$victim" ] && kill -9 "$victim" 2>/dev/null && break
  sleep 0.05
done
[ -n "$victim" ] || { echo "no task to kill was found"; exit 1; }
for _ in $(seq 900); do
  [ -z "$(squeue -h -j "$first,$rest,$last" 2>/dev/null)" ] && break
  sleep 1
done
grep -q "Requeuing JobId" "$place/slurm/log/controller" || { echo "the killed task was not queued again"; exit 1; }
eval "$ask --out alone" >/dev/null
for file in trials.csv trials.json; do
  cmp "cluster/$file" "alone/$file"
done
echo "40 trials over a job array, one killed and queued again: the same files as on one machine"
