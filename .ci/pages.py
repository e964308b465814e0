"""Opens finished pages in headless Chromium and judges them: python3 pages.py [-shots FOLDER] FILE.html ...

Each page is opened at 1280 and 390 px, light and dark, and printed to PDF. It must give no console message, make no request,
run no script, show nothing beyond the right edge, have a contrast of at least 4.5 for all text (WCAG 2.2, 1.4.3; lettering of
figures against the paper of the figure), words for every picture, and a target for every link within the page. Every fault is
told; the exit status is 1 when there is one. Before that the judge is tried on pages that are broken on purpose, one for each
rule: a rule that finds nothing wrong there ends the run.
"""
import base64
import json
import os
import pathlib
import sys
import tempfile
import time

from selenium import webdriver
from selenium.webdriver.chrome.service import Service

SIZES = [(1280, "light"), (1280, "dark"), (390, "light"), (390, "dark")]

# What is read from the page. Colours are blended down to an opaque ground; large text gets no discount.
MEASURE = r"""
const faults = [];
const folds = [...document.querySelectorAll('details:not([open])')];
folds.forEach(d => d.open = true); // code that a reader may open is judged too
const wide = document.documentElement.clientWidth;
if (document.scrollingElement.scrollWidth > wide) faults.push(['overflow', 'the page is ' + document.scrollingElement.scrollWidth + ' px wide on ' + wide]);
const parse = c => { const m = c.match(/[\d.]+/g).map(Number); return {r: m[0], g: m[1], b: m[2], a: m.length > 3 ? m[3] : 1}; };
const over = (f, g) => ({r: f.r * f.a + g.r * (1 - f.a), g: f.g * f.a + g.g * (1 - f.a), b: f.b * f.a + g.b * (1 - f.a), a: 1});
const lin = v => { v /= 255; return v <= .04045 ? v / 12.92 : Math.pow((v + .055) / 1.055, 2.4); };
const lum = c => .2126 * lin(c.r) + .7152 * lin(c.g) + .0722 * lin(c.b);
const ratio = (a, b) => { const x = lum(a), y = lum(b); return (Math.max(x, y) + .05) / (Math.min(x, y) + .05); };
const ground = e => {
  const layers = [];
  for (; e; e = e.parentElement) {
    const c = parse(getComputedStyle(e).backgroundColor);
    if (c.a > 0) layers.push(c);
    if (c.a === 1) break;
  }
  let g = {r: 255, g: 255, b: 255, a: 1};
  while (layers.length) g = over(layers.pop(), g);
  return g;
};
let texts = 0;
const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (let n; n = walk.nextNode();) {
  const e = n.parentElement, s = getComputedStyle(e);
  if (!n.data.trim() || ['SCRIPT', 'STYLE', 'title'].includes(e.tagName) || s.visibility === 'hidden') continue;
  const range = document.createRange(); range.selectNodeContents(n);
  const box = range.getBoundingClientRect();
  if (!box.width || !box.height) continue;
  texts++;
  const svg = e.closest('svg');
  let ink = parse(s.color), paper = ground(e);
  if (svg) {
    ink = parse(s.fill);
    const sheet = svg.querySelector('path');
    if (sheet) { const f = getComputedStyle(sheet).fill; if (f !== 'none') paper = over(parse(f), paper); }
  }
  const r = ratio(over(ink, paper), paper);
  if (r < 4.5) faults.push(['contrast', r.toFixed(2) + ' of "' + n.data.trim().slice(0, 40) + '"']);
  if (box.right > wide + 1 && !e.closest('.scroll, pre')) faults.push(['overflow', '"' + n.data.trim().slice(0, 40) + '" ends at ' + Math.round(box.right) + ' of ' + wide]);
}
if (!texts) faults.push(['empty', 'no text is shown']);
for (const e of document.querySelectorAll('svg')) if (!(e.getAttribute('aria-label') || '').trim()) faults.push(['words', 'a figure has no text alternative']);
for (const e of document.querySelectorAll('img')) if (!e.alt.trim()) faults.push(['words', 'a picture has no text alternative']);
for (const a of document.querySelectorAll('a[href^="#"]')) if (!document.getElementById(decodeURIComponent(a.hash.slice(1)))) faults.push(['anchor', a.hash + ' leads nowhere']);
if (document.scripts.length) faults.push(['script', document.scripts.length + ' script elements']);
if (window.calls) faults.push(['script', 'a dialog was opened ' + window.calls + ' times']);
folds.forEach(d => d.open = false);
return {faults: faults, texts: texts};
"""


def start():
    options = webdriver.ChromeOptions()
    options.binary_location = "/usr/bin/chromium"
    for flag in ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
                 "--disable-component-update", "--disable-sync", "--window-size=1280,1000", "--user-data-dir=" + tempfile.mkdtemp()):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)
    driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": "window.calls = 0; alert = confirm = prompt = () => { window.calls++ };"})
    return driver


def judge(driver, path, shots):
    """All faults of one page as (rule, words), each said once."""
    address = pathlib.Path(path).resolve().as_uri()
    faults = {}
    for width, scheme in SIZES:
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {"width": width, "height": 1000, "deviceScaleFactor": 1, "mobile": width < 600})
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]})
        driver.get_log("browser"), driver.get_log("performance")
        driver.get(address)
        time.sleep(0.2)
        found = driver.execute_script(MEASURE)
        for rule, words in found["faults"]:
            faults.setdefault((rule, words), f"{width} px, {scheme}")
        for entry in driver.get_log("browser"):
            faults.setdefault(("console", entry["message"]), f"{width} px, {scheme}")
        for entry in driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = message["params"]["request"]["url"]
                if url != address and not url.startswith("data:"):
                    faults.setdefault(("request", url), f"{width} px, {scheme}")
        if shots:
            size = driver.execute_cdp_cmd("Page.getLayoutMetrics", {})["cssContentSize"]
            picture = driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True,
                                             "clip": {"x": 0, "y": 0, "width": width, "height": min(size["height"], 12000), "scale": 1}})
            (shots / f"{pathlib.Path(path).stem}-{width}-{scheme}.png").write_bytes(base64.b64decode(picture["data"]))
    driver.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": "light"}]})
    driver.get(address)
    pdf = base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.27, "paperHeight": 11.69, "printBackground": False})["data"])
    if not pdf.startswith(b"%PDF-") or len(pdf) < 2000:
        faults[("print", f"the PDF has {len(pdf)} bytes")] = "A4"
    if shots:
        (shots / f"{pathlib.Path(path).stem}.pdf").write_bytes(pdf)
    return faults


# One broken page for each rule. Ports below 10 answer nobody.
GOOD = '<p>Enough words to read.</p><svg viewBox="0 0 9 9" width="90" height="90" aria-label="a figure"><path d="M0,0L9,0L9,9L0,9Z" style="fill:#fff"/><text x="1" y="5" style="font-size:3px;fill:#111">words</text></svg>'
CSP = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; style-src \'unsafe-inline\'">'
BROKEN = {
    "console": CSP + GOOD + "<script>1</script>",
    "request": GOOD + '<img src="http://127.0.0.1:9/x.png" alt="x">',
    "overflow": GOOD + '<div style="width:1500px">wide</div>',
    "contrast": GOOD + '<p style="color:#999">pale words</p>',
    "contrast ": "<style>@media (prefers-color-scheme: dark) { body { background: #222 } }</style>" + GOOD,
    "contrast  ": GOOD.replace("#111", "#aaa"),
    "contrast   ": GOOD + '<details><summary>more</summary><pre style="color:#bbb">folded</pre></details>',
    "words": GOOD.replace(' aria-label="a figure"', ""),
    "words ": GOOD + '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw==">',
    "anchor": GOOD + '<a href="#nowhere">go</a>',
    "script": GOOD + '<svg aria-label="x" onload="alert(1)"></svg>',
    "empty": "<p></p>",
}


def prove(driver):
    """Every rule must find what is broken, and nothing in a page that is not."""
    with tempfile.TemporaryDirectory() as folder:
        page = pathlib.Path(folder) / "page.html"
        frame = '<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>t</title>%s</html>'
        page.write_text(frame % GOOD)
        if faults := judge(driver, page, None):
            sys.exit(f"the judge finds fault with a good page: {faults}")
        for rule, body in BROKEN.items():
            page.write_text(frame % body)
            if rule.strip() not in {r for r, _ in judge(driver, page, None)}:
                sys.exit(f"the judge does not see what is broken: {rule.strip()}")
    print(f"the judge sees each of {len(BROKEN)} broken pages")


def main(arguments):
    shots = None
    if arguments[:1] == ["-shots"]:
        shots = pathlib.Path(arguments[1])
        shots.mkdir(parents=True, exist_ok=True)
        arguments = arguments[2:]
    if not arguments:
        sys.exit(__doc__)
    driver = start()
    try:
        prove(driver)
        bad = 0
        for path in arguments:
            faults = judge(driver, path, shots)
            bad += len(faults)
            print(f"{os.path.basename(path)}: {len(faults) or 'no'} faults")
            for (rule, words), where in faults.items():
                print(f"  {rule}, {where}: {words}")
    finally:
        driver.quit()
    sys.exit(1 if bad else 0)


main(sys.argv[1:])
