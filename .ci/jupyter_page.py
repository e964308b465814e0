"""Drives a real Jupyter Notebook page in headless Chromium: python3 jupyter_page.py URL [FOLDER FOR PICTURES]

A new notebook of the kernel "Go (lastsip)" is made by the menu; its first cell imports the packages and draws; a mistyped
cell says what is wrong; an endless cell is interrupted by the button; the next cell runs. Any failure is an exception.
"""
import os
import sys
import tempfile
import time

from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.support.ui import WebDriverWait

url, shots = sys.argv[1], (sys.argv[2] if len(sys.argv) > 2 else "")
options = webdriver.ChromeOptions()
options.binary_location = "/usr/bin/chromium"
for flag in ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
             "--disable-component-update", "--disable-sync", "--window-size=1100,900", "--user-data-dir=" + tempfile.mkdtemp()):
    options.add_argument(flag)


def start():
    """The server may still be starting."""
    driver = webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)
    for _ in range(100):
        try:
            driver.get(url + "/tree")
            if driver.find_elements(By.ID, "new-dropdown-button"):
                return driver
        except Exception:
            pass
        time.sleep(0.2)
    driver.quit()
    raise SystemExit("the Jupyter page does not come up")


driver = start()


def until(what, condition, seconds=30):
    try:
        return WebDriverWait(driver, seconds, poll_frequency=0.1).until(lambda d: condition())
    except Exception as e:
        picture("failed")
        raise SystemExit(f"{what}: not seen within {seconds} s\n{body()}\n{e}")


def body():
    return driver.find_element(By.TAG_NAME, "body").text[-2000:]


def picture(name):
    if shots:
        os.makedirs(shots, exist_ok=True)
        driver.save_screenshot(os.path.join(shots, name + ".png"))


def write(cell, code):
    """Puts code into the cell with this number, made when missing, and runs it by the button."""
    driver.execute_script(
        "var n = Jupyter.notebook; while (n.ncells() <= arguments[0]) { n.insert_cell_at_bottom('code'); }"
        "n.select(arguments[0]); n.get_cell(arguments[0]).set_text(arguments[1]);", cell, code)
    driver.find_element(By.CSS_SELECTOR, "button[data-jupyter-action='jupyter-notebook:run-cell-and-select-next']").click()


def output(cell):
    return driver.find_elements(By.CSS_SELECTOR, "div.code_cell")[cell].find_element(By.CSS_SELECTOR, "div.output")


def ended(cell):
    """The prompt shows a number, not the star of a running cell."""
    prompt = driver.find_elements(By.CSS_SELECTOR, "div.code_cell")[cell].find_element(By.CSS_SELECTOR, "div.input_prompt").text
    return any(c.isdigit() for c in prompt)


try:
    until("the menu of kernels", lambda: driver.find_element(By.ID, "new-dropdown-button").is_displayed())
    driver.find_element(By.ID, "new-dropdown-button").click()
    entry = until("the kernel Go (lastsip) in the menu", lambda: driver.find_elements(By.CSS_SELECTOR, "#kernel-lastsip a"))[0]
    assert entry.text == "Go (lastsip)", entry.text
    entry.click()
    until("the new notebook", lambda: len(driver.window_handles) > 1)
    driver.switch_to.window(driver.window_handles[-1])
    until("the kernel is ready", lambda: driver.execute_script(
        "return window.Jupyter && Jupyter.notebook && Jupyter.notebook.kernel && Jupyter.notebook.kernel.is_connected() && Jupyter.notebook.kernel.info_reply.status == 'ok'"))
    print("kernel found, new notebook made")

    begin = time.time()
    write(0, 'import ("lastsip/analysis"; "lastsip/notebooks/show")\n%%\nstudy := analysis.MustOpen(show.Sessions()...)\n'
             'life := study.MustLifetime(study.Styles()[0])\nshow.Say(life)\nshow.Figure(life)')
    figure = until("the figure of the first cell", lambda: output(0).find_elements(By.CSS_SELECTOR, "div.output_svg svg"))[0]
    assert figure.size["width"] > 300 and figure.size["height"] > 100, figure.size
    until("the end of the first cell", lambda: ended(0))
    assert not output(0).find_elements(By.CSS_SELECTOR, "div.output_error, div.output_stderr"), output(0).text
    assert "min" in output(0).text, output(0).text
    print(f"first cell imports the packages and draws: {time.time() - begin:.1f} s")
    picture("figure")

    write(1, "%%\nstudy := analysis.MustOpen(show.Sessions()...)\nshow.Figuer(study.MustLifetime(study.Styles()[0]))")
    until("the error of the mistyped cell", lambda: "undefined: show.Figuer" in output(1).text)
    assert "Line 3" in output(1).text, output(1).text
    print("mistyped cell: " + " | ".join(line for line in output(1).text.splitlines() if "undefined" in line or "Line" in line))
    picture("mistyped")

    write(2, '%%\nfmt.Println("running")\nfor {\n}')
    until("the endless cell runs", lambda: "running" in output(2).text)
    assert not ended(2)
    driver.find_element(By.CSS_SELECTOR, "button[data-jupyter-action='jupyter-notebook:interrupt-kernel']").click()
    until("the end of the interrupted cell", lambda: ended(2), 15)
    write(3, '%%\nfmt.Println("still", "here")')
    until("the cell after the interrupt", lambda: "still here" in output(3).text)
    print("interrupt ends the endless cell, the next one runs")
    picture("interrupted")
    driver.execute_script("Jupyter.notebook.save_checkpoint()")
finally:
    driver.quit()
