#!/usr/bin/env bash
# What can go wrong on a busy evening, done to the real program: each fault must end with a plain message, no process and no
# temporary folder left, and the last good report as it was. Then interrupts and kills at random moments (seeded; COUNT of
# each, default 50). About four minutes. Needs /proc; the faults of disks need root and are left out, and said so, without.
set -uo pipefail
cd "$(dirname "$0")/.."
repo=$PWD count=${COUNT:-50}
[ -d /proc/self ] || { echo "left out: this needs /proc"; exit 0; }

work=$(mktemp -d)
mounts=()
finish() {
  for m in ${mounts[@]+"${mounts[@]}"}; do umount "$m"; done
  rm -rf "$work"
}
trap finish EXIT
step() { printf '\n== %s (%s s)\n' "$1" "$SECONDS"; }
fail() { printf 'FAILED: %s\n' "$*"; [ -f "$work/said" ] && tail -n 20 "$work/said"; exit 1; }

# A checkout of its own, under a path with a space, with one small notebook: all that follows happens there.
here="$work/a bar/lastsip" out="$work/out/reports" bin="$work/lastsip"
mkdir -p "$here" "$work/tmp" "$work/out"
cp -r analysis datasets notebooks go.mod go.sum "$here"
rm -f "$here"/notebooks/*.ipynb
cd "$here"
export TMPDIR="$work/tmp"

# notebook NAME CODE...: one code cell each
notebook() {
  local name=$1 cells='' code
  shift
  for code in "$@"; do
    code=${code//\\/\\\\} code=${code//\"/\\\"} code=${code//$'\n'/\\n} code=${code//$'\t'/\\t}
    cells+="${cells:+,}{\"cell_type\":\"code\",\"execution_count\":null,\"metadata\":{},\"outputs\":[],\"source\":\"$code\"}"
  done
  printf '{"cells":[%s],"metadata":{},"nbformat":4,"nbformat_minor":4}\n' "$cells" >"notebooks/$name.ipynb"
}
run() { "$bin" run -force "$@" >"$work/said" 2>&1; }
says() { grep -qF -- "$1" "$work/said" || fail "not said: $1"; }
state() { (cd "$1" && find . -type f -exec sha256sum {} + | sort -k2 | sha256sum); }
kernels() { # processes of kernels and cells, by the TMPDIR that only they have
  grep -lzE "^TMPDIR=$work/[a-z]*/lastsip-[0-9]*/kernel-" /proc/[0-9]*/environ 2>/dev/null | cut -d/ -f3
}
gone() { # no process within 5 s
  local n
  for n in $(seq 50); do
    [ -z "$(kernels)" ] && return
    sleep 0.1
  done
  fail "processes are left: $(ps -o pid,args -p "$(kernels | paste -sd,)" 2>/dev/null)"
}
clean() { # no process, no temporary folder, nothing half-written beside the report
  gone
  local left
  left=$(find "$work/tmp" -maxdepth 2 -name 'kernel-*'; find "$(dirname "$out")" -maxdepth 1 -name '.*' ! -name .)
  [ -z "$left" ] || fail "left over: $left"
}
intact() { [ "$(state "$out")" = "$good" ] || fail "the last report has changed after: $1"; }

step "path with a space"
go build -o "$bin" ./notebooks || exit 1
notebook small $'import (\n\t"lastsip/analysis"\n\t"lastsip/notebooks/show"\n)\n%%\nstudy := analysis.MustOpen("demo:sour-evening")\nshow.Figure(study.MustServeBy(study.Styles()[0]))' \
  $'%%\nshow.Opened(show.Study())' $'%%\nstudy := show.Study()\nshow.Figure(study.MustLifetime(study.Styles()[0]))'
run -out "$out" || fail "the first run"
good=$(state "$out")
clean
run -out "$out" || fail "the second run"
intact "a second run"

step "faults of cells"
# failing NAME MESSAGE CODE: a notebook of its own, whose run must end with 1 and the message
failing() {
  notebook "$1" "$3"
  timeout 60 "$bin" run -force -only "$1" -timeout 3s -out "$out" >"$work/said" 2>&1
  [ $? = 1 ] || fail "$1: exit status"
  says "$2"
  says "one that was there before is as it was"
  rm -f "notebooks/$1.ipynb"
  clean
  intact "$1"
  echo "$1: $(grep -m1 -F -- "$2" "$work/said")"
}
failing endless "endless.ipynb, cell 1: it took longer than 3s and was interrupted" $'%%\nfor {\n}'
failing deaf "deaf.ipynb, cell 1" $'import "os/signal"\n%%\nsignal.Ignore(os.Interrupt)\nfor {\n}'
failing flood "flood.ipynb, cell 1: it gave more than" $'%%\nfor {\n\tfmt.Println("more")\n}'
failing mistyped "mistyped.ipynb, cell 1, line 3: undefined: drnks" $'%%\nn := 2\nfmt.Println(n * drnks)'
says "fmt.Println(n * drnks)"
failing panics "panics.ipynb, cell 1, line 3: panic: no ice" $'%%\nfmt.Println(1)\npanic("no ice")'
failing ends "ends.ipynb, cell 1: its program ended with exit status 3" $'%%\nos.Exit(3)'
rm -rf "$out-failed"

step "kernel killed while a cell runs"
notebook slow $'%%\ntime.Sleep(time.Hour)'
run -only slow -out "$out" &
for _ in $(seq 100); do
  pid=$(for p in $(kernels); do tr '\0' ' ' <"/proc/$p/cmdline" 2>/dev/null | grep -q -- '^[^ ]*/gonb --kernel' && echo "$p"; done | head -n 1)
  [ -n "$pid" ] && [ -n "$(find "$work/tmp" -maxdepth 4 -path '*gonb_*' -name 'gonb_*' -type f)" ] && break
  sleep 0.1
done
sleep 0.3
kill -KILL "$pid"
wait $! && fail "exit status"
says "slow.ipynb, cell 1: the notebook kernel died"
grep -m1 died "$work/said"
rm -rf notebooks/slow.ipynb "$out-failed"
clean
intact "a killed kernel"

step "two runs into one folder"
"$bin" run -force -out "$out" >"$work/said2" 2>&1 &
run -out "$out" || fail "the one run"
wait $! || { cat "$work/said2"; fail "the other run"; }
clean
intact "two runs"

step "the user's own GOFLAGS and GOWORK"
mkdir "$work/else"
printf 'module elsewhere\n\ngo 1.24\n' >"$work/else/go.mod"
printf 'go 1.24\n\nuse .\n' >"$work/else/go.work"
GOFLAGS="-mod=vendor -tags=evening" GOWORK="$work/else/go.work" run -out "$out" || fail "a run with GOFLAGS and GOWORK"
clean
intact "GOFLAGS and GOWORK"

step "path with a comma"
mkdir "$work/ice,soda"
cp -r "$here" "$work/ice,soda/lastsip"
(cd "$work/ice,soda/lastsip" && run -out "$out") && fail "exit status"
says "has a comma, at which the kernel would cut it in two; move or rename the folder"
clean
intact "a comma"

step "disks"
disk() { # disk FOLDER OPTIONS: a small file system in memory
  mkdir -p "$1"
  mount -t tmpfs -o "$2" tmpfs "$1" 2>/dev/null || return 1
  mounts+=("$1")
}
if disk "$work/full" size=48k,mode=755; then
  mkdir "$work/full/reports"
  cp "$out/.written-by-lastsip" "$work/full/reports"
  before=$(state "$work/full/reports")
  run -out "$work/full/reports" && fail "a full disk: exit status"
  says "no space left on device"
  grep -m1 -F "no space left" "$work/said"
  [ "$before" = "$(state "$work/full/reports")" ] || fail "the report on the full disk has changed"
  [ -z "$(find "$work/full" -mindepth 1 -maxdepth 1 -name '.*')" ] || fail "left on the full disk: $(ls -A "$work/full")"
  mount -o remount,ro "$work/full"
  run -out "$work/full/reports" && fail "a read-only disk: exit status"
  says "read-only file system"
  grep -m1 -F "read-only" "$work/said"
  says "no report can be written there"
  grep -q "Running" "$work/said" && fail "a read-only disk is seen only after the cells have run"
  disk "$work/noexec" noexec,mode=777 || fail "a second file system"
  TMPDIR="$work/noexec" run -out "$out" && fail "noexec: exit status"
  says "set TMPDIR to another folder"
  grep -m1 -F "set TMPDIR" "$work/said"
  rm -rf "$out-failed"
  clean
  intact "noexec"
else
  echo "left out: file systems cannot be mounted here"
fi

set -m # background jobs get the signals that a terminal would send
begin=$(date +%s%N)
run -out "$out" || fail "a run to be timed"
took=$((($(date +%s%N) - begin) / 1000000))
RANDOM=20310304
moment() { local ms=$((RANDOM % (took * 11 / 10))); sleep "$((ms / 1000)).$(printf '%03d' $((ms % 1000)))"; }

step "$count interrupts at random moments of a run of $took ms"
finished=0
for n in $(seq "$count"); do
  signal=$([ $((n % 2)) = 0 ] && echo TERM || echo INT)
  "$bin" run -force -out "$out" >"$work/said" 2>&1 & # not run, which would put a shell between
  job=$!
  moment
  kill -"$signal" $job 2>/dev/null
  begin=$SECONDS
  wait $job 2>/dev/null
  status=$?
  [ $((SECONDS - begin)) -le 8 ] || fail "interrupt $n ($signal): took $((SECONDS - begin)) s to end"
  case $status in
    0) finished=$((finished + 1)) ;;
    1) says "interrupted: " ;;
    *) [ $status -ge 128 ] && ! [ -s "$work/said" ] || fail "interrupt $n ($signal): exit status $status" ;; # before the program had begun
  esac
  clean
  intact "interrupt $n ($signal)"
done
echo "$count interrupts: $finished runs had finished before, no process, no folder, no half-written file left"

step "$count kills at random moments, every fifth while the report is written"
finished=0 missing=0
for n in $(seq "$count"); do
  "$bin" run -force -out "$out" >"$work/said" 2>&1 & # not run, which would put a shell between
  job=$!
  if [ $((n % 5)) = 0 ]; then
    for _ in $(seq 3000); do
      grep -q Writing "$work/said" && break
      sleep 0.002
    done
  else
    moment
  fi
  kill -KILL $job 2>/dev/null
  wait $job 2>/dev/null && finished=$((finished + 1))
  gone
  if [ -d "$out" ]; then
    intact "kill $n"
  else
    missing=$((missing + 1)) # between the two renames: the next run brings it back
  fi
done 2>/dev/null
run -out "$out" || fail "the run after the kills"
clean
intact "the kills"
echo "$count kills: $finished runs had finished before, $missing came between the two renames; the next run was clean"
step "done"
