#!/usr/bin/env bash
# Finished pages in headless Chromium: .ci/pages.sh [FILE.html ...]. Without files it makes the report and the answers of the
# demonstration, and both of a session full of hostile text, and judges all of these by pages.py. Needs root and Debian (it
# installs what it drives). Pictures and PDFs are kept in the folder that SHOTS names.
set -euo pipefail
cd "$(dirname "$0")/.."

if ! command -v apt-get >/dev/null || [ "$(id -u)" != 0 ]; then
  echo "left out: this needs Debian's packages and root"
  exit 0
fi
packages=(chromium chromium-driver python3-selenium)
if ! dpkg -s "${packages[@]}" >/dev/null 2>&1; then
  timeout 240 apt-get update -qq
  DEBIAN_FRONTEND=noninteractive timeout 240 apt-get install -y -qq --no-install-recommends "${packages[@]}" >/dev/null
fi
shots=()
if [ -n "${SHOTS:-}" ]; then shots=(-shots "$SHOTS"); fi
if [ $# -gt 0 ]; then
  exec timeout 300 /usr/bin/python3 .ci/pages.py "${shots[@]}" "$@"
fi

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
export TMPDIR=$work/tmp
mkdir "$TMPDIR" "$work/hostile"

# Names and notes that try to be a script, a formula, a path, a figure's end, or to turn the writing round.
/usr/bin/python3 - "$work/hostile/tastes.csv" <<'PYTHON'
import csv, sys
names = ["<script>alert(1)</script>", "</svg><img src=x onerror=alert(2)>", "=HYPERLINK(\"http://127.0.0.1:9/\",\"x\")", "../../../etc/passwd",
         "Ada\u202etxt.exe", "[link](javascript:alert(3)) `code` | cell", "a" * 300, "\u0639\u0627\u062f\u0644"]
style = "<b>sour</b> \"../../../../tmp/lastsip-strayed\" ![i](http://127.0.0.1:9/i.png) \u2066&amp;"
with open(sys.argv[1], "w", newline="", encoding="utf-8") as f:
    w = csv.writer(f)
    w.writerow(["taster", "pour", "style", "serve", "batch", "age_min", "verdict", "liking", "<i>zing</i>", "note"])
    for i, name in enumerate(names):
        for age in (1, 3, 5, 7, 9):
            yes = age < 3 + i
            w.writerow([name, f"</text>{i}", style, "=cmd|'/C calc'!A0", "</title>B1", age, "yes" if yes else "no", 9 - age / 2, 8 - age / 2,
                        "@SUM(1)<script>alert(4)</script>"])
PYTHON
go run ./notebooks run -out "$work/reports" >"$work/said" 2>&1 || { cat "$work/said"; exit 1; }
go run ./notebooks answer demo:sour-evening demo:stirred-evening -out "$work/answers" >/dev/null
go run ./notebooks run -session "$work/hostile" -names real -out "$work/hostile-reports" >"$work/said" 2>&1 || { cat "$work/said"; exit 1; }
go run ./notebooks answer "$work/hostile" -out "$work/hostile-answers" >/dev/null

# Nothing may have been written beside the folders that were named, whatever the names in the data say.
if [ "$(cd "$work" && echo *)" != "answers hostile hostile-answers hostile-reports reports said tmp" ] || [ "$(ls "$work/hostile")" != tastes.csv ] || [ -e /tmp/lastsip-strayed ]; then
  echo "something was written where it does not belong:"
  find "$work" -maxdepth 2
  exit 1
fi
# Copies whose names tell the folders apart, as the pictures are named after them.
files=()
for f in "$work"/reports/*.html "$work"/answers/*.html "$work"/hostile-reports/*.html "$work"/hostile-answers/*.html; do
  name=$work/tmp/$(basename "$(dirname "$f")")-$(basename "$f")
  cp "$f" "$name"
  files+=("$name")
done
timeout 400 /usr/bin/python3 .ci/pages.py "${shots[@]}" "${files[@]}"
