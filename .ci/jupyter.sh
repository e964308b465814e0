#!/usr/bin/env bash
# The installed kernel in Debian's Jupyter: nbconvert on every notebook, the notebook format, and a real Jupyter page in
# headless Chromium. Needs root and Debian (it installs what it drives); about a minute with the installation. Pictures of the
# page are kept in the folder that SHOTS names.
set -euo pipefail
cd "$(dirname "$0")/.."
repo=$PWD

step() { printf '\n== %s (%s s)\n' "$1" "$SECONDS"; }

if ! command -v apt-get >/dev/null || [ "$(id -u)" != 0 ]; then
  echo "left out: this needs Debian's packages and root"
  exit 0
fi

step "Debian's Jupyter, Chromium and driver"
packages=(jupyter-notebook jupyter-nbconvert python3-nbformat python3-ipykernel chromium chromium-driver python3-selenium)
if ! dpkg -s "${packages[@]}" >/dev/null 2>&1; then
  timeout 240 apt-get update -qq
  DEBIAN_FRONTEND=noninteractive timeout 240 apt-get install -y -qq --no-install-recommends "${packages[@]}" >/dev/null
fi

work=$(mktemp -d)
server=
finish() {
  status=$?
  if [ -n "$server" ]; then
    kill "$server" 2>/dev/null || true
    wait "$server" 2>/dev/null || true
  fi
  if [ $status != 0 ] && [ -s "$work/server.log" ]; then
    tail -n 40 "$work/server.log"
  fi
  rm -rf "$work"
  exit $status
}
trap finish EXIT
mkdir "$work/tmp" "$work/here" "$work/runtime"
# Everything that Jupyter and the kernel write goes below one folder, so that what is left can be seen.
export TMPDIR=$work/tmp JUPYTER_DATA_DIR=$work/data JUPYTER_RUNTIME_DIR=$work/runtime JUPYTER_CONFIG_DIR=$work/config IPYTHONDIR=$work/ipython

step "the verb kernel"
timeout 240 go run ./notebooks kernel
/usr/bin/jupyter kernelspec list | grep -q '^ *lastsip ' || { echo "jupyter does not see the kernel"; exit 1; }

step "nbconvert on every notebook, outside the checkout, without network"
cd "$work/here"
export GOPROXY=off
for f in "$repo"/notebooks/*.ipynb; do
  name=$(basename "$f" .ipynb)
  cp "$f" .
  timeout 120 /usr/bin/jupyter nbconvert --log-level=ERROR --execute --to notebook --output "$name-executed.ipynb" "$name.ipynb"
done

step "the notebook format"
(cd "$repo" && timeout 240 go run ./notebooks run -out "$work/reports")
/usr/bin/python3 - "$work"/here/*-executed.ipynb "$work"/reports/*.ipynb <<'PYTHON'
import sys, nbformat
for name in sys.argv[1:]:
    nb = nbformat.read(name, as_version=nbformat.NO_CONVERT)
    nbformat.validate(nb)
    cells = [c for c in nb.cells if c.cell_type == "code"]
    assert cells and all(c.execution_count for c in cells), f"{name}: a cell was not executed"
    outputs = [o for c in cells for o in c.outputs]
    assert any("image/svg+xml" in o.get("data", {}) for o in outputs), f"{name}: no figure"
    bad = [o for o in outputs if o.output_type == "error" or o.get("name") == "stderr"]
    assert not bad, f"{name}: {bad}"
    print("valid:", name.rsplit("/", 1)[1], f"{nb.nbformat}.{nb.nbformat_minor}", len(cells), "code cells")
PYTHON

step "a Jupyter page in Chromium"
port=$(/usr/bin/python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
/usr/bin/jupyter notebook --allow-root --no-browser --ip=127.0.0.1 --port="$port" --NotebookApp.port_retries=0 --NotebookApp.token= --NotebookApp.password= >"$work/server.log" 2>&1 &
server=$!
timeout 150 /usr/bin/python3 "$repo/.ci/jupyter_page.py" "http://127.0.0.1:$port" "${SHOTS:-}"

step "nothing is left"
kill "$server"
wait "$server" || true
server=
for _ in $(seq 50); do
  left=$(grep -lazF "TMPDIR=$work/tmp" /proc/[0-9]*/environ 2>/dev/null | cut -d/ -f3 | while read -r pid; do
    [ "$pid" != $$ ] && grep -q gonb "/proc/$pid/cmdline" 2>/dev/null && echo "$pid"; done || true)
  [ -z "$left" ] && break
  sleep 0.1
done
[ -z "$left" ] || { echo "kernels are left: $left"; exit 1; }
left=$(find "$work/tmp" -mindepth 2 -name 'kernel-*')
[ -z "$left" ] || { echo "temporary folders are left: $left"; exit 1; }
step "done"
